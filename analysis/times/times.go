// Package times says how long repairs take.
//
// In: a tally.Log. Out: rows of tables/times.csv and findings. Bench minutes are those of repaired jobs with
// that one component, or exactly that pair, found bad; a job with more says nothing about either. Turnaround
// is elapsed time from opened to ready, by Kaplan-Meier: open jobs count as not ready yet, for leaving them out makes
// the shop look faster than it is.
//
// A row of all models ("*") adds up jobs, except for together_saves: there minutes are compared within each
// model and averaged by how often the model's pair was done, so that a mix of models is no saving.
//
// It refuses to compare technicians.
package times

import (
	"cmp"
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"fmt"
	"math"
	"slices"

	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

//go:embed bench.sql
var benchSQL string

//go:embed turnaround.sql
var turnaroundSQL string

const (
	conf       = 0.95
	exactUpTo  = 300_000 // visits; above, turnaround is cut to whole hours
	minPair    = 3       // jobs below which a model's pair has no row
	maxPairs   = 5_000   // rows of pairs on single models; the most frequent go first
	coxFrom    = 30      // jobs from which Cox's limits keep their promise; below, Zou's are used
	minForMean = 3       // jobs a mean must rest on before it is added to or taken from another
)

type key struct{ model, component, componentB string }

type benchCount struct {
	Model      string  `sql:"model"`
	Component  string  `sql:"component"`
	ComponentB string  `sql:"component_b"`
	Minutes    float64 `sql:"minutes"`
	Jobs       int     `sql:"jobs"`
}

type elapsedCount struct {
	Model      string `sql:"model"`
	Component  string `sql:"component"`
	ComponentB string `sql:"component_b"`
	Elapsed    int    `sql:"elapsed"`
	Ended      bool   `sql:"ended"`
	Jobs       int    `sql:"jobs"`
}

// Compute returns rows ordered by model ("*" first), component and second component.
func Compute(ctx context.Context, log *tally.Log) ([]schemas.Time, error) {
	bench, err := tally.Query[benchCount](ctx, log, benchSQL)
	if err != nil {
		return nil, err
	}
	step := 1
	if log.Totals.Visits > exactUpTo {
		step = 60
	}
	elapsed, err := tally.Query[elapsedCount](ctx, log, turnaroundSQL, sql.Named("step", step))
	if err != nil {
		return nil, err
	}
	return build(bench, elapsed)
}

func build(bench []benchCount, elapsed []elapsedCount) ([]schemas.Time, error) {
	minutes := map[key]*sample{}
	for _, b := range bench {
		k := key{b.Model, b.Component, b.ComponentB}
		for _, k := range []key{k, k.all()} {
			if minutes[k] == nil {
				minutes[k] = &sample{}
			}
			minutes[k].add(b.Minutes, b.Jobs)
		}
	}
	lives := map[key][]stat.Lifetime{}
	for _, e := range elapsed {
		l := stat.Lifetime{Time: float64(e.Elapsed) / 60}
		if e.Ended {
			l.Events = e.Jobs
		} else {
			l.Censored = e.Jobs
		}
		k := key{e.Model, e.Component, e.ComponentB}
		lives[k] = append(lives[k], l)
		lives[k.all()] = append(lives[k.all()], l)
	}
	var rows []schemas.Time
	for _, k := range kept(minutes, lives) {
		r := schemas.Time{Model: k.model, Component: k.component, ComponentB: k.componentB}
		if err := benchColumns(&r, minutes[k]); err != nil {
			return nil, fmt.Errorf("times of %s: %w", k, err)
		}
		if err := turnaroundColumns(&r, lives[k]); err != nil {
			return nil, fmt.Errorf("turnaround of %s: %w", k, err)
		}
		rows = append(rows, r)
	}
	return rows, addSavings(rows, minutes)
}

func (k key) all() key { return key{schemas.Any, k.component, k.componentB} }

func (k key) String() string {
	if k.componentB == "" {
		return k.component + " on " + k.model
	}
	return k.component + " and " + k.componentB + " on " + k.model
}

// kept chooses the rows of the table, in order.
func kept(minutes map[key]*sample, lives map[key][]stat.Lifetime) []key {
	var all, pairs []key
	jobs := map[key]int{}
	for k, s := range minutes {
		jobs[k] = s.n
	}
	for k, list := range lives {
		n := 0
		for _, l := range list {
			n += l.Events + l.Censored
		}
		jobs[k] = max(jobs[k], n)
	}
	for k, n := range jobs {
		switch {
		case k.componentB == "" || k.model == schemas.Any:
			all = append(all, k)
		case n >= minPair:
			pairs = append(pairs, k)
		}
	}
	slices.SortFunc(pairs, func(a, b key) int { return cmp.Or(cmp.Compare(jobs[b], jobs[a]), compare(a, b)) })
	all = append(all, pairs[:min(maxPairs, len(pairs))]...)
	slices.SortFunc(all, compare)
	return all
}

func compare(a, b key) int {
	if all := a.model == schemas.Any; all != (b.model == schemas.Any) {
		if all {
			return -1
		}
		return 1
	}
	return cmp.Or(cmp.Compare(a.model, b.model), cmp.Compare(a.component, b.component), cmp.Compare(a.componentB, b.componentB))
}

func benchColumns(r *schemas.Time, s *sample) error {
	if s == nil {
		return nil
	}
	known := schemas.Known
	r.Jobs = s.n
	r.Median, r.P90 = known(s.quantile(0.5)), known(s.quantile(0.9))
	fit := s.lognormal()
	mean, err := limits(fit)
	switch {
	case errors.Is(err, stat.ErrTooFew), errors.Is(err, stat.ErrNoInformation):
		r.MTTR = known(fit.Mean())
	case err != nil:
		return err
	default:
		r.MTTR, r.MTTRLow, r.MTTRHigh = known(mean.Value), known(mean.Lo), known(mean.Hi)
	}
	if s.n > 1 {
		r.GSD = known(fit.GSD())
	}
	return nil
}

// limits of the mean: Cox's, and Zou's below coxFrom jobs, where Cox's are too narrow.
func limits(fit stat.Lognormal) (stat.Estimate, error) {
	if fit.N < coxFrom {
		return fit.MeanZou(conf)
	}
	return fit.MeanCox(conf)
}

func turnaroundColumns(r *schemas.Time, list []stat.Lifetime) error {
	if len(list) == 0 {
		return nil
	}
	for _, l := range list {
		r.TurnaroundJobs += l.Events
		r.TurnaroundOpen += l.Censored
	}
	curve, err := stat.KaplanMeier(list, conf, stat.LogLog)
	if err != nil {
		return err
	}
	m := curve.Median()
	r.TurnaroundMedianHours, r.TurnaroundLow, r.TurnaroundHigh = limit(m.Value), limit(m.Lo), limit(m.Hi)
	return nil
}

func limit(l stat.Limit) schemas.Float {
	if !l.Bounded {
		return schemas.Float{}
	}
	return schemas.Known(l.Value)
}

// A sample tallies bench minutes.
type sample struct {
	values []float64 // sorted once asked for a quantile
	counts []int     // beside values
	n      int
	sorted bool
}

func (s *sample) add(minutes float64, jobs int) {
	s.values, s.counts, s.n = append(s.values, minutes), append(s.counts, jobs), s.n+jobs
}

// lognormal sums the sample up by its logs, in two passes.
func (s *sample) lognormal() stat.Lognormal {
	s.sort()
	n, sum := float64(s.n), 0.0
	logs := make([]float64, len(s.values))
	for i, v := range s.values {
		logs[i] = math.Log(v)
		sum += float64(s.counts[i]) * logs[i]
	}
	f := stat.Lognormal{N: s.n, MeanLog: sum / n}
	if s.n > 1 {
		squares := 0.0
		for i, l := range logs {
			d := l - f.MeanLog
			squares += float64(s.counts[i]) * d * d
		}
		f.SDLog = math.Sqrt(squares / (n - 1))
	}
	return f
}

// quantile interpolates between order statistics (Hyndman and Fan 1996, type 7; R's default).
func (s *sample) quantile(p float64) float64 {
	s.sort()
	h := p * float64(s.n-1)
	low := int(math.Floor(h))
	a, b := s.at(low), s.at(min(low+1, s.n-1))
	return a + (h-float64(low))*(b-a)
}

// at is the i-th smallest value, from 0.
func (s *sample) at(i int) float64 {
	for j, c := range s.counts {
		if i < c {
			return s.values[j]
		}
		i -= c
	}
	return s.values[len(s.values)-1]
}

// sort brings equal minutes together, so that sums do not depend on the order of models.
func (s *sample) sort() {
	if s.sorted {
		return
	}
	count := map[float64]int{}
	for i, v := range s.values {
		count[v] += s.counts[i]
	}
	s.values, s.counts = s.values[:0], s.counts[:0]
	for v := range count {
		s.values = append(s.values, v)
	}
	slices.Sort(s.values)
	for _, v := range s.values {
		s.counts = append(s.counts, count[v])
	}
	s.sorted = true
}

// addSavings fills together_saves: the mean of each component alone, added, less the mean of the pair done in
// one opening, within each model; limits by recovery from Zou's limits of the means.
func addSavings(rows []schemas.Time, minutes map[key]*sample) error {
	means := map[key]*stat.Estimate{}
	mean := func(k key) (*stat.Estimate, error) {
		if e, ok := means[k]; ok {
			return e, nil
		}
		var e *stat.Estimate
		if s := minutes[k]; s != nil && s.n >= minForMean {
			est, err := s.lognormal().MeanZou(conf)
			switch {
			case err == nil:
				e = &est
			case !errors.Is(err, stat.ErrNoInformation) && !errors.Is(err, stat.ErrTooFew):
				return nil, fmt.Errorf("minutes of %s: %w", k, err)
			}
		}
		means[k] = e
		return e, nil
	}
	models := map[key][]string{} // of each pair, sorted
	for k := range minutes {
		if k.componentB != "" && k.model != schemas.Any {
			models[k.all()] = append(models[k.all()], k.model)
		}
	}
	for i := range rows {
		r := &rows[i]
		if r.ComponentB == "" {
			continue
		}
		scope := []string{r.Model}
		if r.Model == schemas.Any {
			scope = models[key{r.Model, r.Component, r.ComponentB}]
			slices.Sort(scope)
		}
		var parts []stat.Estimate
		var weights []float64
		total := 0.0
		for _, m := range scope {
			pair := key{m, r.Component, r.ComponentB}
			var three [3]*stat.Estimate
			for j, k := range []key{{m, r.Component, ""}, {m, r.ComponentB, ""}, pair} {
				e, err := mean(k)
				if err != nil {
					return err
				}
				three[j] = e
			}
			if three[0] == nil || three[1] == nil || three[2] == nil {
				continue
			}
			w := float64(minutes[pair].n)
			total += w
			parts = append(parts, *three[0], *three[1], *three[2])
			weights = append(weights, w, w, -w)
		}
		if total == 0 {
			continue
		}
		for j := range weights {
			weights[j] /= total
		}
		saved, err := stat.Combine(weights, parts)
		if err != nil {
			return fmt.Errorf("minutes saved by %s and %s on %s: %w", r.Component, r.ComponentB, r.Model, err)
		}
		r.TogetherSaves, r.SavesLow, r.SavesHigh = schemas.Known(saved.Value), schemas.Known(saved.Lo), schemas.Known(saved.Hi)
	}
	return nil
}
