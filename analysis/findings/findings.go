// Package findings turns table rows into the short list: graded, in plain words, strongest first.
//
// In: the numbers of a row and what they are about. Out: schemas.Finding values. It grades by one rule
// for all questions, writes numbers the way people say them, and gives every finding a stable id.
// It refuses to compute statistics: intervals and p-values come from analysis/stat by way of the row.
package findings

import (
	"fmt"
	"hash/fnv"
	"math"
	"strings"
	"time"
	"unicode"

	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

// A Frame is what all findings of one run share.
type Frame struct {
	Period  schemas.Period
	Lexicon *schemas.Lexicon // names of components; nil shows the ids
}

// NewFrame takes the period from the log.
func NewFrame(log *tally.Log, lexicon *schemas.Lexicon) Frame {
	return Frame{
		Period:  schemas.Period{From: log.From.Format(time.DateOnly), To: log.AsOf.Format(time.DateOnly)},
		Lexicon: lexicon,
	}
}

// Name is how a person reads a component id.
func (f Frame) Name(component string) string {
	if f.Lexicon == nil || component == "" {
		return strings.ReplaceAll(component, "-", " ")
	}
	return f.Lexicon.Name(component)
}

// Vague says whether the component only tells what the device does: there is no part to look at, order or price.
func (f Frame) Vague(component string) bool {
	return f.Lexicon != nil && f.Lexicon.Components[component].Vague
}

// Evidence is what a grade rests on. Effect and Low are on the scale of Threshold and larger is stronger:
// a ratio, an odds ratio, minutes saved, money.
type Evidence struct {
	P, Q      schemas.Float // unknown where the question is not a test; firmness then rests on Low alone
	Effect    float64       // the estimate
	Low       float64       // its lower 95% limit
	Threshold float64       // the practical threshold, above 0, stated in the finding's method
	Cases     int           // how many cases the effect was seen in
}

const (
	minCases = 3 // below which nothing is said at all
	minFirm  = 5 // below which nothing is firm, whatever the p
)

// Grade applies the rule of the design; "" is no finding.
//
//   - firm: q < 0.05, the interval clears the practical threshold, and 5 cases or more were seen
//   - leaning: p < 0.05 and the estimate, though not the interval or not after correction, clears it
//   - thin: the estimate is twice the threshold, seen in 3 cases or more, and chance is not excluded
func (e Evidence) Grade() string {
	switch {
	case e.Cases < minCases || !(e.Effect > e.Threshold):
		return ""
	case e.Cases >= minFirm && e.Low > e.Threshold && (!e.Q.OK && !e.P.OK || e.Q.OK && e.Q.V < 0.05):
		return schemas.Firm
	case e.P.OK && e.P.V < 0.05, !e.P.OK && e.Low > 0 && e.Low*2 > e.Threshold:
		return schemas.Leaning
	case e.Effect >= 2*e.Threshold:
		return schemas.Thin
	}
	return ""
}

// Strength puts findings of all kinds in one order: how many doublings the lower limit stands above the
// practical threshold; negative below it, never under -10.
func (e Evidence) Strength() float64 {
	if !(e.Low > 0) {
		return -10
	}
	return max(-10, min(100, math.Log2(e.Low/e.Threshold)))
}

// StrengthKey is the entry of Finding.Numbers that Rank sorts by within a grade; see Evidence.Strength.
const StrengthKey = "strength"

// New starts a finding: id, kind, grade, strength and period. The caller adds the rest.
// Only components a and b (ids) and free texts about the subject go into the id, never a number.
func (f Frame) New(kind string, e Evidence, subject ...string) schemas.Finding {
	numbers := map[string]schemas.Float{StrengthKey: schemas.Known(math.Round(e.Strength()*1000) / 1000)}
	for name, v := range map[string]schemas.Float{"p": e.P, "q": e.Q} {
		if v.OK {
			numbers[name] = v
		}
	}
	return schemas.Finding{ID: ID(kind, subject...), Kind: kind, Grade: e.Grade(), Numbers: numbers, Period: f.Period}
}

// ID is stable from run to run: the kind and a readable form of the subject, with four hexadecimal
// digits of the exact subject so that names which read alike stay apart.
func ID(kind string, subject ...string) string {
	h := fnv.New64a()
	var b strings.Builder
	b.WriteString(kind)
	for _, s := range subject {
		h.Write([]byte(s))
		h.Write([]byte{0})
		if s = slug(s); s != "" {
			b.WriteByte('-')
			b.WriteString(s)
		}
	}
	sum := h.Sum64()
	return fmt.Sprintf("%s-%04x", b.String(), uint16(sum^sum>>16^sum>>32^sum>>48))
}

const slugRunes = 40

func slug(s string) string {
	var b strings.Builder
	gap, n := false, 0
	for _, r := range strings.ToLower(s) {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			gap = true
			continue
		}
		if gap && b.Len() > 0 {
			b.WriteByte('-')
		}
		gap = false
		b.WriteRune(r)
		if n++; n == slugRunes {
			break
		}
	}
	return b.String()
}
