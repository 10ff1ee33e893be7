package evidence

import (
	"fmt"
	"slices"
	"strings"

	"faultgrain/schemas"
)

// A NotFoundError says that no model, or more than one, goes by a name.
type NotFoundError struct {
	Name string
	Near []string // what may have been meant, at most five
}

func (e NotFoundError) Error() string {
	if len(e.Near) == 0 {
		return fmt.Sprintf("no model %q in the tables", e.Name)
	}
	return fmt.Sprintf("no model %q in the tables; did you mean %s?", e.Name, strings.Join(e.Near, ", "))
}

// mostNear bounds the suggestions.
const mostNear = 5

// Find returns the bench of the model a person means: the exact name, else the name in any case and
// spacing, else the only one that holds every word. Otherwise it is a NotFoundError with suggestions.
func Find(list []Bench, name string) (Bench, error) {
	for _, b := range list {
		if b.Model == name {
			return b, nil
		}
	}
	want := fold(name)
	for _, b := range list {
		if strings.Join(fold(b.Model), "") == strings.Join(want, "") && len(want) > 0 {
			return b, nil
		}
	}
	var holds []Bench
	var names []string
	for _, b := range list {
		if holdsAll(fold(b.Model), want) {
			holds = append(holds, b)
		}
		names = append(names, b.Model)
	}
	if len(holds) == 1 {
		return holds[0], nil
	}
	miss := NotFoundError{Name: name}
	for _, b := range holds {
		miss.Near = append(miss.Near, b.Model)
	}
	for len(miss.Near) < mostNear && len(holds) == 0 {
		near := schemas.Nearest(name, names)
		if near == "" {
			break
		}
		miss.Near = append(miss.Near, near)
		names = slices.DeleteFunc(names, func(n string) bool { return n == near })
	}
	miss.Near = miss.Near[:min(len(miss.Near), mostNear)]
	return Bench{}, miss
}

// fold splits a name into words in small letters.
func fold(name string) []string {
	return strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return strings.ContainsRune(" -_/.", r) })
}

// holdsAll tells whether each wanted word stands in some word of the name.
func holdsAll(name, want []string) bool {
	for _, w := range want {
		if !slices.ContainsFunc(name, func(n string) bool { return strings.Contains(n, w) }) {
			return false
		}
	}
	return len(want) > 0
}

// GradesOf are the returns by grade of part, by component, where at least one repair was followed up.
func (t *Tables) GradesOf() map[string][]schemas.Return {
	of := map[string][]schemas.Return{}
	for _, r := range t.Returns {
		if r.By == "grade" && r.Repairs > 0 {
			of[r.Component] = append(of[r.Component], r)
		}
	}
	return of
}
