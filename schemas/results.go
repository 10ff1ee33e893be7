package schemas

// Any in a scope column of a result table means all: all classes, all models, all components.
const Any = "*"

// Share is a row of tables/shares.csv: one row per model and component.
// Shares lie in [0, 1]; intervals are 95% unless asked otherwise; empty means unknown.
type Share struct {
	Class       string `csv:"class" doc:"device class"`
	Maker       string `csv:"maker" doc:"maker"`
	Family      string `csv:"family" doc:"model line"`
	Model       string `csv:"model" doc:"model"`
	Component   string `csv:"component" doc:"lexicon id"`
	Faults      int    `csv:"faults" doc:"diagnosed visits of the model that show the component"`
	Visits      int    `csv:"visits" doc:"diagnosed visits of the model"`
	Share       Float  `csv:"share" doc:"faults / visits"`
	ShareLow    Float  `csv:"share_low" doc:"Wilson lower limit"`
	ShareHigh   Float  `csv:"share_high" doc:"Wilson upper limit"`
	Unread      int    `csv:"unread" doc:"visits whose fault text no entry could read"`
	UnreadLow   Float  `csv:"unread_low" doc:"share if none of the unread were this component"`
	UnreadHigh  Float  `csv:"unread_high" doc:"share if all of the unread were this component"`
	Shrunk      Float  `csv:"shrunk" doc:"beta-binomial empirical-Bayes mean"`
	ShrunkLow   Float  `csv:"shrunk_low" doc:"posterior 2.5%"`
	ShrunkHigh  Float  `csv:"shrunk_high" doc:"posterior 97.5%"`
	ClassFaults int    `csv:"class_faults" doc:"faults of the other models of the class"`
	ClassVisits int    `csv:"class_visits" doc:"diagnosed visits of the other models of the class"`
	ClassShare  Float  `csv:"class_share" doc:"share in the other models of the class"`
	Ratio       Float  `csv:"ratio" doc:"share / class_share"`
	RatioLow    Float  `csv:"ratio_low" doc:"Koopman score lower limit"`
	RatioHigh   Float  `csv:"ratio_high" doc:"Koopman score upper limit; empty when unbounded"`
	P           Float  `csv:"p" doc:"Fisher mid-p, two-sided"`
	Q           Float  `csv:"q" doc:"Benjamini-Hochberg over the table"`
	Units       Float  `csv:"device_months" doc:"device-months in the fleet, from fleet.csv"`
	Rate        Float  `csv:"rate_per_1000" doc:"faults per 1,000 device-months"`
	RateLow     Float  `csv:"rate_low" doc:"exact Poisson lower limit"`
	RateHigh    Float  `csv:"rate_high" doc:"exact Poisson upper limit"`
}

// Pair is a row of tables/pairs.csv: one row per scope, unit and unordered pair of components.
type Pair struct {
	Scope        string `csv:"scope" doc:"a model, or * for all models, stratified by model"`
	Unit         string `csv:"unit" doc:"visit, or device-30d: all visits of a device within 30 days of the first"`
	ComponentA   string `csv:"component_a" doc:"first component in alphabetical order"`
	ComponentB   string `csv:"component_b" doc:"second component"`
	N            int    `csv:"n" doc:"both + a_only + b_only + neither"`
	Both         int    `csv:"both" doc:"units that show both"`
	AOnly        int    `csv:"a_only" doc:"units that show only the first"`
	BOnly        int    `csv:"b_only" doc:"units that show only the second"`
	Neither      int    `csv:"neither" doc:"units that show neither"`
	BGivenA      Float  `csv:"b_given_a" doc:"share of units with the first that also show the second"`
	BGivenALow   Float  `csv:"b_given_a_low" doc:"Wilson lower limit"`
	BGivenAHigh  Float  `csv:"b_given_a_high" doc:"Wilson upper limit"`
	AGivenB      Float  `csv:"a_given_b" doc:"share of units with the second that also show the first"`
	AGivenBLow   Float  `csv:"a_given_b_low" doc:"Wilson lower limit"`
	AGivenBHigh  Float  `csv:"a_given_b_high" doc:"Wilson upper limit"`
	OddsRatio    Float  `csv:"odds_ratio" doc:"conditional maximum likelihood; Mantel-Haenszel for *"`
	OddsLow      Float  `csv:"odds_low" doc:"exact lower limit; Robins-Breslow-Greenland for *"`
	OddsHigh     Float  `csv:"odds_high" doc:"upper limit; empty when unbounded"`
	Expected     Float  `csv:"expected" doc:"units with both under independence"`
	P            Float  `csv:"p" doc:"Fisher mid-p, two-sided; Cochran-Mantel-Haenszel for *"`
	Q            Float  `csv:"q" doc:"Benjamini-Hochberg over the table"`
	HomogeneityP Float  `csv:"homogeneity_p" doc:"Breslow-Day with Tarone's correction, * rows only"`
}

