package batches

import (
	"reflect"
	"testing"
)

func TestRareModelsCountTogether(t *testing.T) {
	models := []Model{
		{"Lark 7", "Seven", "Lark", "phone"}, {"Lark 7a", "Seven", "Lark", "phone"}, {"Lark 7b", "Seven", "Lark", "phone"},
		{"Lark 9", "Nine", "Lark", "phone"}, {"Corvo 1", "One", "Corvo", "phone"},
	}
	leaves, at := together(models, map[string]int{"Lark 7": 3, "Lark 7a": 2, "Lark 7b": 1, "Lark 9": 2, "Corvo 1": 1})
	want := []Model{{"Lark 7", "Seven", "Lark", "phone"}, {"", "Seven", "Lark", "phone"}, {"", "", "Lark", "phone"}, {"", "", "", "phone"}}
	if !reflect.DeepEqual(leaves, want) {
		t.Errorf("leaves %q, want %q", leaves, want)
	}
	if place := map[string]int{"Lark 7": 0, "Lark 7a": 1, "Lark 7b": 1, "Lark 9": 2, "Corvo 1": 3}; !reflect.DeepEqual(at, place) {
		t.Errorf("models stand at %v, want %v", at, place)
	}
}
