package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/pairs"
	"faultgrain/analysis/shares"
	"faultgrain/schemas"
)

// A madeShop is a shop as logs show them: models of unequal size in a few classes, components of unequal
// share in each class, several faults on a visit, and no visit without a fault.
type madeShop struct {
	models     []shares.ModelCount
	components []string
	chance     map[string][]float64 // by class, beside components
}

func makeShop(rng *rand.Rand, models int) madeShop {
	s := madeShop{chance: map[string][]float64{}}
	for i := range 12 {
		s.components = append(s.components, fmt.Sprintf("c%02d", i))
	}
	for _, class := range []string{"phone", "tablet", "laptop"} {
		for range s.components {
			s.chance[class] = append(s.chance[class], 0.01+0.25*math.Pow(rng.Float64(), 2))
		}
	}
	for i := range models {
		s.models = append(s.models, shares.ModelCount{
			Class: []string{"phone", "phone", "tablet", "laptop"}[i%4], Model: fmt.Sprintf("m%02d", i),
			Diagnosed: int(8 + 120*math.Exp(0.9*rng.NormFloat64())),
		})
	}
	return s
}

// visit draws the components of one visit, sorted. more lifts the odds of the first component; together
// ties the second to the first by that odds ratio.
func (s madeShop) visit(rng *rand.Rand, class string, more, together float64) []string {
	for {
		var seen []string
		for i, name := range s.components {
			odds := s.chance[class][i] / (1 - s.chance[class][i])
			if i == 0 {
				odds *= more
			}
			if i == 1 && len(seen) == 1 {
				odds *= together
			}
			if rng.Float64() < odds/(1+odds) {
				seen = append(seen, name)
			}
		}
		if len(seen) > 0 {
			return seen
		}
	}
}

// fill draws all visits; special is the model with a true story, "" for none.
func (s madeShop) fill(rng *rand.Rand, special string, more, together float64) (pairs.Counts, []shares.FaultCount) {
	c := pairs.NewCounts()
	for _, m := range s.models {
		a, b := 1.0, 1.0
		if m.Model == special {
			a, b = more, together
		}
		for range m.Diagnosed {
			c.Add(m.Model, s.visit(rng, m.Class, a, b))
		}
	}
	var faults []shares.FaultCount
	for _, m := range s.models {
		for _, name := range s.components {
			if n := c.One[pairs.One{Model: m.Model, Component: name}]; n > 0 {
				faults = append(faults, shares.FaultCount{Model: m.Model, Component: name, Faults: n})
			}
		}
	}
	return c, faults
}

func firm(list []schemas.Finding) bool {
	return slices.ContainsFunc(list, func(f schemas.Finding) bool { return f.Grade == schemas.Firm })
}

func nullTablesSection() Section {
	return Section{
		ID:    "null-tables",
		Title: "Shares and pairs on histories with nothing in them",
		Promise: "Where no model differs and no components go together, at most 5% of shops have a row with q below 0.05 in their shares, " +
			"at most 5% a pair that passes the correction findings go by, and at most 5% a firm finding in shares or in pairs.",
		About: "Whole tables of simulated shops: 20 or 40 models of unequal size in three classes, 12 components, several faults on a visit, " +
			"every visit with at least one. With nothing to find, any row with q below 0.05 is a false one, so the false discovery rate is the share of shops that have one. " +
			"Pairs: a visit exists only because something failed, which makes independent components avoid each other; such negative rows reach q below 0.05, are no findings, and in a plain Benjamini-Hochberg make room for false positive ones (column positive and q < 0.05). " +
			"Findings therefore go by a q where rows that point away count as found nothing (column directed q). " +
			"Theory: Benjamini-Hochberg holds 5% for independent and for positively dependent tests; the tests of one model are neither exactly.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"models", "shops", "shares: q < 0.05", "shares: firm", "pairs: q < 0.05", "pairs: positive and q < 0.05", "pairs: directed q < 0.05", "pairs: firm"}}
			for _, models := range []int{20, 40} {
				rng := e.rng("null-tables", models)
				var anyShare, firmShare, anyPair, positive, directed, firmPair tally
				shops := e.runs(150)
				for range shops {
					if err := ctx.Err(); err != nil {
						return t, err
					}
					s := makeShop(rng, models)
					counts, faults := s.fill(rng, "", 1, 1)
					rows, err := shares.FromCounts(s.models, faults)
					if err != nil {
						return t, err
					}
					anyShare.count(slices.ContainsFunc(rows, func(r schemas.Share) bool { return r.Q.OK && r.Q.V < 0.05 }))
					firmShare.count(firm(shares.Findings(rows, findings.Frame{})))
					both, err := pairs.FromCounts(counts, pairs.NewCounts())
					if err != nil {
						return t, err
					}
					anyPair.count(slices.ContainsFunc(both, func(r schemas.Pair) bool { return r.Q.OK && r.Q.V < 0.05 }))
					positive.count(slices.ContainsFunc(both, func(r schemas.Pair) bool { return r.Q.OK && r.Q.V < 0.05 && r.OddsLow.V > 1 }))
					p, together := make([]schemas.Float, len(both)), make([]bool, len(both))
					for i, r := range both {
						p[i], together[i] = r.P, float64(r.Both) > r.Expected.V
					}
					q, err := findings.DirectedQ(p, together)
					if err != nil {
						return t, err
					}
					directed.count(slices.ContainsFunc(q, func(v schemas.Float) bool { return v.OK && v.V < 0.05 }))
					firmPair.count(firm(pairs.Findings(both, findings.Frame{})))
				}
				noise := 3 * math.Sqrt(0.05*0.95/anyShare.of) // three standard errors
				t.expect(anyShare.share() <= 0.05+noise, "%d models: a share below q 0.05 in %.4f of shops", models, anyShare.share())
				t.expect(firmShare.share() <= 0.05+noise, "%d models: a firm share in %.4f of shops", models, firmShare.share())
				t.expect(directed.share() <= 0.05+noise, "%d models: a pair with directed q below 0.05 in %.4f of shops", models, directed.share())
				t.expect(firmPair.share() <= 0.05+noise, "%d models: a firm pair in %.4f of shops", models, firmPair.share())
				t.add(num(models), num(shops), share(anyShare.share()), share(firmShare.share()), share(anyPair.share()), share(positive.share()), share(directed.share()), share(firmPair.share()))
			}
			return t, nil
		},
	}
}

