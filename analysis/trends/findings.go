package trends

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

// foldThreshold is the practical threshold of a finding: the share changes by more than a quarter from one
// half of the year to the other. Stated in the method.
const foldThreshold = 1.25

const method = "Slope of the share over the last 12 complete months: Cochran-Armitage with the scatter of months allowed for, " +
	"Benjamini-Hochberg over all series tested. Change is the share in the second half of the year over that in the first, with test-based limits. Firm: q below 0.05 and the lower limit of the change above 1.25 times."

type seriesKey struct{ class, model, component string }

// Findings lists the components whose share rises or falls. Where one model alone moves, it is told and not
// its class; where several models or classes move, the wider scope is told.
func Findings(rows []schemas.Trend, frame findings.Frame) []schemas.Finding {
	var list []schemas.Finding
	found := map[seriesKey]schemas.Finding{}
	below := map[seriesKey][]schemas.Finding{} // in the scopes directly below
	for from := 0; from < len(rows); {
		to := from + 1
		for to < len(rows) && keyOf(rows[to]) == keyOf(rows[from]) {
			to++
		}
		k := keyOf(rows[from])
		if f := finding(rows[from:to], frame); f.Grade != "" {
			list = append(list, f)
			found[k] = f
			if up, ok := above(k); ok {
				below[up] = append(below[up], f)
			}
		}
		from = to
	}
	var kept []schemas.Finding
	for _, f := range list {
		k := keyOfRow(f)
		if under := below[k]; len(under) == 1 && covers(under[0], f) {
			continue
		}
		if up, ok := above(k); ok && len(below[up]) > 1 && covers(found[up], f) {
			continue
		}
		kept = append(kept, f)
	}
	return findings.Shorten(kept, 5, 0)
}

// covers reports whether telling a makes telling b needless: a is graded, and b no firmer.
func covers(a, b schemas.Finding) bool {
	return a.Grade == schemas.Firm || a.Grade == schemas.Leaning && b.Grade == schemas.Leaning
}

func keyOf(r schemas.Trend) seriesKey { return seriesKey{r.Class, r.Model, r.Component} }

func keyOfRow(f schemas.Finding) seriesKey {
	return seriesKey{f.Row.Key["class"], f.Row.Key["model"], f.Row.Key["component"]}
}

// above is the next wider scope, if there is one.
func above(k seriesKey) (seriesKey, bool) {
	switch {
	case k.model != schemas.Any:
		return seriesKey{k.class, schemas.Any, k.component}, true
	case k.class != schemas.Any:
		return seriesKey{schemas.Any, schemas.Any, k.component}, true
	}
	return seriesKey{}, false
}

// finding looks at one series, its rows in order of months.
func finding(rows []schemas.Trend, frame findings.Frame) schemas.Finding {
	last := rows[len(rows)-1]
	if !last.SlopeP.OK || last.SlopeP.V >= 0.05 { // a slope that chance explains is no news
		return schemas.Finding{}
	}
	year := lastYear(rows, frame.Period.To)
	change := halves(year, last.SlopeP.V)
	if last.Direction == Rising && !change.up || last.Direction == Falling && change.up {
		return schemas.Finding{} // the halves tell another story than the slope
	}
	var cases int
	for _, r := range year {
		cases += r.Faults
	}
	e := findings.Evidence{P: last.SlopeP, Q: last.Q, Effect: change.fold, Low: change.low, Threshold: foldThreshold, Cases: cases}
	f := frame.New(schemas.KindTrend, e, last.Class, last.Model, last.Component)
	if f.Grade == "" {
		return f
	}
	name := frame.Name(last.Component)
	f.Subject = schemas.Subject{Component: last.Component}
	where := "all models"
	switch {
	case last.Model != schemas.Any:
		f.Subject.Model, f.Subject.Class, where = last.Model, last.Class, last.Model
	case last.Class != schemas.Any:
		f.Subject.Class, where = last.Class, findings.Plural(last.Class)
	}
	verb, times := "rising", "times as often"
	f.Action = fmt.Sprintf("Stock more for the %s and look for what changed: parts, batch, season or use.", name)
	if !change.up {
		verb, times = "falling", "times rarer"
		f.Action = fmt.Sprintf("Order less for the %s.", name)
	}
	if frame.Vague(last.Component) {
		f.Action = "Have the bench write down what it finds: the log tells no cause, and so no part to order."
	}
	half := len(year) / 2
	f.Headline = fmt.Sprintf("%s on %s is %s: %s, then %s: %s %s (95%% %s)%s",
		findings.Capital(name), where, verb, part(year[:half]), part(year[half:]),
		findings.Number(change.fold), times, findings.Range(change.low, change.high), findings.Verdict(f.Grade, 0))
	f.Caution = findings.Caution([]string{last.Component}, "A share also moves when other faults, the mix of models or who brings devices changes.")
	f.Method = method
	f.Numbers["fold"], f.Numbers["fold_low"] = schemas.Known(change.fold), schemas.Known(change.low)
	f.Numbers["faults"] = schemas.Known(float64(cases))
	f.Row = schemas.RowRef{Table: "trends", Key: map[string]string{
		"month": last.Month, "class": last.Class, "model": last.Model, "component": last.Component,
	}}
	return f
}

