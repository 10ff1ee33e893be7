package cells

// Quantity reads a number of pieces: 2, 2x, x2, 2 pcs, 1,5 m is none. Negative numbers are refused.
func Quantity(cell []byte, mark Mark) (float64, bool) {
	b := Trim(cell)
	if v, ok := Number(b, mark); ok {
		return v, v >= 0
	}
	if len(b) > 1 && (b[0] == 'x' || b[0] == 'X') {
		v, ok := Number(b[1:], mark)
		return v, ok && v >= 0
	}
	n := len(b)
	for n > 0 && !digit(b[n-1]) {
		n--
	}
	var buf [16]byte
	if n == 0 || len(b)-n > 12 {
		return 0, false
	}
	switch string(AppendKey(buf[:0], b[n:])) {
	case "x", "pc", "pcs", "piece", "pieces", "ea", "each", "st", "stk", "stck", "stuck", "stueck",
		"piece s", "pz", "pza", "ud", "uds", "stuk", "stuks", "styk":
		v, ok := Number(b[:n], mark)
		return v, ok && v >= 0
	}
	if string(b[n:]) == "×" {
		v, ok := Number(b[:n], mark)
		return v, ok && v >= 0
	}
	return 0, false
}
