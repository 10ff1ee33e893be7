package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// The month in brief holds at most so many sentences; each kind may take the first few places, and some
// are kept for what is not firm yet, so that there is something to watch.
const (
	mostSentences = 12
	perKind       = 3
	toWatch       = 3
	mostWatched   = 5
	orderLines    = 15
)

// A month is what the first page is given.
type month struct {
	head
	Battery []told // alarms and findings about batteries: said first
	Act     []told // firm, strongest first
	Watch   []told // leaning and thin, strongest first
	More    []layout.Link
	Facts   []fact
	Order   block
	Sizes   *layout.Figure // how large what is told is, side by side
	Health  []fact
	Lacking []string
	Links   map[string]string
}

// A fact is a large figure with a word above and below it.
type fact struct{ Name, Figure, Small, Href string }

func (s *site) indexPage() (any, error) {
	chosen := choose(s.Findings)
	m := month{Links: map[string]string{}}
	for _, page := range []string{"data", "methods", "stock", "models"} {
		m.Links[page] = s.place(page, "")
	}
	m.head = head{Title: "The month in brief", Eyebrow: s.eyebrow()}
	kinds := map[string]int{}
	for i, f := range s.Findings {
		t := s.told(f)
		if evidence.IsBattery(f) && f.Kind == schemas.KindBatch {
			m.Battery = append(m.Battery, t)
		}
		switch {
		case !chosen[i]:
			kinds[f.Kind]++
		case f.Grade == schemas.Firm:
			m.Act = append(m.Act, t)
		default:
			m.Watch = append(m.Watch, t)
		}
	}
	for _, p := range s.pages() {
		if n := kinds[p.kind]; n > 0 && p.kind != "" {
			m.More = append(m.More, layout.Link{Text: fmt.Sprintf("%s: %s", p.nav, wording.Count(n)), Href: s.place(p.name, "")})
		}
	}
	m.Lead = s.monthLead(m)
	m.Facts = s.monthFacts(m)
	lines := orderLines
	if s.single {
		lines = tableRows
	}
	m.Order = s.ordersBlock(s.orders(), lines)
	var err error
	if m.Sizes, err = s.sizes(append(slices.Clone(m.Act), m.Watch...)); err != nil {
		return nil, err
	}
	m.Health = s.healthFacts()
	for _, q := range s.missingKeys() {
		m.Lacking = append(m.Lacking, q.Subject+": "+q.Note)
	}
	return m, nil
}

// choose marks the findings told on the first page. They come strongest first and stay so: first the
// strongest few of each kind, then whatever is strongest.
func choose(list []schemas.Finding) map[int]bool {
	chosen, kinds := map[int]bool{}, map[string]int{}
	take := func(most, each int, fits func(schemas.Finding) bool) {
		for i, f := range list {
			if len(chosen) >= most {
				return
			}
			if f.Kind == schemas.KindStock && kinds[f.Kind] > 0 {
				continue // the order list below has the others
			}
			if !chosen[i] && fits(f) && kinds[f.Kind] < each {
				chosen[i] = true
				kinds[f.Kind]++
			}
		}
	}
	firm := func(f schemas.Finding) bool { return f.Grade == schemas.Firm }
	watch := func(f schemas.Finding) bool { return !firm(f) }
	unsure := min(toWatch, len(slices.DeleteFunc(slices.Clone(list), firm)))
	take(mostSentences, mostSentences, func(f schemas.Finding) bool { return firm(f) && f.Kind == schemas.KindBatch })
	take(mostSentences-unsure, perKind, firm)
	take(mostSentences-unsure, mostSentences, firm)
	kinds = map[string]int{}
	take(min(mostSentences, len(chosen)+mostWatched), 2, watch)
	return chosen
}

func (s *site) eyebrow() string {
	if s.AsOf.IsZero() {
		return ""
	}
	if from := dayWords(s.firstDay()); from != "" {
		return "From the log of " + from + " to " + wording.Date(s.AsOf) + s.notOver()
	}
	return "Up to " + wording.Date(s.AsOf)
}

// notOver says so when the log ends in the middle of a month.
func (s *site) notOver() string {
	if !schemas.Running(s.AsOf) {
		return ""
	}
	return "; " + s.AsOf.Format("January") + " is not over"
}

