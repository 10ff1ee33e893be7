package history

import (
	"context"
	"path/filepath"
	"slices"
)

// A census is what the tables of a manifest hold, counted from the files themselves.
type census struct {
	entries    []entry       // of the current versions, sorted by hash; digests unknown
	superseded []int64       // visits that are current only because the file that retired them is lost
	retired    map[int]int64 // by segment
	totals     Totals
}

// recount reads the tables of m. It is what the index and the totals are rebuilt from.
func recount(ctx context.Context, dir string, m *Manifest, key *secret) (*census, error) {
	c := &census{retired: map[int]int64{}}
	dead, err := retiredVisits(ctx, dir, m)
	if err != nil {
		return nil, err
	}
	for _, s := range m.Segments {
		if err := c.addSegment(ctx, dir, s, dead, key); err != nil {
			return nil, err
		}
	}
	c.entries = sortEntries(c.entries)
	kept := c.entries[:0]
	for i, e := range c.entries {
		if i+1 < len(c.entries) && c.entries[i+1].hash == e.hash {
			c.superseded = append(c.superseded, e.visit)
			c.retired[segmentOf(e.visit)]++
			continue
		}
		kept = append(kept, e)
		c.totals.Visits++
		c.totals.Faults += int64(e.faults)
		c.totals.Parts += int64(e.parts)
	}
	c.entries = kept
	slices.Sort(c.superseded)
	refused, err := currentRefusals(ctx, dir, m)
	if err != nil {
		return nil, err
	}
	for _, n := range refused {
		c.totals.Quarantined += n
	}
	return c, nil
}

// retiredVisits are the visits that the replaced files name.
func retiredVisits(ctx context.Context, dir string, m *Manifest) (map[int64]struct{}, error) {
	dead := map[int64]struct{}{}
	for _, s := range m.Segments {
		if _, ok := s.Files[ReplacedTable]; !ok {
			continue
		}
		path := filepath.Join(dir, filepath.FromSlash(segmentFile(ReplacedTable, s.Number)))
		err := scan(ctx, path, []string{"visit"}, func(rows int, cols []cells) error {
			for i := range rows {
				if cols[0].has(i) {
					dead[cols[0].longs[i]] = struct{}{}
				}
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return dead, nil
}

func (c *census) addSegment(ctx context.Context, dir string, s SegmentRecord, dead map[int64]struct{}, key *secret) error {
	path := func(table string) string { return filepath.Join(dir, filepath.FromSlash(segmentFile(table, s.Number))) }
	rows := s.Files[VisitsTable].Rows
	faults, err := countByVisit(ctx, path(FaultsTable), rows)
	if err != nil {
		return err
	}
	parts, err := countByVisit(ctx, path(PartsTable), rows)
	if err != nil {
		return err
	}
	return scan(ctx, path(VisitsTable), []string{"visit", "shop", "ticket"}, func(n int, cols []cells) error {
		for i := range n {
			visit := cols[0].longs[i]
			if _, gone := dead[visit]; gone {
				c.retired[s.Number]++
				continue
			}
			row := visit & (1<<32 - 1)
			c.entries = append(c.entries, entry{hash: key.ticketHash(cols[1].texts[i], cols[2].texts[i]), visit: visit,
				faults: faults[row], parts: parts[row]})
		}
		return nil
	})
}

// countByVisit counts the rows of a faults or parts segment by their visit's row.
func countByVisit(ctx context.Context, path string, visits int64) ([]uint32, error) {
	counts := make([]uint32, visits)
	err := scan(ctx, path, []string{"visit"}, func(n int, cols []cells) error {
		for _, v := range cols[0].longs[:n] {
			counts[v&(1<<32-1)]++
		}
		return nil
	})
	return counts, err
}
