// Package hunch answers one suspicion from the history: does this model really break that?
//
// In: a tally.Log and a question in loose words. Out: an Answer, in numbers and in plain sentences.
//
// Without days the whole log is asked and compared with the other models of the class ("that model always does
// that"). With days the last ones are asked and compared with the model's own time before ("that is the second one
// this week"). Who has a hunch noticed the one thing that stood out among many; so a chance is firm only after it is
// multiplied by the number of components that show in the class and, with days, by the number of such spans in a
// quarter of a year (Bonferroni). Two cases are never firm.
//
// It refuses to guess a model or component that fits several names, and to say why.
package hunch

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"math"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

//go:embed seen.sql
var seenSQL string

//go:embed together.sql
var togetherSQL string

//go:embed minutes.sql
var minutesSQL string

//go:embed prices.sql
var pricesSQL string

//go:embed kinds.sql
var kindsSQL string

const conf = 0.95

// threshold is the practical one: the share is more than this many times the usual.
const threshold = 1.5

// A Query is a suspicion in loose words. Model and Component are needed.
type Query struct {
	Model, Component string
	With             string // a second component that is said to fail together with the first
	Days             int    // the last days to ask about; 0 is the whole log
}

// An Answer says what the log knows. Unknown numbers are empty.
type Answer struct {
	Model     string `json:"model"`
	Class     string `json:"class"`
	Component string `json:"component"`
	With      string `json:"with,omitempty"`
	From      string `json:"from"` // first day asked about
	To        string `json:"to"`   // last day
	Days      int    `json:"days,omitempty"`

	Seen      int           `json:"seen"`   // visits that show the component
	Visits    int           `json:"visits"` // diagnosed visits
	Told      int           `json:"told"`   // of Seen: only the words of the ticket say so, no part and no finding
	Unread    int           `json:"unread"` // visits whose words were not read, beside Visits
	Share     schemas.Float `json:"share"`
	ShareLow  schemas.Float `json:"share_low"` // Wilson
	ShareHigh schemas.Float `json:"share_high"`

	Usual      Usual         `json:"usual"`
	Expected   schemas.Float `json:"expected"` // at the usual share
	Ratio      schemas.Float `json:"ratio"`    // to the usual share, Koopman score limits
	RatioLow   schemas.Float `json:"ratio_low"`
	RatioHigh  schemas.Float `json:"ratio_high"`
	Chance     schemas.Float `json:"chance"`      // of at least as many by luck, exact
	Components int           `json:"components"`  // that show in the class
	Spans      int           `json:"spans"`       // of as many days in a quarter; 1 without days
	Corrected  schemas.Float `json:"corrected"`   // chance times what could have caught the eye
	Grade      string        `json:"grade"`       // firm, leaning, thin; "" where nothing stands out
	MoreVisits int           `json:"more_visits"` // that would settle it: make a thin or leaning hunch firm if shares stay so, or rule out what stands out in nothing if the share is the usual; 0 when settled, or no number does
	Together   *Together     `json:"together"`    // about With
	Check      []Together    `json:"check"`       // what else to look at while the device is open
	Minutes    Minutes       `json:"minutes"`     // at the bench
	Prices     []Price       `json:"prices"`      // of the part
	name       func(id string) string
}

// Usual is what the period asked about is compared with.
type Usual struct {
	Of            string        `json:"of"` // "before" or "class"
	Faults        int           `json:"faults"`
	Visits        int           `json:"visits"`
	Share         schemas.Float `json:"share"`
	WeeksPerFault schemas.Float `json:"weeks_per_fault"` // before: one in so many weeks
}

// Together says how often another component shows on the model's visits that show the first.
type Together struct {
	Component string        `json:"component"`
	Both      int           `json:"both"`
	Of        int           `json:"of"` // visits that show the first
	Share     schemas.Float `json:"share"`
	Low       schemas.Float `json:"low"` // Wilson
	High      schemas.Float `json:"high"`
	Without   schemas.Float `json:"without"` // share on the visits that don't show the first
	Odds      schemas.Float `json:"odds"`    // exact
	OddsLow   schemas.Float `json:"odds_low"`
	OddsHigh  schemas.Float `json:"odds_high"`
	P         schemas.Float `json:"p"` // Fisher mid-p, two-sided
}

