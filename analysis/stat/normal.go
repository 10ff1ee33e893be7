package stat

import "math"

// zFor is the two-sided standard normal quantile: about 1.96 for conf 0.95.
func zFor(conf float64) float64 { return math.Sqrt2 * math.Erfinv(conf) }

// normalCDF is P(Z <= z), accurate in the lower tail.
func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// normalTwoSided is P(|Z| >= |z|), accurate in the tails.
func normalTwoSided(z float64) float64 { return probability(math.Erfc(math.Abs(z) / math.Sqrt2)) }

// normalQuantile is the z with P(Z <= z) = p, for 0 < p < 1.
func normalQuantile(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }
