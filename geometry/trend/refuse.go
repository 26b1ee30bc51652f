package trend

import (
	"fmt"
	"math"
)

// ValueError tells that a number that was given is not taken.
type ValueError struct {
	Field string // such as "y[3]", "rows[0][1]", "measurements[2].diameter"
	Value float64
	Want  string // what would be taken
}

func (e *ValueError) Error() string {
	return fmt.Sprintf("%s is %.6g; it must be %s", e.Field, e.Value, e.Want)
}

// FewError tells that there are fewer observations than unknowns.
type FewError struct{ Have, Need int }

func (e *FewError) Error() string {
	return fmt.Sprintf("too few different observations: %d, for %d unknowns", e.Have, e.Need)
}

// DependentError tells that a column of the rows follows from the constant and the columns before it, or is 0 throughout: then nothing
// tells its coefficient.
type DependentError struct{ Column int }

func (e *DependentError) Error() string {
	return fmt.Sprintf("column %d of the rows follows from what stands before it: leave it out, or observe where it differs", e.Column)
}

// NoRateError tells that a log holds no rate of wear.
type NoRateError struct{ Measurements, Dressings int }

func (e *NoRateError) Error() string {
	return fmt.Sprintf("the log tells no rate of wear (measurements: %d, dressings between them: %d): it takes two measurements at different use "+
		"with no dressing between them", e.Measurements, e.Dressings)
}

// mostSize is the largest number taken: squares and quotients of such numbers are far from overflow.
const mostSize = 1e30

func isTaken(value float64) bool { return math.Abs(value) <= mostSize }

func notTaken(value float64, field string, indices ...any) error {
	return &ValueError{fmt.Sprintf(field, indices...), value, fmt.Sprintf("a number of up to %g in size", mostSize)}
}

func outside(value, least, most float64, field string, indices ...any) error {
	return &ValueError{fmt.Sprintf(field, indices...), value, fmt.Sprintf("from %.6g to %.6g", least, most)}
}

// mostProbability is the largest probability taken of an interval.
const mostProbability = 1 - 1e-6

func isProbability(p float64) error {
	if p > 0 && p <= mostProbability {
		return nil
	}
	return &ValueError{"probability", p, fmt.Sprintf("more than 0, and %g at most", mostProbability)}
}
