package stat

import (
	"fmt"
	"math"
)

// Laplace tests whether events come more often as time goes on. times are counted from the
// start of observation, which ended at end whether or not an event came then. The statistic
// is standard normal under a constant rate, positive when the rate rises. Fine from about 4
// events on.
//
// Cox and Lewis (1966), The Statistical Analysis of Series of Events, section 3.3;
// NIST/SEMATECH e-Handbook 8.2.3.4.
func Laplace(times []float64, end float64) (Test, error) {
	if err := checkEvents(times, end); err != nil {
		return Test{}, err
	}
	r, sum := float64(len(times)), 0.0
	for _, t := range times {
		sum += t/end - 0.5
	}
	z := sum / math.Sqrt(r/12)
	return Test{Statistic: z, P: normalTwoSided(z)}, nil
}

// A PowerLawTest is the military-handbook test of a constant rate against one that
// follows a power of time. A large statistic means events came early (improvement).
type PowerLawTest struct {
	Test              // chi-square with 2 per event degrees of freedom, two-sided p (twice the smaller tail)
	Improving float64 // one-sided p of a falling rate
	Worsening float64 // one-sided p of a rising rate
}

// MilHandbook is the test of a constant event rate that is best against a power law,
// exact for any number of events. Arguments are those of Laplace; an event at time 0 is
// out of range, since its logarithm is needed.
//
// MIL-HDBK-189 (1981); NIST/SEMATECH e-Handbook 8.2.3.4.
func MilHandbook(times []float64, end float64) (PowerLawTest, error) {
	if err := checkEvents(times, end); err != nil {
		return PowerLawTest{}, err
	}
	chi := 0.0
	for i, t := range times {
		if t == 0 {
			return PowerLawTest{}, outOfRange("event %d at time 0", i+1)
		}
		chi += 2 * math.Log(end/t)
	}
	df := 2 * len(times)
	lower, upper := gammaTails(float64(len(times)), chi/2)
	return PowerLawTest{
		Test:      Test{Statistic: chi, DF: df, P: probability(2 * min(lower, upper))},
		Improving: probability(upper), Worsening: probability(lower),
	}, nil
}

func checkEvents(times []float64, end float64) error {
	if err := checkExposure(end); err != nil {
		return err
	}
	if len(times) == 0 {
		return fmt.Errorf("%w: no event", ErrNoData)
	}
	for i, t := range times {
		if !(t >= 0 && t <= end) {
			return outOfRange("event %d at time %v: want 0 to %v", i+1, t, end)
		}
	}
	return nil
}
