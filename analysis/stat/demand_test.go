package stat

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// R's dnbinom and pnbinom: R-only.
func TestNegativeBinomialAgainstR(t *testing.T) {
	d := NegativeBinomial{Size: 2.5, Mean: 7}
	agrees(t, "NB-1", "size 2.5 mean 7 P(X=4)", value(d.PMF(4))(t))
	agrees(t, "NB-1", "size 2.5 mean 7 P(X<=12)", value(d.CDF(12))(t))
	agrees(t, "NB-1", "size 2.5 mean 7 P(X>=40)", value(d.UpperTail(40))(t))
	agrees(t, "NB-1", "size 2.5 mean 7 E(X-10)+", value(d.Backorders(10))(t))
	agrees(t, "NB-1", "size 2.5 mean 7 E(X-3)+", value(d.Backorders(3))(t))
	agrees(t, "NB-1", "size 1e6 mean 1e6 P(X<=1001000)", value(NegativeBinomial{Size: 1e6, Mean: 1e6}.CDF(1_001_000))(t))
}

func TestNegativeBinomialProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := NegativeBinomial{Size: rapid.Float64Range(0.05, 200).Draw(t, "size"), Mean: rapid.Float64Range(0, 80).Draw(t, "mean")}
		p := rapid.Float64Range(0.01, 0.999).Draw(t, "p")
		q, err := d.Quantile(p)
		if err != nil {
			t.Fatal(err)
		}
		sum, short := 0.0, 0.0
		for k := 0; k <= q; k++ {
			m, err := d.PMF(k)
			if err != nil {
				t.Fatal(err)
			}
			if k == q && q > 0 && sum >= p {
				t.Fatalf("quantile %v of %+v is %d, but %d has %v", p, d, q, q-1, sum)
			}
			sum += m
			short += float64(q-k) * m
		}
		if sum < p-1e-10 {
			t.Fatalf("quantile %v of %+v is %d, which has %v", p, d, q, sum)
		}
		cdf, err := d.CDF(q)
		if err != nil || math.Abs(cdf-sum) > 1e-9 {
			t.Fatalf("cdf(%d) of %+v is %v, the sum of pmf %v (%v)", q, d, cdf, sum, err)
		}
		// E(X-q)+ = mean - q + E(q-X)+
		b, err := d.Backorders(q)
		if want := d.Mean - float64(q) + short; err != nil || math.Abs(b-want) > 1e-8*(1+float64(q)) {
			t.Fatalf("backorders of %+v over %d: %v, want %v (%v)", d, q, b, want, err)
		}
	})
}

// With a certain rate the negative binomial is Poisson.
func TestNegativeBinomialMeetsPoisson(t *testing.T) {
	d := NegativeBinomial{Size: 1e9, Mean: 12}
	for _, k := range []int{0, 5, 12, 20, 40} {
		near(t, fmt.Sprintf("P(X>=%d)", k), value(d.UpperTail(k))(t), value(PoissonUpperTail(k, 12))(t), 1e-6)
	}
	near(t, "backorders", value(d.Backorders(15))(t), value(PoissonBackorders(15, 12))(t), 1e-6)
}

// Hopp and Spearman, Factory Physics, 2.4.2 (confirmed).
func TestBaseStockPublished(t *testing.T) {
	for k := 4; k <= 17; k++ {
		agrees(t, "STOCK-1", fmt.Sprintf("Poisson(10) g(%d)", k), math.Exp(logPoisson(float64(k), 10)))
		agrees(t, "STOCK-1", fmt.Sprintf("Poisson(10) G(%d)", k), 1-value(PoissonUpperTail(k+1, 10))(t))
	}
	ratio := value(CriticalRatio(25, 15))(t)
	agrees(t, "STOCK-1", "critical ratio 25/(25+15)", ratio)
	agrees(t, "STOCK-1", "qpois(critical ratio; 10)", float64(value(PoissonQuantile(ratio, 10))(t)))
	agrees(t, "STOCK-1", "least r with G>=0.90", float64(value(PoissonQuantile(0.90, 10))(t)))
	short := value(PoissonBackorders(15, 10))(t)
	agrees(t, "STOCK-1", "backorders E(X-15)+", short)
	agrees(t, "STOCK-1", "on-hand for base stock 15", 15-10+short)
}

// Nahmias, Production and Operations Analysis, ch. 5 and table A-4 (from memory).
func TestNewsvendorPublished(t *testing.T) {
	ratio := value(CriticalRatio(0.50, 0.15))(t)
	agrees(t, "STOCK-2", "critical ratio 0.50/0.65", ratio)
	agrees(t, "STOCK-2", "z", normalQuantile(ratio))
	agrees(t, "STOCK-2", "order quantity normal(11.73; 4.74)", 11.73+4.74*normalQuantile(ratio))
	agrees(t, "STOCK-3", "Type 1 98%: z", normalQuantile(0.98))
	z := value(findRoot(func(z float64) float64 { l, _ := NormalLoss(z); return 0.08 - l }, 0, 3))(t)
	agrees(t, "STOCK-3", "Type 2 z", z)
	agrees(t, "STOCK-3", "L(z)", value(NormalLoss(z))(t))
	for _, z := range []float64{0, 0.5, 1, 1.5, 2} {
		agrees(t, "STOCK-4", fmt.Sprintf("unit normal loss L(%g)", z), value(NormalLoss(z))(t))
	}
	for _, c := range [][2]float64{{0, 3}, {1, 0}, {-1, 2}, {math.NaN(), 1}} {
		if _, err := CriticalRatio(c[0], c[1]); !errors.Is(err, ErrOutOfRange) {
			t.Errorf("costs %v: %v", c, err)
		}
	}
}

