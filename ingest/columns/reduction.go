package columns

import (
	"strings"

	"faultgrain/ingest/cells"
)

// reduction is a header's key with a word left out.
type reduction struct {
	key    string
	prefix string // the word dropped in front; limits what the rest may mean
}

// allows keeps a dropped prefix from bringing in another thing's meaning: "part.name" is no person,
// "repair type" no class, "product description" no fault. sure tells that the rest of the header is a
// usual word for the meaning.
func (r reduction) allows(m Meaning, sure bool) bool {
	switch r.prefix {
	case "":
		return true
	case "part", "parts", "spare", "teil", "line", "item":
		return m.PartLine() || m == Minutes || m == Ticket && r.prefix == "line" || m == Currency
	case "device", "product", "gerat":
		return m.device() || m == Serial || m == MadeWeek || sure && m != Personal && m != Technician
	}
	return m != Personal && (sure || !m.device() && !m.PartLine() && m != Serial)
}

// reductions drops noise from a header's words: units, currencies, tax words and counts behind,
// the thing it belongs to (device.model, job_opened) in front.
func reductions(words []string) []reduction {
	var out []reduction
	end := len(words)
	for end > 1 && noise(words[end-1]) {
		end--
		out = append(out, reduction{key: strings.Join(words[:end], "")})
	}
	core := words[:end]
	if n := len(core); n > 0 { // part2, imei1
		if trimmed := strings.TrimRight(core[n-1], "0123456789"); trimmed != core[n-1] && trimmed != "" {
			out = append(out, reduction{key: strings.Join(core[:n-1], "") + trimmed})
		}
	}
	if len(core) > 1 {
		switch core[0] {
		case "device", "repair", "job", "ticket", "order", "item", "product", "part", "parts", "visit", "record", "line", "spare",
			"gerat", "auftrag", "reparatur", "teil", "the", "case":
			out = append(out, reduction{key: strings.Join(core[1:], ""), prefix: core[0]})
		}
	}
	return out
}

func noise(w string) bool {
	switch w {
	case "name", "value", "text", "field", "col", "column", "net", "netto", "gross", "brutto", "vat", "mwst", "moms", "iva", "btw", "tva", "tax",
		"incl", "inkl", "inc", "excl", "exkl", "ex", "ht", "ttc", "hors", "taxe", "in", "en", "utc", "local", "the", "of", "per", "pro", "each", "total", "kr",
		"minutes", "min", "mins", "hours", "hrs", "h", "std", "stunden", "minuten", "heures", "uren", "horas", "minutos", "minutter", "timer", "sec":
		return true
	}
	if len(w) == 3 && cells.ISOCurrency([]byte(w)) != "" || w == "euro" || w == "euros" {
		return true
	}
	return strings.Trim(w, "0123456789") == ""
}
