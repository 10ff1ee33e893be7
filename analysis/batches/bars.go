package batches

import "math"

// Most sheets of most replicates hold nothing like the largest score so far. A bar tells so from the counts alone: the
// fewest cases, per window, that can score above a height while the course expects at least leeway of what it was fitted to.
type bar [MaxWindow]int32

// heights that sheets have bars for. Chance alone soon takes the largest score of a replicate above the last.
var heights = [...]float64{3, 7}

const (
	leeway    = 0.75
	leastTilt = -0.28 // of the logarithm of what is expected; keeps more than leeway
)

// fence is a sheet's bars and where they hold.
type fence struct {
	bars   [len(heights)]bar
	tilt   vector  // the middle of the sheet's
	radius float64 // of all around it
}

// newFence works out the bars from the bound that strongest has on scores. It falls with what is expected, so that what is
// below the bar at the least expected is so at more.
func newFence(k *sheet) fence {
	var f fence
	for h := range k.tilt {
		f.tilt.add(1.0/MaxWindow, k.tilt[h])
	}
	for h, t := range k.tilt {
		t.add(-1, f.tilt)
		f.radius = max(f.radius, math.Sqrt(t.dot(t)))
		e := leeway * k.expected[h]
		for i, height := range heights {
			d := math.Sqrt(height * (k.trials - k.cases) * e * (k.cases - e) / (k.trials * k.cases))
			f.bars[i][h] = max(minCases, int32(math.Ceil(e+d*(1-1e-9))))
		}
	}
	return f
}

// clears tells whether a score above a height is conceivable when the last h+1 weeks hold so many cases each.
func (f *fence) clears(seen *[MaxWindow]int32, above float64) bool {
	i := len(heights) - 1
	for i >= 0 && heights[i] > above {
		i--
	}
	if i < 0 {
		return true
	}
	var cases int32
	for h, n := range seen {
		if cases += n; cases >= f.bars[i][h] {
			return true
		}
	}
	return false
}

// holds tells whether the bars do when the course has moved.
func (f *fence) holds(moved vector) bool {
	return moved.dot(f.tilt)-math.Sqrt(moved.dot(moved))*f.radius > leastTilt
}
