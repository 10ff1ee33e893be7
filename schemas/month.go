package schemas

import "time"

// Running reports whether a log that ends on this day ends in the middle of a month: more than three days,
// a long weekend, are missing.
func Running(asOf time.Time) bool { return asOf.AddDate(0, 0, 4).Month() == asOf.Month() }