// lastYear cuts the last 12 complete months out of a series.
func lastYear(rows []schemas.Trend, asOf string) []schemas.Trend {
	if day, err := time.Parse(time.DateOnly, asOf); err == nil && tally.Running(day) && len(rows) > 1 && rows[len(rows)-1].Month == day.Format("2006-01") {
		rows = rows[:len(rows)-1]
	}
	return rows[max(0, len(rows)-span):]
}

// part writes "12 of 310 (4%) in June to November 2025".
func part(rows []schemas.Trend) string {
	x, n := 0, 0
	for _, r := range rows {
		x, n = x+r.Faults, n+r.Visits
	}
	share := "none seen"
	if n > 0 {
		share = fmt.Sprintf("%s (%s)", findings.OfN(x, n), findings.Percent(float64(x)/float64(n)))
	}
	return share + " in " + months(rows[0].Month, rows[len(rows)-1].Month)
}

func months(from, to string) string {
	a, errA := time.Parse("2006-01", from)
	b, errB := time.Parse("2006-01", to)
	switch {
	case errA != nil || errB != nil:
		return from + " to " + to
	case from == to:
		return a.Format("January 2006")
	case a.Year() == b.Year():
		return a.Format("January") + " to " + b.Format("January 2006")
	}
	return a.Format("January 2006") + " to " + b.Format("January 2006")
}

// A change is how many times larger (up) or smaller a share was in the second half of the year than in the
// first, with test-based limits, which leave 1 out exactly when p is below 0.05.
type change struct {
	up              bool
	fold, low, high float64
}

// halves sets the halves of a year beside each other. The limits come from the slope's p, which allows for the
// scatter of months and must be below 1; the log of the ratio is scaled by it. A half without the component
// counts as half a visit.
//
// Test-based limits: Miettinen (1976), Am. J. Epidemiol. 103, 226-235.
func halves(rows []schemas.Trend, p float64) change {
	share := func(rows []schemas.Trend) (v float64, seen bool) {
		x, n := 0, 0
		for _, r := range rows {
			x, n = x+r.Faults, n+r.Visits
		}
		if x == 0 {
			return 0.5 / (float64(n) + 0.5), n > 0
		}
		return float64(x) / float64(n), true
	}
	first, seenFirst := share(rows[:len(rows)/2])
	second, seenSecond := share(rows[len(rows)/2:])
	if !seenFirst || !seenSecond {
		return change{fold: 1, low: 1, high: 1} // nothing to set beside the other half
	}
	size := math.Abs(math.Log(second / first))
	margin := size * distuv.UnitNormal.Quantile(0.975) / distuv.UnitNormal.Quantile(1-max(p, 1e-15)/2)
	return change{up: second > first, fold: math.Exp(size), low: math.Exp(size - margin), high: math.Exp(size + margin)}
}
