package batches

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/schemas"
)

// Practical thresholds of a finding, stated in its method.
const (
	riskThreshold = 1.25 // times the expected number of cases in the window
	oddsThreshold = 2    // odds of the fault with the attribute, for links without an alarm
)

const (
	method = "Prospective scan over class, maker, family and model and the last 1 to 13 weeks, all components at once: Bernoulli log-likelihood ratio, " +
		"Monte Carlo on the maximum with each model's visits and number of cases kept, slow drift and season taken out. Links: odds ratio stratified by model, " +
		"Benjamini-Hochberg over everything tested. The window starts where the linked cases do. An alarm has p of at most 0.02 over the whole table, which keeps months in " +
		"which nothing happened to at most 5% with an alarm (docs/calibration.md); firm: the lower limit of observed over expected above 1.25."
	linkMethod = "Odds of the fault with the attribute against without, stratified by model over the last 65 weeks, exact where cases are few; made-weeks scanned " +
		"in windows of 1 to 8 weeks, p of the maximum; Benjamini-Hochberg over everything tested. Firm: q below 0.05 and the lower limit above 2."
)

// suspicion is what every finding of this kind carries.
const suspicion = "A suspected batch is a reason to look, not a recall. " + findings.Association

// Findings tells each alarm once, with the attribute that goes with it most strongly, and each component with a firm
// share and a firm link once. Batteries come first.
func Findings(rows []schemas.Batch, frame findings.Frame) []schemas.Finding {
	var list []schemas.Finding
	for _, group := range grouped(rows) {
		f := alarmFinding(group, frame)
		if group[0].WindowStart == "" {
			f = linkFinding(group[0], frame)
		}
		if f.Grade != "" {
			list = append(list, f)
		}
	}
	list = findings.Shorten(list, 20, 10)
	slices.SortStableFunc(list, func(a, b schemas.Finding) int { return cmp.Compare(last(a), last(b)) })
	return list
}

func last(f schemas.Finding) int {
	if f.Subject.Component == "battery" {
		return 0
	}
	return 1
}

// grouped puts the rows of one alarm, or of one component without an alarm, together, the most telling link first.
func grouped(rows []schemas.Batch) [][]schemas.Batch {
	type key struct{ component, level, node, start string }
	at := map[key]int{}
	var groups [][]schemas.Batch
	for _, r := range rows {
		k := key{r.Component, r.Level, r.Node, r.WindowStart}
		i, ok := at[k]
		if !ok {
			i = len(groups)
			at[k] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], r)
	}
	for _, g := range groups {
		slices.SortStableFunc(g, func(a, b schemas.Batch) int {
			return cmp.Or(cmp.Compare(telling(a.Link), telling(b.Link)), cmp.Compare(a.LinkQ.V, b.LinkQ.V), cmp.Compare(b.LinkLow.V, a.LinkLow.V))
		})
	}
	return groups
}

func alarmFinding(group []schemas.Batch, frame findings.Frame) schemas.Finding {
	r := group[0]
	limits, err := stat.PoissonLimits(r.Observed, 0.95)
	if err != nil {
		return schemas.Finding{}
	}
	low, high := limits.Lo/r.Expected.V, limits.Hi/r.Expected.V
	e := findings.Evidence{P: r.P, Q: r.P, Effect: r.RelativeRisk.V, Low: low, Threshold: riskThreshold, Cases: r.Observed}
	f := frame.New(schemas.KindBatch, e, r.Component, r.Level, r.Node)
	if f.Grade == "" {
		return f
	}
	models := strings.Split(r.Models, ";")
	name := frame.Name(r.Component)
	f.Subject = schemas.Subject{Models: models, Component: r.Component}
	if r.Level == levelClass {
		f.Subject.Class = r.Node
	}
	f.Period = schemas.Period{From: r.WindowStart, To: r.WindowEnd}
	f.Headline = fmt.Sprintf("%s of %s: in %s visits since %s, %s expected: %s times the usual (95%% %s)%s%s",
		findings.Capital(name), listed(models), findings.OfN(r.Observed, r.Visits), day(r.WindowStart), findings.Number(r.Expected.V),
		findings.Number(r.RelativeRisk.V), findings.Range(low, high), linkWords(r), findings.Verdict(f.Grade, 0))
	f.Action = action(r, name)
	luck := fmt.Sprintf("Chance alone raises so strong an alarm about once in %s.", span(r.RecurrenceDays.V))
	if passing(r.Link) {
		luck += " What is being fitted changes with time whatever fails: the lot may only be the one in use."
	}
	f.Caution = findings.Caution([]string{r.Component}, suspicion, luck)
	f.Method = method
	for key, v := range map[string]schemas.Float{
		"observed": schemas.Known(float64(r.Observed)), "visits": schemas.Known(float64(r.Visits)), "expected": r.Expected,
		"relative_risk": r.RelativeRisk, "risk_low": schemas.Known(low), "risk_high": schemas.Known(high), "llr": r.LLR,
		"recurrence_days": r.RecurrenceDays,
	} {
		f.Numbers[key] = v
	}
	finish(&f, r)
	return f
}

