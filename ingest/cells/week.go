package cells

import "strconv"

// Week reads a week of manufacture: 2026-W07, 2026W7, W07/2026, KW 7 2026, 26W07, KW 7/26, week 7 of
// 2026, uge 7/2026, sem. 7 2026; or a year-first date, whose ISO week is taken.
// Weeks are ISO 8601 weeks: 53 only in years that have one. Four-digit codes (2607) are refused: they
// could as well be years.
func Week(cell []byte) (year, week int, ok bool) {
	b := Trim(cell)
	if len(b) < 5 || len(b) > 24 {
		return 0, 0, false
	}
	var num [2]int
	var width [2]int
	n, named, weekAt := 0, false, -1 // weekAt: which number stands right behind the week's letter
	for at := b; len(at) > 0; {
		switch c := at[0]; {
		case digit(c):
			if n == 2 {
				if named && n == 2 && (len(at) == 1) && at[0] >= '1' && at[0] <= '7' { // 2026-W07-3
					at = nil
					continue
				}
				return dateWeek(b)
			}
			v, w, rest, ok := group(at, 4)
			if !ok {
				return dateWeek(b)
			}
			num[n], width[n] = v, w
			n++
			at = rest
		case letter(c):
			word, rest := leadingWord(at)
			switch word {
			case "w", "wk", "week", "kw", "woche", "kalenderwoche", "s", "sem", "semaine", "semana", "u", "uge":
				named, weekAt = true, n
			case "of", "van", "de", "del", "von":
			default:
				return dateWeek(b)
			}
			at = rest
		case c == '-' || c == '/' || c == ' ' || c == '.' || c == '_' || c == ',':
			at = at[1:]
		default:
			return 0, 0, false
		}
	}
	if !named || n != 2 {
		return dateWeek(b)
	}
	switch {
	case width[0] == 4 && width[1] <= 2:
		year, week = num[0], num[1]
	case width[1] == 4 && width[0] <= 2:
		year, week = num[1], num[0]
	case width[0] == 2 && weekAt == 1, width[1] == 2 && weekAt == 0: // 26W07, KW 7/26
		year, week = fullYear(num[1-weekAt], 2), num[weekAt]
	default:
		return 0, 0, false
	}
	return year, week, year >= firstYear && year <= lastYear && week >= 1 && week <= weeksIn(year)
}

// dateWeek gives the ISO week of a date that needs no order.
func dateWeek(b []byte) (year, week int, ok bool) {
	m, ok := Dates{}.Parse(b)
	if !ok {
		return 0, 0, false
	}
	// ISO 8601: the week belongs to the year its Thursday lies in; 1970-01-01 was a Thursday.
	thursday := m
	thursday.Day = m.Day - (m.Day+3)%7 + 3
	y, _, _ := thursday.Date()
	return y, int(thursday.Day-dayNumber(y, 1, 1))/7 + 1, true
}

// weeksIn tells how many ISO weeks a year has: 53 when it has 53 Thursdays.
func weeksIn(year int) int {
	jan1 := (dayNumber(year, 1, 1) + 3) % 7 // Monday is 0
	if jan1 == 3 || jan1 == 2 && daysIn(year, 2) == 29 {
		return 53
	}
	return 52
}

// AppendWeek appends 2026-W07.
func AppendWeek(dst []byte, year, week int) []byte {
	dst = strconv.AppendInt(dst, int64(year), 10)
	dst = append(dst, '-', 'W', byte('0'+week/10), byte('0'+week%10))
	return dst
}
