package demo

import (
	"math"
	"time"
)

// The period of the made-up logs: 30 months, the first and the last day included. The shops keep
// their own local time; the last day is a Saturday, so that six whole weeks end the log.
var (
	FirstDay = time.Date(2023, time.December, 1, 0, 0, 0, 0, time.UTC)
	LastDay  = time.Date(2026, time.May, 30, 0, 0, 0, 0, time.UTC)
)

// Tickets is the expected number of tickets over the three shops; what comes out varies as counts do.
const Tickets = 12_000

// Truth 1. Two small speakers fail together on one model. Over the diagnosed visits of that model
// the odds ratio is PairOdds; each of the two alone is as frequent there as in the rest of the class,
// so only the pair is news. Elsewhere a second fault is rare and independent of the first.
const (
	PairModel = "Varnby Plover 8"
	PairA     = "earpiece"
	PairB     = "loudspeaker"
	PairOdds  = 6.0
)

// Truth 2. One laptop breaks its hinge four times as often as the other laptops.
const (
	ShareModel     = "Tarsk Gusset 14"
	ShareComponent = "hinge"
	ShareRatio     = 4.0
	ShareClass     = 0.05 // weight of the hinge among the first faults of other laptops
)

// Truth 3. A bad lot of one battery that fits a whole phone family. It was fitted from
// LotFirstFitted to LotLastFitted in all shops and held until the first warm weeks: from LotOnset to
// the end of the log LotFailing of the devices carrying it come back for a battery again, spread
// evenly over those weeks. Battery and no other part, because a wrong alarm about a display costs
// money and a missed one about lithium cells costs more; its caution must show at the top.
const (
	LotComponent = "battery"
	LotFamily    = "Sedge"
	LotMaker     = "Ostrel"
	Lot          = "NB-2604-C"
	LotPartNo    = "BAT-SEDGE"
	LotSupplier  = "Partquay"
	LotGrade     = "aftermarket"
	LotTaken     = 0.95 // share of the family's new batteries taken from the lot while it was on the shelf
	LotFailing   = 0.90 // share of the fitted that fail by the end of the log when fitted before the onset
	LotOnShelf   = 6    // pieces of it still in stock.csv of shop one
	LotWeeks     = 6    // from onset to the end of the log
)

// Dates of truth 3.
var (
	LotOnset       = time.Date(2026, time.April, 19, 0, 0, 0, 0, time.UTC)
	LotFirstFitted = time.Date(2025, time.November, 3, 0, 0, 0, 0, time.UTC)
	LotLastFitted  = time.Date(2026, time.May, 16, 0, 0, 0, 0, time.UTC)
)

// LotModels are the models the lot was fitted to.
func LotModels() []string {
	return []string{"Ostrel Sedge 5", "Ostrel Sedge 5 Plus", "Ostrel Sedge 6"}
}

// Truth 4. A part grade that comes back: refurbished displays return at ReturnHazard times the
// hazard of every other repair, which is constant over ReturnHorizon days, ReturnBase of the
// repairs by day 90. Batteries of the bad lot apart, no other grade, supplier or lot differs.
const (
	ReturnComponent = "display"
	ReturnGrade     = "refurbished"
	ReturnHazard    = 3.0
	ReturnBase      = 0.03
	ReturnHorizon   = 180 // days
)

// Truth 5. A small part of one model cost PriceBefore and costs PriceAfter, three times as much,
// from PriceJump on; the same part usually costs about PriceUsual in the class. The shops did not
// change what they charge for the job.
const (
	PriceModel     = "Quorvel Wicket 11"
	PriceComponent = "loudspeaker"
	PriceBefore    = 6.60
	PriceAfter     = 19.80
	PriceUsual     = 3.00
)

// PriceJump is the day the price tripled.
var PriceJump = time.Date(2025, time.May, 5, 0, 0, 0, 0, time.UTC)

// Truth 6. Charge ports of phones rise: a straight line on the log-odds scale over the last
// RisingMonths months, from RisingFrom to RisingTo of the first faults, in every phone alike.
const (
	RisingClass     = "phone"
	RisingComponent = "charge-port"
	RisingFrom      = 0.03
	RisingTo        = 0.20
	RisingMonths    = 15
)

// Truth 7. The demand for one stock part is known: the video port that fits both consoles is used
// DemandWeekly times a week per unit of a shop's size (see Shop.Size), a Poisson count with no
// growth, season or trend. Shop one has size 1.
const (
	DemandPart      = "VPT-DUAL"
	DemandComponent = "video-port"
	DemandWeekly    = 2.0
)

// Truth 8. Doing the pair of truth 1 in one opening saves bench time, on every phone: minutes are
// lognormal with the medians below and geometric standard deviation exp(MinutesSigma). Any other
// two faults of one visit take as long as the two apart.
const (
	MinutesEarpiece    = 24.0
	MinutesLoudspeaker = 30.0
	MinutesBoth        = 36.0
	MinutesSigma       = 0.30
)

// TogetherSaves is truth 8 in mean minutes: the mean of a lognormal is median x exp(sigma^2/2).
func TogetherSaves() float64 {
	return (MinutesEarpiece + MinutesLoudspeaker - MinutesBoth) * math.Exp(MinutesSigma*MinutesSigma/2)
}
