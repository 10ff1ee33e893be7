package hunch

import (
	"cmp"
	"context"
	"database/sql"
	_ "embed"
	"fmt"
	"slices"
	"strings"

	"faultgrain/analysis/tally"
	"faultgrain/ingest/lexicon"
	"faultgrain/schemas"
)

//go:embed models.sql
var modelsSQL string

// A NameError is a model or component that fits nothing, or several.
type NameError struct {
	What  string   // "model" or "component"
	Name  string   // as asked
	Fits  []string // several that fit alike
	Nears []string // the nearest, when nothing fits
}

func (e *NameError) Error() string {
	switch {
	case len(e.Fits) > 0:
		return fmt.Sprintf("%s %q fits several: %s; name one of them", e.What, e.Name, strings.Join(e.Fits, ", "))
	case len(e.Nears) > 0:
		return fmt.Sprintf("no %s %q; did you mean %s?", e.What, e.Name, strings.Join(e.Nears, ", "))
	}
	return fmt.Sprintf("no %s %q in the history", e.What, e.Name)
}

type model struct {
	Model  string `sql:"model"`
	Class  string `sql:"class"`
	Maker  string `sql:"maker"`
	Visits int    `sql:"visits"`
}

// findModel finds the model meant; see match.
func findModel(ctx context.Context, log *tally.Log, name string) (model, error) {
	list, err := tally.Query[model](ctx, log, modelsSQL)
	if err != nil {
		return model{}, err
	}
	slices.SortStableFunc(list, func(a, b model) int { return cmp.Compare(b.Visits, a.Visits) }) // suggestions: what the shop sees most
	names := make([]spelled, len(list))
	for i, m := range list {
		names[i] = spelled{m.Model, strings.TrimSpace(strings.TrimPrefix(m.Model, m.Maker))}
	}
	i, err := match("model", name, names)
	if err != nil {
		return model{}, err
	}
	return list[i], nil
}

// findComponent finds the component meant, by its id, its name, or the words the lexicon knows it by.
func findComponent(l *schemas.Lexicon, name string) (string, error) {
	ids := slices.DeleteFunc(l.IDs(), func(id string) bool { return l.Components[id].Cause })
	for _, id := range ids {
		if f := schemas.FoldPhrase(name); f != "" && (f == schemas.FoldPhrase(id) || f == schemas.FoldPhrase(l.Name(id))) {
			return id, nil
		}
	}
	reader, err := lexicon.New(l)
	if err != nil {
		return "", err
	}
	var read []string
	for _, id := range reader.Read(name, lexicon.Part).Components {
		if slices.Contains(ids, id) {
			read = append(read, id)
		}
	}
	if len(read) == 1 {
		return read[0], nil
	}
	names := make([]spelled, len(ids))
	for i, id := range ids {
		names[i] = spelled{id, l.Name(id)}
	}
	i, err := match("component", name, names)
	if err != nil {
		return "", err
	}
	return ids[i], nil
}

// most is how many suggestions are made.
const most = 5

// A spelled name is one that is shown, and another that is as good: a model without its maker.
type spelled struct{ name, short string }

// match finds the one name meant: written the same but for case, accents and spacing, else the only one that starts
// so, else the only one that has all the words in it. A near miss is suggested, never taken: a digit tells models apart.
func match(what, asked string, names []spelled) (int, error) {
	miss := &NameError{What: what, Name: asked}
	want := schemas.FoldPhrase(asked)
	if want == "" {
		return 0, miss
	}
	folded := make([]spelled, len(names))
	for i, n := range names {
		folded[i] = spelled{schemas.FoldPhrase(n.name), schemas.FoldPhrase(n.short)}
	}
	words := strings.Fields(want)
	for _, fits := range []func(have string) bool{
		func(have string) bool { return strings.ReplaceAll(have, " ", "") == strings.ReplaceAll(want, " ", "") },
		func(have string) bool { return strings.HasPrefix(have, want) },
		func(have string) bool { return hasWords(have, words, func(a, b string) bool { return a == b }) },
		func(have string) bool { return hasWords(have, words, strings.HasPrefix) },
	} {
		var at []int
		for i, have := range folded {
			if fits(have.name) || fits(have.short) {
				at = append(at, i)
			}
		}
		switch {
		case len(at) == 1:
			return at[0], nil
		case len(at) > 1:
			for _, i := range at[:min(len(at), most)] {
				miss.Fits = append(miss.Fits, names[i].name)
			}
			return 0, miss
		}
	}
	miss.Nears = nearest(want, folded, names)
	return 0, miss
}

// hasWords reports whether every word asked for is in the name.
func hasWords(have string, words []string, is func(have, want string) bool) bool {
	parts := strings.Fields(have)
	for _, w := range words {
		if !slices.ContainsFunc(parts, func(p string) bool { return is(p, w) }) {
			return false
		}
	}
	return true
}

// nearest takes names out by edit distance until none is near.
func nearest(want string, folded, names []spelled) []string {
	left := make([]string, 0, 2*len(folded))
	for _, f := range folded {
		left = append(left, f.name, f.short)
	}
	var out []string
	for len(out) < 3 {
		near := schemas.Nearest(want, left)
		if near == "" {
			break
		}
		i := slices.Index(left, near) / 2
		out = append(out, names[i].name)
		left[2*i], left[2*i+1] = "", ""
	}
	return out
}

func named(name string, value any) any { return sql.Named(name, value) }
