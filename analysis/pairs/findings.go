package pairs

import (
	"fmt"
	"math"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/schemas"
)

// oddsThreshold is the practical threshold of a finding, stated in its method.
const oddsThreshold = 1.5

const method = "Units that show both components against each alone: conditional maximum likelihood odds ratio with exact limits and Fisher mid-p " +
	"on a model; Mantel-Haenszel stratified by model over all. Benjamini-Hochberg over the table, where pairs that avoid each other count as found nothing. Firm: that q below 0.05 and the lower limit of the odds ratio above 1.5."

const selection = "A visit exists only because something failed, which makes components look as if they avoid each other; this pair shows in spite of that."

type pairKey struct{ scope, a, b string }

// Findings lists the pairs that fail together more often than chance. A pair is told once per scope, by the
// unit with the stronger evidence, visits first; for all models only when no single model carries it alone.
func Findings(rows []schemas.Pair, frame findings.Frame) []schemas.Finding {
	p, together := make([]schemas.Float, len(rows)), make([]bool, len(rows))
	for i, r := range rows {
		p[i], together[i] = r.P, float64(r.Both) > r.Expected.V
	}
	q, err := findings.DirectedQ(p, together)
	if err != nil {
		return nil // only for p outside [0, 1], which no row has
	}
	best := map[pairKey]schemas.Finding{}
	carried := map[pairKey]bool{} // scope left empty: some model shows the pair firmly
	mixed := map[pairKey]bool{}   // pooled pairs whose odds differ between models
	var order []pairKey
	for i, r := range rows {
		f := finding(r, q[i], frame)
		if f.Grade == "" {
			continue
		}
		k := pairKey{r.Scope, r.ComponentA, r.ComponentB}
		if r.Scope == schemas.Any && r.HomogeneityP.OK && r.HomogeneityP.V < 0.05 {
			mixed[k] = true
		}
		if r.Scope != schemas.Any && f.Grade == schemas.Firm {
			carried[pairKey{"", r.ComponentA, r.ComponentB}] = true
		}
		before, ok := best[k]
		if !ok {
			order = append(order, k)
		}
		if !ok || stronger(f.Grade, before.Grade) || f.Grade == before.Grade && r.Unit == UnitVisit {
			best[k] = f
		}
	}
	var list []schemas.Finding
	for _, k := range order {
		if k.scope == schemas.Any && mixed[k] && carried[pairKey{"", k.a, k.b}] {
			continue
		}
		list = append(list, best[k])
	}
	return findings.Shorten(list, 8, 4)
}

func stronger(a, b string) bool {
	place := map[string]int{schemas.Firm: 0, schemas.Leaning: 1, schemas.Thin: 2}
	return place[a] < place[b]
}

func finding(r schemas.Pair, q schemas.Float, frame findings.Frame) schemas.Finding {
	if !r.P.OK || !r.OddsLow.OK || !(float64(r.Both) > r.Expected.V) {
		return schemas.Finding{}
	}
	effect := r.OddsRatio.V
	if !r.OddsRatio.OK { // a cell is empty: half a unit in each gives a finite guess (Haldane 1956, Anscombe 1956)
		effect = (float64(r.Both) + 0.5) * (float64(r.Neither) + 0.5) / ((float64(r.AOnly) + 0.5) * (float64(r.BOnly) + 0.5))
	}
	e := findings.Evidence{P: r.P, Q: q, Effect: effect, Low: r.OddsLow.V, Threshold: oddsThreshold, Cases: r.Both}
	f := frame.New(schemas.KindPair, e, r.Scope, r.ComponentA, r.ComponentB)
	if f.Grade == "" {
		return f
	}
	more := 0
	if f.Grade == schemas.Thin {
		if more = unitsToSettle(r); more > 0 {
			f.Numbers["more_visits"] = schemas.Known(float64(more))
		}
	}
	f.Subject = schemas.Subject{Component: r.ComponentA, ComponentB: r.ComponentB}
	where, open := "All models", "a device"
	if r.Scope != schemas.Any {
		f.Subject.Model = r.Scope
		where, open = r.Scope, "the "+r.Scope
	}
	// The rarer of the two is named first: its share with the other is the larger one.
	first, second := r.ComponentA, r.ComponentB
	n, low, high, onlySecond := r.Both+r.AOnly, r.BGivenALow.V, r.BGivenAHigh.V, r.BOnly
	if r.BOnly < r.AOnly {
		first, second = r.ComponentB, r.ComponentA
		n, low, high, onlySecond = r.Both+r.BOnly, r.AGivenBLow.V, r.AGivenBHigh.V, r.AOnly
	}
	a, b := frame.Name(first), frame.Name(second)
	odds := fmt.Sprintf("%s times the odds (%s)", findings.Number(r.OddsRatio.V), findings.RangeUp(r.OddsLow.V, r.OddsHigh.V, r.OddsHigh.OK))
	if !r.OddsRatio.OK {
		odds = fmt.Sprintf("at least %s times the odds", findings.Number(r.OddsLow.V))
	}
	f.Headline = fmt.Sprintf("%s: %s + %s fail together: the %s too in %s; without it in %s: %s%s",
		where, a, b, b, shareWith(r, n, low, high, a),
		findings.Percent(share(onlySecond, r.N-n)), odds, findings.Verdict(f.Grade, more))
	f.Action = fmt.Sprintf("With %s open for the %s, check the %s too, and the other way round.", open, a, b)
	f.Caution = findings.Caution([]string{r.ComponentA, r.ComponentB}, findings.Association, selection)
	f.Method = method
	for key, v := range map[string]schemas.Float{
		"both": schemas.Known(float64(r.Both)), "n": schemas.Known(float64(r.N)), "expected": r.Expected,
		"odds_ratio": r.OddsRatio, "odds_low": r.OddsLow, "odds_high": r.OddsHigh,
		"b_given_a": r.BGivenA, "a_given_b": r.AGivenB, "homogeneity_p": r.HomogeneityP,
	} {
		if v.OK {
			f.Numbers[key] = v
		}
	}
	f.Row = schemas.RowRef{Table: "pairs", Key: map[string]string{
		"scope": r.Scope, "unit": r.Unit, "component_a": r.ComponentA, "component_b": r.ComponentB,
	}}
	return f
}

// shareWith writes "31 of 52 visits with the charge port (60%, 95% 46 to 72%)".
func shareWith(r schemas.Pair, n int, low, high float64, name string) string {
	units := findings.Counted(n, "visit") + " with the " + name
	if r.Unit == UnitDevice {
		units = findings.Counted(n, "device") + " in with the " + name + ", all visits within 30 days taken together"
	}
	return fmt.Sprintf("%s of %s (%s, 95%% %s)", findings.Count(r.Both), units, findings.Percent(share(r.Both, n)), findings.PercentRange(low, high))
}

func share(x, n int) float64 {
	if n == 0 {
		return 0
	}
	return float64(x) / float64(n)
}

// unitsToSettle is how many more units, at the shares seen, lift the lower limit of the odds ratio over 1;
// 0 when none would.
func unitsToSettle(r schemas.Pair) int {
	return findings.Settle(r.N, func(n int) bool {
		scale := float64(n) / float64(r.N)
		grow := func(x int) int { return int(math.Round(float64(x) * scale)) }
		odds, err := stat.OddsRatioExact(stat.Table2{A: grow(r.Both), B: grow(r.AOnly), C: grow(r.BOnly), D: grow(r.Neither)}, conf)
		return err == nil && odds.Lo > 1
	})
}
