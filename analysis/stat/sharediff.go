package stat

// ShareDifference returns x1/n1 - x2/n2 with Newcombe's hybrid score limits, in [-1, 1].
//
// Newcombe (1998), Statistics in Medicine 17, 873-890, method 10.
func ShareDifference(x1, n1, x2, n2 int, conf float64) (Estimate, error) {
	return hybridDifference(x1, n1, x2, n2, conf, Wilson)
}

// ShareDifferenceCorrected is ShareDifference from continuity-corrected limits: wider.
//
// Newcombe (1998), as above, method 11.
func ShareDifferenceCorrected(x1, n1, x2, n2 int, conf float64) (Estimate, error) {
	return hybridDifference(x1, n1, x2, n2, conf, WilsonCorrected)
}

func hybridDifference(x1, n1, x2, n2 int, conf float64, limits func(x, n int, conf float64) (Interval, error)) (Estimate, error) {
	if err := checkTwo(x1, n1, x2, n2, conf); err != nil {
		return Estimate{}, err
	}
	first, err := limits(x1, n1, conf)
	if err != nil {
		return Estimate{}, err
	}
	second, err := limits(x2, n2, conf)
	if err != nil {
		return Estimate{}, err
	}
	return recoverDifference(
		Estimate{float64(x1) / float64(n1), first.Lo, first.Hi},
		Estimate{float64(x2) / float64(n2), second.Lo, second.Hi}), nil
}
