package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"time"
)

// What the shops pay and want.
const (
	LabourRate   = 48.0 // EUR per bench hour
	TargetMargin = 0.30
)

// suppliers sell every part in every grade; prices differ by a few percent.
var suppliers = []struct {
	name   string
	factor float64
}{{"Partquay", 0.97}, {"Cellwarden", 1.00}, {"Ferrule Bros", 1.02}, {"Teilekontor Zwirn", 1.04}}

// line draws one part line.
func (c *counter) line(k *component, m *Model, date time.Time) Line {
	r := c.events
	s := suppliers[r.IntN(len(suppliers))]
	l := Line{Component: k.id, PartNo: partNo(k, m), Supplier: s.name, Quantity: 1}
	l.Grade = pickWord(r, k.grades)
	l.Lot = lotOf(l.PartNo, l.Supplier, l.Grade, date)
	taken, told := r.Float64() < LotTaken, r.Float64() < 0.85
	noise := 1 + 0.06*(r.Float64()-0.5)
	if !c.opt.Null && l.PartNo == LotPartNo && taken && !date.Before(LotFirstFitted) && !date.After(LotLastFitted) {
		l.Supplier, l.Grade, l.Lot, told = LotSupplier, LotGrade, Lot, true
		s = suppliers[0]
	}
	if !told {
		l.Lot = ""
	}
	cost := k.cost * modelFactor(k, m)
	factor := gradeFactor[l.Grade] * s.factor * noise
	if !c.opt.Null && m.Name() == PriceModel && k.id == PriceComponent {
		cost, factor = PriceBefore, s.factor*noise
		if !date.Before(PriceJump) {
			cost = PriceAfter
		}
	}
	l.UnitCost = math.Round(100*cost*factor) / 100
	return l
}

// partNo names the part: one a family for batteries, one for both consoles' video port, else one a model.
func partNo(k *component, m *Model) string {
	switch {
	case k.id == DemandComponent:
		return DemandPart
	case k.family:
		return k.code + "-" + strings.ToUpper(m.Family)
	default:
		return k.code + "-" + strings.ToUpper(strings.ReplaceAll(m.Label, " ", ""))
	}
}

// modelFactor spreads the cost of a component over models, within 0.88 to 1.13, the same in every shop:
// no model but that of truth 5 has a part that costs half as much again as usual.
func modelFactor(k *component, m *Model) float64 {
	word := partNo(k, m)
	r := rand.New(rand.NewPCG(fingerprint(word), 1))
	return math.Exp(0.25 * (r.Float64() - 0.5))
}

// lotOf is the delivery a part comes from: a new one every ten weeks for each part, supplier and grade.
func lotOf(part, supplier, grade string, date time.Time) string {
	weeks := int(date.Sub(FirstDay).Hours()/24/7) + int(fingerprint(part+supplier+grade)%10)
	return fmt.Sprintf("%c%c-%02d%02d", supplier[0], strings.ToUpper(grade)[0], weeks/10, fingerprint(part+grade)%97)
}
