package batches

import "testing"

// Weeks back, ten visits each: the last five hold three linked cases each. What else happened doesn't move the start.
func TestSince(t *testing.T) {
	for _, tc := range []struct {
		name  string
		cases []int
		want  int
	}{
		{"a plain start", []int{3, 3, 3, 3, 3}, 5},
		{"a case weeks before", []int{3, 3, 3, 3, 3, 0, 0, 1}, 5},
		{"a week without", []int{3, 0, 3, 3, 3}, 5},
		{"a usual level before", []int{6, 5, 7, 1, 0, 1, 1, 0, 2, 1, 1, 0, 1, 1, 1, 0, 1, 1}, 3},
		{"nothing linked", nil, 9},
		{"as often as ever", []int{1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}, 9},
	} {
		cases, visits := make([]int, 20), make([]int, 20)
		copy(cases, tc.cases)
		for i := range visits {
			visits[i] = 10
		}
		if got, err := since(cases, visits, 9); err != nil || got != tc.want {
			t.Errorf("%s: %d weeks, %v, want %d", tc.name, got, err, tc.want)
		}
	}
}