func linkFinding(r schemas.Batch, frame findings.Frame) schemas.Finding {
	effect := math.MaxFloat64 // unbounded
	if r.LinkOdds.OK {
		effect = r.LinkOdds.V
	}
	e := findings.Evidence{P: r.LinkQ, Q: r.LinkQ, Effect: effect, Low: r.LinkLow.V, Threshold: oddsThreshold, Cases: r.LinkCases}
	f := frame.New(schemas.KindBatch, e, r.Component, r.Node, r.Link, r.LinkValue)
	if f.Grade == "" {
		return f
	}
	name := frame.Name(r.Component)
	models := strings.Split(r.Models, ";")
	f.Subject = schemas.Subject{Models: models, Component: r.Component}
	f.Headline = fmt.Sprintf("%s of %s%s%s", findings.Capital(name), listed(models), linkWords(r), findings.Verdict(f.Grade, 0))
	f.Action = action(r, name)
	f.Caution = findings.Caution([]string{r.Component}, suspicion, findings.Door)
	f.Method = linkMethod
	finish(&f, r)
	return f
}

// finish adds what a link tells: numbers, the subject's attribute and the row.
func finish(f *schemas.Finding, r schemas.Batch) {
	if r.Link != "" {
		f.Numbers["link_cases"], f.Numbers["link_visits"] = schemas.Known(float64(r.LinkCases)), schemas.Known(float64(r.LinkVisits))
	}
	for key, v := range map[string]schemas.Float{
		"link_odds": r.LinkOdds, "link_low": r.LinkLow, "link_high": r.LinkHigh, "link_q": r.LinkQ,
		"under_warranty": r.UnderWarranty, "on_shelf": r.OnShelf,
	} {
		if v.OK {
			f.Numbers[key] = v
		}
	}
	switch strings.TrimPrefix(r.Link, earlier) {
	case Lot:
		f.Subject.Lot = r.LinkValue
	case Supplier:
		f.Subject.Supplier = r.LinkValue
	case Grade:
		f.Subject.Grade = r.LinkValue
	case MadeWeek:
		f.Subject.MadeWeek = r.LinkValue
	}
	f.Row = schemas.RowRef{Table: "batches", Key: map[string]string{"component": r.Component, "node": r.Node, "link": r.Link, "link_value": r.LinkValue}}
}

// linkWords goes on with what the cases share: "; 24 of 30 devices fitted with lot L came back for it: 12 times the odds".
func linkWords(r schemas.Batch) string {
	if r.Link == "" {
		return ""
	}
	odds := "at least " + findings.Number(r.LinkLow.V) + " times the odds"
	if r.LinkOdds.OK {
		odds = fmt.Sprintf("%s times the odds (%s)", findings.Number(r.LinkOdds.V), findings.RangeUp(r.LinkLow.V, r.LinkHigh.V, r.LinkHigh.OK))
	}
	what := map[string]string{
		EarlierLot:      "devices fitted with lot %s came back for it",
		EarlierSupplier: "devices fitted with a part from %s came back for it",
		EarlierGrade:    "devices fitted with a part of grade %s came back for it",
		MadeWeek:        "visits of devices made in %s are for it",
		SerialPrefix:    "visits of devices whose serial starts with %s are for it",
		Lot:             "jobs that were given lot %s fall into these weeks",
		Supplier:        "jobs that were given a part from %s fall into these weeks",
		Grade:           "jobs that were given a part of grade %s fall into these weeks",
	}[r.Link]
	return fmt.Sprintf("; %s %s: %s", findings.OfN(r.LinkCases, r.LinkVisits), fmt.Sprintf(what, value(r)), odds)
}

// value writes a run of made-weeks as people say it.
func value(r schemas.Batch) string { return strings.Replace(r.LinkValue, weekSpan, " to ", 1) }

func action(r schemas.Batch, name string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Look at what these devices share before fitting the next %s, and note the lot on each visit.", name)
	switch strings.TrimPrefix(r.Link, earlier) {
	case Lot:
		fmt.Fprintf(&b, " Set lot %s aside", r.LinkValue)
		if r.OnShelf.OK {
			fmt.Fprintf(&b, ": %s on the shelf", findings.Counted(int(r.OnShelf.V), "part"))
		}
		b.WriteString(".")
	}
	if r.UnderWarranty.OK && r.UnderWarranty.V > 0 {
		fmt.Fprintf(&b, " %s still under your own warranty: ask the owners to bring them in.", plural(int(r.UnderWarranty.V), "device like these is", "devices like these are"))
	}
	switch {
	case strings.HasPrefix(r.Link, earlier) || passing(r.Link):
		b.WriteString(" Tell the supplier what you saw and how often; for a safety fault also the maker and the local product-safety office.")
	default:
		b.WriteString(" Tell the maker or its dealer what you saw and how often; for a safety fault also the local product-safety office.")
	}
	return b.String()
}

func plural(n int, single, many string) string {
	if n == 1 {
		return "1 " + single
	}
	return findings.Count(n) + " " + many
}

// listed names up to four models.
func listed(models []string) string {
	switch n := len(models); {
	case n > 4:
		return strings.Join(models[:3], ", ") + " and " + findings.Count(n-3) + " more models"
	case n > 1:
		return strings.Join(models[:n-1], ", ") + " and " + models[n-1]
	}
	return models[0]
}

func day(date string) string {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return date
	}
	return t.Format("2 January 2006")
}

// span writes a recurrence interval: "14 months", "210 years".
func span(days float64) string {
	if years := days / 365.25; years >= 2 {
		return findings.Number(math.Round(years)) + " years"
	}
	return findings.Counted(int(math.Round(days/30.4)), "month")
}
