// Command score measures the component lexicon against the labelled open data.
//
//	go run ./ingest/lexicon/score [--errors tablets|laptops|desktops] DIR
//
// DIR holds labelled_tablets.csv, labelled_laptops.csv and labelled_desktops.csv. A row is right
// for its label when the components read include one of the label's; a label read on a row whose
// true label is another counts against precision. Only rows with a hardware label are scored; the
// strict line scores all rows, so that reading a part from a software complaint costs too.
// Tablets are split in two halves by the hash of the row's id: one was used to tune the lexicon
// and one was not, and its errors are never shown.
package main

import (
	"cmp"
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/spf13/pflag"

	"faultgrain/ingest/lexicon"
	"faultgrain/schemas"
)

//go:embed testdata/labels.toml
var labelsFile []byte

func main() {
	if err := run(os.Args[1:], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "score:", err)
		os.Exit(1)
	}
}

func run(args []string, out io.Writer) error {
	flags := pflag.NewFlagSet("score", pflag.ContinueOnError)
	show := flags.String("errors", "", "list the rows of this set that are read wrong (tuning rows only)")
	components := flags.String("components", "", "a components file to merge over the built-in lexicon")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if flags.NArg() != 1 {
		return errors.New("want one folder with the labelled files")
	}
	lex, err := schemas.LoadLexicon(*components)
	if err != nil {
		return err
	}
	reader, err := lexicon.New(lex)
	if err != nil {
		return err
	}
	labels, err := readLabels(labelsFile, lex)
	if err != nil {
		return err
	}
	for _, set := range []string{"laptops", "desktops", "tablets"} {
		rows, err := readRows(filepath.Join(flags.Arg(0), "labelled_"+set+".csv"))
		if err != nil {
			return err
		}
		kind, on := "computers", lex.On()[strings.TrimSuffix(set, "s")]
		if set == "tablets" {
			kind = set
		}
		if *show == set {
			listErrors(out, device{reader, on}, labels[kind], rows, set == "tablets")
			continue
		}
		if *show != "" {
			continue
		}
		if set != "tablets" {
			newScore(device{reader, on}, labels[kind], rows).print(out, set)
			continue
		}
		tune, held := halves(rows)
		newScore(device{reader, on}, labels[kind], tune).print(out, "tablets, tuning half")
		newScore(device{reader, on}, labels[kind], held).print(out, "tablets, held-out half")
	}
	return nil
}

// A device reads texts about one class of device, as ingest does.
type device struct {
	*lexicon.Reader
	on map[string]string // what a component is on it
}

