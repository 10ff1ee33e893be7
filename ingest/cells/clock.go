package cells

// readClock reads what follows a date: nothing, a clock reading (10:15, T10:15:00.25, 10.15 Uhr,
// kl. 9.05, 10h15, 3:20 pm), an offset or zone (Z, +02:00, CEST), a remark in parentheses.
func (m *Moment) readClock(b []byte) bool {
	if m.plainClock(b) {
		return true
	}
	b = skipJoiners(b)
	if len(b) == 0 {
		return true
	}
	if !digit(b[0]) {
		return false
	}
	hour, n, rest, ok := group(b, 6)
	if !ok {
		return false
	}
	if n > 2 { // T1011, T101112
		if n == 4 {
			hour *= 100
		} else if n != 6 {
			return false
		}
		if !m.setClock(hour/10000, hour/100%100, hour%100) {
			return false
		}
		return m.readZone(m.readFraction(rest))
	}
	minute, second, stated := 0, 0, false
	if len(rest) > 1 && (rest[0] == ':' || rest[0] == '.' || rest[0] == 'h' || rest[0] == 'H') && digit(rest[1]) {
		if minute, n, rest, ok = group(rest[1:], 2); !ok || n != 2 {
			return false
		}
		stated = true
		if len(rest) > 1 && (rest[0] == ':' || rest[0] == '.') && digit(rest[1]) {
			if second, n, rest, ok = group(rest[1:], 2); !ok || n != 2 {
				return false
			}
			rest = m.readFraction(rest)
		}
	}
	half, rest := halfDay(rest)
	word, rest := hourWord(rest)
	if !stated && half == 0 && !word {
		return false
	}
	if half != 0 {
		if hour < 1 || hour > 12 {
			return false
		}
		hour = hour%12 + 12*(half-1)
	}
	return m.setClock(hour, minute, second) && m.readZone(rest)
}

// plainClock reads what nearly every clock reading is: 10:15 or 10:15:30 behind a space or T. It is silent about others.
func (m *Moment) plainClock(b []byte) bool {
	if len(b) != 6 && len(b) != 9 || b[0] != ' ' && b[0] != 'T' || b[3] != ':' {
		return false
	}
	hour, ok := fixedDigits(b[1:3])
	minute, ok2 := fixedDigits(b[4:6])
	second, ok3 := 0, true
	if len(b) == 9 {
		second, ok3 = fixedDigits(b[7:9])
		ok3 = ok3 && b[6] == ':'
	}
	return ok && ok2 && ok3 && m.setClock(hour, minute, second)
}

// setClock takes 24:00 as the end of the day and second 60 as a leap second.
func (m *Moment) setClock(h, min, s int) bool {
	if h > 24 || min > 59 || s > 60 || h == 24 && (min > 0 || s > 0) {
		return false
	}
	m.Second, m.Clock = int32(h*3600+min*60+s), true
	return true
}

// readFraction reads .25 or ,25 of a second, to the microsecond.
func (m *Moment) readFraction(b []byte) []byte {
	if len(b) < 2 || b[0] != '.' && b[0] != ',' || !digit(b[1]) {
		return b
	}
	b = b[1:]
	scale := int32(100000)
	for len(b) > 0 && digit(b[0]) {
		m.Micro += int32(b[0]-'0') * scale
		scale /= 10
		b = b[1:]
	}
	return b
}

// skipJoiners passes what stands between a date and its clock: T, comma, spaces, and at, um, kl., om, à, a las.
func skipJoiners(b []byte) []byte {
	for len(b) > 0 {
		switch c := b[0]; {
		case c == ' ' || c == ',' || c == '\t' || c == ';':
			b = b[1:]
		case (c == 'T' || c == 't') && len(b) > 1 && digit(b[1]):
			return b[1:]
		case letter(c):
			word, rest := leadingWord(b)
			switch word {
			case "um", "kl", "om", "at", "a", "las", "la":
			default:
				return b
			}
			b = rest
		case c == '-' && len(b) > 1 && b[1] == ' ': // 03/05/2026 - 10:15
			b = b[1:]
		default:
			return b
		}
	}
	return b
}

