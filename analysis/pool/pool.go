package pool

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/schemas"
)

const conf = 0.95

// What makes shops differ: then the table says random effects.
const (
	spread = 0.25 // I squared above it
	differ = 0.1  // p of heterogeneity below it
)

// Options of Compute.
type Options struct {
	Seed       uint64 // of the scan
	Replicates int    // of the scan; 0 means 999
}

// Tables is what the shops say together.
type Tables struct {
	Pool    []schemas.Pooled     // ordered by class, model and component
	Shops   []schemas.PooledShop // in the same order, then by shop
	Pairs   []schemas.PooledPair // ordered by model and components
	Batches []schemas.PooledBatch
}

// Compute pools shops. Odds of a component on a model are against the other models of its class, within each shop.
func Compute(ctx context.Context, shops []Shop, opt Options) (*Tables, error) {
	c := newCensus(shops)
	t := &Tables{}
	classes := c.classTotals()
	rows, each := make([]schemas.Pooled, len(c.keys)), make([][]schemas.PooledShop, len(c.keys))
	var workers errgroup.Group
	workers.SetLimit(runtime.GOMAXPROCS(0))
	for i, k := range c.keys {
		workers.Go(func() (err error) {
			if err := ctx.Err(); err != nil {
				return err
			}
			if rows[i], each[i], err = c.row(k, classes); err != nil {
				return fmt.Errorf("%s on %s: %w", k.component, k.model, err)
			}
			return nil
		})
	}
	if err := workers.Wait(); err != nil {
		return nil, err
	}
	t.Pool, t.Shops = rows, slices.Concat(each...)
	if err := findings.Correct(t.Pool, func(r *schemas.Pooled) (schemas.Float, *schemas.Float) { return r.P, &r.Q }); err != nil {
		return nil, err
	}
	var err error
	if t.Pairs, err = pairs(shops); err != nil {
		return nil, err
	}
	t.Batches, err = c.scan(ctx, opt)
	return t, err
}

// A group is a component in a class, in one shop.
type group struct {
	shop             int
	class, component string
}

// A total is what a group adds up to, by end.
type total struct {
	visits int
	faults [3]int
}

// classTotals adds up all models of a class, so that the others of a model are a difference.
func (c *census) classTotals() map[group]total {
	visits := map[group]int{}
	for s := range c.shops {
		for model, n := range c.visits[s] {
			visits[group{s, c.models[model].Class, ""}] += n
		}
	}
	totals := map[group]total{}
	for _, k := range c.keys {
		class := c.models[k.model].Class
		for s := range c.shops {
			if c.visits[s][k.model] == 0 {
				continue
			}
			g := group{s, class, k.component}
			t := totals[g]
			t.visits = visits[group{s, class, ""}]
			for e := range t.faults {
				t.faults[e] += c.faults(s, k, end(e))
			}
			totals[g] = t
		}
	}
	return totals
}

// table compares a model with the others of its class in one shop. Models on which no shop tells of the component showed it
// on few visits; they count with none.
func (c *census) table(shop int, k key, totals map[group]total, own, others end) stat.Table2 {
	all := totals[group{shop, c.models[k.model].Class, k.component}]
	a, n := c.faults(shop, k, own), c.visits[shop][k.model]
	o := all.faults[others] - c.faults(shop, k, others)
	return stat.Table2{A: a, B: n - a, C: o, D: all.visits - n - o}
}

func (c *census) row(k key, totals map[group]total) (schemas.Pooled, []schemas.PooledShop, error) {
	r := schemas.Pooled{Class: c.models[k.model].Class, Model: k.model, Component: k.component, Method: mantelHaenszel}
	var tables, low, high []stat.Table2
	var each []schemas.PooledShop
	var x, n []int
	lowest, visits, expected := 0, 0, 0
	for s := range c.shops {
		if c.visits[s][k.model] == 0 {
			continue
		}
		h := c.of(s, k)
		r.Shops++
		r.Faults, r.Visits, r.Most = r.Faults+h.told, r.Visits+h.visits, r.Most+h.told+h.most
		lowest, visits, expected = lowest+h.told+h.least, visits+h.visits, expected+c.faults(s, k, likely)
		tables = append(tables, c.table(s, k, totals, likely, likely))
		low = append(low, c.table(s, k, totals, least, most))
		high = append(high, c.table(s, k, totals, most, least))
		shop := schemas.PooledShop{Model: k.model, Component: k.component, Shop: c.shops[s].Name, Faults: h.told, Visits: h.visits, Most: h.told + h.most}
		x, n = append(x, c.faults(s, k, likely)), append(n, h.visits)
		if err := setShare(&shop.Share, &shop.ShareLow, &shop.ShareHigh, h.told+h.least, x[len(x)-1], shop.Most, h.visits); err != nil {
			return r, nil, err
		}
		each = append(each, shop)
	}
	if err := setShare(&r.Share, &r.ShareLow, &r.ShareHigh, lowest, expected, r.Most, visits); err != nil {
		return r, nil, err
	}
	if err := shrink(each, x, n); err != nil {
		return r, nil, err
	}
	if err := setOdds(&r, tables, low, high); err != nil {
		return r, nil, err
	}
	return r, each, setRandom(&r, each, tables)
}

