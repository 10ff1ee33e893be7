package stat

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Strata as (group 1 yes, group 1 no, group 2 yes, group 2 no).
func berkeley() []Table2 { // rows admitted and rejected, columns male and female, as R has them
	return []Table2{{512, 89, 313, 19}, {353, 17, 207, 8}, {120, 202, 205, 391}, {138, 131, 279, 244}, {53, 94, 138, 299}, {22, 24, 351, 317}}
}

func rabbits() []Table2 {
	var s []Table2
	for _, v := range [][4]int{{0, 0, 6, 5}, {3, 0, 3, 6}, {6, 2, 0, 4}, {5, 6, 1, 0}, {2, 5, 0, 0}} {
		s = append(s, Table2{v[0], v[1], v[2], v[3]})
	}
	return s
}

func china() []Table2 {
	return []Table2{{126, 100, 35, 61}, {908, 688, 497, 807}, {913, 747, 336, 598}, {235, 172, 58, 121},
		{402, 308, 121, 215}, {182, 156, 72, 98}, {60, 99, 11, 43}, {104, 89, 21, 36}}
}

func cream() []Table2 {
	return []Table2{{11, 25, 10, 27}, {16, 4, 22, 10}, {14, 5, 7, 12}, {2, 14, 1, 16}, {6, 11, 0, 12}, {1, 10, 0, 10}, {1, 4, 1, 8}, {4, 2, 6, 1}}
}

// Bickel, Hammel and O'Connell (1975), R's UCBAdmissions (confirmed, in part from memory);
// Agresti (2002), smoking in eight cities and the cream trial (from memory).
func TestMantelHaenszelPublished(t *testing.T) {
	for id, strata := range map[string][]Table2{"MH-1": berkeley(), "MH-3": china(), "MH-4": cream()} {
		r := value(MantelHaenszelOdds(strata, 0.95))(t)
		agrees(t, id, "MH odds ratio", r.Value.Value)
		agrees(t, id, "OR lower", r.Lo)
		agrees(t, id, "OR upper", r.Hi.Value)
		_, se, err := LogMantelHaenszelOdds(strata)
		if err != nil {
			t.Fatal(err)
		}
		agrees(t, id, "RBG se(log OR)", se)
		plain := value(CMH(strata, false))(t)
		agrees(t, id, "CMH chi2 (no cc)", plain.Statistic)
		agrees(t, id, "CMH p (no cc)", plain.P)
		corrected := value(CMH(strata, true))(t)
		agrees(t, id, "CMH chi2 (cc)", corrected.Statistic)
		agrees(t, id, "CMH p (cc)", corrected.P)
		h := value(BreslowDayTarone(strata))(t)
		agrees(t, id, "Breslow-Day chi2", h.BreslowDay)
		agrees(t, id, "Breslow-Day-Tarone chi2", h.Tarone)
		agrees(t, id, "BD df", float64(h.DF))
		agrees(t, id, "BD p", h.P)
		agrees(t, id, "Tarone p", h.TaroneP)
	}
}

// Agresti (1990), penicillin and rabbits; R help page of mantelhaen.test (confirmed).
func TestStratifiedExactPublished(t *testing.T) {
	agrees(t, "MH-2", "CMH p (cc)", value(CMH(rabbits(), true))(t).P)
	p := value(FisherStratified(rabbits()))(t)
	agrees(t, "MH-2", "exact p two-sided", p.TwoSided)
	agrees(t, "MH-2", "exact p greater", p.Greater)
}

// BCG trials: Colditz et al. (1994); test file of R's metafor (confirmed).
func TestMantelHaenszelBCG(t *testing.T) {
	odds := value(MantelHaenszelOdds(bcg(), 0.95))(t)
	agrees(t, "META-3", "MH log OR estimate", math.Log(odds.Value.Value))
	agrees(t, "META-3", "MH log OR lower", math.Log(odds.Lo))
	agrees(t, "META-3", "MH log OR upper", math.Log(odds.Hi.Value))
	risk := value(MantelHaenszelRisk(bcg(), 0.95))(t)
	agrees(t, "META-3", "MH log RR estimate", math.Log(risk.Value.Value))
	agrees(t, "META-3", "MH log RR lower", math.Log(risk.Lo))
	agrees(t, "META-3", "MH log RR upper", math.Log(risk.Hi.Value))
}

