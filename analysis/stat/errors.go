package stat

import (
	"errors"
	"fmt"
)

// The states a caller branches on. Every error of this package wraps one of them
// and adds the argument at fault, so errors.Is decides and the text explains.
var (
	// ErrNoData: nothing was observed, so there is nothing to estimate.
	ErrNoData = errors.New("no data")
	// ErrTooFew: something was observed, but too little for this method.
	ErrTooFew = errors.New("too few observations")
	// ErrNoInformation: the data are there and say nothing about this quantity,
	// for example a table with an empty margin or values without any spread.
	ErrNoInformation = errors.New("data carry no information about this")
	// ErrOutOfRange: an argument is impossible (a negative count, a share above 1).
	ErrOutOfRange = errors.New("argument out of range")
	// ErrTooLarge: an exact method would take longer than it is worth; use its asymptotic form.
	ErrTooLarge = errors.New("too large for an exact answer")
	// ErrNotConverged: a search for a root or a maximum did not end.
	ErrNotConverged = errors.New("did not converge")
)

func outOfRange(format string, args ...any) error {
	return fmt.Errorf("%w: "+format, append([]any{ErrOutOfRange}, args...)...)
}

// checkConf accepts a two-sided confidence such as 0.95. It is written so that NaN is refused.
func checkConf(conf float64) error {
	if !(conf > 0 && conf < 1) {
		return outOfRange("confidence %v: want a value between 0 and 1", conf)
	}
	return nil
}

// checkShare accepts x of n with n >= 1.
func checkShare(x, n int) error {
	switch {
	case n < 0 || x < 0 || x > n:
		return outOfRange("%d of %d: want 0 <= x <= n", x, n)
	case n == 0:
		return fmt.Errorf("%w: 0 of 0", ErrNoData)
	}
	return nil
}

func checkLengths(a, b int) error {
	switch {
	case a != b:
		return outOfRange("lists of length %d and %d: want equal lengths", a, b)
	case a == 0:
		return fmt.Errorf("%w: empty list", ErrNoData)
	}
	return nil
}
