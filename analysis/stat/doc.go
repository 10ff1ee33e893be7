// Package stat answers statistical questions about counts, times and costs.
//
// In go plain numbers: counts as int, shares in [0, 1], times and costs in any unit. Out
// come estimates with limits, tests with p-values, and errors. It reads and writes nothing,
// knows no table and no trade, and refuses to return NaN or infinity: what can't be
// estimated is an error (see ErrNoData and the others), and what is unbounded is a Limit
// with Bounded false. conf is a two-sided confidence such as 0.95. A p-value is never
// reported below 1e-300. All functions are pure, and safe to call at the same time.
//
// By question:
//
// How often? Wilson (the default), WilsonCorrected, ClopperPearson, Jeffreys, MidPShare.
// Chance of as many by luck: BinomialUpperTail, PoissonUpperTail, BinomialTest.
// Rates per exposure: PoissonLimits, PoissonRate.
//
// Is this share different from that one? ShareDifference (Newcombe), RiskRatioScore
// (Koopman), RiskRatioKatz, Fisher and FisherMidP, OddsRatioExact, OddsRatioMidP.
// Two rates: PoissonRateRatio, PoissonRateRatioMidP.
//
// Is it so within every stratum? MantelHaenszelOdds (with Robins-Breslow-Greenland),
// MantelHaenszelRisk, CMH, BreslowDayTarone; sparse strata: FisherStratified,
// OddsRatioStratified, OddsRatioStratifiedExact.
//
// Many tests at once? BenjaminiHochberg.
//
// Small groups beside large ones? FitBetaBinomial and BetaPrior.Posterior for shares,
// FitGammaPoisson and GammaPrior.Posterior for rates. Fit once per table, not per row.
//
// How long does it take? FitLognormal with MeanZou (the default), MeanCox, MeanCoxModified,
// MedianLimits, Quantile, GSD; SampleQuantile. Time saved: LognormalMeanDifference, Combine.
// Not finished yet, or not yet back: KaplanMeier with Median, At, RestrictedMean.
// Which group comes back sooner: LogRank, LogRankStratified, HazardRatio,
// and OneAgainstRest for one of many groups.
//
// Is it getting worse? TrendOverdispersed, for many series TrendsTogether (the defaults),
// CochranArmitage, MannKendall, Laplace, MilHandbook. Out of the usual: LaneyP and LaneyU
// (the defaults), PChart, UChart.
//
// Is it a cluster? BernoulliLLR, PoissonLLR, MaximumP, MonteCarloP, FitGumbel, RecurrenceDays.
//
// What will be needed? GammaPrior.Update, Discount and Predictive (a NegativeBinomial with
// Quantile and Backorders), MovingAverage, Croston, CrostonSBA, CrostonTSB. How much to
// keep: CriticalRatio, PoissonQuantile, PoissonBackorders, NormalLoss.
//
// Which price is odd? ModifiedZ, FitRobust with Score, FitRobustOthers. Several shops together?
// DerSimonianLaird with its Knapp limits, FixedEffect.
//
// How many more until it is settled? TrialsToSettle.
//
// Every method names its source; each is tested against published examples and R values in
// testdata, and its coverage or error rate is measured by analysis/calibrate.
package stat
