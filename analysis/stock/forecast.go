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
	weight float64 // before any demand is seen; all add up to 1
}

// habits are weighed against each other by how well each foretold the part's own past; weight is what each has before.
// Decline is likelier than growth, for every model goes out of use. Grid, weights and chances were chosen by the cost of
// ordering on simulated parts (analysis/calibrate); they are not tuned to any shop.
func habits() []habit {
	var list []habit
	sum := 0.0
	for _, drift := range []struct{ growth, weight float64 }{{0.85, 0.2}, {0.95, 0.5}, {1, 1}, {1.03, 0.4}} {
		for _, clump := range []float64{1, 2, 4, 8} {
			for _, fade := range []struct{ keep, weight float64 }{{0.98, 0.8}, {0.92, 0.2}} {
				w := drift.weight * fade.weight / (clump * clump)
				list = append(list, habit{fade.keep, drift.growth, clump, w})
				sum += w
			}
		}
	}
	for i := range list {
		list[i].weight /= sum
	}
	return list
}

const (
	leastShape  = 0.01   // a part not asked for in years may still be asked for
	change      = 0.05   // chance that growth, decline or fading becomes another from one week to the next
	clumpChange = 0.0005 // chance that a part begins to be asked for in other numbers at a time
)

// A belief is a habit with what it makes of the demand so far: the weekly rate is Gamma(shape, rate).
type belief struct {
	habit
	shape, rate float64
	chance      float64 // of the habit, after the weeks seen
}

// A Forecast foretells the demand for one part, week after week: a discounted gamma-Poisson model under several
// habits, which may change, each weighed by its past predictive likelihood.
//
// Smith (1979), J. R. Stat. Soc. B 41, 375-387 (power discounting); West and Harrison, Bayesian Forecasting and Dynamic
// Models (gamma-Poisson; several processes with a chance to change); Blom and Bar-Shalom (1988), IEEE Trans. Automatic
// Control 33, 780-783 (mingling before each step). Counts that clump are the quasi-Poisson of McCullagh and Nelder,
// Generalized Linear Models: a piece is evidence worth 1/clump.
type Forecast struct{ beliefs []belief }

// newForecast starts from what is thought of the weekly rate before any demand is seen.
func newForecast(prior stat.GammaPrior) (*Forecast, error) {
	now, err := prior.Update(0, 0) // one gamma where the prior averages over several
	if err != nil {
		return nil, err
	}
	f := &Forecast{}
	for _, h := range habits() {
		f.beliefs = append(f.beliefs, belief{habit: h, shape: now.Shape, rate: now.Rate, chance: h.weight})
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
	f.mingle()
	sum := 0.0
	for i := range f.beliefs {
		b := &f.beliefs[i]
		chance, err := b.ahead(1).PMF(pieces)
		if err != nil {
			return err
		}
		b.chance *= max(chance, 1e-12)
		sum += b.chance
		mean := b.shape / b.rate * b.growth
		shape := max(b.shape*b.keep, leastShape)
		b.shape, b.rate = shape+float64(pieces)/b.clump, shape/mean+1/b.clump
	}
	for i := range f.beliefs {
		f.beliefs[i].chance /= sum
	}
	return nil
}

// mingle lets a habit change before the week: with a small chance to another growth or fading, with a far smaller one to any other
// habit, for how many are asked for at a time is in the nature of a part. Each habit takes over that much of what the
// ones that may turn into it think of the rate.
func (f *Forecast) mingle() {
	all := f.crowd(func(belief) bool { return true })
	alike := map[float64]crowd{}
	for _, b := range f.beliefs {
		if _, ok := alike[b.clump]; !ok {
			alike[b.clump] = f.crowd(func(o belief) bool { return o.clump == b.clump })
		}
	}
	for i := range f.beliefs {
		b := &f.beliefs[i]
		near := alike[b.clump]
		own := crowd{chance: b.chance, mean: b.shape / b.rate, variance: b.shape / b.rate / b.rate}
		next := mixed(own.times((1-clumpChange)*(1-change)), near.times((1-clumpChange)*change*b.weight/near.weight), all.times(clumpChange*b.weight/all.weight))
		b.chance, b.shape, b.rate = next.chance, next.mean*next.mean/next.variance, next.mean/next.variance
	}
}

// A crowd is what several beliefs together think of the weekly rate.
type crowd struct{ chance, weight, mean, variance float64 }

func (c crowd) times(chance float64) crowd {
	c.chance *= chance
	return c
}

func (f *Forecast) crowd(in func(belief) bool) crowd {
	var list []crowd
	weight := 0.0
	for _, b := range f.beliefs {
		if in(b) {
			weight += b.weight
			list = append(list, crowd{chance: b.chance, mean: b.shape / b.rate, variance: b.shape / b.rate / b.rate})
		}
	}
	c := mixed(list...)
	c.weight = weight
	return c
}

// mixed puts crowds together, each by its chance.
func mixed(list ...crowd) crowd {
	var c crowd
	for _, m := range list {
		c.chance += m.chance
	}
	for _, m := range list {
		c.mean += m.chance / c.chance * m.mean
	}
	for _, m := range list {
		d := m.mean - c.mean
		c.variance += m.chance / c.chance * (m.variance + d*d)
	}
	return c
}

// falling is the chance that demand falls from week to week.
func (f *Forecast) falling() (p float64) {
	for _, b := range f.beliefs {
		if b.growth < 1 {
			p += b.chance
		}
	}
	return p
}

// Over is the demand of the next days (above 0): the negative binomial with the mean and the variance of all habits
// together.
func (f *Forecast) Over(days int) stat.NegativeBinomial {
	parts := make([]stat.NegativeBinomial, len(f.beliefs))
	mean := 0.0
	for i, b := range f.beliefs {
		parts[i] = b.ahead(float64(days) / 7)
		mean += b.chance * parts[i].Mean
	}
	excess := 0.0 // variance beyond Poisson
	for i, b := range f.beliefs {
		p := parts[i]
		d := p.Mean - mean
		excess += b.chance * (p.Mean*p.Mean/p.Size + d*d)
	}
	if !(excess > 0) {
		return stat.NegativeBinomial{Size: leastShape, Mean: mean}
	}
	return stat.NegativeBinomial{Size: mean * mean / excess, Mean: mean}
}

// Rate is what is known of the weekly rate over the next days, as one gamma.
func (f *Forecast) Rate(days int) stat.GammaPrior {
	weeks := float64(days) / 7
	mean := 0.0
	for _, b := range f.beliefs {
		mean += b.chance * b.ahead(weeks).Mean / weeks
	}
	variance := 0.0
	for _, b := range f.beliefs {
		m := b.ahead(weeks).Mean / weeks
		shape := max(b.shape*math.Pow(b.keep, (weeks+1)/2), leastShape)
		variance += b.chance * (m*m/shape + (m-mean)*(m-mean))
	}
	return stat.GammaPrior{Shape: mean * mean / variance, Rate: mean / variance}
}