func powerTablesSection() Section {
	return Section{
		ID:    "power-tables",
		Title: "Shares and pairs on histories with one truth in them",
		Promise: "A component with four times the odds of its class on one model of 60 visits, and a pair with an odds ratio of 4 on 400 visits, are found " +
			"(leaning or firm) at least nine times in ten; other models and pairs are firm in at most 5% of shops.",
		About: "As above with 20 models, one of which has the given number of visits, twice or four times the odds of one component, and two components tied by the given odds ratio. " +
			"Both components have a share of 20% in the class. Found: the finding is listed for that model, leaning or firm. False firm: any firm finding about another model, component or pair.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"visits of the model", "odds", "pair odds ratio", "share found", "share firm", "pair found", "pair firm", "false firm share", "false firm pair"}}
			for _, c := range []struct {
				visits         int
				more, together float64
			}{{60, 2, 4}, {60, 4, 4}, {150, 2, 4}, {400, 2, 4}, {60, 1, 8}, {150, 1, 8}} {
				rng := e.rng("power-tables", c.visits, c.more, c.together)
				var shareFound, shareFirm, pairFound, pairFirm, falseShare, falsePair tally
				for range e.runs(80) {
					if err := ctx.Err(); err != nil {
						return t, err
					}
					s := makeShop(rng, 20)
					s.models[0].Diagnosed = c.visits
					s.chance["phone"][0], s.chance["phone"][1] = 0.2, 0.2
					counts, faults := s.fill(rng, "m00", c.more, c.together)
					rows, err := shares.FromCounts(s.models, faults)
					if err != nil {
						return t, err
					}
					found, sure, wrong := grade(shares.Findings(rows, findings.Frame{}), func(f schemas.Finding) bool {
						return f.Subject.Component == "c00" || f.Subject.Component == "c01" // the second rises with the first
					})
					shareFound.count(found)
					shareFirm.count(sure)
					falseShare.count(wrong)
					both, err := pairs.FromCounts(counts, pairs.NewCounts())
					if err != nil {
						return t, err
					}
					found, sure, wrong = grade(pairs.Findings(both, findings.Frame{}), func(f schemas.Finding) bool {
						return f.Subject.Component == "c00" && f.Subject.ComponentB == "c01"
					})
					pairFound.count(found)
					pairFirm.count(sure)
					falsePair.count(wrong)
				}
				noise := 3 * math.Sqrt(0.05*0.95/falseShare.of)
				t.expect(falseShare.share() <= 0.05+noise, "%d visits: a false firm share in %.4f of shops", c.visits, falseShare.share())
				t.expect(falsePair.share() <= 0.05+noise, "%d visits: a false firm pair in %.4f of shops", c.visits, falsePair.share())
				t.expect(c.visits != 400 || pairFound.share() >= 0.9-noise, "400 visits: pair found %.4f", pairFound.share())
				t.expect(c.more != 4 || shareFound.share() >= 0.9-noise, "60 visits, odds 4: share found %.4f", shareFound.share())
				first := []string{num(c.visits), num(c.more), num(c.together)}
				if c.more == 1 {
					first[1] = ""
					t.add(append(first, "", "", share(pairFound.share()), share(pairFirm.share()), share(falseShare.share()), share(falsePair.share()))...)
					continue
				}
				t.add(append(first, share(shareFound.share()), share(shareFirm.share()), share(pairFound.share()), share(pairFirm.share()), share(falseShare.share()), share(falsePair.share()))...)
			}
			return t, nil
		},
	}
}

// grade tells whether the truth about m00 is among the findings, whether firmly, and whether anything else is firm.
// A pair told for all models is no false one when it is the true pair.
func grade(list []schemas.Finding, isTruth func(schemas.Finding) bool) (found, sure, wrong bool) {
	for _, f := range list {
		switch {
		case isTruth(f) && (f.Subject.Model == "m00" || f.Subject.Model == ""):
			if f.Subject.Model == "m00" && f.Grade != schemas.Thin {
				found = true
				sure = sure || f.Grade == schemas.Firm
			}
		case f.Grade == schemas.Firm:
			wrong = true
		}
	}
	return found, sure, wrong
}
