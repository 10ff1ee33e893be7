package report

import (
	"errors"
	"fmt"
	"strconv"

	"faultgrain/report/charts"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// sizes draws how many times as often each sentence of the month is, numbered as the sentences are; nil when fewer
// than two have such a figure.
func (s *site) sizes(list []told) (*layout.Figure, error) {
	one := 1.0
	d := charts.DotWhisker{Axis: charts.Axis{Name: "times what it is compared with", Unit: charts.Ratio}, Reference: &one, RefName: "no difference"}
	t := layout.Table{Plain: true, Caption: "How large, by sentence", Columns: []layout.Column{{Head: "sentence"}, {Head: "about"}, {Head: "times", Num: true}}}
	largest, most := "None is clearly larger than what it is compared with", 1.0
	for i, f := range list {
		v, low, high := s.size(f.Finding)
		if !low.OK {
			continue
		}
		number := strconv.Itoa(i + 1)
		d.Rows = append(d.Rows, charts.Row{Label: number + " · " + f.Line.Subject, Est: ptr(v), Low: ptr(low), High: upper(high), Grade: grade(f.Finding, true)})
		t.Rows = append(t.Rows, []layout.Cell{layout.Text(number), layout.Text(f.Line.Subject), ratioCell(v, low, high)})
		if low.V > most {
			largest, most = fmt.Sprintf("Sentence %s is the largest: at least %s", number, wording.Times(low.V)), low.V
		}
	}
	if len(d.Rows) < 2 {
		return nil, nil
	}
	d.Head = headOf("month-sizes", largest)
	c, err := d.Chart()
	if errors.Is(err, charts.ErrEmpty) {
		return nil, nil
	}
	return &layout.Figure{Chart: c, Table: t, Caption: "Each against what its sentence compares it with: the rest of its class, other parts, chance, or half a year before."}, err
}

// size is how many times as often something is, with its interval, and unknown where a finding is of another kind.
// The high end is unknown where it has none.
func (s *site) size(f schemas.Finding) (v, low, high schemas.Float) {
	n := f.Numbers
	switch f.Kind {
	case schemas.KindShare, schemas.KindReturn:
		return n["ratio"], n["ratio_low"], n["ratio_high"]
	case schemas.KindPair:
		return n["odds_ratio"], n["odds_low"], n["odds_high"]
	case schemas.KindBatch:
		return n["relative_risk"], n["risk_low"], n["risk_high"]
	case schemas.KindTrend:
		fold, least := n["fold"], n["fold_low"]
		if !fold.OK || !least.OK || least.V <= 0 {
			return
		}
		most := fold.V * fold.V / least.V // the limits lie alike on the log scale
		for _, v := range s.series() {
			if year := s.halves(v); v.found && v.finding.ID == f.ID && len(year) == 2 && year[1].share() < year[0].share() {
				return schemas.Known(1 / fold.V), schemas.Known(1 / most), schemas.Known(1 / least.V)
			}
		}
		return fold, least, schemas.Known(most)
	}
	return
}
