package assets

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// palettes reads the colours of report.css, light first.
func palettes(t *testing.T) [2]map[string]string {
	t.Helper()
	css := CSS()
	cut := strings.Index(css, "@media (prefers-color-scheme: dark)")
	end := strings.Index(css, "/* ---- text ---- */")
	if cut < 0 || end < cut {
		t.Fatal("report.css no longer has its two palettes before the text rules")
	}
	var both [2]map[string]string
	for i, block := range []string{css[:cut], css[cut:end]} {
		both[i] = map[string]string{}
		for _, m := range regexp.MustCompile(`--([a-z0-9-]+):\s*(#[0-9a-f]{6});`).FindAllStringSubmatch(block, -1) {
			both[i][m[1]] = m[2]
		}
	}
	if len(both[0]) != len(both[1]) || len(both[0]) < 24 {
		t.Fatalf("light has %d colours and dark %d: want the same names in both", len(both[0]), len(both[1]))
	}
	return both
}

type rgb [3]float64 // linear light, 0 to 1

func parse(t *testing.T, hex string) rgb {
	t.Helper()
	var c rgb
	for i := range c {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			t.Fatalf("colour %q: %v", hex, err)
		}
		// sRGB transfer function, IEC 61966-2-1, as WCAG 2.2 gives it.
		if s := float64(n) / 255; s <= 0.04045 {
			c[i] = s / 12.92
		} else {
			c[i] = math.Pow((s+0.055)/1.055, 2.4)
		}
	}
	return c
}

func (c rgb) luminance() float64 { return 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2] }

// contrast is the contrast ratio of WCAG 2.2, 1 to 21.
func contrast(a, b rgb) float64 {
	x, y := a.luminance(), b.luminance()
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// lab converts to CIE L*a*b*, D65 white.
func (c rgb) lab() [3]float64 {
	x := (0.4124564*c[0] + 0.3575761*c[1] + 0.1804375*c[2]) / 0.95047
	y := 0.2126729*c[0] + 0.7151522*c[1] + 0.0721750*c[2]
	z := (0.0193339*c[0] + 0.1191920*c[1] + 0.9503041*c[2]) / 1.08883
	f := func(v float64) float64 {
		if v > 216.0/24389 {
			return math.Cbrt(v)
		}
		return (24389.0/27*v + 16) / 116
	}
	return [3]float64{116*f(y) - 16, 500 * (f(x) - f(y)), 200 * (f(y) - f(z))}
}

// distance is the CIE 1976 colour difference.
func distance(a, b rgb) float64 {
	p, q := a.lab(), b.lab()
	return math.Hypot(math.Hypot(p[0]-q[0], p[1]-q[1]), p[2]-q[2])
}

// sights are ways of seeing: full colour, and the three dichromacies as simulated by
// Machado, Oliveira and Fernandes 2009, severity 1.0, on linear RGB. From memory; that
// white stays white is checked below.
var sights = map[string][3][3]float64{
	"full":   {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"protan": {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deutan": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritan": {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

func seen(m [3][3]float64, c rgb) rgb {
	var out rgb
	for i := range out {
		out[i] = min(max(m[i][0]*c[0]+m[i][1]*c[1]+m[i][2]*c[2], 0), 1)
	}
	return out
}

func TestColourArithmetic(t *testing.T) {
	white, black := parse(t, "#ffffff"), parse(t, "#000000")
	if got := contrast(white, black); math.Abs(got-21) > 1e-9 {
		t.Errorf("contrast of black on white is %v: WCAG says 21", got)
	}
	// #767676 is the palest grey that WCAG texts name as passing 4.5 on white (4.54).
	if got := contrast(white, parse(t, "#767676")); math.Abs(got-4.54) > 0.005 {
		t.Errorf("contrast of #767676 on white is %.3f: want 4.54", got)
	}
	if l := white.lab(); math.Abs(l[0]-100) > 1e-3 || math.Abs(l[1]) > 0.02 || math.Abs(l[2]) > 0.02 {
		t.Errorf("white is L*a*b* %v: want 100, 0, 0", l)
	}
	for name, m := range sights {
		for i, v := range seen(m, white) {
			if math.Abs(v-1) > 1e-5 {
				t.Errorf("%s turns white's channel %d into %v", name, i, v)
			}
		}
	}
}

func TestContrast(t *testing.T) {
	for i, p := range palettes(t) {
		mode := []string{"light", "dark"}[i]
		want := func(front, back string, least float64) {
			t.Helper()
			if p[front] == "" || p[back] == "" {
				t.Fatalf("%s: no colour --%s or --%s", mode, front, back)
			}
			if got := contrast(parse(t, p[front]), parse(t, p[back])); got < least {
				t.Errorf("%s: --%s %s on --%s %s has contrast %.2f: want at least %v", mode, front, p[front], back, p[back], got, least)
			}
		}
		for _, back := range []string{"ground", "card"} {
			want("ink", back, 7)
			want("quiet", back, 4.5) // also captions and axis text
			want("link", back, 4.5)
			want("mark", back, 3)
		}
		want("warn", "warn-ground", 4.5)
		want("ink", "warn-ground", 7)
		for s := range 5 {
			want(fmt.Sprintf("s%d", s), "card", 3) // WCAG 2.2, 1.4.11: graphics
		}
		for h := range 5 {
			want(fmt.Sprintf("hi%d", h), fmt.Sprintf("h%d", h), 4.5)
		}
	}
}

// TestSeriesStayApart holds the least difference between two series, for every way
// of seeing, at 20: ten times what is just noticeable side by side. Shapes and dashes
// come on top.
func TestSeriesStayApart(t *testing.T) {
	for i, p := range palettes(t) {
		for name, m := range sights {
			for a := range 5 {
				for b := range a {
					x, y := seen(m, parse(t, p[fmt.Sprintf("s%d", a)])), seen(m, parse(t, p[fmt.Sprintf("s%d", b)]))
					if d := distance(x, y); d < 20 {
						t.Errorf("%s, %s sight: series %d and %d differ by %.1f: want at least 20", []string{"light", "dark"}[i], name, a, b, d)
					}
				}
			}
			for h := range 4 {
				x, y := seen(m, parse(t, p[fmt.Sprintf("h%d", h)])), seen(m, parse(t, p[fmt.Sprintf("h%d", h+1)]))
				if d := distance(x, y); d < 7 {
					t.Errorf("%s, %s sight: cell shades %d and %d differ by %.1f: want at least 7", []string{"light", "dark"}[i], name, h, h+1, d)
				}
			}
		}
	}
}
