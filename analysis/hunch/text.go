package hunch

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/schemas"
)

// Text writes the answer in plain words.
func (a Answer) Text(w io.Writer) error {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	name := a.name(a.Component)
	line("%s, %s: %s.", a.Model, name, a.verdict())
	line("  %s", a.seen())
	line("  %s", a.usual())
	if a.Chance.OK && a.Seen+a.Usual.Faults > 0 {
		line("  %s", a.luck())
	}
	if more := a.more(); more != "" {
		line("  %s.", findings.Capital(more))
	}
	if a.Together != nil {
		line("  %s", a.pair(*a.Together))
	}
	for i, t := range a.Check {
		if i == 0 {
			line("While it is open, check:")
		}
		if t.Component == a.With {
			line("  %s, as said above", a.name(t.Component))
			continue
		}
		line("  %s: on %s with the %s; without it %s", a.name(t.Component), findings.ShareOf(t.Both, t.Of, "visit", t.Low.V, t.High.V), name, findings.Percent(t.Without.V))
	}
	if len(a.Check) == 0 {
		line("While it is open: nothing else is known to go with the %s on this model.", name)
	}
	if a.Minutes.Median.OK {
		line("Usual time: %s for the %s alone, nine in ten within %s (%s%s)", findings.Minutes(a.Minutes.Median.V), name, findings.Minutes(a.Minutes.P90.V), findings.Counted(a.Minutes.Jobs, "job"), a.of(a.Minutes.Of))
	} else {
		line("Usual time: not known; fewer than %d jobs with the %s alone have minutes, for all %s.", fewest, name, findings.Plural(a.Class))
	}
	for _, p := range a.Prices {
		line("Usual price of the part: %s (median of %s in the last year%s)", findings.Money(p.Median.V, p.Currency), findings.Counted(p.Lines, "line"), a.of(p.Of))
	}
	if len(a.Prices) == 0 {
		line("Usual price of the part: not known; fewer than %d part lines with a cost in the last year, for all %s.", fewest, findings.Plural(a.Class))
	}
	line("%s", findings.Caution([]string{a.Component, a.With}, findings.Door, findings.Association))
	_, err := io.WriteString(w, b.String())
	return err
}

func (a Answer) verdict() string {
	switch a.Grade {
	case schemas.Firm:
		return "firm, hardly luck"
	case schemas.Leaning:
		return "leaning, not firm"
	case schemas.Thin:
		return "thin, luck does this too"
	}
	if a.Visits == 0 {
		return "no visit to judge by"
	}
	switch {
	case !a.Chance.OK:
		return "nothing to compare with"
	case a.Seen+a.Usual.Faults == 0:
		return "never seen, nor where it is compared with"
	case a.open():
		return "nothing out of the ordinary so far"
	}
	return "nothing out of the ordinary"
}

func (a Answer) seen() string {
	when := fmt.Sprintf("since %s", day(a.From))
	if a.Days > 0 {
		when = fmt.Sprintf("in the last %s to %s", findings.Counted(a.Days, "day"), day(a.To))
	}
	if a.Visits == 0 {
		return fmt.Sprintf("No diagnosed visit of this model %s.", when)
	}
	text := fmt.Sprintf("Seen in %s %s.", findings.ShareOf(a.Seen, a.Visits, "diagnosed visit", a.ShareLow.V, a.ShareHigh.V), when)
	switch {
	case a.Told > 0 && a.Told == a.Seen:
		text += " Only the words of the tickets say so, no part and no finding."
	case a.Told > 0:
		text += fmt.Sprintf(" %s of them only by the words of the ticket, without a part or a finding.", findings.Count(a.Told))
	}
	if a.Unread > 0 {
		text += fmt.Sprintf(" The words of %s could not be read.", findings.Counted(a.Unread, "more visit"))
	}
	return text
}

