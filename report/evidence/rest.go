package evidence

import (
	"maps"
	"reflect"
	"slices"
	"strings"

	"faultgrain/schemas"
)

// Resting returns a function that finds the finding which rests on a row of the named table. T is the
// table's row; a finding names its row by columns and values.
func Resting[T any](found []schemas.Finding, table string) func(T) (schemas.Finding, bool) {
	t := reflect.TypeFor[T]()
	column := map[string]int{}
	for i := range t.NumField() {
		column[t.Field(i).Tag.Get("csv")] = i
	}
	type keys struct {
		fields []int
		at     map[string]schemas.Finding
	}
	var sets []*keys // one for each set of columns that keys use; one as a rule
	bySet := map[string]*keys{}
	for _, f := range found {
		if f.Row.Table != table {
			continue
		}
		names := slices.Sorted(maps.Keys(f.Row.Key))
		fields, values, known := []int{}, []string{}, true
		for _, name := range names {
			i, ok := column[name]
			known = known && ok && t.Field(i).Type.Kind() == reflect.String
			fields, values = append(fields, i), append(values, f.Row.Key[name])
		}
		if !known || len(names) == 0 {
			continue
		}
		set := strings.Join(names, "\x00")
		if bySet[set] == nil {
			bySet[set] = &keys{fields, map[string]schemas.Finding{}}
			sets = append(sets, bySet[set])
		}
		key := strings.Join(values, "\x00")
		if _, ok := bySet[set].at[key]; !ok { // the stronger one stands
			bySet[set].at[key] = f
		}
	}
	return func(row T) (schemas.Finding, bool) {
		v := reflect.ValueOf(&row).Elem()
		for _, set := range sets {
			values := make([]string, len(set.fields))
			for i, field := range set.fields {
				values[i] = v.Field(field).String()
			}
			if f, ok := set.at[strings.Join(values, "\x00")]; ok {
				return f, true
			}
		}
		return schemas.Finding{}, false
	}
}