// setShare fills a share and its limits: of what is likely, from the least with its lower limit to the most with its upper.
func setShare(share, lo, hi *schemas.Float, lowest, x, highest, n int) error {
	low, err := stat.Wilson(lowest, n, conf)
	if err != nil {
		return err
	}
	high, err := stat.Wilson(highest, n, conf)
	if err != nil {
		return err
	}
	*share, *lo, *hi = schemas.Known(float64(x)/float64(n)), schemas.Known(low.Lo), schemas.Known(high.Hi)
	return nil
}

// shrink draws each shop's share towards the others'.
func shrink(each []schemas.PooledShop, x, n []int) error {
	if len(each) < 2 {
		return nil
	}
	prior, err := stat.FitBetaBinomial(x, n)
	if err != nil {
		return err
	}
	for i := range each {
		switch post, err := prior.Posterior(x[i], n[i], conf); {
		case err == nil:
			each[i].Shrunk, each[i].ShrunkLow, each[i].ShrunkHigh = schemas.Known(post.Value), schemas.Known(post.Lo), schemas.Known(post.Hi)
		case !errors.Is(err, stat.ErrNotConverged):
			return err
		}
	}
	return nil
}

// Methods of a pooled row.
const (
	mantelHaenszel = "mantel-haenszel"
	randomEffects  = "random-effects"
)

// setOdds fills what takes the odds ratio as common to all shops.
func setOdds(r *schemas.Pooled, tables, low, high []stat.Table2) error {
	mid, ok, err := pooledOdds(tables)
	if err != nil || !ok {
		return err
	}
	if mid.Value.Bounded {
		r.Odds = schemas.Known(mid.Value.Value)
	}
	if lowest, ok, err := pooledOdds(low); err != nil {
		return err
	} else if ok {
		r.OddsLow = schemas.Known(lowest.Lo)
	}
	if highest, ok, err := pooledOdds(high); err != nil {
		return err
	} else if ok && highest.Hi.Bounded {
		r.OddsHigh = schemas.Known(highest.Hi.Value)
	}
	r.P, err = leastSure(tables, low, high)
	return err
}

func pooledOdds(tables []stat.Table2) (odds stat.Ratio, ok bool, err error) {
	odds, err = stat.MantelHaenszelOdds(tables, conf)
	if errors.Is(err, stat.ErrNoInformation) || errors.Is(err, stat.ErrNoData) {
		return odds, false, nil
	}
	return odds, err == nil, err
}

// leastSure is the largest p of the test at the ends of the withheld; 1 where they point in different directions.
func leastSure(tables, low, high []stat.Table2) (schemas.Float, error) {
	p, direction := 0.0, 0
	for _, t := range [][]stat.Table2{tables, low, high} {
		test, err := stat.CMH(t, true)
		if errors.Is(err, stat.ErrNoInformation) || errors.Is(err, stat.ErrNoData) {
			return schemas.Float{}, nil
		}
		if err != nil {
			return schemas.Float{}, err
		}
		d := sign(t)
		if direction != 0 && d != direction {
			return schemas.Known(1), nil
		}
		p, direction = math.Max(p, test.P), d
	}
	return schemas.Known(p), nil
}

// sign tells in which direction tables point: the sign of the Mantel-Haenszel excess.
func sign(tables []stat.Table2) int {
	excess := 0.0
	for _, t := range tables {
		if n := float64(t.A + t.B + t.C + t.D); n > 0 {
			excess += (float64(t.A)*float64(t.D) - float64(t.B)*float64(t.C)) / n
		}
	}
	return cmp.Compare(excess, 0)
}

