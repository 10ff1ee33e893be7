package cells

// MarkVote gathers from every numeric cell what the column can tell about its decimal mark. The
// zero value is ready; Merge adds up workers, and columns of one file.
type MarkVote struct {
	point, comma, open, plain, bad int64
}

// Add counts one cell of numbers, money or durations.
func (v *MarkVote) Add(cell []byte) {
	b := Trim(cell)
	if len(b) == 0 {
		return
	}
	_, kind := shortNumber(b) // hot path
	if kind == noNumber {
		if Blank(b) {
			return
		}
		num, _ := cutCurrency(b)
		_, kind = scanNumber(num, 0)
	}
	switch kind {
	case plainNumber:
		v.plain++
	case pointNumber:
		v.point++
	case commaNumber:
		v.comma++
	case openNumber:
		v.open++
	default:
		v.bad++
	}
}

// Merge adds what another vote has seen.
func (v *MarkVote) Merge(o *MarkVote) {
	v.point += o.point
	v.comma += o.comma
	v.open += o.open
	v.plain += o.plain
	v.bad += o.bad
}

// Settle gives the mark most cells prove; 0 when none does or as many prove the other. open counts
// the cells that only a settled mark can read: with no mark they are refused, and a person can settle
// them with the key decimal in columns.toml.
func (v *MarkVote) Settle() (mark Mark, open int64) {
	switch {
	case v.point > v.comma:
		return Point, v.open
	case v.comma > v.point:
		return Comma, v.open
	}
	return 0, v.open
}
