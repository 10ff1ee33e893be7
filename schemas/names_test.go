package schemas

import (
	"errors"
	"slices"
	"testing"
)

func TestMatch(t *testing.T) {
	names := []Spelled{
		{"Lark Wren 5", "Wren 5"}, {"Lark Wren 5 Plus", "Wren 5 Plus"}, {"Lark Wren 6", "Wren 6"}, {"Toller Épice", "Épice"},
	}
	for _, tc := range []struct {
		asked, want string
		fits, nears []string
	}{
		{asked: "lark wren 5", want: "Lark Wren 5"},
		{asked: "WREN5", want: "Lark Wren 5"},
		{asked: "wren 5 plus", want: "Lark Wren 5 Plus"},
		{asked: "5 plus", want: "Lark Wren 5 Plus"},
		{asked: "epice", want: "Toller Épice"},
		{asked: "tol", want: "Toller Épice"},
		{asked: "wren", fits: []string{"Lark Wren 5", "Lark Wren 5 Plus", "Lark Wren 6"}},
		{asked: "wren 7", nears: []string{"Lark Wren 5", "Lark Wren 6"}},
		{asked: "something else"},
		{asked: " "},
	} {
		i, err := Match("model", tc.asked, names)
		if tc.want != "" {
			if err != nil || names[i].Name != tc.want {
				t.Errorf("%q: %d, %v, want %s", tc.asked, i, err, tc.want)
			}
			continue
		}
		var miss *NameError
		if !errors.As(err, &miss) || !slices.Equal(miss.Fits, tc.fits) || !slices.Equal(miss.Nears, tc.nears) {
			t.Errorf("%q: %+v, want fits %v, nears %v", tc.asked, miss, tc.fits, tc.nears)
		}
	}
}