// Minutes are of jobs with the component as their only fault.
type Minutes struct {
	Median schemas.Float `json:"median"`
	P90    schemas.Float `json:"p90"`
	Jobs   int           `json:"jobs"`
	Of     string        `json:"of"` // "model" or "class"
}

// Price is what one part costs, over the last year.
type Price struct {
	Currency string        `json:"currency"`
	Median   schemas.Float `json:"median"`
	Lines    int           `json:"lines"`
	Of       string        `json:"of"` // "model" or "class"
}

// fewest is how many cases are needed to be firm, and how many jobs or lines of a model to speak for it.
const fewest = 3

// Compute answers. A name that fits nothing, or several, is a *schemas.NameError.
func Compute(ctx context.Context, log *tally.Log, lexicon *schemas.Lexicon, q Query) (Answer, error) {
	if q.Days < 0 {
		return Answer{}, fmt.Errorf("%d days: want 1 or more", q.Days)
	}
	model, err := findModel(ctx, log, q.Model)
	if err != nil {
		return Answer{}, err
	}
	component, err := findComponent(lexicon, q.Component)
	if err != nil {
		return Answer{}, err
	}
	a := Answer{Model: model.Model, Class: model.Class, Component: component, Days: q.Days,
		From: log.From.Format(time.DateOnly), To: log.AsOf.Format(time.DateOnly), name: lexicon.Name}
	if q.With != "" {
		if a.With, err = findComponent(lexicon, q.With); err != nil {
			return Answer{}, err
		}
		if a.With == a.Component {
			return Answer{}, fmt.Errorf("%q and %q are the same component, %s", q.Component, q.With, lexicon.Name(component))
		}
	}
	if q.Days > 0 {
		a.From = max(a.From, log.AsOf.AddDate(0, 0, 1-q.Days).Format(time.DateOnly))
	}
	if err := a.count(ctx, log); err != nil {
		return a, err
	}
	if err := a.grade(); err != nil {
		return a, err
	}
	if err := a.look(ctx, log); err != nil {
		return a, err
	}
	return a, a.work(ctx, log)
}

// count fills in what was seen and what is usual.
func (a *Answer) count(ctx context.Context, log *tally.Log) error {
	type side struct {
		Side   string `sql:"side"`
		Visits int    `sql:"visits"`
		Faults int    `sql:"faults"`
		Told   int    `sql:"told"`
		Unread int    `sql:"unread"`
	}
	rows, err := tally.Query[side](ctx, log, seenSQL, named("model", a.Model), named("class", a.Class), named("component", a.Component), named("since", a.From))
	if err != nil {
		return err
	}
	sides := map[string]side{}
	for _, r := range rows {
		sides[r.Side] = r
	}
	lately := sides["lately"]
	a.Seen, a.Visits, a.Told, a.Unread = lately.Faults, lately.Visits, lately.Told, lately.Unread
	against := sides["others"]
	a.Usual.Of = "class"
	if before := sides["before"]; a.Days > 0 && before.Visits > 0 {
		a.Usual.Of, against = "before", before
		since, err := time.ParseInLocation(time.DateOnly, a.From, log.Zone)
		if err != nil {
			return err
		}
		if before.Faults > 0 {
			a.Usual.WeeksPerFault = schemas.Known(since.Sub(log.From).Hours() / 24 / 7 / float64(before.Faults))
		}
	}
	a.Usual.Faults, a.Usual.Visits = against.Faults, against.Visits
	kinds, err := tally.Query[string](ctx, log, kindsSQL, named("class", a.Class))
	a.Components, a.Spans = max(len(kinds), 1), 1
	if a.Days > 0 {
		a.Spans = max(1, 91/a.Days)
	}
	return err
}

