package hunch

import (
	"cmp"
	"context"
	"database/sql"
	_ "embed"
	"fmt"
	"slices"

	"faultgrain/analysis/tally"
	"faultgrain/ingest/lexicon"
	"faultgrain/schemas"
)

//go:embed models.sql
var modelsSQL string

type model struct {
	Model  string `sql:"model"`
	Class  string `sql:"class"`
	Maker  string `sql:"maker"`
	Visits int    `sql:"visits"`
}

// findModel finds the model meant; see schemas.Match.
func findModel(ctx context.Context, log *tally.Log, name string) (model, error) {
	list, err := tally.Query[model](ctx, log, modelsSQL)
	if err != nil {
		return model{}, err
	}
	slices.SortStableFunc(list, func(a, b model) int { return cmp.Compare(b.Visits, a.Visits) }) // suggestions: what the shop sees most
	names := make([]schemas.Spelled, len(list))
	for i, m := range list {
		names[i] = schemas.SpelledModel(m.Model, m.Maker)
	}
	i, err := schemas.Match("model", name, names)
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
	for _, id := range l.Causes() {
		if f := schemas.FoldPhrase(name); f == schemas.FoldPhrase(id) || f == schemas.FoldPhrase(l.Name(id)) {
			return "", fmt.Errorf("%q is a cause, not a component: ask about what it broke", name)
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
	names := make([]schemas.Spelled, len(ids))
	for i, id := range ids {
		names[i] = schemas.Spelled{Name: id, Short: l.Name(id)}
	}
	i, err := schemas.Match("component", name, names)
	if err != nil {
		return "", err
	}
	return ids[i], nil
}

func named(name string, value any) any { return sql.Named(name, value) }