// Time is a row of tables/times.csv. Single-component rows count jobs with that fault alone.
type Time struct {
	Model                 string `csv:"model" doc:"model, or *"`
	Component             string `csv:"component" doc:"component"`
	ComponentB            string `csv:"component_b" doc:"second component of a pair; empty otherwise"`
	Jobs                  int    `csv:"jobs" doc:"jobs with bench minutes"`
	MTTR                  Float  `csv:"mttr" doc:"mean bench minutes, lognormal"`
	MTTRLow               Float  `csv:"mttr_low" doc:"Cox lower limit, minutes"`
	MTTRHigh              Float  `csv:"mttr_high" doc:"Cox upper limit, minutes"`
	Median                Float  `csv:"median" doc:"median bench minutes"`
	P90                   Float  `csv:"p90" doc:"90th percentile of bench minutes"`
	GSD                   Float  `csv:"gsd" doc:"geometric standard deviation"`
	TogetherSaves         Float  `csv:"together_saves" doc:"minutes saved when the pair is done in one opening"`
	SavesLow              Float  `csv:"saves_low" doc:"lower limit, minutes"`
	SavesHigh             Float  `csv:"saves_high" doc:"upper limit, minutes"`
	TurnaroundJobs        int    `csv:"turnaround_jobs" doc:"jobs finished, with opened and ready"`
	TurnaroundOpen        int    `csv:"turnaround_open" doc:"jobs still open, right-censored at the as-of date"`
	TurnaroundMedianHours Float  `csv:"turnaround_median_hours" doc:"Kaplan-Meier median, elapsed hours"`
	TurnaroundLow         Float  `csv:"turnaround_low" doc:"lower limit, hours"`
	TurnaroundHigh        Float  `csv:"turnaround_high" doc:"upper limit, hours"`
}

// Trend is a row of tables/trends.csv: one row per month, class, model and component.
type Trend struct {
	Month      string `csv:"month" doc:"2026-05"`
	Class      string `csv:"class" doc:"class, or *"`
	Model      string `csv:"model" doc:"model, or *"`
	Component  string `csv:"component" doc:"component"`
	Faults     int    `csv:"faults" doc:"diagnosed visits that month with the component"`
	Visits     int    `csv:"visits" doc:"diagnosed visits that month"`
	Share      Float  `csv:"share" doc:"faults / visits"`
	Low        Float  `csv:"low" doc:"Wilson lower limit"`
	High       Float  `csv:"high" doc:"Wilson upper limit"`
	Centre     Float  `csv:"centre" doc:"centre line of the p' chart"`
	LowerLimit Float  `csv:"lower_limit" doc:"p' chart (Laney) lower limit"`
	UpperLimit Float  `csv:"upper_limit" doc:"p' chart (Laney) upper limit"`
	SlopeP     Float  `csv:"slope_p" doc:"Cochran-Armitage over the last 12 months, two-sided"`
	Q          Float  `csv:"q" doc:"Benjamini-Hochberg over all series tested"`
	Direction  string `csv:"direction" doc:"rising, falling or steady"`
}

// Batch is a row of tables/batches.csv: one row per alarm and linked attribute.
type Batch struct {
	Component      string `csv:"component" doc:"component"`
	Node           string `csv:"node" doc:"node of the device tree that carries the alarm"`
	Level          string `csv:"level" doc:"class, maker, family or model"`
	Models         string `csv:"models" doc:"models under the node with cases in the window, separated by ;"`
	WindowStart    string `csv:"window_start" doc:"first day of the window; where something is linked, of the weeks in which the linked cases came"`
	WindowEnd      string `csv:"window_end" doc:"last day of the window"`
	Observed       int    `csv:"observed" doc:"faults in the window"`
	Visits         int    `csv:"visits" doc:"diagnosed visits in the window"`
	Expected       Float  `csv:"expected" doc:"faults expected in the window"`
	RelativeRisk   Float  `csv:"relative_risk" doc:"observed / expected"`
	LLR            Float  `csv:"llr" doc:"Bernoulli log-likelihood ratio"`
	P              Float  `csv:"p" doc:"Monte Carlo on the maximum; Gumbel tail below 1/(replicates+1)"`
	RecurrenceDays Float  `csv:"recurrence_days" doc:"once in so many days by chance"`
	Link           string `csv:"link" doc:"attribute that goes with the component: lot, supplier, grade, made_week, ..."`
	LinkValue      string `csv:"link_value" doc:"its value"`
	LinkCases      int    `csv:"link_cases" doc:"visits with the component and this value"`
	LinkVisits     int    `csv:"link_visits" doc:"visits with this value"`
	LinkOdds       Float  `csv:"link_odds" doc:"Mantel-Haenszel odds ratio stratified by model"`
	LinkLow        Float  `csv:"link_low" doc:"lower limit"`
	LinkHigh       Float  `csv:"link_high" doc:"upper limit; empty when unbounded"`
	LinkQ          Float  `csv:"link_q" doc:"Benjamini-Hochberg over all attributes tested"`
	UnderWarranty  Float  `csv:"under_warranty" doc:"linked or affected devices still within the shop's own warranty"`
	OnShelf        Float  `csv:"on_shelf" doc:"parts of the linked lot still on the shelf, when stock.csv says so"`
}

