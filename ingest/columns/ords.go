package columns

import "strings"

// standard settles the columns of the Open Repair Data Standard, whose "problem" and "id" need no guess.
func (m *Map) standard(header []string, all [][]candidate) {
	at := map[string]int{}
	for i, h := range header {
		at[strings.TrimSpace(strings.ToLower(h))] = i
	}
	if _, ok := at["product_category"]; !ok {
		return
	}
	if _, ok := at["repair_status"]; !ok {
		return
	}
	if _, ok := at["problem"]; !ok {
		return
	}
	m.Standard = "ORDS"
	for name, meaning := range map[string]Meaning{
		"id": Ticket, "id_ords": Ticket, "event_date": Opened, "date": Opened, "brand": Maker, "model": Model,
		"product_category": Class, "problem": Fault, "repair_status": Outcome,
		"group_identifier": Ignore, "partner_product_category": Ignore,
	} {
		if i, ok := at[name]; ok && m.Of[i] == Unknown {
			all[i] = []candidate{{meaning: meaning, rank: rankPlain}}
		}
	}
}

// plainCharge settles "charge", which is money in English and a batch in German: where most other
// columns carry plain headers, it is one of them.
func (m *Map) plainCharge(all [][]candidate) {
	plain, at := 0, -1
	for i, list := range all {
		switch {
		case strings.EqualFold(strings.TrimSpace(m.Header[i]), Charge.String()):
			at = i
		case len(list) > 0 && list[0].rank == rankPlain:
			plain++
		}
	}
	if at >= 0 && m.Of[at] == Unknown && 2*plain > len(m.Header)-1 {
		all[at] = []candidate{{meaning: Charge, rank: rankPlain}}
	}
}
