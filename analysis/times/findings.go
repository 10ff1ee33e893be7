package times

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/schemas"
)

// savesThreshold is the practical threshold of a finding in minutes, stated in its method.
const savesThreshold = 5

// minJobs is how many times a pair must have been done before its saving is looked at.
const minJobs = 5

const method = "Mean bench minutes of each component alone, added, less those of the pair in one opening, repaired jobs only; lognormal means, " +
	"limits by Zou's method; p for a saving above 5 minutes from those limits, Benjamini-Hochberg over all pairs done 5 times or more. Firm: q below 0.05 and the lower limit above 5 minutes."

// Findings lists the pairs that save bench time when they are done in one opening. A pair is told for all
// models only where no model has it firmly.
func Findings(rows []schemas.Time, frame findings.Frame) []schemas.Finding {
	type single struct{ model, component string }
	alone := map[single]schemas.Time{}
	var saving []schemas.Time
	var p []float64
	for _, r := range rows {
		switch {
		case r.ComponentB == "":
			alone[single{r.Model, r.Component}] = r
		case r.Jobs >= minJobs && r.SavesLow.OK && r.SavesLow.V < r.TogetherSaves.V:
			saving = append(saving, r)
			p = append(p, chance(r))
		}
	}
	if len(p) == 0 {
		return nil
	}
	q, err := stat.BenjaminiHochberg(p)
	if err != nil {
		return nil // only for p outside [0, 1], which chance does not give
	}
	type pair struct{ a, b string }
	told := map[pair]bool{}
	var list, pooled []schemas.Finding
	for i, r := range saving {
		e := findings.Evidence{P: schemas.Known(p[i]), Q: schemas.Known(q[i]), Effect: r.TogetherSaves.V, Low: r.SavesLow.V, Threshold: savesThreshold, Cases: r.Jobs}
		f := frame.New(schemas.KindTime, e, r.Model, r.Component, r.ComponentB)
		if f.Grade == "" {
			continue
		}
		a, b := frame.Name(r.Component), frame.Name(r.ComponentB)
		f.Subject = schemas.Subject{Component: r.Component, ComponentB: r.ComponentB}
		where := "All models"
		if r.Model != schemas.Any {
			f.Subject.Model, where = r.Model, r.Model
		}
		more := 0
		if f.Grade == schemas.Thin {
			// The interval narrows with the root of the jobs.
			half := r.TogetherSaves.V - r.SavesLow.V
			more = max(0, int(math.Ceil(float64(r.Jobs)*math.Pow(half/(r.TogetherSaves.V-savesThreshold), 2)))-r.Jobs)
		}
		parts := ""
		if x, y := alone[single{r.Model, r.Component}], alone[single{r.Model, r.ComponentB}]; r.Model != schemas.Any && x.MTTR.OK && y.MTTR.OK {
			parts = fmt.Sprintf(" instead of %s and %s one after the other", findings.Minutes(x.MTTR.V), findings.Minutes(y.MTTR.V))
		}
		f.Headline = fmt.Sprintf("%s: %s + %s in one opening take %s on average (%s)%s: %s saved (95%% %s min)%s",
			where, a, b, findings.Minutes(r.MTTR.V), findings.Counted(r.Jobs, "job"), parts,
			findings.Minutes(r.TogetherSaves.V), findings.Range(r.SavesLow.V, r.SavesHigh.V), findings.Verdict(f.Grade, more))
		f.Action = fmt.Sprintf("When a device is open for the %s, test the %s before it is closed, and offer both as one job.", a, b)
		f.Caution = findings.Caution([]string{r.Component, r.ComponentB}, "Minutes are as written down at the bench; jobs done together may differ in other ways.")
		f.Method = method
		for name, v := range map[string]schemas.Float{
			"together_saves": r.TogetherSaves, "saves_low": r.SavesLow, "saves_high": r.SavesHigh,
			"jobs": schemas.Known(float64(r.Jobs)), "mttr": r.MTTR,
		} {
			if v.OK {
				f.Numbers[name] = v
			}
		}
		f.Row = schemas.RowRef{Table: "times", Key: map[string]string{"model": r.Model, "component": r.Component, "component_b": r.ComponentB}}
		if r.Model == schemas.Any {
			pooled = append(pooled, f)
			continue
		}
		if f.Grade == schemas.Firm {
			told[pair{r.Component, r.ComponentB}] = true
		}
		list = append(list, f)
	}
	for _, f := range pooled {
		if !told[pair{f.Subject.Component, f.Subject.ComponentB}] {
			list = append(list, f)
		}
	}
	return findings.Shorten(list, 4, 2)
}

// chance is the two-sided p of a saving of savesThreshold minutes, from the limit on that side of the estimate. The
// limits rest on Student's quantile of the pair's few jobs, and so does p: a normal tail beyond them would call six
// jobs firm that chance gives often.
func chance(r schemas.Time) float64 {
	side := r.TogetherSaves.V - r.SavesLow.V
	if r.TogetherSaves.V < savesThreshold {
		side = r.SavesHigh.V - r.TogetherSaves.V
	}
	t := distuv.StudentsT{Sigma: 1, Nu: float64(max(1, r.Jobs-1))}
	away := math.Abs(r.TogetherSaves.V-savesThreshold) / side * t.Quantile((1+conf)/2)
	return min(1, 2*t.Survival(away))
}
