package lexicon

import "slices"

// Names is what a text names, without the matches that tell why.
type Names struct {
	Components []string // as in Reading; shared, not to be changed
	Component  bool     // one of them is a component, no cause and nothing vague
	Mentioned  bool     // the text mentions some component or cause, counted or not
	Fine       bool     // it mentions none and says that all works, and of no fault or work
	Clear      bool     // it is fine and says that no fault was found
}

// Names reads a text as Read does and tells only what counts. It is for reading logs: most texts
// name one component, for which nothing is allocated.
func (r *Reader) Names(text string, kind Kind) Names {
	s := r.scratch.Get().(*scratch)
	r.understand(s, text, kind)
	var out Names
	var room [16]int16
	counted, fine, amiss := room[:0], false, false
	for i := range s.items {
		it := &s.items[i]
		if it.comp < 0 {
			fine = fine || it.role == roleFine
			amiss = amiss || it.role == roleFault || it.role == roleWork
			out.Clear = out.Clear || it.role == roleFine && r.entries[it.entry].clear
			continue
		}
		out.Mentioned = true
		if !it.verdict.counts() {
			continue
		}
		for _, c := range [2]int16{it.comp, it.more} {
			if c >= 0 && !slices.Contains(counted, c) {
				counted = append(counted, c)
				out.Component = out.Component || !r.comps[it.comp].cause && !r.comps[it.comp].vague
			}
		}
	}
	r.scratch.Put(s)
	out.Fine = fine && !amiss && !out.Mentioned
	out.Clear = out.Clear && out.Fine
	switch len(counted) {
	case 0:
	case 1:
		out.Components = r.ids[counted[0] : counted[0]+1 : counted[0]+1]
	default:
		slices.Sort(counted)
		out.Components = make([]string, len(counted))
		for i, c := range counted {
			out.Components[i] = r.ids[c]
		}
	}
	return out
}