// setRandom fills each shop's odds ratio and what lets shops differ.
func setRandom(r *schemas.Pooled, each []schemas.PooledShop, tables []stat.Table2) error {
	var effects, variances []float64
	for i, t := range tables {
		effect, variance, ok := logOdds(t)
		if !ok {
			continue
		}
		one, err := stat.FixedEffect([]float64{effect}, []float64{variance}, conf)
		if err != nil {
			return err
		}
		each[i].Odds, each[i].OddsLow, each[i].OddsHigh = exp(one.Value), exp(one.Lo), exp(one.Hi)
		effects, variances = append(effects, effect), append(variances, variance)
	}
	if len(effects) < 2 {
		return nil
	}
	p, err := stat.DerSimonianLaird(effects, variances, conf)
	if err != nil {
		return err
	}
	r.Random, r.RandLow, r.RandHigh = exp(p.Value), exp(p.Knapp.Lo), exp(p.Knapp.Hi)
	r.Tau2, r.I2, r.HetP = schemas.Known(p.Tau2), schemas.Known(p.I2), schemas.Known(p.QP)
	if p.Predicted {
		r.NextLow, r.NextHigh = exp(p.Prediction.Lo), exp(p.Prediction.Hi)
	}
	if p.I2 > spread || p.QP < differ {
		r.Method = randomEffects
	}
	return nil
}

// logOdds is the log odds ratio of a table and its variance; half a visit is added to each cell where one is empty (Haldane 1956,
// Annals of Human Genetics 20, 309-311). A table without a case, or without visits to compare, says nothing.
func logOdds(t stat.Table2) (effect, variance float64, ok bool) {
	if t.A+t.C == 0 || t.B+t.D == 0 || t.A+t.B == 0 || t.C+t.D == 0 {
		return 0, 0, false
	}
	a, b, c, d := float64(t.A), float64(t.B), float64(t.C), float64(t.D)
	if min(t.A, t.B, t.C, t.D) == 0 {
		a, b, c, d = a+0.5, b+0.5, c+0.5, d+0.5
	}
	return math.Log(a * d / (b * c)), 1/a + 1/b + 1/c + 1/d, true
}

// exp is unknown where the number is beyond all bounds.
func exp(v float64) schemas.Float { return schemas.Known(math.Exp(v)) }

// pairs adds up the pairs that shops tell of.
func pairs(shops []Shop) ([]schemas.PooledPair, error) {
	type pair struct{ model, a, b string }
	strata := map[pair][]stat.Table2{}
	var keys []pair
	for _, s := range shops {
		own := map[pair]stat.Table2{}
		var order []pair
		for _, p := range s.Pairs {
			k := pair{p.Model, p.A, p.B}
			t, seen := own[k]
			if !seen {
				order = append(order, k)
			}
			own[k] = stat.Table2{A: t.A + p.Both, B: t.B + p.AOnly, C: t.C + p.BOnly, D: t.D + p.Neither}
		}
		for _, k := range order {
			if strata[k] == nil {
				keys = append(keys, k)
			}
			strata[k] = append(strata[k], own[k])
		}
	}
	slices.SortFunc(keys, func(x, y pair) int {
		return cmp.Or(cmp.Compare(x.model, y.model), cmp.Compare(x.a, y.a), cmp.Compare(x.b, y.b))
	})
	var rows []schemas.PooledPair
	for _, k := range keys {
		r := schemas.PooledPair{Model: k.model, ComponentA: k.a, ComponentB: k.b, Shops: len(strata[k])}
		for _, t := range strata[k] {
			r.Both, r.AOnly, r.BOnly, r.Neither = r.Both+t.A, r.AOnly+t.B, r.BOnly+t.C, r.Neither+t.D
		}
		odds, ok, err := pooledOdds(strata[k])
		if err != nil {
			return nil, fmt.Errorf("pair %s and %s on %s: %w", k.a, k.b, k.model, err)
		}
		if ok {
			r.OddsLow = schemas.Known(odds.Lo)
			if odds.Value.Bounded {
				r.Odds = schemas.Known(odds.Value.Value)
			}
			if odds.Hi.Bounded {
				r.OddsHigh = schemas.Known(odds.Hi.Value)
			}
		}
		switch h, err := stat.BreslowDayTarone(strata[k]); {
		case err == nil:
			r.HomogP = schemas.Known(h.TaroneP)
		case !errors.Is(err, stat.ErrNoInformation) && !errors.Is(err, stat.ErrNotConverged):
			return nil, fmt.Errorf("pair %s and %s on %s: %w", k.a, k.b, k.model, err)
		}
		rows = append(rows, r)
	}
	return rows, nil
}
