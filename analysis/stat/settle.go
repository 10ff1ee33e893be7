package stat

import (
	"fmt"
	"math"
)

// TrialsToSettle is how many more trials it would take, if the share stays x/n, until
// Wilson's limits at conf no longer hold usual: 0 when they already don't. It tells a
// reader how far a thin case is from settled, not how likely it is to settle.
// A share equal to usual never settles: ErrNoInformation.
//
// From Wilson's interval: it leaves usual out when n (share-usual)^2 > z^2 usual (1-usual).
func TrialsToSettle(x, n int, usual, conf float64) (int, error) {
	if err := checkSample(x, n, conf); err != nil {
		return 0, err
	}
	if !(usual >= 0 && usual <= 1) {
		return 0, outOfRange("usual share %v: want 0 to 1", usual)
	}
	gap := float64(x)/float64(n) - usual
	if gap == 0 {
		return 0, fmt.Errorf("%w: the share is the usual one", ErrNoInformation)
	}
	z := zFor(conf)
	need := math.Floor(z*z*usual*(1-usual)/(gap*gap)) + 1
	if need > 1e15 {
		return 0, fmt.Errorf("%w: the share is all but the usual one", ErrNoInformation)
	}
	return max(int(need)-n, 0), nil
}
