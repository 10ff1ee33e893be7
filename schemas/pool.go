package schemas

// Pooled is a row of tables/pool.csv: one row per model and component, several shops together.
type Pooled struct {
	Class     string `csv:"class" doc:"device class"`
	Model     string `csv:"model" doc:"model"`
	Component string `csv:"component" doc:"lexicon id"`
	Shops     int    `csv:"shops" doc:"shops that tell of the model"`
	Faults    int    `csv:"faults" doc:"faults told, all shops"`
	Visits    int    `csv:"visits" doc:"diagnosed visits told, all shops"`
	Most      int    `csv:"faults_most" doc:"faults if all that was withheld were the most it can be"`
	Share     Float  `csv:"share" doc:"share, withheld faults taken at what the rest makes likely"`
	ShareLow  Float  `csv:"share_low" doc:"Wilson lower limit with the withheld at their least"`
	ShareHigh Float  `csv:"share_high" doc:"Wilson upper limit with the withheld at their most"`
	Odds      Float  `csv:"odds_ratio" doc:"odds against the other models of the class, Mantel-Haenszel over shops"`
	OddsLow   Float  `csv:"odds_low" doc:"Robins-Breslow-Greenland lower limit, the withheld at the end that makes it least"`
	OddsHigh  Float  `csv:"odds_high" doc:"upper limit, the withheld at the end that makes it most; empty when unbounded"`
	P         Float  `csv:"p" doc:"Cochran-Mantel-Haenszel, two-sided"`
	Q         Float  `csv:"q" doc:"Benjamini-Hochberg over the table"`
	Random    Float  `csv:"random_odds" doc:"odds ratio by random effects, DerSimonian-Laird"`
	RandLow   Float  `csv:"random_low" doc:"Hartung-Knapp lower limit"`
	RandHigh  Float  `csv:"random_high" doc:"Hartung-Knapp upper limit"`
	Tau2      Float  `csv:"tau2" doc:"variance of the log odds ratio between shops"`
	I2        Float  `csv:"i2" doc:"share of the variation that lies between shops"`
	HetP      Float  `csv:"heterogeneity_p" doc:"Cochran's Q: are the shops alike"`
	NextLow   Float  `csv:"next_low" doc:"95% prediction interval of the odds ratio in a further shop, lower end; from 3 shops"`
	NextHigh  Float  `csv:"next_high" doc:"upper end"`
	Method    string `csv:"method" doc:"mantel-haenszel, or random-effects where shops differ (I2 above a quarter or heterogeneity p below 0.1)"`
}

// PooledShop is a row of tables/pool_shops.csv: one row per model, component and shop, beside the pool.
type PooledShop struct {
	Model      string `csv:"model" doc:"model"`
	Component  string `csv:"component" doc:"lexicon id"`
	Shop       string `csv:"shop" doc:"name where the bundle gives one, else a number by order of bundles"`
	Faults     int    `csv:"faults" doc:"faults told"`
	Visits     int    `csv:"visits" doc:"diagnosed visits told"`
	Most       int    `csv:"faults_most" doc:"faults if all that was withheld were the most it can be"`
	Share      Float  `csv:"share" doc:"share, withheld faults taken at what the shops together make likely"`
	ShareLow   Float  `csv:"share_low" doc:"Wilson lower limit with the withheld at their least"`
	ShareHigh  Float  `csv:"share_high" doc:"Wilson upper limit with the withheld at their most"`
	Shrunk     Float  `csv:"shrunk" doc:"the shop's share drawn towards the pool, beta-binomial"`
	ShrunkLow  Float  `csv:"shrunk_low" doc:"posterior 2.5%"`
	ShrunkHigh Float  `csv:"shrunk_high" doc:"posterior 97.5%"`
	Odds       Float  `csv:"odds_ratio" doc:"odds against the other models of the class in this shop; half a visit added to each cell"`
	OddsLow    Float  `csv:"odds_low" doc:"lower limit"`
	OddsHigh   Float  `csv:"odds_high" doc:"upper limit"`
}

// PooledPair is a row of tables/pool_pairs.csv: one row per model and pair of components.
type PooledPair struct {
	Model      string `csv:"model" doc:"model"`
	ComponentA string `csv:"component_a" doc:"first component in alphabetical order"`
	ComponentB string `csv:"component_b" doc:"second component"`
	Shops      int    `csv:"shops" doc:"shops that tell of the pair"`
	Both       int    `csv:"both" doc:"visits that show both"`
	AOnly      int    `csv:"a_only" doc:"visits that show only the first"`
	BOnly      int    `csv:"b_only" doc:"visits that show only the second"`
	Neither    int    `csv:"neither" doc:"visits that show neither"`
	Odds       Float  `csv:"odds_ratio" doc:"Mantel-Haenszel over shops"`
	OddsLow    Float  `csv:"odds_low" doc:"Robins-Breslow-Greenland lower limit"`
	OddsHigh   Float  `csv:"odds_high" doc:"upper limit; empty when unbounded"`
	HomogP     Float  `csv:"homogeneity_p" doc:"Breslow-Day with Tarone's correction: do the shops agree"`
}

// PooledBatch is a row of tables/pool_batches.csv: one row per alarm over several shops.
type PooledBatch struct {
	Component    string `csv:"component" doc:"component"`
	Node         string `csv:"node" doc:"node of the device tree that carries the alarm"`
	Level        string `csv:"level" doc:"class, maker, family or model"`
	Models       string `csv:"models" doc:"models with cases in the window, separated by ;"`
	Shops        int    `csv:"shops" doc:"shops with cases in the window"`
	WindowStart  string `csv:"window_start" doc:"first day of the window"`
	WindowEnd    string `csv:"window_end" doc:"last day of the window"`
	Observed     int    `csv:"observed" doc:"faults told in the window; withheld ones count as none"`
	Visits       int    `csv:"visits" doc:"diagnosed visits in the window"`
	Expected     Float  `csv:"expected" doc:"faults expected in the window"`
	RelativeRisk Float  `csv:"relative_risk" doc:"observed / expected"`
	P            Float  `csv:"p" doc:"Monte Carlo on the maximum over all nodes, windows and components"`
}