// PastAlarm is a row of tables/lookback.csv: one row per episode of alarms that would have been raised in the past.
type PastAlarm struct {
	Raised          string `csv:"raised" doc:"day the alarm would first have been raised"`
	Component       string `csv:"component" doc:"component"`
	Node            string `csv:"node" doc:"node of the device tree that carried the alarm"`
	Level           string `csv:"level" doc:"class, maker, family or model"`
	Models          string `csv:"models" doc:"models under the node with cases in the window, separated by ;"`
	WindowStart     string `csv:"window_start" doc:"first day of the window, which ends on the day it was raised"`
	Observed        int    `csv:"observed" doc:"faults in the window"`
	Visits          int    `csv:"visits" doc:"diagnosed visits in the window"`
	Expected        Float  `csv:"expected" doc:"faults expected in the window"`
	RelativeRisk    Float  `csv:"relative_risk" doc:"observed / expected"`
	P               Float  `csv:"p" doc:"Monte Carlo on the maximum, as of that day"`
	LastRaised      string `csv:"last_raised" doc:"day it would last have been raised"`
	Peak            string `csv:"peak" doc:"last day of the week with most faults"`
	WeeksBeforePeak int    `csv:"weeks_before_peak" doc:"weeks from the alarm to the peak; negative when the peak came first"`
}

// Return is a row of tables/returns.csv: one row per component and value of grade, supplier or lot.
type Return struct {
	Component  string `csv:"component" doc:"component"`
	By         string `csv:"by" doc:"grade, supplier or lot"`
	Value      string `csv:"value" doc:"its value"`
	Repairs    int    `csv:"repairs" doc:"repairs followed up"`
	Returns    int    `csv:"returns" doc:"same device back for the same component within the warranty days"`
	Back30     Float  `csv:"back_30" doc:"share back by day 30, Kaplan-Meier"`
	Back30Low  Float  `csv:"back_30_low" doc:"log-log lower limit"`
	Back30High Float  `csv:"back_30_high" doc:"log-log upper limit"`
	Back90     Float  `csv:"back_90" doc:"share back by day 90"`
	Back90Low  Float  `csv:"back_90_low" doc:"lower limit"`
	Back90High Float  `csv:"back_90_high" doc:"upper limit"`
	Back180    Float  `csv:"back_180" doc:"share back by day 180"`
	Back180Low Float  `csv:"back_180_low" doc:"lower limit"`
	Back180Hi  Float  `csv:"back_180_high" doc:"upper limit"`
	Ratio      Float  `csv:"ratio" doc:"hazard against the other values (observed/expected ratio of the log-rank test)"`
	RatioLow   Float  `csv:"ratio_low" doc:"lower limit"`
	RatioHigh  Float  `csv:"ratio_high" doc:"upper limit"`
	P          Float  `csv:"p" doc:"log-rank stratified by model"`
	Q          Float  `csv:"q" doc:"Benjamini-Hochberg over the table"`
}

// ReturnPoint is a row of tables/returns_curve.csv: one row per step of a curve of package returns.
type ReturnPoint struct {
	Component string `csv:"component" doc:"component"`
	By        string `csv:"by" doc:"grade, supplier or lot"`
	Value     string `csv:"value" doc:"its value"`
	Day       int    `csv:"day" doc:"days since the repair was ready"`
	AtRisk    int    `csv:"at_risk" doc:"repairs followed to that day or longer"`
	Back      Float  `csv:"back" doc:"share back by that day, Kaplan-Meier"`
	Low       Float  `csv:"low" doc:"log-log lower limit"`
	High      Float  `csv:"high" doc:"log-log upper limit"`
}

