package stat

import (
	"fmt"
	"math"
)

// A Pooled is one effect combined from several studies or shops, on the scale the effects
// came in (log ratios, differences, logits).
type Pooled struct {
	Estimate
	SE float64
	Test
	Q, QP      float64  // Cochran's statistic of heterogeneity, and its p
	QDF        int      // degrees of freedom of Q
	Tau2       float64  // variance between studies; 0 for a fixed effect
	I2         float64  // share of the variation that lies between studies, in [0, 1]
	Knapp      Interval // Hartung-Knapp limits: wider and better with few studies
	Prediction Interval // where the effect of a further study would lie
	Predicted  bool     // false with fewer than 3 studies, where Prediction does not exist
}

// FixedEffect combines effects with known variances by inverse variance, assuming one
// effect common to all.
func FixedEffect(effects, variances []float64, conf float64) (Pooled, error) {
	if err := checkEffects(effects, variances, conf); err != nil {
		return Pooled{}, err
	}
	p := pool(effects, variances, 0, conf)
	return p, nil
}

// DerSimonianLaird combines effects that may differ between studies: the variance between
// them is estimated by moments (not below 0) and added to each. It needs 2 studies. The
// Knapp limits use Student's t with the weighted spread (never below the plain standard
// error). The prediction interval averages over what the studies leave open about the variance
// between them; the usual one, which takes the moment estimate as certain, covers too little
// where that estimate is cut at 0.
//
// DerSimonian and Laird (1986), Controlled Clinical Trials 7, 177-188; Higgins and Thompson
// (2002), Stat. Med. 21, 1539-1558; Knapp and Hartung (2003), Stat. Med. 22, 2693-2710;
// prediction after Nagashima, Noma and Furukawa (2019), Stat. Methods Med. Res. 28, 1689-1702,
// whose simulation is replaced by levels of the distribution.
func DerSimonianLaird(effects, variances []float64, conf float64) (Pooled, error) {
	if err := checkEffects(effects, variances, conf); err != nil {
		return Pooled{}, err
	}
	k := len(effects)
	if k < 2 {
		return Pooled{}, fmt.Errorf("%w: 1 study, want 2", ErrTooFew)
	}
	fixed := pool(effects, variances, 0, conf)
	var w, w2 float64
	for _, v := range variances {
		w += 1 / v
		w2 += 1 / (v * v)
	}
	tau2 := max((fixed.Q-float64(k-1))/(w-w2/w), 0)
	p := pool(effects, variances, tau2, conf)
	p.Q, p.QP, p.QDF, p.I2 = fixed.Q, fixed.QP, fixed.QDF, fixed.I2

	t, err := studentFor(conf, float64(k-1))
	if err != nil {
		return Pooled{}, err
	}
	spread := 0.0
	for i, y := range effects {
		d := y - p.Value
		spread += d * d / (variances[i] + tau2)
	}
	half := t * p.SE * math.Sqrt(max(spread/float64(k-1), 1))
	p.Knapp = Interval{p.Value - half, p.Value + half}
	if k >= 3 {
		if p.Prediction, err = predictionLimits(effects, variances, fixed, conf); err != nil {
			return Pooled{}, err
		}
		p.Predicted = true
	}
	return p, nil
}

// predictionLevels is how many values stand for the distribution of the variance between.
const predictionLevels = 50

// predictionLimits takes the confidence distribution of the variance between studies from
// Cochran's statistic weighted by that variance, which is chi-square. At each of its levels
// the effect of a further study is Student's t about the pooled effect, with the variance
// between and the Hartung-Knapp variance of the pooled effect; the limits are quantiles of
// the mixture.
func predictionLimits(effects, variances []float64, fixed Pooled, conf float64) (Interval, error) {
	k := len(effects)
	type level struct{ centre, scale float64 }
	levels := make([]level, predictionLevels)
	for j := range levels {
		q, err := chiSquareQuantile(1-(float64(j)+0.5)/predictionLevels, k-1)
		if err != nil {
			return Interval{}, err
		}
		tau2 := 0.0
		if fixed.Q > q {
			excess := func(u float64) float64 { return q - pool(effects, variances, math.Exp(u), conf).Q }
			u, err := findRootFrom(excess, math.Log(fixed.SE*fixed.SE*float64(k)), 1)
			if err != nil {
				return Interval{}, err
			}
			tau2 = math.Exp(u)
		}
		p := pool(effects, variances, tau2, conf)
		levels[j] = level{p.Value, math.Sqrt(tau2 + p.SE*p.SE*max(p.Q/float64(k-1), 1))}
	}
	beyond := func(x, sign float64) float64 { // P(further effect is past x, upward for sign 1)
		sum := 0.0
		for _, l := range levels {
			t := sign * (x - l.centre) / l.scale
			tail := studentTwoSided(t, float64(k-1)) / 2
			if t < 0 {
				tail = 1 - tail
			}
			sum += tail / predictionLevels
		}
		return sum
	}
	tail := (1 - conf) / 2
	middle, wide := levels[predictionLevels/2].centre, levels[predictionLevels/2].scale
	lo, err := findRootFrom(func(x float64) float64 { return beyond(x, -1) - tail }, middle-2*wide, wide)
	if err != nil {
		return Interval{}, err
	}
	hi, err := findRootFrom(func(x float64) float64 { return tail - beyond(x, 1) }, middle+2*wide, wide)
	return Interval{lo, hi}, err
}

// pool weighs by 1/(variance + tau2).
func pool(effects, variances []float64, tau2, conf float64) Pooled {
	var weights, sum float64
	for i, y := range effects {
		w := 1 / (variances[i] + tau2)
		weights += w
		sum += w * y
	}
	p := Pooled{SE: math.Sqrt(1 / weights), Tau2: tau2, QDF: len(effects) - 1, QP: 1}
	p.Value = sum / weights
	half := zFor(conf) * p.SE
	p.Lo, p.Hi = p.Value-half, p.Value+half
	p.Knapp = Interval{p.Lo, p.Hi}
	z := p.Value / p.SE
	p.Test = Test{Statistic: z, P: normalTwoSided(z)}
	for i, y := range effects {
		d := y - p.Value
		p.Q += d * d / (variances[i] + tau2)
	}
	if p.QDF > 0 && p.Q > 0 {
		p.QP = chiSquareTail(p.Q, p.QDF)
		p.I2 = max((p.Q-float64(p.QDF))/p.Q, 0)
	}
	return p
}

func checkEffects(effects, variances []float64, conf float64) error {
	if err := checkConf(conf); err != nil {
		return err
	}
	if err := checkLengths(len(effects), len(variances)); err != nil {
		return err
	}
	for i, v := range variances {
		if !(v > 0) || math.IsInf(v, 0) || math.IsNaN(effects[i]) || math.IsInf(effects[i], 0) {
			return outOfRange("study %d: effect %v with variance %v", i+1, effects[i], v)
		}
	}
	return nil
}
