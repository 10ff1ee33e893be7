package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// A fileCount is what became of one file's rows.
type fileCount struct {
	name                                             string
	read, accepted, duplicate, quarantined, replaced int
}

// perFile are the topics of the quality table that count a file's rows.
var perFile = []string{"read", "accepted", "duplicate", "quarantined", "replaced"}

func (s *site) fileCounts() []fileCount {
	at := map[string]int{}
	var list []fileCount
	for _, q := range s.Quality {
		if !slices.Contains(perFile, q.Topic) {
			continue
		}
		i, ok := at[q.Subject]
		if !ok {
			i = len(list)
			at[q.Subject] = i
			list = append(list, fileCount{name: q.Subject})
		}
		f := &list[i]
		*map[string]*int{"read": &f.read, "accepted": &f.accepted, "duplicate": &f.duplicate, "quarantined": &f.quarantined, "replaced": &f.replaced}[q.Topic] += q.Count
	}
	slices.SortFunc(list, func(a, b fileCount) int { return cmp.Compare(a.name, b.name) })
	return list
}

// total adds the files up.
func total(files []fileCount) (t fileCount) {
	for _, f := range files {
		t.read, t.accepted, t.duplicate, t.quarantined, t.replaced = t.read+f.read, t.accepted+f.accepted, t.duplicate+f.duplicate, t.quarantined+f.quarantined, t.replaced+f.replaced
	}
	return t
}

// count adds up the quality rows of a topic, of one subject unless it is "".
func (s *site) count(topic, subject string) int {
	n := 0
	for _, q := range s.Quality {
		if q.Topic == topic && (subject == "" || q.Subject == subject) {
			n += q.Count
		}
	}
	return n
}

// topicWords head the parts of the data page.
var topicWords = []struct{ topic, title, text string }{
	{"missing-key", "What would give more", "Keys of shop.toml and files that are not given, and what the report can't say without them."},
	{"unread", "Visits whose words say nothing", "Fault text was given and no entry of the lexicon could read it. Every share on the other pages carries the bounds that hold whatever these were."},
	{"unread-value", "Words to add", "Values of the part and found columns that no entry reads. Add them to the shop's own components file, or say they name nothing."},
	{"unknown", "Cells that are empty", "Each is left out of what rests on it, and of nothing else."},
	{"undiagnosed", "Visits without a diagnosis", ""},
	{"quarantined", "Rows set aside, by reason", ""},
	{"emptied", "Cells that could not be right", "The cell was emptied and the row kept."},
	{"contradiction", "Rows that contradict each other", "The last value read stands."},
	{"folded", "Spellings put together as one model", "Forbid a fold in the shop's models file where it is wrong."},
	{"later", "Visits after the day the report speaks of", ""},
}

func (s *site) dataPage() (any, error) {
	q := question{Note: "A row is set aside rather than guessed at. Correct it where it stands and read the file again: the corrected rows take its place."}
	q.head = head{Title: "How good the data is", Lacks: s.lacks("quality", len(s.Quality))}
	if len(s.Quality) == 0 {
		return q, nil
	}
	files := s.fileCounts()
	t := total(files)
	q.Lead = fmt.Sprintf("Of %s read, %s became part of a ticket, %s repeated one already read, and %s set aside with a reason.", plural(t.read, "row"), wording.Count(t.accepted), wording.Count(t.duplicate), verb(t.quarantined, "was", "were"))
	table := layout.Table{ID: "t-files", Caption: "Files read", Columns: []layout.Column{{Head: "file"}, {Head: "rows read", Num: true}, {Head: "accepted", Num: true}, {Head: "repeats", Num: true}, {Head: "set aside", Num: true}, {Head: "tickets replaced", Num: true}}}
	for _, f := range head0(files, tableRows) {
		table.Rows = append(table.Rows, []layout.Cell{layout.Text(f.name), layout.Count(f.read), layout.Count(f.accepted), layout.Count(f.duplicate), layout.Count(f.quarantined), layout.Count(f.replaced)})
	}
	q.Blocks = append(q.Blocks, block{Title: "Files", Table: &table, CSV: s.csv("quality"), Cut: s.cut(len(table.Rows), len(files), "first by name")})
	shown := map[string]bool{}
	for _, name := range perFile {
		shown[name] = true
	}
	shown["quarantined"] = false
	names := map[string]bool{}
	for _, f := range files {
		names[f.name] = true
	}
	for _, w := range topicWords {
		shown[w.topic] = true
		rows := slices.DeleteFunc(slices.Clone(s.Quality), func(r schemas.QualityRow) bool {
			return r.Topic != w.topic || w.topic == "quarantined" && names[r.Subject]
		})
		q.Blocks = append(q.Blocks, s.topicBlock(w.topic, w.title, w.text, rows))
	}
	rest := slices.DeleteFunc(slices.Clone(s.Quality), func(r schemas.QualityRow) bool { return shown[r.Topic] })
	for _, topic := range topics(rest) {
		rows := slices.DeleteFunc(slices.Clone(rest), func(r schemas.QualityRow) bool { return r.Topic != topic })
		q.Blocks = append(q.Blocks, s.topicBlock(topic, capital(strings.ReplaceAll(topic, "-", " ")), "", rows))
	}
	q.Blocks = tidy(q.Blocks)
	return q, nil
}

func topics(rows []schemas.QualityRow) []string {
	var list []string
	for _, r := range rows {
		if !slices.Contains(list, r.Topic) {
			list = append(list, r.Topic)
		}
	}
	return list
}

func (s *site) topicBlock(topic, title, text string, rows []schemas.QualityRow) block {
	if len(rows) == 0 {
		return block{}
	}
	slices.SortStableFunc(rows, func(a, b schemas.QualityRow) int { return cmp.Compare(b.Count, a.Count) })
	counted := slices.ContainsFunc(rows, func(r schemas.QualityRow) bool { return r.Count > 0 })
	t := layout.Table{ID: "t-" + slug(topic), Caption: title, Filter: len(rows) > 20, Columns: []layout.Column{{Head: "what"}, {Head: "count", Num: true}, {Head: "what it means"}}}
	if !counted {
		t.Columns = slices.Delete(t.Columns, 1, 2)
	}
	for _, r := range head0(rows, 100) {
		line := []layout.Cell{layout.Text(r.Subject), layout.Count(r.Count), layout.Text(r.Note)}
		if !counted {
			line = slices.Delete(line, 1, 2)
		}
		t.Rows = append(t.Rows, line)
	}
	b := block{Title: title, Table: &t, Cut: s.cut(len(t.Rows), len(rows), "with the largest counts")}
	if text != "" {
		b.Text = []string{text}
	}
	return b
}
