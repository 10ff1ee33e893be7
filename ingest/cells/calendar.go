package cells

func onCalendar(y, m, d int) bool {
	return y >= firstYear && y <= lastYear && m >= 1 && m <= 12 && d >= 1 && d <= daysIn(y, m)
}

func daysIn(y, m int) int {
	switch m {
	case 2:
		if y%4 == 0 && (y%100 != 0 || y%400 == 0) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// dayNumber counts days since 1970-01-01 on the Gregorian calendar, years counted from March.
func dayNumber(y, m, d int) int32 {
	if m <= 2 {
		y--
		m += 12
	}
	return int32(365*y + y/4 - y/100 + y/400 + (153*(m-3)+2)/5 + d - 1 - 719468)
}