// Price is a row of tables/prices.csv: one row per model, component and currency.
type Price struct {
	Model         string `csv:"model" doc:"model"`
	Component     string `csv:"component" doc:"component"`
	Lines         int    `csv:"lines" doc:"part lines with a cost"`
	CostLatest    Float  `csv:"cost_latest" doc:"latest unit cost"`
	CostMedian    Float  `csv:"cost_median" doc:"median unit cost"`
	CostQ1        Float  `csv:"cost_q1" doc:"lower quartile over suppliers and grades"`
	CostQ3        Float  `csv:"cost_q3" doc:"upper quartile"`
	CostUsual     Float  `csv:"cost_usual" doc:"median of the component's cost in the class's other models"`
	Z             Float  `csv:"z" doc:"robust z on log cost (median/MAD)"`
	ChargeMedian  Float  `csv:"charge_median" doc:"median charge of jobs with that fault alone"`
	MinutesMedian Float  `csv:"minutes_median" doc:"median bench minutes of those jobs"`
	MarginMedian  Float  `csv:"margin_median" doc:"median margin after parts, labour and expected returns"`
	PriceFloor    Float  `csv:"price_floor" doc:"charge that reaches the shop's target margin"`
	MarginJobs    int    `csv:"margin_jobs" doc:"jobs with a known margin"`
	BelowTarget   Float  `csv:"below_target" doc:"of them, jobs below the target margin"`
	CostBefore    Float  `csv:"cost_before" doc:"median cost before the latest lasting price jump; empty when none"`
	JumpOn        string `csv:"jump_on" doc:"day of the latest lasting price jump"`
	Currency      string `csv:"currency" doc:"ISO 4217"`
}

// StockLine is a row of tables/stock.csv: one row per part.
type StockLine struct {
	Part           string `csv:"part" doc:"part, as in the shop's stock file"`
	Component      string `csv:"component" doc:"component"`
	Fits           string `csv:"fits" doc:"models, separated by ;"`
	Supplier       string `csv:"supplier" doc:"supplier"`
	Basis          string `csv:"basis" doc:"lines of that part_no where the log has them, else faults"`
	WeeklyMean     Float  `csv:"weekly_mean" doc:"forecast pieces a week"`
	WeeklyLow      Float  `csv:"weekly_low" doc:"posterior 2.5% of the weekly rate"`
	WeeklyHigh     Float  `csv:"weekly_high" doc:"posterior 97.5%"`
	LeadDays       Float  `csv:"lead_days" doc:"days from order to shelf"`
	ReviewDays     Float  `csv:"review_days" doc:"days between orders"`
	OrderUpTo      Float  `csv:"order_up_to" doc:"target of on hand + on order"`
	OnHand         Float  `csv:"on_hand" doc:"pieces on the shelf"`
	OnOrder        Float  `csv:"on_order" doc:"pieces on their way"`
	Order          Float  `csv:"order" doc:"pieces to order now"`
	StockoutChance Float  `csv:"stockout_chance" doc:"chance of running out before the order after this one arrives"`
	UnitCost       Float  `csv:"unit_cost" doc:"cost of one piece"`
	LineCost       Float  `csv:"line_cost" doc:"order x unit_cost"`
	Currency       string `csv:"currency" doc:"ISO 4217"`
	WithPart       string `csv:"with_part" doc:"part that fails together with this one; order both"`
	ServiceLevel   Float  `csv:"service_level" doc:"level asked or critical ratio used"`
	Rule           string `csv:"rule" doc:"critical-ratio or service-level"`
}

// Backtest is a row of tables/backtest.csv: one row per policy over the shop's last 12 months.
type Backtest struct {
	Policy     string `csv:"policy" doc:"forecast and ordering rule"`
	Parts      int    `csv:"parts" doc:"parts replayed"`
	Demand     Float  `csv:"demand" doc:"pieces asked for"`
	Short      Float  `csv:"short" doc:"pieces asked for and not on the shelf"`
	Stockouts  int    `csv:"stockouts" doc:"part-weeks that ran out"`
	LostMargin Float  `csv:"lost_margin" doc:"margin of the jobs missed"`
	Tied       Float  `csv:"tied" doc:"average money on the shelf"`
	Cost       Float  `csv:"cost" doc:"lost margin + holding cost over the year"`
	Currency   string `csv:"currency" doc:"ISO 4217"`
}

// Quality is a row of tables/quality.csv: what was read, folded, emptied, quarantined, unread, contradictory.
type QualityRow struct {
	Topic   string `csv:"topic" doc:"read, accepted, duplicate, quarantined, replaced, folded, emptied, unread, unread-value, contradiction, missing-key, ..."`
	Subject string `csv:"subject" doc:"what it is about"`
	Count   int    `csv:"count" doc:"how many"`
	Note    string `csv:"note" doc:"what it means or what to do"`
}
