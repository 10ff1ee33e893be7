package shares

import (
	"fmt"
	"math"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/schemas"
)

// Practical thresholds of a finding, stated in its method.
const (
	ratioThreshold = 1.5  // the component's share is more than this many times that of the class
	leastShare     = 0.01 // below one visit in a hundred nobody changes what to look at first
)

const method = "Share of diagnosed visits with Wilson limits; ratio to the other models of the class with Koopman score limits; " +
	"Fisher mid-p, Benjamini-Hochberg over the table, where rows below the class count as found nothing. Firm: that q below 0.05 and the ratio's lower limit above 1.5, share at least 1%."

// Findings lists the components that fail on a model more often than on the rest of its class.
func Findings(rows []schemas.Share, frame findings.Frame) []schemas.Finding {
	p, more := make([]schemas.Float, len(rows)), make([]bool, len(rows))
	for i, r := range rows {
		p[i], more[i] = r.P, r.Share.V > r.ClassShare.V
	}
	q, err := findings.DirectedQ(p, more)
	if err != nil {
		return nil // only for p outside [0, 1], which no row has
	}
	var list []schemas.Finding
	for i, r := range rows {
		if !r.P.OK || !r.RatioLow.OK || r.Share.V < leastShare {
			continue
		}
		effect := r.Ratio.V
		if !r.Ratio.OK { // never seen elsewhere in the class: half a visit gives a finite guess
			effect = r.Share.V / (0.5 / (float64(r.ClassVisits) + 0.5))
		}
		e := findings.Evidence{P: r.P, Q: q[i], Effect: effect, Low: r.RatioLow.V, Threshold: ratioThreshold, Cases: r.Faults}
		f := frame.New(schemas.KindShare, e, r.Model, r.Component)
		if f.Grade == "" {
			continue
		}
		missing := 0
		if f.Grade == schemas.Thin {
			missing = visitsToSettle(r)
			f.Numbers["more_visits"] = settled(missing)
		}
		name := frame.Name(r.Component)
		f.Subject = schemas.Subject{Model: r.Model, Class: r.Class, Component: r.Component}
		f.Headline = fmt.Sprintf("%s: %s in %s; %s%s",
			r.Model, name, findings.ShareOf(r.Faults, r.Visits, "diagnosed visit", r.ShareLow.V, r.ShareHigh.V), comparison(r), findings.Verdict(f.Grade, missing))
		f.Action = fmt.Sprintf("When the %[2]s comes in, look at the %[1]s first, and check what is on the shelf for it.", name, r.Model)
		if frame.Vague(r.Component) {
			f.Action = fmt.Sprintf("Have the bench write down what it finds on each %s: the log tells no cause, and so no part to keep.", r.Model)
		}
		f.Caution = findings.Caution([]string{r.Component}, findings.Door)
		if r.UnreadLow.V < r.Share.V*0.9 || r.UnreadHigh.V > r.Share.V*1.1 {
			f.Caution += fmt.Sprintf(" %s of this model could not be read; the share lies between %s whatever they were.",
				findings.Counted(r.Unread, "visit"), findings.PercentRange(r.UnreadLow.V, r.UnreadHigh.V))
		}
		f.Method = method
		for key, v := range map[string]schemas.Float{
			"faults": schemas.Known(float64(r.Faults)), "visits": schemas.Known(float64(r.Visits)),
			"share": r.Share, "share_low": r.ShareLow, "share_high": r.ShareHigh, "class_share": r.ClassShare,
			"ratio": r.Ratio, "ratio_low": r.RatioLow, "ratio_high": r.RatioHigh, "rate_per_1000": r.Rate,
		} {
			if v.OK {
				f.Numbers[key] = v
			}
		}
		f.Row = schemas.RowRef{Table: "shares", Key: map[string]string{"model": r.Model, "component": r.Component}}
		list = append(list, f)
	}
	return findings.Shorten(list, 10, 5)
}

// comparison writes "other phones 6%: 3.8 times as often (2.1 to 6.4)".
func comparison(r schemas.Share) string {
	others := findings.Others(r.Class)
	if !r.Ratio.OK {
		return fmt.Sprintf("%s none in %s: at least %s times as often", others, findings.Count(r.ClassVisits), findings.Number(r.RatioLow.V))
	}
	return fmt.Sprintf("%s %s: %s times as often (%s)", others, findings.Percent(r.ClassShare.V), findings.Number(r.Ratio.V),
		findings.RangeUp(r.RatioLow.V, r.RatioHigh.V, r.RatioHigh.OK))
}

// visitsToSettle is how many more visits of the model, at the shares seen, lift the ratio's lower limit
// over 1, so that chance is excluded; 0 when none would.
func visitsToSettle(r schemas.Share) int {
	return findings.Settle(r.Visits, func(n int) bool {
		x := int(math.Round(r.Share.V * float64(n)))
		score, err := stat.RiskRatioScore(x, n, r.ClassFaults, r.ClassVisits, conf)
		return err == nil && score.Lo > 1
	})
}

func settled(n int) schemas.Float {
	if n == 0 {
		return schemas.Float{}
	}
	return schemas.Known(float64(n))
}
