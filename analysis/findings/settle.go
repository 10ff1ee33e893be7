package findings

import "faultgrain/schemas"

// MoreVisits writes how many more visits would settle a thin finding: "about 40 more visits would settle it".
// Counts are rounded up to two digits; 0 says that no number of visits was found.
func MoreVisits(n int) string {
	if n <= 0 {
		return "more visits will tell"
	}
	return "about " + Counted(roundUp(n), "more visit") + " like these would settle it"
}

// Verdict ends a headline: ", firm." or ", leaning." or ", thin: about 40 more visits like these would settle it."
func Verdict(grade string, more int) string {
	if grade == schemas.Thin {
		return ", thin: " + MoreVisits(more) + "."
	}
	return ", " + grade + "."
}

func roundUp(n int) int {
	step := 1
	for n/step >= 100 {
		step *= 10
	}
	return (n + step - 1) / step * step
}

// Settle finds the least number of further trials after which settled holds, if shares stay as they
// were seen; settled is told the total number of trials. It looks up to 1000 times the trials so far
// and returns 0 when that is not enough. settled must not turn false again as trials grow.
func Settle(trials int, settled func(total int) bool) int {
	lo, hi := trials, trials
	for !settled(hi) {
		if hi >= 1000*max(trials, 1) {
			return 0
		}
		lo, hi = hi, 2*max(hi, 1)
	}
	for lo < hi {
		if mid := lo + (hi-lo)/2; settled(mid) {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return hi - trials
}
