package schemas

import (
	"fmt"
	"slices"
	"strings"
)

// A NameError is a model or component that fits nothing, or several.
type NameError struct {
	What  string   // "model" or "component"
	Name  string   // as asked
	Fits  []string // several that fit alike
	Nears []string // the nearest, when nothing fits
}

func (e *NameError) Error() string {
	switch {
	case len(e.Fits) > mostNames:
		return fmt.Sprintf("%s %q fits %d: %s and others; say more of the name", e.What, e.Name, len(e.Fits), strings.Join(e.Fits[:mostNames], ", "))
	case len(e.Fits) > 0:
		return fmt.Sprintf("%s %q fits several: %s; name one of them", e.What, e.Name, strings.Join(e.Fits, ", "))
	case len(e.Nears) > 0:
		return fmt.Sprintf("no %s %q; did you mean %s?", e.What, e.Name, strings.Join(e.Nears, ", "))
	}
	return fmt.Sprintf("no %s %q is known", e.What, e.Name)
}

// mostNames is how many names a message tells.
const mostNames = 5

// A Spelled name is one that is shown, and another that is as good: a model without its maker.
type Spelled struct{ Name, Short string }

// SpelledModel is a model, which people name without its maker, too.
func SpelledModel(model, maker string) Spelled {
	return Spelled{model, strings.TrimSpace(strings.TrimPrefix(model, maker))}
}

// Match finds the one name meant, by its place in names: written the same but for case, accents and spacing, else the
// only one that starts so, else the only one that has all the words in it. Anything else is a *NameError: a near miss is
// suggested, never taken, for a digit tells models apart. Whoever takes a loosely written name goes by it: the hunch and
// the bench sheet.
func Match(what, asked string, names []Spelled) (int, error) {
	miss := &NameError{What: what, Name: asked}
	want := FoldPhrase(asked)
	if want == "" {
		return 0, miss
	}
	folded := make([]Spelled, len(names))
	for i, n := range names {
		folded[i] = Spelled{FoldPhrase(n.Name), FoldPhrase(n.Short)}
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
			if fits(have.Name) || fits(have.Short) {
				at = append(at, i)
			}
		}
		switch {
		case len(at) == 1:
			return at[0], nil
		case len(at) > 1:
			for _, i := range at {
				miss.Fits = append(miss.Fits, names[i].Name)
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
func nearest(want string, folded, names []Spelled) []string {
	left := make([]string, 0, 2*len(folded))
	for _, f := range folded {
		left = append(left, f.Name, f.Short)
	}
	var out []string
	for len(out) < 3 {
		near := Nearest(want, left)
		if near == "" {
			break
		}
		i := slices.Index(left, near) / 2
		out = append(out, names[i].Name)
		left[2*i], left[2*i+1] = "", ""
	}
	return out
}