// grade compares the two and grades the evidence.
//
// Chance: the hypergeometric upper tail, given how often the component shows in both together (Fisher's exact test,
// one-sided). Firm: corrected below 0.05 and the lower limit of the ratio above 1.5. Leaning: chance below 0.05.
func (a *Answer) grade() error {
	if a.Visits > 0 {
		w, err := stat.Wilson(a.Seen, a.Visits, conf)
		if err != nil {
			return err
		}
		a.Share, a.ShareLow, a.ShareHigh = share(a.Seen, a.Visits), schemas.Known(w.Lo), schemas.Known(w.Hi)
	}
	if a.Usual.Visits == 0 {
		return nil
	}
	a.Usual.Share = share(a.Usual.Faults, a.Usual.Visits)
	if a.Visits == 0 {
		return nil
	}
	a.Expected = schemas.Known(a.Usual.Share.V * float64(a.Visits))
	p, err := stat.Fisher(stat.Table2{A: a.Seen, B: a.Visits - a.Seen, C: a.Usual.Faults, D: a.Usual.Visits - a.Usual.Faults})
	if err != nil {
		return err
	}
	a.Chance = schemas.Known(p.Greater)
	a.Corrected = schemas.Known(math.Min(1, p.Greater*a.eyes()))
	r, err := stat.RiskRatioScore(a.Seen, a.Visits, a.Usual.Faults, a.Usual.Visits, conf)
	if errors.Is(err, stat.ErrNoInformation) {
		return nil // never seen on either side
	}
	if err != nil {
		return err
	}
	a.Ratio, a.RatioLow, a.RatioHigh = limit(r.Value), schemas.Known(r.Lo), limit(r.Hi)
	switch {
	case a.Seen < 2 || a.Ratio.OK && a.Ratio.V <= threshold:
	case a.Corrected.V < 0.05 && r.Lo > threshold && a.Seen >= fewest:
		a.Grade = schemas.Firm
	case a.Chance.V < 0.05:
		a.Grade = schemas.Leaning
	default:
		a.Grade = schemas.Thin
	}
	switch {
	case a.Grade == schemas.Thin || a.Grade == schemas.Leaning:
		a.MoreVisits = findings.Settle(a.Visits, a.settled)
	case a.Grade == "" && a.open():
		a.MoreVisits = findings.Settle(a.Visits, a.ruledOut)
	}
	return nil
}

// open tells whether nothing stands out and yet a share above the threshold is not ruled out.
func (a *Answer) open() bool {
	return a.Grade == "" && a.RatioLow.OK && !(a.RatioHigh.OK && a.RatioHigh.V <= threshold)
}

// ruledOut tells whether as many visits as total, at the usual share, would rule out more than the threshold.
func (a *Answer) ruledOut(total int) bool {
	x := int(math.Round(a.Usual.Share.V * float64(total)))
	r, err := stat.RiskRatioScore(x, total, a.Usual.Faults, a.Usual.Visits, conf)
	return err == nil && r.Hi.Bounded && r.Hi.Value <= threshold
}

// eyes is how many things could have caught the eye as this one did.
func (a *Answer) eyes() float64 { return float64(a.Components * a.Spans) }

// settled tells whether as many visits as total, at the shares seen, would make the hunch firm.
func (a *Answer) settled(total int) bool {
	x := int(math.Round(a.Share.V * float64(total)))
	p, err := stat.Fisher(stat.Table2{A: x, B: total - x, C: a.Usual.Faults, D: a.Usual.Visits - a.Usual.Faults})
	if err != nil || p.Greater*a.eyes() >= 0.05 || x < fewest {
		return false
	}
	r, err := stat.RiskRatioScore(x, total, a.Usual.Faults, a.Usual.Visits, conf)
	return err == nil && r.Lo > threshold
}

func share(x, n int) schemas.Float { return schemas.Known(float64(x) / float64(n)) }

func limit(l stat.Limit) schemas.Float {
	if !l.Bounded {
		return schemas.Float{}
	}
	return schemas.Known(l.Value)
}
