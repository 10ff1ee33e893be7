package report

// A methods is what the page of methods is given.
type methods struct {
	head
	Parts []methodPart
}

// A methodPart is the methods behind one page.
type methodPart struct {
	Title   string
	Href    string
	Entries []method
}

// A method says how a figure is worked out, what that assumes, where it is from and what was measured.
type method struct {
	Name     string
	How      string
	Assumes  string
	Source   string
	Measured []string

	measures []measure
}

const (
	holds     = "the interval holds the truth in"
	falseRate = "finds what is not there in"
)

// methodParts are the methods, page by page.
func methodParts() []methodPart {
	return []methodPart{
		{Title: "What fails", Href: "shares", Entries: []method{
			{Name: "Share of diagnosed visits", How: "Visits that show the component over all diagnosed visits of the model; a visit is diagnosed when a fault was read from it or it was closed as no fault. The interval is Wilson's score interval without continuity correction.",
				Assumes:  "Visits of a model are alike and independent. Visits whose words could not be read are left out; the table gives the shares that hold if none or all of them were this component.",
				Source:   "Wilson (1927), J. Am. Stat. Assoc. 22, 209-212; Brown, Cai and DasGupta (2001), Statistical Science 16, 101-133.",
				measures: []measure{{"shares", "mean", "method", "Wilson", holds}}},
			{Name: "Against the rest of the class", How: "Ratio of the model's share to that of the other models of its class, with Koopman's score interval, and Fisher's exact test with mid-p.",
				Assumes:  "The other models are a fair yardstick: they are brought in for the same reasons.",
				Source:   "Koopman (1984), Biometrics 40, 513-517; Fisher (1935), J. R. Stat. Soc. 98, 39-82; mid-p after Lancaster (1961), J. Am. Stat. Assoc. 56, 223-234.",
				measures: []measure{{"contrasts", "mean", "method", "risk ratio, Koopman", holds}, {"tests", "mid-p, mean", "", "", "the test " + falseRate}}},
			{Name: "Looking at many rows", How: "q is the p-value corrected by Benjamini and Hochberg over the whole table: of all rows called at q below 0.05, at most one in twenty is expected to be chance. For findings, rows that point the other way count as having found nothing.",
				Assumes:  "Rows are independent or lean the same way.",
				Source:   "Benjamini and Hochberg (1995), J. R. Stat. Soc. B 57, 289-300.",
				measures: []measure{{"discovery", "false among findings", "", "", "of the findings, false were"}}},
			{Name: "Evened-out share", How: "A model with few visits is drawn towards its class: posterior of a beta-binomial whose prior is fitted to the class and component.",
				Assumes:  "The shares of a class's models scatter like a beta distribution.",
				Source:   "Skellam (1948), J. R. Stat. Soc. B 10, 257-261; Kass and Steffey (1989), J. Am. Stat. Assoc. 84, 717-726.",
				measures: []measure{{"shrinkage", "averaged", "kind", "share", holds}}},
			{Name: "Failures per 1,000 device-months", How: "Faults over the device-months of fleet.csv, with exact Poisson limits.",
				Assumes:  "fleet.csv counts the devices that would have come to this shop.",
				Source:   "Garwood (1936), Biometrika 28, 437-442.",
				measures: []measure{{"rates", "mean", "method", "one mean, exact", holds}}},
		}},
		{Title: "What fails together", Href: "pairs", Entries: []method{
			{Name: "Odds ratio on one model", How: "Visits (or devices over 30 days) with both, one and neither component; conditional maximum likelihood with exact limits, Fisher's test with mid-p.",
				Assumes:  "A visit exists only because something failed, which makes components look as if they avoid each other. The bias is towards fewer pairs, so a pair seen more often than chance is one in spite of it; fewer is no finding.",
				Source:   "Cornfield (1956), Proc. 3rd Berkeley Symp. 4, 135-148; Fisher (1935).",
				measures: []measure{{"contrasts", "mean", "method", "odds ratio, exact", holds}}},
			{Name: "Odds ratio over all models", How: "Counted within each model and put together by Mantel and Haenszel, with the interval of Robins, Breslow and Greenland. Whether the models agree is tested by Breslow and Day with Tarone's correction.",
				Assumes:  "One odds ratio holds for all models; a small p of agreement says it does not.",
				Source:   "Mantel and Haenszel (1959), J. Natl. Cancer Inst. 22, 719-748; Robins, Breslow and Greenland (1986), Biometrics 42, 311-323; Tarone (1985), Biometrika 72, 91-95.",
				measures: []measure{{"stratified", "coverage", "", "", holds}, {"stratified", "CMH", "odds ratio", "1", "the test " + falseRate}}},
		}},
		{Title: "How long it takes", Href: "times", Entries: []method{
			{Name: "Mean bench minutes", How: "Jobs with that fault alone. Times are taken as lognormal; the mean carries Cox's limits, with few jobs Zou's.",
				Assumes:  "Logs of the times are roughly normal; a job's minutes are what the log says.",
				Source:   "Olsson (2005), J. Statistics Education 13(1), for Cox's method; Zou, Huo and Taleban (2009), Environmetrics 20, 172-180.",
				measures: []measure{{"lognormal", "Zou", "", "", "Zou's interval holds the truth in"}}},
			{Name: "Minutes saved in one opening", How: "Mean of the two jobs apart less the mean of both done together, compared within a model; limits by recovery of variance estimates.",
				Assumes:  "The devices that came in for both are like those that came in for one.",
				Source:   "Zou and Donner (2008), Statistics in Medicine 27, 1693-1702.",
				measures: []measure{{"lognormal", "time saved", "", "", holds}}},
			{Name: "Turnaround", How: "Kaplan-Meier median from opened to ready; jobs still open count as not yet ready on the last day of the log.",
				Assumes:  "An open job is as likely to be finished tomorrow as a closed one of its age was.",
				Source:   "Kaplan and Meier (1958), J. Am. Stat. Assoc. 53, 457-481; Brookmeyer and Crowley (1982), Biometrics 38, 29-41.",
				measures: []measure{{"survival", "median", "", "", holds}}},
		}},
		{Title: "Getting worse or better", Href: "trends", Entries: []method{
			{Name: "Slope over 12 months", How: "Cochran-Armitage test of the monthly shares, with the scatter of months allowed for; q over all series tested.",
				Assumes:  "Months are independent but for their scatter; the mix of devices that come in stays alike.",
				Source:   "Cochran (1954), Biometrics 10, 417-451; Armitage (1955), Biometrics 11, 375-386.",
				measures: []measure{{"trends", "overdispersed", "growth a month", "0", "the test " + falseRate}}},
			{Name: "Limits that chance keeps to", How: "p' chart: the usual share and limits that widen with the months' own scatter.",
				Assumes:  "Nothing lasting changed in the months that set the usual level.",
				Source:   "Laney (2002), Quality Engineering 14, 531-537; NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2.",
				measures: []measure{{"charts", "p' chart (Laney)", "", "", "steady months fall outside in"}}},
		}},
		{Title: "Batches", Href: "batches", Entries: []method{
			{Name: "Alarm", How: "A scan over the device tree (class, maker, family, model), the last 1 to 13 weeks and every component; log-likelihood ratio of the share inside against outside. Its p is by simulation of the largest ratio over everything scanned, with slow drift and season taken out first and scattered weeks allowed for. An alarm needs p of at most 0.02, so that months in which nothing happened raise one in at most 5 of 100 even where weeks differ for other reasons.",
				Assumes:  "Within a model, which visits show the component is a matter of chance over the year. A model that has been bad since its first visit raises no alarm, a rise older than 13 weeks is a trend, and a batch that fails slowly hides in the drift taken out.",
				Source:   "Kulldorff (1997), Communications in Statistics 26, 1481-1496; Kulldorff et al. (2005), PLoS Medicine 2, e59; Abrams, Kleinman and Kulldorff (2010), Int. J. Health Geographics 9, 61.",
				measures: []measure{{"false-alarms", "months with an alarm", "", "", "in months in which nothing happened an alarm was raised in"}, {"batch-power", "found by week 13", "excess", "5", "a fivefold excess was found by week 13 in"}}},
			{Name: "What goes with it", How: "Over the last 65 weeks: odds ratio of the fault with a lot, supplier, grade, made-week or serial prefix, stratified by model; q over all attributes tested.",
				Assumes:  "The log names lots and suppliers as often on good repairs as on those that come back.",
				Source:   "Mantel and Haenszel (1959), J. Natl. Cancer Inst. 22, 719-748.",
				measures: []measure{{"batch-links", "named", "odds", "5", "with odds of 5 the right one was named in"}}},
		}},
		{Title: "Returns", Href: "returns", Entries: []method{
			{Name: "Share back by a day", How: "Kaplan-Meier from ready to the same device's return for the same component, with log-log limits; devices that never came back count up to the last day of the log.",
				Assumes:  "A device that went elsewhere is no different from one that held. Devices without a serial are left out.",
				Source:   "Kaplan and Meier (1958); Greenwood (1926).",
				measures: []measure{{"survival", "log-log", "", "", holds}}},
			{Name: "One grade, supplier or lot against the others", How: "Log-rank test stratified by model; the ratio is observed over expected returns against the same of the others.",
				Assumes:  "Parts were not chosen by how bad the device was.",
				Source:   "Mantel (1966), Cancer Chemotherapy Reports 50, 163-170; Peto and Peto (1972), J. R. Stat. Soc. A 135, 185-207.",
				measures: []measure{{"survival", "log-rank type I", "", "", "the test " + falseRate}}},
		}},
		{Title: "Prices", Href: "prices", Entries: []method{
			{Name: "A cost that is far from usual", How: "Robust z: distance of the log cost from the class's median in units of its median absolute deviation; above 3.5 is far.",
				Assumes: "The same component costs about the same on the models of a class.",
				Source:  "Iglewicz and Hoaglin (1993), How to Detect and Handle Outliers, ASQC."},
			{Name: "Margin and price floor", How: "Charge less parts, bench minutes at the shop's labour rate, and the returns to be expected; the floor is the charge that leaves the target margin.",
				Assumes: "The labour rate of shop.toml is what an hour costs.",
				Source:  "Arithmetic; common practice, no source."},
		}},
		{Title: "Stock", Href: "stock", Entries: []method{
			{Name: "Forecast", How: "Weekly use as a gamma-Poisson whose past counts less the older it is, under several habits: how fast the past fades, whether use rises, holds or falls, and how many pieces are used at a time. Each is weighed by how well it foretold the part's own past, and may change. What is asked for until the order after this one arrives is then negative binomial.",
				Assumes: "Next weeks are like recent ones.",
				Source:  "Smith (1979), J. R. Stat. Soc. B 41, 375-387."},
			{Name: "How much to order", How: "Up to the smallest level whose chance of lasting reaches the critical ratio (margin lost against holding cost; at most 98.5%, and up to 1.5 points less where use seems to fall), or the service level asked; less what is on hand and on order, in packs.",
				Assumes:  "Lead times hold.",
				Source:   "Arrow, Harris and Marschak (1951), Econometrica 19, 250-272.",
				measures: []measure{{"stock", "lasted", "asked", "0.95", "with 95% asked the shelf lasted in"}}},
			{Name: "What it is compared with", How: "Last month's use, a moving average, Croston's method and its variants, replayed on the same 12 months under the same rule.",
				Assumes: "",
				Source:  "Croston (1972), Operational Research Quarterly 23, 289-303; Syntetos and Boylan (2005), Int. J. Forecasting 21, 303-314; Teunter, Syntetos and Babai (2011), European J. Operational Research 214, 606-615."},
		}},
	}
}

func (s *site) methodsPage() (any, error) {
	m := methods{Parts: methodParts()}
	m.head = head{Title: "How each figure is worked out", Lead: "For each method: what it does, what it takes for granted, where it is from, and how often it was right when the truth was known."}
	sections, err := calibration()
	if err != nil {
		return nil, err
	}
	for i := range m.Parts {
		part := &m.Parts[i]
		part.Href = s.place(part.Href, "")
		for j := range part.Entries {
			e := &part.Entries[j]
			for _, w := range e.measures {
				if text := w.say(sections); text != "" {
					e.Measured = append(e.Measured, text)
				}
			}
		}
	}
	return m, nil
}