// firstDay is the first day the findings or the trends speak of; "" when none do. An alarm speaks of its weeks only.
func (s *site) firstDay() string {
	first := ""
	for _, r := range s.Trends {
		if day := r.Month + "-01"; first == "" || day < first {
			first = day
		}
	}
	for _, f := range s.Findings {
		if day := f.Period.From; f.Kind != schemas.KindBatch && len(day) >= len("2006-01") && (first == "" || day[:7] <= first[:7]) {
			first = day
		}
	}
	return first
}

func (s *site) monthLead(m month) string {
	orders := s.orders()
	buy := ""
	if len(orders) > 0 {
		buy = " " + orderLead(orders)
	}
	switch {
	case len(m.Act)+len(m.Watch) == 0:
		return "A quiet month: nothing in the log stands out from what is usual." + buy
	case len(m.Act) == 0:
		return fmt.Sprintf("A quiet month: nothing is firm. %s worth watching.", verb(len(m.Watch), "thing is", "things are")) + buy
	}
	lead := verb(len(m.Act), "thing to act on", "things to act on")
	if len(m.Watch) > 0 {
		lead += ", " + wording.Count(len(m.Watch)) + " to watch"
	}
	return lead + "." + buy
}

// monthFacts are the five answers of the month: what changed, what to do, what to watch, money, how sure.
func (s *site) monthFacts(m month) []fact {
	all := append(slices.Clone(m.Act), m.Watch...)
	changed := slices.DeleteFunc(slices.Clone(all), func(t told) bool { return t.Tag != "change" })
	orders := s.orders()
	list := []fact{
		{Name: "changed", Figure: wording.Count(len(changed)), Small: "alarms and trends", Href: s.place("trends", "")},
		{Name: "to act on", Figure: wording.Count(len(m.Act)), Small: "firm findings", Href: "#act"},
		{Name: "to watch", Figure: wording.Count(len(m.Watch)), Small: "leaning or thin", Href: "#watch"},
	}
	if sum := orderSums(orders); sum != "" {
		list = append(list, fact{Name: "to order", Figure: sum, Small: plural(len(orders), "part"), Href: "#order"})
	}
	jobs, money := 0.0, ""
	for _, r := range s.Prices {
		jobs += r.BelowTarget.V
	}
	if jobs > 0 {
		money = wording.Count(int(jobs))
		list = append(list, fact{Name: "below the target margin", Figure: money, Small: "jobs in the log", Href: s.place("prices", "")})
	}
	if len(m.Act) == 0 {
		list[1].Href = ""
	}
	if len(m.Watch) == 0 {
		list[2].Href = ""
	}
	return list
}

// healthFacts say what the report rests on.
func (s *site) healthFacts() []fact {
	t := total(s.fileCounts())
	visits := 0
	for _, b := range s.benches {
		visits += b.Visits
	}
	list := []fact{{Name: "diagnosed visits", Figure: wording.Count(visits), Small: "of " + plural(len(s.benches), "model")}}
	if t.read > 0 {
		list = append(list, fact{Name: "rows read", Figure: wording.Count(t.read), Small: "from " + plural(len(s.fileCounts()), "file")},
			fact{Name: "rows set aside", Figure: wording.Count(t.quarantined), Small: "each with a reason", Href: s.place("data", "")})
	}
	if n := s.count("unread", ""); n > 0 {
		list = append(list, fact{Name: "visits not understood", Figure: wording.Count(n), Small: "their words name no component", Href: s.place("data", "")})
	}
	return list
}

// footer says on every page what the report rests on.
func (s *site) footer() []string {
	period := strings.TrimPrefix(s.eyebrow(), "From the log of ")
	visits := 0
	for _, b := range s.benches {
		visits += b.Visits
	}
	rests := fmt.Sprintf("Rests on %s.", plural(visits, "diagnosed visit"))
	if period != "" {
		rests = fmt.Sprintf("Rests on %s, %s.", plural(visits, "diagnosed visit"), cmp.Or(lowerFirst(period)))
	}
	return []string{rests, "Association is not cause, and a repair log sees only what came through the door. All intervals are 95% unless a page says otherwise."}
}

func lowerFirst(s string) string {
	if strings.HasPrefix(s, "Up to ") {
		return "up to " + s[len("Up to "):]
	}
	return s
}
