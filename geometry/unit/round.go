package unit

import "math"

// Tie says where a value goes that lies half-way between two steps.
type Tie int

// Directions of a tie. Up and down are on the number line, not away from zero:
// −0.25 in steps of 0.1 goes up to −0.2 and down to −0.3.
const (
	TieUp   Tie = iota // towards +∞
	TieDown            // towards −∞
	TieEven            // to the even multiple of the step
)

// noise bounds how far a count of steps, value/step, may be off relative to
// itself: half an ulp (2⁻⁵³) each for the value, the step and their quotient is
// 3·2⁻⁵³, and 16·2⁻⁵³ leaves room for the handful of products and sums by which
// a value is usually reached. At 250 mm that is less than a picometre. It does
// not cover a small difference of two large values.
const noise = 0x1p-49

// maxSteps is where noise reaches a quarter of a step and ties lose their
// meaning.
const maxSteps = 0x1p47

// roundTo returns the multiple of step nearest to v, or v where there is none.
func roundTo(v, step float64, tie Tie) float64 {
	steps := v / step
	if !(step > 0) || !isFinite(step) || !(math.Abs(steps) < maxSteps) {
		return v
	}
	n := nearest(steps, tie)
	if num, den, ok := decimalRatio(step); ok {
		return n * num / den // n·num is exact below 2⁵³, so this rounds once
	}
	return n * step
}

// nearest returns the integer nearest to steps, and on a tie, recognised within
// noise, the neighbour that tie asks for. It never returns −0.
func nearest(steps float64, tie Tie) float64 {
	lower := math.Floor(steps) + 0 // −0 + 0 is 0
	part := steps - lower
	switch {
	case math.Abs(part-0.5) <= noise*math.Abs(steps):
		return tie.choose(lower)
	case part < 0.5:
		return lower
	}
	return lower + 1
}

// floor returns the largest integer not above steps. A count within noise of an
// integer is that integer: 3.175 mm is 8/64 in, not a hair under it.
func floor(steps float64) float64 {
	slack := float64(noise * math.Abs(steps))
	return math.Floor(steps+slack) + 0
}

// choose picks lower or lower+1.
func (t Tie) choose(lower float64) float64 {
	if t == TieDown || t == TieEven && math.Mod(lower, 2) == 0 {
		return lower
	}
	return lower + 1
}

// decimalRatio writes step as num/den with den a power of ten up to 1e9, both
// exact, so that multiples of 0.1 come out as decimals (3·0.1 is not 0.3 in
// binary, 3·1/10 is). The step itself and its product with den are each off by
// at most 2⁻⁵³; twice their sum is allowed.
func decimalRatio(step float64) (num, den float64, ok bool) {
	for den = 1; den <= 1e9; den *= 10 {
		scaled := float64(step * den)
		num = math.Round(scaled)
		if math.Abs(scaled-num) <= 0x1p-51*num {
			return num, den, num > 0
		}
	}
	return 0, 0, false
}