func (a Answer) usual() string {
	others := findings.Others(a.Class)
	if a.Usual.Visits == 0 {
		return fmt.Sprintf("Nothing to compare with: no %s in the log.", others)
	}
	of, rate := findings.Capital(others), ""
	if a.Usual.Of == "before" {
		of = "This model before"
		if w := a.Usual.WeeksPerFault; w.OK && w.V >= 1 {
			rate = fmt.Sprintf(", about one in %s weeks", findings.Number(w.V))
		} else if w.OK {
			rate = fmt.Sprintf(", about %s a week", findings.Number(1/w.V))
		}
	}
	expected := ""
	if a.Expected.OK && a.Usual.Faults > 0 {
		expected = fmt.Sprintf("; so %s would be usual here", findings.Number(a.Expected.V))
	}
	return fmt.Sprintf("%s: %s (%s)%s%s.", of, findings.OfN(a.Usual.Faults, a.Usual.Visits), findings.Percent(a.Usual.Share.V), rate, expected)
}

func (a Answer) luck() string {
	text := fmt.Sprintf("Chance of at least as many by luck: %s", chance(a.Chance.V))
	if a.Seen == 0 {
		text = "None seen, so there is no luck to explain"
	}
	if a.Chance.V < 0.05 {
		span := ""
		if a.Spans > 1 {
			span = fmt.Sprintf(" in any %s of a quarter", findings.Counted(a.Days, "day"))
		}
		text += fmt.Sprintf("; for any of the %d components that could have caught the eye%s: %s", a.Components, span, chance(a.Corrected.V))
	}
	if a.RatioLow.OK {
		ratio := ""
		if a.Ratio.OK {
			ratio = findings.Number(a.Ratio.V) + " "
		}
		text += fmt.Sprintf(". Times the usual: %s(95%% %s)", ratio, findings.RangeUp(a.RatioLow.V, a.RatioHigh.V, a.RatioHigh.OK))
	}
	return text + "."
}

// more says how many more visits would settle it; "" where it is settled, or nothing can be said.
func (a Answer) more() string {
	visits, name := findings.Counted(roundUp(a.MoreVisits), "more visit"), a.name(a.Component)
	switch {
	case a.Grade == schemas.Firm || a.Grade == "" && !a.open():
		return ""
	case a.MoreVisits == 0 && a.Grade == "":
		return fmt.Sprintf("too few to rule out %s times the usual", findings.Number(threshold))
	case a.MoreVisits == 0:
		return "more visits will tell"
	case a.Grade == "":
		return fmt.Sprintf("about %s of this model, with the %s as often as usual, would rule out %s times the usual", visits, name, findings.Number(threshold))
	}
	return fmt.Sprintf("about %s of this model, with the %s as often as seen here, would make it firm", visits, name)
}

func (a Answer) pair(t Together) string {
	b := a.name(t.Component)
	if t.Of == 0 {
		return fmt.Sprintf("Together with the %s: no visit with the %s to judge by.", b, a.name(a.Component))
	}
	text := fmt.Sprintf("Together with the %s: on %s with the %s", b, findings.ShareOf(t.Both, t.Of, "visit", t.Low.V, t.High.V), a.name(a.Component))
	if t.Without.OK {
		text += "; without it " + findings.Percent(t.Without.V)
	}
	if t.OddsLow.OK {
		odds := ""
		if t.Odds.OK {
			odds = findings.Number(t.Odds.V) + " "
		}
		text += fmt.Sprintf("; times the odds: %s(95%% %s)", odds, findings.RangeUp(t.OddsLow.V, t.OddsHigh.V, t.OddsHigh.OK))
	}
	return text + "."
}

func (a Answer) of(of string) string {
	if of == "class" {
		if a.Class == "" {
			return ", all models"
		}
		return ", every " + a.Class
	}
	return ""
}

// chance writes a probability as people say it: "1 in 140".
func chance(p float64) string {
	switch {
	case p > 0.2:
		return findings.Percent(p)
	case p < 1e-9:
		return "less than 1 in 1,000,000,000"
	}
	n := int(math.Round(1 / p))
	for step := 10; step < n; step *= 10 { // two digits
		if n/step < 100 {
			n = n / step * step
			break
		}
	}
	return "1 in " + findings.Count(n)
}

func roundUp(n int) int {
	step := 1
	for n/step >= 100 {
		step *= 10
	}
	return (n + step - 1) / step * step
}

func day(date string) string {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return strconv.Quote(date)
	}
	return t.Format("2 January 2006")
}