// vaccinated (cases, others), not vaccinated (cases, others)
func bcg() []Table2 {
	return []Table2{{4, 119, 11, 128}, {6, 300, 29, 274}, {3, 228, 11, 209}, {62, 13536, 248, 12619}, {33, 5036, 47, 5761},
		{180, 1361, 372, 1079}, {8, 2537, 10, 619}, {505, 87886, 499, 87892}, {29, 7470, 45, 7232}, {17, 1699, 65, 1600},
		{186, 50448, 141, 27197}, {5, 2493, 3, 2338}, {27, 16886, 29, 17825}}
}

func TestMantelHaenszelEdges(t *testing.T) {
	if _, err := MantelHaenszelOdds(nil, 0.95); !errors.Is(err, ErrNoData) {
		t.Errorf("no strata: %v", err)
	}
	if _, err := MantelHaenszelOdds([]Table2{{0, 5, 0, 5}, {1, 0, 2, 0}}, 0.95); !errors.Is(err, ErrNoInformation) {
		t.Errorf("strata without information: %v", err)
	}
	// Never both, sparse: the ratio is 0 and the upper limit comes from the exact distribution.
	strata := []Table2{{0, 4, 6, 20}, {0, 3, 5, 10}}
	r := value(MantelHaenszelOdds(strata, 0.95))(t)
	if r.Value != bounded(0) || r.Lo != 0 || !r.Hi.Bounded || r.Hi.Value < 0.5 {
		t.Errorf("no case in group 1: %+v", r)
	}
	if _, err := BreslowDayTarone(strata); !errors.Is(err, ErrNoInformation) {
		t.Errorf("homogeneity of a zero ratio: %v", err)
	}
}

func TestStratifiedRefusesWhatIsTooLarge(t *testing.T) {
	half := Table2{2_500_000, 2_500_100, 2_500_200, 2_499_900}
	if _, err := FisherStratified([]Table2{half, half, half}); !errors.Is(err, ErrTooLarge) {
		t.Errorf("thirty million: %v", err)
	}
	if _, err := CMH([]Table2{half, half, half}, true); err != nil {
		t.Errorf("its asymptotic form: %v", err)
	}
}

func TestStratifiedAgainstSingle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tab := drawTable(t, 60)
		if tab.total() == 0 || tab.fixed() {
			return
		}
		one, err := Fisher(tab)
		if err != nil {
			t.Fatal(err)
		}
		same, err := FisherStratified([]Table2{tab, {0, 3, 0, 4}})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range [][2]float64{{one.TwoSided, same.TwoSided}, {one.MidP, same.MidP}, {one.Less, same.Less}, {one.Greater, same.Greater}} {
			if math.Abs(p[0]-p[1]) > 1e-8*p[0] {
				t.Fatalf("%v: alone %+v, as a stratum %+v", tab, one, same)
			}
		}
		a, err := OddsRatioMidP(tab, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		b, err := OddsRatioStratified([]Table2{tab}, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		if a.Hi.Bounded != b.Hi.Bounded || math.Abs(a.Hi.Value-b.Hi.Value) > 1e-7*a.Hi.Value || math.Abs(a.Lo-b.Lo) > 1e-7*a.Lo {
			t.Fatalf("%v: alone %+v, as a stratum %+v", tab, a, b)
		}
	})
}

// Pooling the same odds ratio over strata: the exact and the Mantel-Haenszel answers meet.
func TestStratifiedMeetsMantelHaenszel(t *testing.T) {
	mh := value(MantelHaenszelOdds(china(), 0.95))(t)
	exact := value(OddsRatioStratified(china(), 0.95))(t)
	near(t, "odds ratio", exact.Value.Value, mh.Value.Value, 5e-3)
	near(t, "lower", exact.Lo, mh.Lo, 5e-3)
	near(t, "upper", exact.Hi.Value, mh.Hi.Value, 5e-3)
}

func TestMantelHaenszelProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "strata")
		strata, flip := make([]Table2, n), make([]Table2, n)
		for i := range strata {
			s := drawTable(t, 40)
			strata[i] = s
			flip[i] = Table2{s.C, s.D, s.A, s.B}
		}
		a, errA := MantelHaenszelOdds(strata, 0.95)
		b, errB := MantelHaenszelOdds(flip, 0.95)
		if (errA == nil) != (errB == nil) {
			t.Fatalf("rows swapped: %v against %v", errA, errB)
		}
		if errA != nil {
			return
		}
		if a.Value.Bounded && a.Value.Value > 0 && math.Abs(a.Value.Value*b.Value.Value-1) > 1e-9 {
			t.Fatalf("rows swapped: %+v against %+v", a, b)
		}
		if a.Value.Bounded && (a.Lo > a.Value.Value || a.Hi.Bounded && a.Hi.Value < a.Value.Value) {
			t.Fatalf("estimate outside its limits: %+v", a)
		}
	})
}
