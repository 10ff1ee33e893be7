package batches

import (
	"fmt"
	"time"

	"faultgrain/analysis/stat"
)

// maxRun is the longest run of made-weeks that is looked at.
const maxRun = 8

// weekSpan joins the first and the last week of a run of made-weeks: 2026-W03..2026-W05.
const weekSpan = ".."

// A run is a number of weeks in a row.
type run struct{ first, weeks int }

// scanMade finds the run of 1 to 8 weeks of manufacture that holds most cases beyond what its models' visits would
// have, by the Bernoulli log-likelihood ratio. p is that of the maximum over all runs: 999 replicates draw anew which
// of a model's visits are the cases.
func scanMade(c Contrast, seed uint64) (Link, bool, error) {
	weeks, first, err := weekNumbers(c.Values)
	if err != nil || len(weeks) == 0 {
		return Link{}, false, err
	}
	span := weeks[len(weeks)-1] + 1
	if span > 1<<16 {
		return Link{}, false, nil // no manufacture: dates read as weeks
	}
	m := newMadeScan(c, weeks, span)
	best, at := m.strongest(m.observed())
	if best == 0 {
		return Link{}, false, nil
	}
	link, ok, err := c.test(func(v int) bool { return weeks[v] >= at.first && weeks[v] < at.first+at.weeks })
	if err != nil || !ok {
		return Link{}, false, err
	}
	maxima := m.maxima(seed)
	if link.P, err = stat.MaximumP(best, maxima); err != nil {
		return Link{}, false, err
	}
	link.Value = weekName(first.AddDate(0, 0, 7*at.first))
	if at.weeks > 1 {
		link.Value += weekSpan + weekName(first.AddDate(0, 0, 7*(at.first+at.weeks-1)))
	}
	return link, true, nil
}

// A madeScan holds what the replicates share.
type madeScan struct {
	cases    [][]int32 // [stratum][week]
	urns     []urn
	drawn    []int       // cases per stratum
	expected [][]float64 // [weeks of the run - 1][first week] of the stratum's own cases
	all, out float64     // visits and cases
	even     weights
	sums     []int32
}

func newMadeScan(c Contrast, weeks []int, span int) *madeScan {
	m := &madeScan{expected: make([][]float64, maxRun), sums: make([]int32, span+1)}
	even := make([]float64, span)
	mean := make([]float64, span)
	for i := range even {
		even[i] = 1
	}
	for _, s := range c.Strata {
		visits, cases, k, n := make([]int32, span), make([]int32, span), 0, 0
		for v, w := range weeks {
			visits[w] += int32(s.Cases[v] + s.Others[v])
			cases[w] += int32(s.Cases[v])
			k += s.Cases[v]
			n += s.Cases[v] + s.Others[v]
		}
		if k == 0 {
			continue
		}
		for w, v := range visits {
			mean[w] += float64(k) * float64(v) / float64(n)
		}
		u := newUrn(visits)
		if u.single(k) {
			u.open()
		}
		m.urns, m.drawn, m.cases = append(m.urns, u), append(m.drawn, k), append(m.cases, cases)
		m.all += float64(n)
		m.out += float64(k)
	}
	for i := range m.expected {
		m.expected[i] = make([]float64, span)
		for w := range mean {
			for j := w; j <= min(w+i, span-1); j++ {
				m.expected[i][w] += mean[j]
			}
		}
	}
	m.even = newWeights(even)
	return m
}

func (m *madeScan) observed() []int32 {
	total := make([]int32, len(m.even.keep))
	for _, cases := range m.cases {
		for w, c := range cases {
			total[w] += c
		}
	}
	return total
}

// strongest is the largest log-likelihood ratio of the weekly counts, and its run.
func (m *madeScan) strongest(total []int32) (best float64, at run) {
	for w, c := range total {
		m.sums[w+1] = m.sums[w] + c
	}
	for i, expected := range m.expected {
		for w := range total {
			if w+i >= len(total) {
				break
			}
			o := m.sums[w+i+1] - m.sums[w]
			if o < minCases {
				continue
			}
			c, e := float64(o), expected[w]
			if d := c - e; d <= 0 || e >= m.out || d*d*m.all*m.out <= best*(m.all-m.out)*e*(m.out-e) { // see bench.strongest
				continue
			}
			if v := bernoulli(c, m.all*e/m.out, m.out, m.all); v > best {
				best, at = v, run{w, i + 1}
			}
		}
	}
	return best, at
}

func (m *madeScan) maxima(seed uint64) []float64 {
	list := make([]float64, 999)
	d := newDrawer(m.urns)
	t := newTray(len(m.even.keep))
	for i := range list {
		d.source.Seed(seed, uint64(i)+1)
		for s := range m.urns {
			d.draw(s, &m.urns[s], m.drawn[s], &m.even, &t)
		}
		list[i], _ = m.strongest(t.counts)
		t.empty()
	}
	return list
}

// weekNumbers turns 2026-W07 into weeks since the first one, whose Monday is returned. Values come in order.
func weekNumbers(values []string) ([]int, time.Time, error) {
	var first time.Time
	list := make([]int, len(values))
	for i, v := range values {
		var year, week int
		if _, err := fmt.Sscanf(v, "%d-W%d", &year, &week); err != nil {
			return nil, first, fmt.Errorf("made week %q: want such as 2026-W07", v)
		}
		monday := isoMonday(year, week)
		if i == 0 {
			first = monday
		}
		list[i] = int(monday.Sub(first).Hours()) / (24 * 7)
	}
	return list, first, nil
}

// isoMonday is the Monday of a week by ISO 8601: 4 January lies in week 1.
func isoMonday(year, week int) time.Time {
	fourth := time.Date(year, time.January, 4, 0, 0, 0, 0, time.UTC)
	return fourth.AddDate(0, 0, -(int(fourth.Weekday())+6)%7+7*(week-1))
}

func weekName(monday time.Time) string {
	year, week := monday.ISOWeek()
	return fmt.Sprintf("%04d-W%02d", year, week)
}
