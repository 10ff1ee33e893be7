package stat

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

type shareMethod struct {
	name   string
	limits func(x, n int, conf float64) (Interval, error)
}

func shareMethods() []shareMethod {
	return []shareMethod{
		{"Wilson", Wilson}, {"WilsonCorrected", WilsonCorrected}, {"ClopperPearson", ClopperPearson},
		{"Jeffreys", Jeffreys}, {"MidPShare", MidPShare},
	}
}

// Newcombe (1998), Stat. Med. 17, 857-872, table I: methods 3 (confirmed), 4, 5 and 6
// (from memory); Jeffreys on the same inputs is R-only.
func TestShareLimitsNewcombe(t *testing.T) {
	for id, limits := range map[string]func(x, n int, conf float64) (Interval, error){
		"WILSON-1": Wilson, "WILSON-2": WilsonCorrected, "CP-1": ClopperPearson, "MIDP-1": MidPShare, "JEFF-2": Jeffreys,
	} {
		for _, c := range [][2]int{{81, 263}, {15, 148}, {0, 20}, {1, 29}} {
			iv := value(limits(c[0], c[1], 0.95))(t)
			agrees(t, id, fmt.Sprintf("%d/%d lower", c[0], c[1]), iv.Lo)
			agrees(t, id, fmt.Sprintf("%d/%d upper", c[0], c[1]), iv.Hi)
		}
	}
}

// NIST/SEMATECH e-Handbook 7.2.4.1 (confirmed): one-sided 95% is two-sided 90%.
func TestShareLimitsNIST(t *testing.T) {
	agrees(t, "WILSON-3", "26/200 one-sided 95% lower (exact z)", value(Wilson(26, 200, 0.90))(t).Lo)
	agrees(t, "WILSON-3", "26/200 one-sided 95% lower (z=1.645)", value(Wilson(26, 200, math.Erf(1.645/math.Sqrt2)))(t).Lo)
	iv := value(ClopperPearson(4, 20, 0.90))(t)
	agrees(t, "CP-2", "4/20 90% lower", iv.Lo)
	agrees(t, "CP-2", "4/20 90% upper", iv.Hi)
}

// Agresti (2002), Categorical Data Analysis, 1.4.3 (from memory).
func TestShareLimitsNoEvent(t *testing.T) {
	iv := value(Wilson(0, 25, 0.95))(t)
	agrees(t, "WILSON-4", "0/25 score lower", iv.Lo)
	agrees(t, "WILSON-4", "0/25 score upper", iv.Hi)
	agrees(t, "WILSON-4", "0/25 Clopper-Pearson upper", value(ClopperPearson(0, 25, 0.95))(t).Hi)
}

// Brown, Cai and DasGupta (2001), Stat. Science 16, table 5 (from memory).
func TestJeffreysTable(t *testing.T) {
	for x := 0; x <= 4; x++ {
		iv := value(Jeffreys(x, 7, 0.95))(t)
		agrees(t, "JEFF-1", fmt.Sprintf("n=7 x=%d lower", x), iv.Lo)
		agrees(t, "JEFF-1", fmt.Sprintf("n=7 x=%d upper", x), iv.Hi)
	}
}

func TestShareLimitsEdges(t *testing.T) {
	for _, m := range shareMethods() {
		if iv := value(m.limits(0, 1, 0.95))(t); iv.Lo != 0 || !(iv.Hi > 0.5 && iv.Hi <= 1) {
			t.Errorf("%s 0 of 1: %v", m.name, iv)
		}
		if iv := value(m.limits(7, 7, 0.95))(t); iv.Hi != 1 || !(iv.Lo > 0.4 && iv.Lo < 1) {
			t.Errorf("%s 7 of 7: %v", m.name, iv)
		}
		for _, bad := range []struct {
			x, n int
			conf float64
			want error
		}{
			{0, 0, 0.95, ErrNoData}, {-1, 5, 0.95, ErrOutOfRange}, {6, 5, 0.95, ErrOutOfRange},
			{1, 5, 1, ErrOutOfRange}, {1, 5, math.NaN(), ErrOutOfRange},
		} {
			if _, err := m.limits(bad.x, bad.n, bad.conf); !errors.Is(err, bad.want) {
				t.Errorf("%s(%d, %d, %v): %v, want %v", m.name, bad.x, bad.n, bad.conf, err, bad.want)
			}
		}
	}
}

func TestShareLimitsProperties(t *testing.T) {
	for _, m := range shareMethods() {
		t.Run(m.name, rapid.MakeCheck(func(t *rapid.T) {
			n := rapid.IntRange(1, 100_000).Draw(t, "n")
			x := rapid.IntRange(0, n).Draw(t, "x")
			conf := rapid.Float64Range(0.8, 0.999).Draw(t, "conf")
			iv, err := m.limits(x, n, conf)
			if err != nil {
				t.Fatal(err)
			}
			p := float64(x) / float64(n)
			if !(0 <= iv.Lo && iv.Lo <= p && p <= iv.Hi && iv.Hi <= 1) {
				t.Fatalf("%v does not hold %v", iv, p)
			}
			mirror, err := m.limits(n-x, n, conf)
			if err != nil || math.Abs(mirror.Lo-(1-iv.Hi)) > 1e-9 || math.Abs(mirror.Hi-(1-iv.Lo)) > 1e-9 {
				t.Fatalf("complement of %v is %v (%v)", iv, mirror, err)
			}
			wider, err := m.limits(x, n, conf+(1-conf)/2)
			if err != nil || wider.Lo > iv.Lo+1e-12 || wider.Hi < iv.Hi-1e-12 {
				t.Fatalf("more confidence narrows %v to %v (%v)", iv, wider, err)
			}
			if x < n {
				next, err := m.limits(x+1, n, conf)
				if err != nil || next.Lo < iv.Lo-1e-12 || next.Hi < iv.Hi-1e-12 {
					t.Fatalf("one more case moves %v down to %v (%v)", iv, next, err)
				}
			}
		}))
	}
}

// Limits at ten million trials: R-only.
func TestClopperPearsonLargeN(t *testing.T) {
	for _, x := range []int{3_000_000, 7} {
		iv := value(ClopperPearson(x, 10_000_000, 0.95))(t)
		agrees(t, "CP-3", fmt.Sprintf("%d/10000000 lower", x), iv.Lo)
		agrees(t, "CP-3", fmt.Sprintf("%d/10000000 upper", x), iv.Hi)
	}
}

// At ten million trials every method must agree with the normal limits.
func TestShareLimitsLargeN(t *testing.T) {
	const x, n = 3_000_000, 10_000_000
	half := 1.959963984540054 * math.Sqrt(0.3*0.7/n)
	for _, m := range shareMethods() {
		iv := value(m.limits(x, n, 0.95))(t)
		if math.Abs(iv.Lo-(0.3-half)) > 3e-7 || math.Abs(iv.Hi-(0.3+half)) > 3e-7 {
			t.Errorf("%s: %v, want 0.3 +- %.9f", m.name, iv, half)
		}
	}
}
