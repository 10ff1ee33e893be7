package stock

import (
	"math"

	"faultgrain/analysis/stat"
)

// A habit is one way demand may behave from week to week.
type habit struct {
	keep   float64 // part of what is known that still holds a week later
	growth float64 // factor of the weekly rate from one week to the next
	clump  float64 // variance of a week's count over its mean, the rate being given; 1 is Poisson
	belief float64 // log weight before any demand is seen
}

// habits are weighed against each other by how well each foretold the part's own past. Growth is rare, so it has to
// earn its weight.
func habits() []habit {
	var list []habit
	for _, keep := range []float64{0.85, 0.93, 0.97, 1} {
		for _, growth := range []float64{0.92, 1, 1.02} {
			for _, clump := range []float64{1, 2, 4} {
				belief := -(1 - keep) / 0.05
				if growth != 1 {
					belief -= 1.5
				}
				if clump > 1 {
					belief -= 1.5 * clump / 2
				}
				list = append(list, habit{keep, growth, clump, belief})
			}
		}
	}
	return list
}

const (
	scoreKept  = 0.98 // part of a habit's past score that still counts a week later, so that habits may change
	leastShape = 0.01 // a part not asked for in years may still be asked for
)

// A belief is a habit with what it makes of the demand so far: the weekly rate is Gamma(shape, rate).
type belief struct {
	habit
	shape, rate float64
	score       float64 // log predictive likelihood of the weeks seen, older ones fading
}

// A Forecast foretells the demand for one part, week after week: a discounted gamma-Poisson model under several
// habits, averaged by their past predictive likelihood.
//
// Smith (1979), J. R. Stat. Soc. B 41, 375-387 (power discounting); Harrison and West, Bayesian Forecasting and
// Dynamic Models, ch. 14 (gamma-Poisson); Raftery, Karny and Ettler (2010), Technometrics 52, 52-66 (averaging with
// fading scores). Counts that clump are the quasi-Poisson of McCullagh and Nelder: a piece is evidence worth 1/clump.
type Forecast struct{ beliefs []belief }

// newForecast starts from what is thought of the weekly rate before any demand is seen.
func newForecast(prior stat.GammaPrior) (*Forecast, error) {
	now, err := prior.Update(0, 0) // one gamma where the prior averages over several
	if err != nil {
		return nil, err
	}
	f := &Forecast{}
	for _, h := range habits() {
		f.beliefs = append(f.beliefs, belief{habit: h, shape: now.Shape, rate: now.Rate})
	}
	return f, nil
}

// ahead is the demand of the next so many weeks under one habit.
func (b belief) ahead(weeks float64) stat.NegativeBinomial {
	exposure := weeks
	if b.growth != 1 {
		step := math.Log(b.growth)
		exposure = b.growth * math.Expm1(step*weeks) / math.Expm1(step)
	}
	// What is known fades while the weeks go by: on average (weeks+1)/2 of them.
	shape := max(b.shape*math.Pow(b.keep, (weeks+1)/2), leastShape)
	mean := b.shape / b.rate * exposure
	if mean == 0 {
		return stat.NegativeBinomial{Size: shape}
	}
	return stat.NegativeBinomial{Size: 1 / ((b.clump-1)/mean + 1/shape), Mean: mean}
}

// Observe takes in the demand of one week, in pieces.
func (f *Forecast) Observe(pieces int) error {
	for i := range f.beliefs {
		b := &f.beliefs[i]
		chance, err := b.ahead(1).PMF(pieces)
		if err != nil {
			return err
		}
		b.score = scoreKept*b.score + math.Log(max(chance, 1e-12))
		mean := b.shape / b.rate * b.growth
		shape := max(b.shape*b.keep, leastShape)
		b.shape, b.rate = shape+float64(pieces)/b.clump, shape/mean+1/b.clump
	}
	return nil
}

// weights add up to 1.
func (f *Forecast) weights() []float64 {
	top := math.Inf(-1)
	for _, b := range f.beliefs {
		top = max(top, b.score+b.belief)
	}
	w, sum := make([]float64, len(f.beliefs)), 0.0
	for i, b := range f.beliefs {
		w[i] = math.Exp(b.score + b.belief - top)
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}

// Over is the demand of the next days (above 0): the negative binomial with the mean and the variance of all habits
// together.
func (f *Forecast) Over(days int) stat.NegativeBinomial {
	weights := f.weights()
	parts := make([]stat.NegativeBinomial, len(f.beliefs))
	mean := 0.0
	for i, b := range f.beliefs {
		parts[i] = b.ahead(float64(days) / 7)
		mean += weights[i] * parts[i].Mean
	}
	excess := 0.0 // variance beyond Poisson
	for i, p := range parts {
		d := p.Mean - mean
		excess += weights[i] * (p.Mean*p.Mean/p.Size + d*d)
	}
	if !(excess > 0) {
		return stat.NegativeBinomial{Size: leastShape, Mean: mean}
	}
	return stat.NegativeBinomial{Size: mean * mean / excess, Mean: mean}
}

// Rate is what is known of the weekly rate over the next days, as one gamma.
func (f *Forecast) Rate(days int) stat.GammaPrior {
	weights := f.weights()
	weeks := float64(days) / 7
	mean := 0.0
	for i, b := range f.beliefs {
		mean += weights[i] * b.ahead(weeks).Mean / weeks
	}
	variance := 0.0
	for i, b := range f.beliefs {
		m := b.ahead(weeks).Mean / weeks
		shape := max(b.shape*math.Pow(b.keep, (weeks+1)/2), leastShape)
		variance += weights[i] * (m*m/shape + (m-mean)*(m-mean))
	}
	return stat.GammaPrior{Shape: mean * mean / variance, Rate: mean / variance}
}