// halfDay reads am or pm (a.m., P. M.): 1 is before noon, 2 after, 0 not told.
func halfDay(b []byte) (int, []byte) {
	at := b
	for len(at) > 0 && at[0] == ' ' {
		at = at[1:]
	}
	if len(at) == 0 {
		return 0, b
	}
	half := 0
	switch at[0] | 0x20 {
	case 'a':
		half = 1
	case 'p':
		half = 2
	default:
		return 0, b
	}
	at = at[1:]
	for len(at) > 0 && (at[0] == '.' || at[0] == ' ') {
		at = at[1:]
	}
	if len(at) == 0 || at[0]|0x20 != 'm' {
		return 0, b
	}
	at = at[1:]
	if len(at) > 0 && at[0] == '.' {
		at = at[1:]
	}
	if len(at) > 0 && letter(at[0]) {
		return 0, b
	}
	return half, at
}

// hourWord reads Uhr, h, uur or hrs after a clock reading.
func hourWord(b []byte) (bool, []byte) {
	at := b
	for len(at) > 0 && at[0] == ' ' {
		at = at[1:]
	}
	if len(at) == 0 || !letter(at[0]) {
		return false, b
	}
	switch word, rest := leadingWord(at); word {
	case "uhr", "h", "uur", "hrs", "hs":
		return true, rest
	}
	return false, b
}

// readZone reads Z, an offset or a zone's letters, and allows a remark in parentheses at the end.
func (m *Moment) readZone(b []byte) bool {
	b = Trim(b)
	if len(b) > 0 && letter(b[0]) {
		word, rest := leadingWord(b)
		offset, ok := zoneWord(word)
		if !ok {
			return false
		}
		m.Offset, m.Fixed = offset, true
		b = Trim(rest)
	}
	if len(b) > 0 && (b[0] == '+' || b[0] == '-') {
		sign := int32(1)
		if b[0] == '-' {
			sign = -1
		}
		v, n, rest, ok := group(b[1:], 4)
		if !ok {
			return false
		}
		h, min := v, 0
		switch {
		case n > 2:
			h, min = v/100, v%100
		case len(rest) > 2 && rest[0] == ':':
			if min, n, rest, ok = group(rest[1:], 2); !ok || n != 2 {
				return false
			}
		}
		if h > 15 || min > 59 {
			return false
		}
		m.Offset, m.Fixed = sign*int32(h*3600+min*60), true
		b = Trim(rest)
	}
	return len(b) == 0 || b[0] == '(' && b[len(b)-1] == ')'
}

// zoneWord gives the offset of the zone letters that mean one thing where these logs come from:
// those of RFC 5322 section 4.3 and the European ones.
func zoneWord(w string) (int32, bool) {
	const hour = 3600
	switch w {
	case "z", "utc", "gmt", "wet":
		return 0, true
	case "cet", "mez", "west", "wesz":
		return hour, true
	case "cest", "mesz", "eet":
		return 2 * hour, true
	case "eest":
		return 3 * hour, true
	case "edt":
		return -4 * hour, true
	case "est", "cdt":
		return -5 * hour, true
	case "cst", "mdt":
		return -6 * hour, true
	case "mst", "pdt":
		return -7 * hour, true
	case "pst":
		return -8 * hour, true
	}
	return 0, false
}

func letter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' || c >= 0x80 }

// leadingWord cuts the letters at the start, as a key, and a full stop behind them.
func leadingWord(b []byte) (string, []byte) {
	n := 0
	for n < len(b) && letter(b[n]) {
		n++
	}
	var buf [24]byte
	word := b[:n]
	if n > 20 {
		word = nil
	}
	key := string(AppendKey(buf[:0], word))
	if n < len(b) && b[n] == '.' {
		n++
	}
	return key, b[n:]
}
