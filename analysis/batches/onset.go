package batches

import (
	"context"
	_ "embed"
	"slices"
	"strings"

	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
)

//go:embed onset_earlier.sql
var onsetEarlierSQL string

//go:embed onset_device.sql
var onsetDeviceSQL string

// onset asks since when, in weeks up to the last day: the window of the alarm, or, once something is linked to it, the
// one in which the linked cases of its models come most above their own level, by the Bernoulli log-likelihood ratio,
// which makes it the maximum likelihood estimate of a change that lasts until today. Cases that happened to come just
// before the first linked ones don't draw it out. Passing attributes tell nothing of the onset.
func onset(ctx context.Context, log *tally.Log, g *Grid, a Alarm, links []Link) (int, error) {
	if len(links) == 0 {
		return a.Window, nil
	}
	l := slices.MinFunc(links, func(x, y Link) int { return telling(x.Attribute) - telling(y.Attribute) })
	if passing(l.Attribute) {
		return a.Window, nil
	}
	args := append(period(log.AsOf, g.Weeks), named("component", g.Components[a.Component]))
	text := onsetEarlierSQL
	if attribute, before := strings.CutPrefix(l.Attribute, earlier); before {
		args = append(args, named("attribute", attribute), named("value", l.Value))
	} else {
		low, high := l.span()
		text, args = onsetDeviceSQL, append(args, named("attribute", l.Attribute), named("low", low), named("high", high))
	}
	type week struct {
		Model  string `sql:"model"`
		Back   int    `sql:"back"`
		Faults int    `sql:"faults"`
	}
	rows, err := tally.Query[week](ctx, log, text, args...)
	if err != nil {
		return 0, err
	}
	linked, visits := make([]int, g.Weeks), make([]int, g.Weeks) // by weeks back
	for _, m := range a.Models {
		for _, r := range rows {
			if r.Model == g.Models[m].Name {
				linked[r.Back] += r.Faults
			}
		}
		for w, v := range g.Visits[m] {
			visits[g.Weeks-1-w] += int(v)
		}
	}
	return since(linked, visits, a.Window)
}

// since is the number of weeks, at most MaxWindow, with the largest log-likelihood ratio; usual where none has any.
func since(cases, visits []int, usual int) (int, error) {
	sum := func(x []int) (n int) {
		for _, v := range x {
			n += v
		}
		return n
	}
	best, at := 0.0, usual
	for h := 1; h <= min(MaxWindow, len(cases)-1); h++ {
		llr, err := stat.BernoulliLLR(sum(cases[:h]), sum(visits[:h]), sum(cases), sum(visits))
		if err != nil {
			return usual, err
		}
		if llr > best {
			best, at = llr, h
		}
	}
	return at, nil
}

// span gives the least and the greatest value of a link: a run of made-weeks has two.
func (l Link) span() (low, high string) {
	if low, high, run := strings.Cut(l.Value, weekSpan); run && l.Attribute == MadeWeek {
		return low, high
	}
	return l.Value, l.Value
}
