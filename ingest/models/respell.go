package models

// inches drops the unit of a screen size and keeps its number: 10.1", 13 inch, 15,6 Zoll.
func inches(in []token) []token {
	var out []token
	for i, t := range in {
		if i > 0 && in[i-1].number() && len(in[i-1].key) <= 3 {
			switch t.key {
			case "inch", "inches", "zoll", "pouces", "pouce", "pulgadas", "tommer", "tomme":
				continue
			}
		}
		out = append(out, t)
	}
	return out
}

// generations gives 7th gen, gen 7, 7. Generation and 7e génération one spelling: Gen 7.
func generations(in []token) []token {
	var out []token
	for i := 0; i < len(in); i++ {
		if i+1 < len(in) {
			n, unit := numberUnit(in[i].key)
			if n != "" && len(n) <= 2 && genWord(in[i+1].key) && ordinalUnit(unit) {
				out = append(out, token{text: "Gen", key: "gen"}, token{text: n, key: n})
				i++
				continue
			}
			if genWord(in[i].key) && in[i+1].number() && len(in[i+1].key) <= 2 {
				out = append(out, token{text: "Gen", key: "gen"}, in[i+1])
				i++
				continue
			}
		}
		out = append(out, in[i])
	}
	return out
}

func ordinalUnit(unit string) bool {
	switch unit {
	case "", "st", "nd", "rd", "th", "er", "e", "eme", "ste", "de", "a":
		return true
	}
	return false
}

func genWord(key string) bool {
	switch key {
	case "gen", "generation", "generacion", "generatie":
		return true
	}
	return false
}
