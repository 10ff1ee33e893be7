package bundle

import (
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"unicode"

	"faultgrain/analysis/findings"
	"faultgrain/schemas"
)

//go:embed finding.html
var findingText string

// A Told is one finding, ready to be read by another technician. Nothing in it names the shop.
type Told struct {
	Headline, Grade string
	Months          string // the period, in whole months
	Numbers         []Number
	How             string // the method
	Caveats         []string
	Cautions        string
	Check           []string // how to look for it in a log of one's own
}

// A Number is one figure with its name.
type Number struct{ Name, Value string }

// ErrPrivate: the finding speaks of what stays in the shop.
var ErrPrivate = errors.New("stays in the shop")

// casesOf are the numbers of a finding that count visits or repairs.
var casesOf = []string{"faults", "both", "observed", "returns", "jobs", "link_cases"}

// Tell puts one finding into words for others. Findings about money or the shelf, findings that rest on fewer than LeastThreshold
// cases, and any that would name the shop (one of names) or a part line's supplier are ErrPrivate, with the reason.
func Tell(f schemas.Finding, names []string) (*Told, error) {
	if f.Kind == schemas.KindPrice || f.Kind == schemas.KindStock {
		return nil, fmt.Errorf("%s: %w: it speaks of the shop's money or shelf", f.ID, ErrPrivate)
	}
	for _, k := range casesOf {
		if n := f.Numbers[k]; n.OK && n.V < LeastThreshold {
			return nil, fmt.Errorf("%s: %w: it rests on %s cases (%s), fewer than %d", f.ID, ErrPrivate, findings.Number(n.V), k, LeastThreshold)
		}
	}
	t := &Told{Headline: f.Headline, Grade: f.Grade, How: f.Method, Cautions: f.Caution, Numbers: numbers(f),
		Months: month(f.Period.From) + " to " + month(f.Period.To), Check: checks(f)}
	t.Caveats = []string{grades[f.Grade], findings.Door, findings.Association, "One shop's log. Another shop's customers, devices and parts may differ."}
	for _, name := range append(slices.Clone(names), f.Subject.Supplier) {
		if hasName(t.Markdown(), name) {
			return nil, fmt.Errorf("%s: %w: its words name %q; run faultgrain analyse on a log without it, or tell it in your own words", f.ID, ErrPrivate, name)
		}
	}
	return t, nil
}

var grades = map[string]string{
	schemas.Firm:    "Firm: unlikely to be chance even after looking at many things, and large enough to matter.",
	schemas.Leaning: "Leaning: unlikely to be chance on its own, but many things were looked at. Take it as a hint.",
	schemas.Thin:    "Thin: too few cases to tell it from chance. Take it as a question.",
}

// hasName tells whether a text holds a name as words of its own.
func hasName(text, name string) bool {
	words := func(s string) string {
		return " " + strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }), " ") + " "
	}
	name = words(name)
	return strings.TrimSpace(name) != "" && strings.Contains(words(text), name)
}

// month takes the day off a date.
func month(day string) string {
	if len(day) < 7 {
		return day
	}
	return day[:7]
}

// numbers lists what a finding carries, in order of their names; the strength is for ranking only.
func numbers(f schemas.Finding) []Number {
	var list []Number
	for name, v := range f.Numbers {
		if v.OK && name != findings.StrengthKey && !strings.Contains(name, "warranty") && !strings.Contains(name, "shelf") {
			list = append(list, Number{strings.ReplaceAll(name, "_", " "), findings.Number(v.V)})
		}
	}
	slices.SortFunc(list, func(a, b Number) int { return strings.Compare(a.Name, b.Name) })
	return list
}

// checks says how to look for a finding in a log of one's own.
func checks(f schemas.Finding) []string {
	list := []string{"Count the visits of the same models over a year or so: all that were diagnosed, and those with the fault."}
	switch f.Kind {
	case schemas.KindPair:
		list = append(list, "Count four numbers: visits with both, with the first only, with the second only, with neither; multiply across and divide: both times neither, over the other two.")
	case schemas.KindBatch:
		list = append(list, "Count them by week: is it more than the year before would make you expect, and since when?", "Look at what the devices share: lot and grade of the part fitted, week of manufacture.")
	case schemas.KindReturn:
		list = append(list, "Of the repairs with the part, count those whose device came back for the same fault, by the same number of days after the repair.")
	case schemas.KindTrend:
		list = append(list, "Count them by month, and divide by that month's diagnosed visits: a busy month is no trend.")
	case schemas.KindTime:
		list = append(list, "Compare the bench minutes of jobs with that fault alone.")
	default:
		list = append(list, "Do the same for the other models of the class, and compare the two shares.")
	}
	if m, c := f.Subject.Model, f.Subject.Component; m != "" && c != "" {
		list = append(list, fmt.Sprintf("With faultgrain: faultgrain run LOG, then faultgrain hunch --model %q --component %s", m, c))
	} else {
		list = append(list, "With faultgrain: faultgrain run LOG, and look for the same sentence.")
	}
	return list
}

// Markdown is the finding for a forum or a chat.
func (t *Told) Markdown() string {
	var s strings.Builder
	fmt.Fprintf(&s, "**%s**\n\n%s, one repair shop's log, %s.\n\n", plain(t.Headline), findings.Capital(t.Grade), t.Months)
	if t.Cautions != "" {
		fmt.Fprintf(&s, "> %s\n\n", plain(t.Cautions))
	}
	s.WriteString("The numbers:\n\n")
	for _, n := range t.Numbers {
		fmt.Fprintf(&s, "- %s: %s\n", plain(n.Name), n.Value)
	}
	fmt.Fprintf(&s, "\nHow it was found: %s\n\nWhat to keep in mind:\n\n", plain(t.How))
	for _, c := range t.Caveats {
		fmt.Fprintf(&s, "- %s\n", plain(c))
	}
	s.WriteString("\nHow to check it on your own log:\n\n")
	for i, c := range t.Check {
		fmt.Fprintf(&s, "%d. %s\n", i+1, plain(c))
	}
	s.WriteString("\nLocal codes, the maker's safety data and licensed practice come first.\n")
	return s.String()
}

// plain keeps a name from a log from being read as markup.
func plain(text string) string {
	return strings.NewReplacer(`\`, `\\`, "*", `\*`, "_", `\_`, "`", "\\`", "[", `\[`, "]", `\]`, "<", `\<`, ">", `\>`, "#", `\#`, "|", `\|`, "@", "(at)", "\n", " ", "\r", " ").Replace(text)
}

// Page writes the finding as a page that stands alone.
func (t *Told) Page(w io.Writer) error {
	page, err := template.New("finding").Parse(findingText)
	if err != nil {
		return err
	}
	return page.Execute(w, t)
}
