package wording

import "testing"

func TestClip(t *testing.T) {
	for _, tc := range []struct {
		text string
		most int
		want string
	}{
		{"battery", 7, "battery"},
		{"battery", 6, "batte~"},
		{"日本語", 6, "日本語"},
		{"日本語", 5, "日本~"},
		{"日本語", 4, "日~"},
		{"e\u0301e\u0301", 2, "e\u0301e\u0301"},
	} {
		got := Clip(tc.text, tc.most, "~")
		if got != tc.want || Columns(got) > tc.most {
			t.Errorf("Clip(%q, %d) = %q, want %q", tc.text, tc.most, got, tc.want)
		}
	}
}
