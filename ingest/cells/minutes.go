package cells

// Minutes reads a duration as minutes: 45, 0:45 and 1:15:00 (hours first), 45 min, 1h 15m, 1h15,
// 1.5 h, 90 Minuten, 1 uur 15 min, 1 time, PT1H15M. perUnit is what one of a bare number is worth in
// minutes: 1, or 60 where the column counts hours. Negative durations are refused.
func Minutes(cell []byte, mark Mark, perUnit float64) (float64, bool) {
	b := Trim(cell)
	if v, ok := Number(b, mark); ok { // hot path
		return v * perUnit, v >= 0
	}
	if len(b) > 48 {
		return 0, false
	}
	if len(b) > 2 && (b[0] == 'P' || b[0] == 'p') && (b[1] == 'T' || b[1] == 't') {
		b = b[2:]
	}
	if v, ok := colonMinutes(b); ok {
		return v, true
	}
	total, parts, last := 0.0, 0, 1e9
	for len(b) > 0 {
		n := 0
		for n < len(b) && (digit(b[n]) || (b[n] == '.' || b[n] == ',') && n+1 < len(b) && digit(b[n+1])) {
			n++
		}
		v, ok := Number(b[:n], orPoint(mark))
		if !ok {
			return 0, false
		}
		b = Trim(b[n:])
		unit, rest := 0.0, b
		if len(b) > 0 && (letter(b[0]) && b[0] < 0x80) {
			var word string
			word, rest = leadingWord(b)
			unit = minutesPer(word)
			if unit == 0 {
				return 0, false
			}
		} else if len(b) > 0 && (b[0] == '\'' || string(b) == "′" || string(b) == "’") {
			unit, rest = 1, nil
			if len(b) > 1 && b[0] == '\'' {
				return 0, false
			}
		} else if parts > 0 && last == 60 && len(b) == 0 { // 1h15
			unit = 1
		}
		if unit == 0 || unit >= last {
			return 0, false
		}
		total += v * unit
		last = unit
		parts++
		b = skipAnd(Trim(rest))
	}
	return total, parts > 0
}

func orPoint(m Mark) Mark {
	if m == 0 {
		return Point
	}
	return m
}

// skipAnd passes a comma or the word and between hours and minutes.
func skipAnd(b []byte) []byte {
	for len(b) > 0 && (b[0] == ',' || b[0] == '+' || b[0] == '&') {
		b = Trim(b[1:])
	}
	if len(b) > 0 && letter(b[0]) {
		switch word, rest := leadingWord(b); word {
		case "and", "und", "et", "en", "y", "og":
			return Trim(rest)
		}
	}
	return b
}

// colonMinutes reads h:mm and h:mm:ss, with a word for hours behind it.
func colonMinutes(b []byte) (float64, bool) {
	h, _, rest, ok := group(b, 4)
	if !ok || len(rest) < 3 || rest[0] != ':' {
		return 0, false
	}
	m, n, rest, ok := group(rest[1:], 2)
	if !ok || n != 2 || m > 59 {
		return 0, false
	}
	s := 0
	if len(rest) > 2 && rest[0] == ':' {
		if s, n, rest, ok = group(rest[1:], 2); !ok || n != 2 || s > 59 {
			return 0, false
		}
	}
	if rest = Trim(rest); len(rest) > 0 {
		if !letter(rest[0]) {
			return 0, false
		}
		word, tail := leadingWord(rest)
		if len(tail) > 0 || minutesPer(word) != 60 {
			return 0, false
		}
	}
	return float64(h)*60 + float64(m) + float64(s)/60, true
}

// minutesPer gives the minutes in a unit named in six languages; 0 when it is none.
func minutesPer(word string) float64 {
	switch word {
	case "m", "min", "mins", "mn", "minute", "minutes", "minuten", "minuut", "minuto", "minutos", "minut", "minutter", "minuter":
		return 1
	case "h", "hr", "hrs", "hour", "hours", "std", "stdn", "stunde", "stunden", "heure", "heures", "uur", "uren", "u",
		"hora", "horas", "hs", "time", "timer", "t":
		return 60
	case "s", "sec", "secs", "second", "seconds", "sek", "sekunde", "sekunden", "seconde", "secondes", "seconden",
		"segundo", "segundos", "sekund", "sekunder", "seg":
		return 1.0 / 60
	case "d", "day", "days", "tag", "tage", "jour", "jours", "dag", "dagen", "dage", "dia", "dias":
		return 24 * 60
	}
	return 0
}

// UnitMinutes gives what one of the named unit is worth in minutes, for headers and columns.toml:
// minutes, hours, h, Std., seconds, days. ok is false for other words.
func UnitMinutes(word string) (float64, bool) {
	v := minutesPer(Key(word))
	return v, v != 0
}