func (d device) components(text string) []string {
	var out []string
	for _, id := range d.Read(text, lexicon.Text).Components {
		out = append(out, cmp.Or(d.on[id], id))
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// A row is one labelled text.
type row struct{ id, label, text string }

func readRows(path string) ([]row, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if len(records) == 0 {
		return nil, fmt.Errorf("%s: no rows", path)
	}
	head := records[0]
	head[0] = strings.TrimPrefix(head[0], "\ufeff")
	id, label, text := slices.Index(head, "id_ords"), slices.Index(head, "fault_type"), slices.Index(head, "problem")
	if id < 0 || label < 0 || text < 0 {
		return nil, fmt.Errorf("%s: want the columns id_ords, fault_type and problem", path)
	}
	var rows []row
	for _, r := range records[1:] {
		rows = append(rows, row{r[id], r[label], r[text]})
	}
	return rows, nil
}

// halves splits rows by the hash of their id: even hashes tune, odd ones are held out.
func halves(rows []row) (tune, held []row) {
	for _, r := range rows {
		h := fnv.New32a()
		h.Write([]byte(r.id))
		if h.Sum32()%2 == 0 {
			tune = append(tune, r)
		} else {
			held = append(held, r)
		}
	}
	return tune, held
}

// A label set says what components mean which hardware label.
type labelSet struct {
	names []string            // sorted
	byID  map[string][]string // component -> labels that list it, in name order
}

func readLabels(raw []byte, lex *schemas.Lexicon) (map[string]labelSet, error) {
	var file map[string]map[string][]string
	if err := toml.Unmarshal(raw, &file); err != nil {
		return nil, fmt.Errorf("labels.toml: %w", err)
	}
	sets := map[string]labelSet{}
	for kind, labels := range file {
		s := labelSet{byID: map[string][]string{}}
		for name := range labels {
			s.names = append(s.names, name)
		}
		slices.Sort(s.names)
		for _, name := range s.names {
			for _, id := range labels[name] {
				if _, ok := lex.Components[id]; !ok {
					return nil, fmt.Errorf("labels.toml: %s: no component %q", name, id)
				}
				s.byID[id] = append(s.byID[id], name)
			}
		}
		sets[kind] = s
	}
	return sets, nil
}

// read gives the labels the components of a text mean, sorted: for a component of several labels
// the true one if it is among them, else the first.
func (s labelSet) read(ids []string, truth string) []string {
	var out []string
	for _, id := range ids {
		switch names := s.byID[id]; {
		case slices.Contains(names, truth):
			out = append(out, truth)
		case len(names) > 0:
			out = append(out, names[0])
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// A count holds rows right, wrongly given and missed for one label.
type count struct{ right, wrong, missed int }

func (c count) precision() float64 { return ratio(c.right, c.right+c.wrong) }
func (c count) recall() float64    { return ratio(c.right, c.right+c.missed) }
func (c count) f1() float64        { return ratio(2*c.right, 2*c.right+c.wrong+c.missed) }

func ratio(a, b int) float64 {
	if b == 0 {
		return 0
	}
	return float64(a) / float64(b)
}

// A score is the result over one set of rows.
type score struct {
	names  []string
	labels map[string]*count
	total  count
	strict count // all rows, hardware label or not
	rows   int
}

func newScore(reader device, set labelSet, rows []row) score {
	s := score{names: set.names, labels: map[string]*count{}}
	for _, n := range set.names {
		s.labels[n] = &count{}
	}
	for _, r := range rows {
		got := set.read(reader.components(r.text), r.label)
		hardware := s.labels[r.label] != nil
		if hardware {
			s.rows++
			if !slices.Contains(got, r.label) {
				s.labels[r.label].missed++
				s.strict.missed++
			}
		}
		for _, g := range got {
			switch {
			case g == r.label:
				s.labels[g].right++
				s.strict.right++
			default:
				s.strict.wrong++
				if hardware {
					s.labels[g].wrong++
				}
			}
		}
	}
	for _, c := range s.labels {
		s.total.right += c.right
		s.total.wrong += c.wrong
		s.total.missed += c.missed
	}
	return s
}

// macro is the mean F1 over the labels that have a row.
func (s score) macro() (mean float64, labels int) {
	for _, n := range s.names {
		if c := s.labels[n]; c.right+c.missed > 0 {
			mean += c.f1()
			labels++
		}
	}
	if labels == 0 {
		return 0, 0
	}
	return mean / float64(labels), labels
}

func (s score) print(out io.Writer, title string) {
	fmt.Fprintf(out, "%s: %d rows with a hardware label\n", title, s.rows)
	fmt.Fprintf(out, "  %-28s %5s %9s %7s %6s\n", "label", "rows", "precision", "recall", "F1")
	for _, n := range s.names {
		c := s.labels[n]
		if c.right+c.missed+c.wrong == 0 {
			continue
		}
		fmt.Fprintf(out, "  %-28s %5d %9.3f %7.3f %6.3f\n", n, c.right+c.missed, c.precision(), c.recall(), c.f1())
	}
	macro, n := s.macro()
	fmt.Fprintf(out, "  micro F1 %.3f (precision %.3f, recall %.3f); macro F1 %.3f over %d labels; strict micro F1 %.3f\n\n",
		s.total.f1(), s.total.precision(), s.total.recall(), macro, n, s.strict.f1())
}

// listErrors shows rows read wrong, of the tuning rows alone.
func listErrors(out io.Writer, reader device, set labelSet, rows []row, split bool) {
	if split {
		rows, _ = halves(rows)
	}
	for _, r := range rows {
		if !slices.Contains(set.names, r.label) {
			continue
		}
		ids := reader.components(r.text)
		got := set.read(ids, r.label)
		if len(got) == 1 && got[0] == r.label {
			continue
		}
		fmt.Fprintf(out, "%s | %s | %s\n", r.label, strings.Join(ids, " "), strings.Join(strings.Fields(r.text), " "))
	}
}
