package bundle

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"

	"faultgrain/analysis/findings"
)

//go:embed page.html
var pageText string

// page is the bundle for people: every number that is in the tables.
func (b *Bundle) page(w io.Writer) error {
	t, err := template.New("page").Funcs(template.FuncMap{"count": findings.Count, "cost": cost, "about": Note.about}).Parse(pageText)
	if err != nil {
		return err
	}
	return t.Execute(w, b)
}

// about says what a note is about.
func (n Note) about() string {
	var words []string
	for _, w := range []string{n.Model, n.Family, n.Component} {
		if w != "" {
			words = append(words, w)
		}
	}
	return strings.Join(words, ", ")
}

func cost(p Parts) string {
	switch {
	case !p.CostFrom.OK:
		return "not told"
	case !p.CostBelow.OK:
		return fmt.Sprintf("%s %s or more", findings.Number(p.CostFrom.V), p.Currency)
	}
	return fmt.Sprintf("%s to %s %s", findings.Number(p.CostFrom.V), findings.Number(p.CostBelow.V), p.Currency)
}

// Preview writes exactly what leaves the shop, as text: the manifest's words and every tally.
func (b *Bundle) Preview(w io.Writer) error {
	var s strings.Builder
	m := b.Manifest
	fmt.Fprintf(&s, "format %s, version %d\nmark of the shop: %s\n", m.Format, m.Version, m.Shop)
	if m.Name != "" {
		fmt.Fprintf(&s, "name: %s\n", m.Name)
	}
	fmt.Fprintf(&s, "months %s to %s, counts below %d withheld\n", m.From, m.To, m.Threshold)
	for _, what := range []string{"models", "components of models", "pairs", "part grades and costs"} {
		fmt.Fprintf(&s, "withheld: %s, %s\n", what, m.Withheld[what])
	}
	for _, n := range m.Notes {
		fmt.Fprintf(&s, "note about %s: %s\n", n.about(), n.Text)
	}
	fmt.Fprintf(&s, "\nvisits (%d rows): class, maker, family, model, from, to, diagnosed visits\n", len(b.Visits))
	for _, v := range b.Visits {
		fmt.Fprintf(&s, "%s, %s, %s, %s, %s, %s, %d\n", v.Class, v.Maker, v.Family, v.Model, v.From, v.To, v.Visits)
	}
	fmt.Fprintf(&s, "\nfaults (%d rows): model, component, from, to, faults of visits\n", len(b.Faults))
	for _, f := range b.Faults {
		told := "withheld"
		if f.Told {
			told = fmt.Sprint(f.Faults)
		}
		fmt.Fprintf(&s, "%s, %s, %s, %s, %s of %d\n", f.Model, f.Component, f.From, f.To, told, f.Visits)
	}
	fmt.Fprintf(&s, "\npairs (%d rows): model, first, second, from, to, both, first only, second only, neither\n", len(b.Pairs))
	for _, p := range b.Pairs {
		fmt.Fprintf(&s, "%s, %s, %s, %s, %s, %d, %d, %d, %d\n", p.Model, p.A, p.B, p.From, p.To, p.Both, p.AOnly, p.BOnly, p.Neither)
	}
	fmt.Fprintf(&s, "\nparts (%d rows): component, grade, unit cost, from, to, lines\n", len(b.Parts))
	for _, p := range b.Parts {
		fmt.Fprintf(&s, "%s, %s, %s, %s, %s, %d\n", p.Component, p.Grade, cost(p), p.From, p.To, p.Lines)
	}
	_, err := io.WriteString(w, s.String())
	return err
}
