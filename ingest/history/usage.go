package history

// A usage is a part line with what a question about it needs to know of its visit, so that it need not be looked up.
type usage struct {
	Part
	model                 string
	opened, mended        int64
	hasMended             bool
	hasDevice             bool
	initial, last, single bool
}

// usages puts the part lines of a visit beside it; they are ordered by component.
func usages(v *Visit, lines []Part, into []usage) []usage {
	mended, isMended := v.mended()
	for i, p := range lines {
		u := usage{Part: p, model: v.Model, opened: v.Opened, mended: mended, hasMended: isMended, hasDevice: !v.Device.IsZero()}
		again := i > 0 && lines[i-1].Component == p.Component
		u.initial = p.Component != "" && (i == 0 || lines[i-1].Component == "")
		u.last = i == len(lines)-1 || lines[i+1].Component != p.Component
		u.single = u.last && !again
		into = append(into, u)
	}
	return into
}
