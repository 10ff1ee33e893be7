package columns

import "sort"

// assign gives each column its best meaning that no better column has taken.
func (m *Map) assign(all [][]candidate) {
	type bid struct {
		candidate
		col int
	}
	var bids []bid
	for i, list := range all {
		for _, c := range list {
			bids = append(bids, bid{candidate: c, col: i})
		}
	}
	sort.SliceStable(bids, func(i, j int) bool {
		a, b := bids[i], bids[j]
		if a.rank != b.rank {
			return a.rank < b.rank
		}
		if a.rank >= rankMaybe && a.order != b.order {
			return a.order < b.order
		}
		if a.col != b.col {
			return a.col < b.col
		}
		return a.meaning < b.meaning
	})
	refused := map[int]Second{}
	for _, b := range bids {
		if m.Of[b.col] != Unknown {
			continue
		}
		if taken := m.Col(b.meaning); taken >= 0 && (!b.meaning.many() || b.rank >= rankMaybe && b.meaning != Personal && b.meaning != Ignore) {
			if _, ok := refused[b.col]; !ok {
				refused[b.col] = Second{Column: b.col, First: taken}
			}
			continue
		}
		m.Of[b.col], m.rank[b.col] = b.meaning, b.rank
	}
	for i := range m.Of {
		if r, ok := refused[i]; ok && m.Of[i] == Unknown {
			m.Second = append(m.Second, r)
		}
	}
}
