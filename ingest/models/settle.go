package models

import "slices"

// spellings are those a name has gone through while it was spelled anew, until it stayed as it is.
type spellings []string

// settled adds a spelling and tells whether the name has come to rest in it, so that spelling what is spelled changes
// nothing. Should spellings go round in a circle, the first of them by letters is the one. Every name comes to rest: no
// step adds a letter, so that its spellings are finite in number.
func (s *spellings) settled(spelling string) bool {
	i := slices.Index(*s, spelling)
	*s = append(*s, spelling)
	return i >= 0 && spelling == slices.Min((*s)[i:]) // from i on they are the circle, mostly of one
}
