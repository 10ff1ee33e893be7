package stat

import "math"

// Wilson returns the two-sided score interval for a share of x in n, in [0, 1].
// It assumes independent trials of one chance. n = 0 is ErrNoData.
//
// Wilson (1927), J. Am. Stat. Assoc. 22, 209-212; no continuity correction.
func Wilson(x, n int, conf float64) (Interval, error) {
	if err := checkSample(x, n, conf); err != nil {
		return Interval{}, err
	}
	z := zFor(conf)
	N, p := float64(n), float64(x)/float64(n)
	shrink := 1 + z*z/N
	centre := (p + z*z/(2*N)) / shrink
	half := z / shrink * math.Sqrt(p*(1-p)/N+z*z/(4*N*N))
	return pinned(x, n, centre-half, centre+half), nil
}

// WilsonCorrected is Wilson with continuity correction: wider, its coverage close to
// or above conf for nearly every share instead of only on average.
//
// Newcombe (1998), Statistics in Medicine 17, 857-872, method 4.
func WilsonCorrected(x, n int, conf float64) (Interval, error) {
	if err := checkSample(x, n, conf); err != nil {
		return Interval{}, err
	}
	z := zFor(conf)
	N, p := float64(n), float64(x)/float64(n)
	q := float64(n-x) / N
	// Both roots are real unless n is tiny and conf low; the clamp keeps them so.
	low := math.Sqrt(max(z*z-2-1/N+4*p*(N*q+1), 0))
	high := math.Sqrt(max(z*z+2-1/N+4*p*(N*q-1), 0))
	lo := (2*N*p + z*z - 1 - z*low) / (2 * (N + z*z))
	hi := (2*N*p + z*z + 1 + z*high) / (2 * (N + z*z))
	return pinned(x, n, min(lo, p), max(hi, p)), nil
}

// ClopperPearson returns the exact interval: each limit has tail (1-conf)/2 or less,
// so coverage is at least conf for every share, at the price of width.
//
// Clopper and Pearson (1934), Biometrika 26, 404-413, by beta quantiles.
func ClopperPearson(x, n int, conf float64) (Interval, error) {
	return betaLimits(x, n, conf, 0, 1)
}

// Jeffreys returns the equal-tailed interval of the posterior under a Beta(1/2, 1/2)
// prior, with the lower limit 0 at x = 0 and the upper limit 1 at x = n.
//
// Brown, Cai and DasGupta (2001), Statistical Science 16, 101-133.
func Jeffreys(x, n int, conf float64) (Interval, error) {
	return betaLimits(x, n, conf, 0.5, 0.5)
}

// betaLimits takes the lower limit from Beta(x+own, n-x+other) and the upper limit from
// Beta(x+other, n-x+own).
func betaLimits(x, n int, conf, own, other float64) (Interval, error) {
	if err := checkSample(x, n, conf); err != nil {
		return Interval{}, err
	}
	tail := (1 - conf) / 2
	iv := Interval{Lo: 0, Hi: 1}
	hits, misses := float64(x), float64(n-x)
	var err error
	if x > 0 {
		if iv.Lo, err = betaQuantile(tail, hits+own, misses+other); err != nil {
			return Interval{}, err
		}
	}
	if x < n {
		// The quantile of the mirrored distribution keeps the precision near 1.
		miss, err := betaQuantile(tail, misses+own, hits+other)
		if err != nil {
			return Interval{}, err
		}
		iv.Hi = 1 - miss
	}
	return iv, nil
}

// MidPShare returns the mid-p interval: as ClopperPearson, but the observed count adds
// only half its probability to each tail, so coverage is near conf instead of above it.
//
// Newcombe (1998), Statistics in Medicine 17, 857-872, method 6.
func MidPShare(x, n int, conf float64) (Interval, error) {
	if err := checkSample(x, n, conf); err != nil {
		return Interval{}, err
	}
	iv := Interval{Lo: 0, Hi: 1}
	var err error
	if x > 0 {
		if iv.Lo, err = midPLower(x, n, (1-conf)/2); err != nil {
			return Interval{}, err
		}
	}
	if x < n {
		miss, err := midPLower(n-x, n, (1-conf)/2)
		if err != nil {
			return Interval{}, err
		}
		iv.Hi = 1 - miss
	}
	return iv, nil
}

// midPLower is the share at which P(X > x) + P(X = x)/2 equals tail, for x > 0.
func midPLower(x, n int, tail float64) (float64, error) {
	N, X := float64(n), float64(x)
	excess := func(u float64) float64 {
		p, q := expit(u)
		atLeast, _ := betaTails(X, N-X+1, p, q)
		return atLeast - 0.5*math.Exp(logBinomial(X, N, p, q)) - tail
	}
	spread := math.Sqrt(1/X + 1/(N-X+1))
	u, err := findRootFrom(excess, math.Log(X/(N-X+1))+spread*normalQuantile(tail), 0.1*spread)
	p, _ := expit(u)
	return p, err
}

// BinomialUpperTail is P(X >= x) for X successes in n trials of chance p: how likely it
// is to see at least x by luck. Small tails keep their relative precision.
func BinomialUpperTail(x, n int, p float64) (float64, error) {
	switch {
	case n < 0 || x > n:
		return 0, outOfRange("at least %d of %d: want x <= n", x, n)
	case !(p >= 0 && p <= 1):
		return 0, outOfRange("chance %v: want 0 to 1", p)
	case x <= 0:
		return 1, nil
	}
	tail, _ := betaTails(float64(x), float64(n-x+1), p, 1-p)
	return tail, nil
}

func checkSample(x, n int, conf float64) error {
	if err := checkConf(conf); err != nil {
		return err
	}
	return checkShare(x, n)
}

// pinned makes the limits exact where rounding would leave a stray 1e-18.
func pinned(x, n int, lo, hi float64) Interval {
	if x == 0 {
		lo = 0
	}
	if x == n {
		hi = 1
	}
	return Interval{Lo: max(lo, 0), Hi: min(hi, 1)}
}
