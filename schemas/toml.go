package schemas

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// DecodeTOML decodes strictly into a struct pointer: errors carry file, line and column, and an
// unknown key names the nearest valid one.
func DecodeTOML(name string, raw []byte, into any) error {
	d := toml.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	err := d.Decode(into)
	if err == nil || errors.Is(err, io.EOF) {
		return nil
	}
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		first := strict.Errors[0]
		line, col := first.Position()
		key := strings.Join(first.Key(), ".")
		msg := fmt.Sprintf("%s:%d:%d: unknown key %q", name, line, col, key)
		if near := Nearest(key, tomlKeys(reflect.TypeOf(into).Elem(), "")); near != "" {
			msg += fmt.Sprintf("; did you mean %q?", near)
		}
		return errors.New(msg)
	}
	var de *toml.DecodeError
	if errors.As(err, &de) {
		line, col := de.Position()
		return fmt.Errorf("%s:%d:%d: %s", name, line, col, strings.TrimPrefix(de.Error(), "toml: "))
	}
	return fmt.Errorf("%s: %w", name, err)
}

// tomlKeys lists the keys a struct accepts, dotted for nested structs.
func tomlKeys(t reflect.Type, prefix string) []string {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct {
		return nil
	}
	var keys []string
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("toml"), ",")
		if name == "" || name == "-" {
			continue
		}
		keys = append(keys, prefix+name)
		keys = append(keys, tomlKeys(t.Field(i).Type, prefix+name+".")...)
	}
	return keys
}

// Nearest returns the candidate with the smallest edit distance to word, at most a third of the
// word's length and at least 1 away; ties go to the first. Empty when none is near.
func Nearest(word string, candidates []string) string {
	best, at := "", max(1, (len([]rune(word))+1)/3)+1
	for _, c := range candidates {
		if d := editDistance(strings.ToLower(word), strings.ToLower(c)); d < at {
			best, at = c, d
		}
	}
	return best
}

// editDistance counts insertions, deletions, substitutions and swaps of neighbours (optimal string alignment).
func editDistance(a, b string) int {
	x, y := []rune(a), []rune(b)
	before, prev, cur := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(x); i++ {
		cur[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				cur[j] = min(cur[j], before[j-2]+1)
			}
		}
		before, prev, cur = prev, cur, before
	}
	return prev[len(y)]
}
