package prices

import (
	"fmt"
	"math"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/schemas"
)

// Practical thresholds, stated in the methods.
const (
	costFactor = 1.5 // times the usual cost, or times the cost before
	zCut       = 3.5 // Iglewicz and Hoaglin (1993)
	belowShare = 0.5 // of the jobs with a known margin
	leastLines = 3
)

const (
	costMethod = "Median unit cost of the last 12 months against the median of the component's cost on the other models of the class, robust z on log cost " +
		"(Iglewicz and Hoaglin); lasting jumps by least-squares segmentation of log cost. Firm: robust z above 3.5 or a lasting jump, and the lower quartile above 1.5 times what it is compared with."
	marginMethod = "Jobs with the component as only fault whose parts all have a cost: charge less parts, bench minutes at the labour rate and the expected cost of returns. " +
		"Firm: the lower Wilson limit of the share below the target margin is above one half."
)

// Findings lists costs that are out of line or have jumped, and jobs that mostly stay below the target margin.
func Findings(rows []schemas.Price, target *float64, frame findings.Frame) []schemas.Finding {
	var costs, margins []schemas.Finding
	for _, r := range rows {
		if f, ok := costFinding(r, frame); ok {
			costs = append(costs, f)
		}
		if target == nil {
			continue
		}
		if f, ok := marginFinding(r, *target, frame); ok {
			margins = append(margins, f)
		}
	}
	return append(findings.Shorten(costs, 5, 2), findings.Shorten(margins, 3, 1)...)
}

func costFinding(r schemas.Price, frame findings.Frame) (schemas.Finding, bool) {
	odd := r.Z.OK && r.Z.V > zCut && r.CostUsual.OK
	jumped := r.CostBefore.OK && r.CostLatest.V > r.CostBefore.V
	if r.Lines < leastLines || !odd && !jumped {
		return schemas.Finding{}, false
	}
	against := math.Inf(1)
	if odd {
		against = r.CostUsual.V
	}
	if jumped {
		against = math.Min(against, r.CostBefore.V)
	}
	low := r.CostQ1.V
	if jumped { // quartiles over all time mix both levels
		low = r.CostLatest.V
	}
	e := findings.Evidence{Effect: r.CostLatest.V / against, Low: low / against, Threshold: costFactor, Cases: r.Lines}
	f := frame.New(schemas.KindPrice, e, r.Model, r.Component, "cost", r.Currency)
	if f.Grade == "" {
		return f, false
	}
	f.Subject = schemas.Subject{Model: r.Model, Component: r.Component}
	part := frame.Name(r.Component)
	says := ""
	if odd {
		says += fmt.Sprintf("; on other models it usually costs %s: %s times as much", findings.Money(r.CostUsual.V, r.Currency), findings.Number(r.CostLatest.V/r.CostUsual.V))
	}
	if jumped {
		on, err := time.Parse(time.DateOnly, r.JumpOn)
		day := r.JumpOn
		if err == nil {
			day = on.Format("2 January 2006")
		}
		says += fmt.Sprintf("; until %s it cost %s", day, findings.Money(r.CostBefore.V, r.Currency))
	}
	f.Headline = fmt.Sprintf("%s: the %s costs %s (%s)%s%s", r.Model, part, findings.Money(r.CostLatest.V, r.Currency), findings.Counted(r.Lines, "line"), says, findings.Verdict(f.Grade, 0))
	f.Action = fmt.Sprintf("Ask other suppliers for the %s, look at pulled parts, and check what the job is charged at.", part)
	f.Caution = findings.Caution([]string{r.Component}, "A cost out of line may be another grade or a wrong line: look at the lines first.")
	f.Method = costMethod
	put(f.Numbers, map[string]schemas.Float{"cost_latest": r.CostLatest, "cost_usual": r.CostUsual, "cost_before": r.CostBefore, "z": r.Z, "lines": schemas.Known(float64(r.Lines))})
	f.Row = ref(r)
	return f, true
}

func marginFinding(r schemas.Price, target float64, frame findings.Frame) (schemas.Finding, bool) {
	if !r.BelowTarget.OK || r.MarginJobs < leastLines || !r.PriceFloor.OK || !r.ChargeMedian.OK || r.PriceFloor.V <= r.ChargeMedian.V {
		return schemas.Finding{}, false
	}
	below := int(r.BelowTarget.V)
	ci, err := stat.Wilson(below, r.MarginJobs, 0.95)
	if err != nil {
		return schemas.Finding{}, false // only for counts that can't be
	}
	e := findings.Evidence{Effect: float64(below) / float64(r.MarginJobs), Low: ci.Lo, Threshold: belowShare, Cases: below}
	f := frame.New(schemas.KindPrice, e, r.Model, r.Component, "margin", r.Currency)
	if f.Grade == "" {
		return f, false
	}
	f.Subject = schemas.Subject{Model: r.Model, Component: r.Component}
	f.Headline = fmt.Sprintf("%s, %s: %s of %s leave less than the target of %s; the usual charge is %s, the target needs %s%s",
		r.Model, frame.Name(r.Component), findings.Count(below), findings.Counted(r.MarginJobs, "job"), findings.Percent(target),
		findings.Money(r.ChargeMedian.V, r.Currency), findings.Money(r.PriceFloor.V, r.Currency), findings.Verdict(f.Grade, 0))
	f.Action = fmt.Sprintf("Charge at least %s, or bring the cost of the part or the minutes down.", findings.Money(r.PriceFloor.V, r.Currency))
	f.Caution = findings.Caution([]string{r.Component}, "Margins know parts, bench minutes and returns, not rent or waiting.")
	f.Method = marginMethod
	put(f.Numbers, map[string]schemas.Float{"below": r.BelowTarget, "jobs": schemas.Known(float64(r.MarginJobs)), "charge_median": r.ChargeMedian,
		"price_floor": r.PriceFloor, "margin_median": r.MarginMedian})
	f.Row = ref(r)
	return f, true
}

func put(numbers map[string]schemas.Float, add map[string]schemas.Float) {
	for k, v := range add {
		if v.OK {
			numbers[k] = v
		}
	}
}

func ref(r schemas.Price) schemas.RowRef {
	return schemas.RowRef{Table: "prices", Key: map[string]string{"model": r.Model, "component": r.Component, "currency": r.Currency}}
}
