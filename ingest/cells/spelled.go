package cells

// spelledDate reads dates with a month's name in English, German, French, Dutch, Spanish or Danish,
// in any order, with ordinals, weekdays, fillers, an apostrophe before the year, and compact dates
// followed by a clock.
func spelledDate(b []byte) (Moment, bool) {
	if len(b) > 80 {
		return Moment{}, false
	}
	if len(b) > 9 && (b[8] == 'T' || b[8] == 't' || b[8] == ' ' || b[8] == '-') {
		if m, ok := compact(b[:8]); ok {
			tail := b[8:]
			if tail[0] == '-' {
				tail = tail[1:]
			}
			ok = m.readClock(tail)
			return m, ok
		}
	}
	var num, width [3]int
	n, month, monthAt := 0, 0, 0
	var clock []byte
scan:
	for len(b) > 0 {
		c := b[0]
		switch {
		case digit(c):
			v, w, rest, ok := group(b, 4)
			if !ok {
				return Moment{}, false
			}
			if len(rest) > 1 && (rest[0] == ':' || w <= 2 && (rest[0] == 'h' || rest[0] == 'H') && digit(rest[1])) {
				if month == 0 || n == 0 {
					return Moment{}, false
				}
				clock = b
				if n == 2 {
					break scan
				}
				// Sun May 3 10:11:12 2026: the year follows the clock
				end := 0
				for end < len(b) && b[end] != ' ' {
					end++
				}
				clock, b = b[:end], b[end:]
				continue
			}
			if n == 2 {
				if clock != nil {
					return Moment{}, false
				}
				clock = b
				break scan
			}
			num[n], width[n] = v, w
			n++
			b = rest
		case letter(c):
			word, rest := leadingWord(b)
			b = rest
			if m := monthNamed(word); m != 0 && month == 0 {
				month, monthAt = m, n
				continue
			}
			if filler(word) {
				continue
			}
			return Moment{}, false
		case c == ' ' || c == ',' || c == '.' || c == '-' || c == '/' || c == '\'' || c == '_' || c == '\t':
			b = b[1:]
		default:
			return Moment{}, false
		}
	}
	if month == 0 || n != 2 {
		return Moment{}, false
	}
	year, day := num[1], num[0]
	yearDigits := width[1]
	if width[0] == 4 || num[0] > 31 && width[1] <= 2 {
		year, day, yearDigits = num[0], num[1], width[0]
	}
	if yearDigits == 3 || yearDigits == 1 || monthAt == 2 && width[0] != 4 {
		return Moment{}, false
	}
	return finish(fullYear(year, yearDigits), month, day, clock)
}

// filler tells words that stand in a date and say nothing: weekdays, ordinal endings, of, de, den.
func filler(w string) bool {
	switch w {
	case "um", "kl", "om", "at", "a", "las", "la", "st", "nd", "rd", "th", "er", "e", "of", "the", "de", "del", "den", "der", "le", "el", "am", "t",
		"mon", "tue", "tues", "wed", "thu", "thur", "thurs", "fri", "sat", "sun",
		"monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday",
		"mo", "di", "mi", "do", "fr", "sa", "so",
		"montag", "dienstag", "mittwoch", "donnerstag", "freitag", "samstag", "sonnabend", "sonntag",
		"lun", "mer", "jeu", "ven", "sam", "dim",
		"lundi", "mardi", "mercredi", "jeudi", "vendredi", "samedi", "dimanche",
		"ma", "wo", "vr", "za", "zo",
		"maandag", "dinsdag", "woensdag", "donderdag", "vrijdag", "zaterdag", "zondag",
		"mie", "jue", "vie", "sab", "dom",
		"lunes", "martes", "miercoles", "jueves", "viernes", "sabado", "domingo",
		"man", "tir", "ons", "tor", "tors", "fre", "lor", "son",
		"mandag", "tirsdag", "onsdag", "torsdag", "fredag", "lordag", "sondag":
		return true
	}
	return false
}

// monthNamed gives 1 to 12 for a month's name or usual abbreviation, as a key, in six languages; else 0.
func monthNamed(w string) int {
	switch w {
	case "jan", "january", "januar", "janner", "janv", "janvier", "januari", "ene", "enero":
		return 1
	case "feb", "february", "februar", "feber", "fev", "fevr", "fevrier", "februari", "febr", "febrero":
		return 2
	case "mar", "mars", "march", "mrz", "marz", "maerz", "mrt", "maart", "marzo", "marts":
		return 3
	case "apr", "april", "avr", "avril", "abr", "abril":
		return 4
	case "may", "mai", "mei", "mayo", "maj":
		return 5
	case "jun", "june", "juni", "juin", "junio":
		return 6
	case "jul", "july", "juli", "juil", "juillet", "julio":
		return 7
	case "aug", "august", "aout", "augustus", "ago", "agosto":
		return 8
	case "sep", "sept", "september", "septembre", "septiembre", "setiembre":
		return 9
	case "oct", "october", "okt", "oktober", "octobre", "octubre":
		return 10
	case "nov", "november", "novembre", "noviembre":
		return 11
	case "dec", "december", "dez", "dezember", "decembre", "dic", "diciembre":
		return 12
	}
	return 0
}
