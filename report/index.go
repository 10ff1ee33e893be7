package report

import "faultgrain/schemas"

// mostSentences bounds the month in brief.
const mostSentences = 12

type indexView struct {
	Findings []schemas.Finding
	More     int
}

func (s *site) indexView() (any, error) {
	v := indexView{Findings: s.Findings}
	if len(v.Findings) > mostSentences {
		v.Findings, v.More = v.Findings[:mostSentences], len(v.Findings)-mostSentences
	}
	return v, nil
}