// Sherbrooke, Optimal Inventory Modeling of Systems, ch. 2: definition, R-only.
func TestPoissonBackordersAgainstR(t *testing.T) {
	for mean, most := range map[float64]int{1: 3, 4: 6} {
		for s := 0; s <= most; s++ {
			agrees(t, "STOCK-5", fmt.Sprintf("EBO(%d) mean %g", s, mean), value(PoissonBackorders(s, mean))(t))
		}
	}
	// Far above the mean nothing cancels: by hand P(X=21)+2P(X=22)+..., mean 1.
	want := math.Exp(-1-lnFactorial(21)) * (1 + 2.0/22*(1+1.5/23*(1+4.0/3/24)))
	near(t, "EBO(20) mean 1", value(PoissonBackorders(20, 1))(t), want, 1e-4)
}

func lnFactorial(n int) float64 {
	l, _ := math.Lgamma(float64(n) + 1)
	return l
}

func TestPoissonQuantileEdges(t *testing.T) {
	if k := value(PoissonQuantile(0.99, 0))(t); k != 0 {
		t.Errorf("mean 0: %d", k)
	}
	if _, err := PoissonQuantile(1, 3); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("p 1: %v", err)
	}
	// Ten million: mean plus 1.645 standard deviations, a few off for the skew.
	k := value(PoissonQuantile(0.95, 1e7))(t)
	if want := 1e7 + 1.6448536*math.Sqrt(1e7); math.Abs(float64(k)-want) > 3 {
		t.Errorf("95%% of mean 1e7: %d, want about %.0f", k, want)
	}
}

// Croston (1972), Syntetos and Boylan (2005), Teunter, Syntetos and Babai (2011): recursions
// worked by hand and in R (R-only, no printed example with a fixed smoothing constant).
func TestIntermittentAgainstR(t *testing.T) {
	demand := []float64{0, 0, 10, 0, 0, 20, 0, 0, 0, 15}
	c := value(Croston(demand, 0.1))(t)
	agrees(t, "CROSTON-1", "size z", c.Size)
	agrees(t, "CROSTON-1", "interval p", c.Interval)
	agrees(t, "CROSTON-1", "Croston z/p", c.Rate)
	agrees(t, "CROSTON-1", "SBA (1-a/2)z/p", value(CrostonSBA(demand, 0.1))(t).Rate)
	tsb := value(TSBFrom(demand, 0.1, 0.1, 10, 1.0/3))(t)
	agrees(t, "CROSTON-1", "TSB a=b=0.1 start z=10 p=1/3 size", tsb.Size)
	agrees(t, "CROSTON-1", "TSB a=b=0.1 start z=10 p=1/3 probability", 1/tsb.Interval)
	agrees(t, "CROSTON-1", "TSB a=b=0.1 start z=10 p=1/3 forecast", tsb.Rate)
}

func TestIntermittentBehaviour(t *testing.T) {
	for _, f := range []func([]float64, float64) (Intermittent, error){
		Croston, CrostonSBA, func(d []float64, a float64) (Intermittent, error) { return CrostonTSB(d, a, a) },
	} {
		if _, err := f([]float64{0, 0, 0}, 0.1); !errors.Is(err, ErrNoInformation) {
			t.Errorf("no demand: %v", err)
		}
		if _, err := f(nil, 0.1); !errors.Is(err, ErrNoData) {
			t.Errorf("no period: %v", err)
		}
		if _, err := f([]float64{1, -2}, 0.1); !errors.Is(err, ErrOutOfRange) {
			t.Errorf("negative demand: %v", err)
		}
	}
	// Dying demand: only TSB falls while nothing is asked for.
	dying := []float64{4, 4, 4, 4, 0, 0, 0, 0, 0, 0, 0, 0}
	near(t, "Croston", value(Croston(dying, 0.1))(t).Rate, 4, 1e-12)
	near(t, "TSB", value(CrostonTSB(dying, 0.1, 0.1))(t).Rate, 4*math.Pow(0.9, 8), 1e-12)
	near(t, "moving average", value(MovingAverage(dying, 10))(t), 0.8, 1e-12)
	near(t, "moving average, short", value(MovingAverage([]float64{1, 2}, 10))(t), 1.5, 1e-12)
	if _, err := MovingAverage(dying, 0); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("window 0: %v", err)
	}
}
