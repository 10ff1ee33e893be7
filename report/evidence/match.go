package evidence

import "faultgrain/schemas"

// Find returns the bench of the model a person means: the exact name, else what schemas.Match makes of it, as the hunch
// does. Otherwise it is a *schemas.NameError with suggestions.
func Find(list []Bench, name string) (Bench, error) {
	names := make([]schemas.Spelled, len(list))
	for i, b := range list {
		if b.Model == name {
			return b, nil
		}
		names[i] = schemas.SpelledModel(b.Model, b.Maker)
	}
	i, err := schemas.Match("model", name, names)
	if err != nil {
		return Bench{}, err
	}
	return list[i], nil
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
