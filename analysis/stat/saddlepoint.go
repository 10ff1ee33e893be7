package stat

import "math"

// Probabilities of single counts by the saddle-point expansion, which keeps about 14
// digits for counts of any size where differences of log gamma functions lose them.
//
// Loader (2000), Fast and Accurate Computation of Binomial Probabilities.

const (
	halfLog2Pi = 0.918938533204672741780329736406 // log(2 pi)/2
	logTwoPi   = 2 * halfLog2Pi
)

// stirlingError is log(n!) less Stirling's formula, for n > 0, not only integers.
// The series is DLMF 5.11.1.
func stirlingError(n float64) float64 {
	if n < 16 {
		lg, _ := math.Lgamma(n + 1)
		return lg - (n+0.5)*math.Log(n) + n - halfLog2Pi
	}
	r := 1 / (n * n)
	return (1.0/12 - r*(1.0/360-r*(1.0/1260-r*(1.0/1680-r*(1.0/1188-r*691.0/360360))))) / n
}

// deviance is x log(x/m) + m - x, for x >= 0 and m > 0, without cancellation near x = m.
func deviance(x, m float64) float64 {
	if x == 0 {
		return m
	}
	if d := x - m; math.Abs(d) < 0.1*(x+m) {
		v := d / (x + m)
		sum, term := d*v, 2*x*v
		for j := 3.0; ; j += 2 {
			term *= v * v
			next := sum + term/j
			if next == sum {
				return sum
			}
			sum = next
		}
	}
	return x*math.Log(x/m) + m - x
}

// logPoisson is the log of m^x exp(-m) / x!, for x >= 0 (not only integers) and m > 0.
func logPoisson(x, m float64) float64 {
	if x == 0 {
		return -m
	}
	return -stirlingError(x) - deviance(x, m) - 0.5*(logTwoPi+math.Log(x))
}

// logBinomial is the log probability of x successes in n trials of chance p; q is 1-p.
// x and n need not be integers.
func logBinomial(x, n, p, q float64) float64 {
	switch {
	case p == 0 && x == 0, q == 0 && x == n:
		return 0
	case p == 0 || q == 0:
		return math.Inf(-1)
	case x == 0:
		if p < 0.1 {
			return -deviance(n, n*q) - n*p
		}
		return n * math.Log(q)
	case x == n:
		if q < 0.1 {
			return -deviance(n, n*p) - n*q
		}
		return n * math.Log(p)
	}
	return stirlingError(n) - stirlingError(x) - stirlingError(n-x) -
		deviance(x, n*p) - deviance(n-x, n*q) -
		0.5*(logTwoPi+math.Log(x)+math.Log1p(-x/n))
}

// logHypergeometric is the log probability that a draw of k from marked + plain items,
// without putting back, holds x marked ones.
func logHypergeometric(x, marked, plain, k float64) float64 {
	if k == 0 || k == marked+plain {
		return 0
	}
	p := k / (marked + plain)
	q := (marked + plain - k) / (marked + plain)
	return logBinomial(x, marked, p, q) + logBinomial(k-x, plain, p, q) -
		logBinomial(k, marked+plain, p, q)
}
