package prices

import "time"

// A day counts from 1 January 1970.
type day int32

func dayOf(t time.Time) day { return day(t.Unix() / (24 * 60 * 60)) }

func (d day) time() time.Time { return time.Unix(int64(d)*24*60*60, 0).UTC() }

// month is its first day.
func (d day) month() day { return d - day(d.time().Day()) + 1 }
