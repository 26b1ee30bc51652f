package geometry

import (
	"fmt"
	"math"
	"slices"
)

// Propagation of distributions by a Monte Carlo method: JCGM 101:2008 (Supplement 1 to the GUM). It is for where a linear combination
// of contributions ([Combined]) is not enough, and for finding out whether it is.

// Distribution is what is known of an input.
type Distribution struct {
	Mean     float64
	Standard float64 // standard uncertainty
	Shape    Shape
}

// Shape is the form of a distribution.
type Shape int

// The shapes.
const (
	Normal      Shape = iota
	Rectangular       // half-width √3 standard uncertainties; JCGM 101:2008, 6.4.2
)

// Within is what is known of an input that lies somewhere within a half-width of a value, and anywhere there alike.
func Within(value, halfWidth float64) Distribution {
	return Distribution{Mean: value, Standard: halfWidth / math.Sqrt(3), Shape: Rectangular}
}

// At is the value below which a part u of the distribution lies, 0 ≤ u < 1: a uniform number becomes a draw. A normal distribution ends
// where the smallest step of u above 0 puts it, 8.2 standard uncertainties out.
func (d Distribution) At(u float64) float64 {
	if d.Shape == Rectangular {
		return d.Mean + d.Standard*math.Sqrt(3)*(2*u-1)
	}
	return d.Mean + d.Standard*math.Sqrt2*math.Erfinv(2*max(u, 0x1p-53)-1)
}

// The numbers of trials that [Propagate] makes. For intervals at 95 % the standard advises 200 000 (JCGM 101:2008, 7.2).
const (
	LeastTrials = 100
	MostTrials  = 10_000_000
)

// Propagate draws the inputs, asks the model of every draw, and keeps what it answered. The model gets the draws in the order of the
// inputs, in a slice that is used again, and says false where it has no answer. Uniform gives the next number of [0, 1); the same
// numbers give the same result. A count outside [LeastTrials] to [MostTrials], or a model with no answer in more than half of them, is
// a [*TrialError].
func Propagate(inputs []Distribution, model func(draw []float64) (float64, bool), uniform func() float64, trials int) (Spread, error) {
	if trials < LeastTrials || trials > MostTrials {
		return Spread{}, &TrialError{Trials: trials}
	}
	draw := make([]float64, len(inputs))
	answers := make([]float64, 0, trials)
	for range trials {
		for i, d := range inputs {
			draw[i] = d.At(uniform())
		}
		if y, ok := model(draw); ok && !math.IsNaN(y) && !math.IsInf(y, 0) {
			answers = append(answers, y)
		}
	}
	if 2*len(answers) < trials {
		return Spread{}, &TrialError{Trials: trials, Unanswered: trials - len(answers)}
	}
	slices.Sort(answers)
	return newSpread(answers, trials), nil
}

// Spread is a model's answers.
type Spread struct {
	Mean       float64 // the estimate, JCGM 101:2008, 7.6
	Standard   float64 // its standard uncertainty, the same place
	Unanswered float64 // the part of the trials in which the model had no answer; the rest describes the others
	sorted     []float64
}

// newSpread runs the moments in one pass without squares of large means.
func newSpread(sorted []float64, trials int) Spread {
	var mean, squares float64
	for i, y := range sorted {
		off := y - mean
		mean += off / float64(i+1)
		squares += off * (y - mean)
	}
	return Spread{
		Mean:       mean,
		Standard:   math.Sqrt(squares / float64(len(sorted)-1)),
		Unanswered: 1 - float64(len(sorted))/float64(trials),
		sorted:     sorted,
	}
}

// Interval is a range of values.
type Interval struct{ Low, High float64 }

// Symmetric is the interval that holds a part of the answers with as many below as above: JCGM 101:2008, 7.7. The part is taken into
// [0, 1].
func (s Spread) Symmetric(part float64) Interval {
	if len(s.sorted) == 0 {
		return Interval{}
	}
	steps := s.covering(part)
	low := (len(s.sorted) - steps - 1) / 2
	return Interval{s.sorted[low], s.sorted[low+steps]}
}

// Shortest is the shortest interval that holds a part of the answers: JCGM 101:2008, 5.3.4 and 7.7. Where the distribution is flat many
// are as short, and the draws decide.
func (s Spread) Shortest(part float64) Interval {
	best, steps := s.Symmetric(part), s.covering(part)
	for low := range len(s.sorted) - steps {
		if i := (Interval{s.sorted[low], s.sorted[low+steps]}); i.High-i.Low < best.High-best.Low {
			best = i
		}
	}
	return best
}

// covering is how many steps from one answer to the next an interval for a part of them spans.
func (s Spread) covering(part float64) int {
	all := len(s.sorted)
	return max(0, min(int(min(max(0, part), 1)*float64(all)+0.5), all-1))
}

// Agrees tells whether an interval found otherwise, by a linear combination as a rule, has both ends within a tolerance of this
// spread's symmetric one for the same part: the validation of JCGM 101:2008, 8.1.
func (s Spread) Agrees(linear Interval, part, tolerance float64) bool {
	drawn := s.Symmetric(part)
	return math.Abs(linear.Low-drawn.Low) <= tolerance && math.Abs(linear.High-drawn.High) <= tolerance
}

// NumericalTolerance is half a unit of the last of the significant digits with which a standard uncertainty is given: JCGM 101:2008,
// 7.9.2. It is the tolerance for [Spread.Agrees] where nobody needs another.
func NumericalTolerance(standard float64, digits int) float64 {
	if !(standard > 0) {
		return 0
	}
	exponent := int(math.Floor(math.Log10(standard))) - digits + 1
	if math.Round(standard/math.Pow10(exponent)) >= math.Pow10(digits) { // 9.96 to two digits is 10: 1.0 × 10
		exponent++
	}
	return math.Pow10(exponent) / 2
}

// TrialError tells that a propagation was not made or says nothing.
type TrialError struct{ Trials, Unanswered int }

func (e *TrialError) Error() string {
	if e.Unanswered > 0 {
		return fmt.Sprintf("%d of %d trials have no answer: the inputs are known too badly for the model", e.Unanswered, e.Trials)
	}
	return fmt.Sprintf("%d trials; between %d and %d can be made", e.Trials, LeastTrials, MostTrials)
}
