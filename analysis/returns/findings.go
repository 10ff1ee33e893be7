package returns

import (
	"fmt"
	"math"

	"faultgrain/analysis/findings"
	"faultgrain/schemas"
)

// ratioThreshold is the practical threshold of a finding, stated in its method.
const ratioThreshold = 1.5

const method = "Repairs followed from ready to the next visit of the same device for the same component, censored on the as-of day: Kaplan-Meier with " +
	"log-log limits; hazard against the other values within models, log-rank test stratified by model, Benjamini-Hochberg over the table. " +
	"Firm: q below 0.05 and the lower limit of the hazard ratio above 1.5."

// Findings lists the grades, suppliers and lots whose repairs come back more often than the others'.
func Findings(rows []schemas.Return, frame findings.Frame) []schemas.Finding {
	var list []schemas.Finding
	for _, r := range rows {
		if !r.P.OK || !r.RatioLow.OK {
			continue
		}
		effect := math.MaxFloat64
		if r.Ratio.OK {
			effect = r.Ratio.V
		}
		if effect < 1 {
			continue
		}
		e := findings.Evidence{P: r.P, Q: r.Q, Effect: effect, Low: r.RatioLow.V, Threshold: ratioThreshold, Cases: r.Returns}
		f := frame.New(schemas.KindReturn, e, r.Component, r.By, r.Value)
		if f.Grade == "" {
			continue
		}
		more := 0
		if f.Grade == schemas.Thin {
			more = repairsToSettle(r)
		}
		f.Subject = schemas.Subject{Component: r.Component}
		switch r.By {
		case ByGrade:
			f.Subject.Grade = r.Value
		case BySupplier:
			f.Subject.Supplier = r.Value
		default:
			f.Subject.Lot = r.Value
		}
		part := frame.Name(r.Component)
		f.Headline = fmt.Sprintf("%s: %s repairs came back%s; %s%s",
			findings.Capital(named(part, r)), findings.OfN(r.Returns, r.Repairs), followed(r), against(r), findings.Verdict(f.Grade, more))
		f.Action = action(part, r)
		f.Caution = findings.Caution([]string{r.Component}, findings.Association,
			"Devices without a serial and customers who went elsewhere are not seen.")
		f.Method = method
		for name, v := range map[string]schemas.Float{
			"repairs": schemas.Known(float64(r.Repairs)), "returns": schemas.Known(float64(r.Returns)),
			"back_90": r.Back90, "back_90_low": r.Back90Low, "back_90_high": r.Back90High,
			"ratio": r.Ratio, "ratio_low": r.RatioLow, "ratio_high": r.RatioHigh,
		} {
			if v.OK {
				f.Numbers[name] = v
			}
		}
		f.Row = schemas.RowRef{Table: "returns", Key: map[string]string{"component": r.Component, "by": r.By, "value": r.Value}}
		list = append(list, f)
	}
	return findings.Shorten(list, 6, 3)
}

func named(part string, r schemas.Return) string {
	switch r.By {
	case ByGrade:
		return part + ", " + r.Value
	case BySupplier:
		return part + " from " + r.Value
	}
	return part + " of lot " + r.Value
}

// followed gives the share back by the longest of 180, 90 and 30 days that is known.
func followed(r schemas.Return) string {
	for _, at := range []struct {
		days           int
		back, low, hig schemas.Float
	}{{90, r.Back90, r.Back90Low, r.Back90High}, {30, r.Back30, r.Back30Low, r.Back30High}} {
		if at.back.OK && at.low.OK && at.hig.OK {
			return fmt.Sprintf(", %s within %d days (95%% %s)", findings.Percent(at.back.V), at.days, findings.PercentRange(at.low.V, at.hig.V))
		}
	}
	return ""
}

func against(r schemas.Return) string {
	other := map[string]string{ByGrade: "other grades", BySupplier: "other suppliers", ByLot: "other lots"}[r.By]
	if !r.Ratio.OK {
		return fmt.Sprintf("at least %s times as often as with %s on the same models", findings.Number(r.RatioLow.V), other)
	}
	return fmt.Sprintf("%s times as often as with %s on the same models (%s)", findings.Number(r.Ratio.V), other,
		findings.RangeUp(r.RatioLow.V, r.RatioHigh.V, r.RatioHigh.OK))
}

func action(part string, r schemas.Return) string {
	switch r.By {
	case ByGrade:
		return fmt.Sprintf("Offer another grade of %s, or price the returns in.", part)
	case BySupplier:
		return fmt.Sprintf("Ask %s about the %s and try another supplier.", r.Value, part)
	}
	return fmt.Sprintf("Set what is left of lot %s aside and ask the supplier.", r.Value)
}

// repairsToSettle says how many more repairs would bring the lower limit above the threshold if the ratio stays:
// limits of a log ratio narrow with the root of the events.
func repairsToSettle(r schemas.Return) int {
	if !r.Ratio.OK || !(r.Ratio.V > ratioThreshold) || !(r.RatioLow.V > 0) || r.RatioLow.V >= ratioThreshold {
		return 0
	}
	half, room := math.Log(r.Ratio.V/r.RatioLow.V), math.Log(r.Ratio.V/ratioThreshold)
	return max(0, int(math.Ceil(float64(r.Repairs)*math.Pow(half/room, 2)))-r.Repairs)
}
