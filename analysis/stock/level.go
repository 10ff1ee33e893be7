package stock

import "faultgrain/analysis/stat"

// Rules by which a level is chosen.
const (
	CriticalRatio = "critical-ratio"
	ServiceLevel  = "service-level"
)

// MostLevel is the highest chance that a critical ratio may aim at. A missed job costs hundreds of times what a piece
// costs to keep from one order to the next, so ratios come near 1, where the tail of any forecast is guesswork. On
// simulated parts (analysis/calibrate) 0.99 costs a twentieth less on average and more where the demand ends, and there
// the replay does not even count that what is left can't be sold.
const MostLevel = 0.985

// A Target is the chance of not running out that the level aims at, and where it comes from.
type Target struct {
	Level float64
	Rule  string
}

// target weighs the margin lost per piece short against the cost of keeping a piece on the shelf from one order to the
// next. Where the margin is unknown or negative, or the shop did not tell its holding rate, it is the asked service
// level.
func target(margin, unitCost float64, holding *float64, reviewDays int, service float64) Target {
	if holding == nil {
		return Target{service, ServiceLevel}
	}
	ratio, err := stat.CriticalRatio(margin, unitCost**holding*float64(reviewDays)/365)
	if err != nil {
		return Target{service, ServiceLevel}
	}
	return Target{min(ratio, MostLevel), CriticalRatio}
}

// whenFalling is how much lower than MostLevel a critical ratio aims where demand is sure to fall: what is left when it
// has ended is sold to nobody, which the holding rate does not count. The size was chosen on simulated parts: there no
// other rule is cheaper any more where demand dies out, and other kinds cost a few hundredths more than without it.
const whenFalling = 0.015

// under is the level aimed at where demand falls with some chance. A level that was asked for is kept.
func (t Target) under(falling float64) float64 {
	if t.Rule != CriticalRatio {
		return t.Level
	}
	return min(t.Level, MostLevel-whenFalling*falling)
}

// A Lot is how a part can be bought.
type lotSize struct{ pack, least int }

// order is what to buy so that position (on hand and on order) comes up to level: whole packs, and the least order
// that the supplier takes.
func (l lotSize) order(level, position int) int {
	if position >= level {
		return 0
	}
	pack := max(l.pack, 1)
	need := max(level-position, l.least)
	return (need + pack - 1) / pack * pack
}
