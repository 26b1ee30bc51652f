package trend

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"arris.example/geometry/unit"
)

// Measurement is a line of a wheel's wear log.
type Measurement struct {
	Use       float64     // how long the wheel had been used: days, hours or sharpenings, one and the same in all the log
	Diameter  unit.Length // measured
	HalfWidth unit.Length // how far off it may be, at 95 %; 0: not known
	Dressed   bool        // whether the wheel was dressed since the measurement before
}

// What a log may hold.
const (
	MostMeasurements = 1000
	MostUse          = 1e12
	LeastDiameter    = 1 * unit.Millimetre
	MostDiameter     = 10_000 * unit.Millimetre
	LeastHalfWidth   = 1e-6 * unit.Millimetre // of one that is known
)

// confidence is the probability of every interval of wear, as of every doubt about a measurement.
const confidence = 0.95

// Wear is how a wheel wears: its diameter falls by one rate throughout, and by a step at each dressing.
//
// Measurements weigh by one over the square of their half-widths; one without weighs as the least sure of the others. A range at 95 % is
// Student's t times the scatter about the line where no half-width is known. Where they are known it is what they allow, and as many times
// wider as the measurements scatter more than that: the ratio of Birge (Physical Review 40, 1932, 207), never taken below 1. The range of a
// forecast is that of a new measurement, made as well as the log's in root mean square; the wheel itself lies within it.
type Wear struct {
	Rate          float64 // by how much the diameter falls per unit of use, mm
	RateHalfWidth float64 // at 95 %; infinite where nothing tells
	RobustRate    float64 // the same by [TheilSen], which one wrong measurement does not move
	Steps         []Step  // of the dressings, in the order of the log
	Residuals     []unit.Length
	Scatter       unit.Length // standard deviation of a measurement about the line; 0 with none left
	Left          int         // measurements beyond the unknowns
	Cautions      []Caution
	Outlier       int // the measurement that does not fit, with [CautionOutlier]; otherwise −1

	band Band
	last float64 // the last measurement's use
}

// Step is what a dressing took off the diameter.
type Step struct {
	Before    int         // the measurement that followed it
	Taken     unit.Length // of the diameter
	HalfWidth unit.Length // at 95 %; infinite where nothing tells
}

// Caution is what should be said beside a wheel's rate of wear.
type Caution int

// The cautions.
const (
	CautionUntested Caution = iota // none left, and no half-width known: nothing tells how far off the rate is
	CautionBarely                  // the rate cannot be told from 0 at 95 %: a superabrasive wheel, or too short a log
	CautionGrows                   // the diameter grows, at 95 %: a wrong measurement, or another wheel
	CautionScatter                 // the measurements scatter more than their half-widths explain, at 95 % (chi-square)
	CautionOutlier                 // one measurement does not fit: it is wrong, or a dressing was not written down
	CautionRobust                  // the rate lies outside Sen's 95 % interval of the robust one: a few measurements pull it
)

// FitWear fits a log in the order of use. Refused are logs that hold what cannot be, with a [*ValueError], and those that hold no rate, with
// a [*NoRateError]: a rate takes two measurements at different use with no dressing between them. What has no HalfWidth in such a log of
// two has no range.
func FitWear(log []Measurement) (Wear, error) {
	if err := checkLog(log); err != nil {
		return Wear{}, err
	}
	doubts, typical := halfWidths(log)
	model, err := Fit(wearData(log, doubts, typical))
	if err != nil {
		return Wear{}, noRate(err, log)
	}
	runs := runsOf(log)
	robust, err := TheilSen(confidence, runs...)
	if err != nil {
		return Wear{}, noRate(err, log)
	}
	reach := typical
	if typical == 0 {
		reach = model.reach(confidence)
	} else if model.Left > 0 {
		reach = max(typical, 2*model.ResidualSD)
	}
	w := Wear{RobustRate: -robust.Slope, Scatter: unit.Length(model.ResidualSD), Left: model.Left, Outlier: -1, last: log[len(log)-1].Use}
	w.read(model, log, reach)
	w.caution(model, doubts, typical)
	if w.differs(robust, log) {
		w.Cautions = append(w.Cautions, CautionRobust)
	}
	return w, nil
}

func checkLog(log []Measurement) error {
	if len(log) > MostMeasurements {
		return &ValueError{"length of measurements", float64(len(log)), fmt.Sprintf("%d at most: leave out the oldest", MostMeasurements)}
	}
	since := -MostUse
	for i, m := range log {
		if !(m.Use >= since && m.Use <= MostUse) {
			return outside(m.Use, since, MostUse, "measurements[%d].use", i)
		}
		if !(m.Diameter >= LeastDiameter && m.Diameter <= MostDiameter) {
			return outside(float64(m.Diameter), float64(LeastDiameter), float64(MostDiameter), "measurements[%d].diameter", i)
		}
		if h := m.HalfWidth; h != 0 && !(h >= LeastHalfWidth && h <= m.Diameter) {
			return outside(float64(h), float64(LeastHalfWidth), float64(m.Diameter), "measurements[%d].half_width", i)
		}
		since = m.Use
	}
	return nil
}

// noRate is what a log lacks when no line fits it.
func noRate(err error, log []Measurement) error {
	var few *FewError
	var dependent *DependentError
	if errors.As(err, &few) || errors.As(err, &dependent) {
		return &NoRateError{Measurements: len(log), Dressings: max(0, len(runsOf(log))-1)}
	}
	return err
}

// runsOf are the measurements between dressings.
func runsOf(log []Measurement) [][]Point {
	var runs [][]Point
	for i, m := range log {
		if i == 0 || m.Dressed {
			runs = append(runs, nil)
		}
		last := len(runs) - 1
		runs[last] = append(runs[last], Point{m.Use, float64(m.Diameter)})
	}
	return runs
}

// halfWidths are how far off each measurement may be, mm, and their root mean square: all 0 where none is known.
func halfWidths(log []Measurement) (each []float64, typical float64) {
	var widest unit.Length
	for _, m := range log {
		widest = max(widest, m.HalfWidth)
	}
	for _, m := range log {
		h := m.HalfWidth
		if h == 0 {
			h = widest
		}
		each, typical = append(each, float64(h)), typical+float64(h*h)
	}
	return each, math.Sqrt(typical / float64(max(1, len(log))))
}

// wearData has a column for the use and one for each dressing, 1 from it on.
func wearData(log []Measurement, doubts []float64, typical float64) Data {
	var d Data
	dressings := len(runsOf(log)) - 1
	done := 0
	for i, m := range log {
		if i > 0 && m.Dressed {
			done++
		}
		row := make([]float64, 1+max(0, dressings))
		row[0] = m.Use
		for j := range done {
			row[1+j] = 1
		}
		d.Rows, d.Y = append(d.Rows, row), append(d.Y, float64(m.Diameter))
		if typical > 0 {
			d.Weights = append(d.Weights, typical/doubts[i]*typical/doubts[i])
		}
	}
	return d
}

// read takes rate, steps and what lies ahead from the fitted model.
func (w *Wear) read(m Model, log []Measurement, reach float64) {
	halfWidth := func(column int) float64 { return reach * math.Sqrt(squared(m.forward(m.frame.step(column)))) }
	w.Rate, w.RateHalfWidth = -m.Coefficients[1], halfWidth(0)
	for i, l := range log {
		if column := 1 + len(w.Steps); i > 0 && l.Dressed {
			w.Steps = append(w.Steps, Step{i, unit.Length(-m.Coefficients[1+column]), unit.Length(halfWidth(column))})
		}
	}
	for _, r := range m.Residuals {
		w.Residuals = append(w.Residuals, unit.Length(r))
	}
	ahead := make([]float64, 1+len(w.Steps))
	for j := range w.Steps {
		ahead[1+j] = 1
	}
	w.band = m.along(ahead, 0, reach)
}

// leastChange is what counts as no change of a diameter over a log, mm: finer than any can be measured.
const leastChange = 1e-6

func (w *Wear) caution(m Model, doubts []float64, typical float64) {
	say := func(c Caution, when bool) {
		if when {
			w.Cautions = append(w.Cautions, c)
		}
	}
	known := !math.IsInf(w.RateHalfWidth, 1)
	say(CautionUntested, !known)
	negligible := leastChange / m.frame.scale[0]
	grows := known && w.Rate+w.RateHalfWidth < -negligible
	say(CautionGrows, grows)
	say(CautionBarely, known && !grows && w.Rate-w.RateHalfWidth <= negligible)
	if typical > 0 && m.Left > 0 {
		ratio := 2 * m.ResidualSD / typical
		say(CautionScatter, ratio*ratio*float64(m.Left) > distuv.ChiSquared{K: float64(m.Left)}.Quantile(confidence))
	}
	worst, found := m.Outlier(confidence)
	if found && math.Abs(m.Residuals[worst]) > max(doubts[worst], leastChange) {
		w.Outlier = worst
		say(CautionOutlier, true)
	}
}

// differs is whether the rate lies outside the robust one's interval by what can be measured over the log.
func (w *Wear) differs(r Robust, log []Measurement) bool {
	outside := max(r.Low-(-w.Rate), -w.Rate-r.High)
	return outside*(w.last-log[0].Use) > leastChange
}

// Forecast is what a wheel's diameter is expected to be.
type Forecast struct {
	Diameter  unit.Length
	HalfWidth unit.Length // at 95 %; infinite where nothing tells
}

// Forecast is the diameter at a use, from the last measurement's on, if the wheel is not dressed meanwhile. The error is a [*ValueError].
func (w Wear) Forecast(use float64) (Forecast, error) {
	if !(use >= w.last && use <= MostUse) {
		return Forecast{}, outside(use, w.last, MostUse, "use")
	}
	value, half := w.band.At(use)
	return Forecast{unit.Length(value), unit.Length(half)}, nil
}

// KnownWithin is the use up to which forecasts stay within a limit of half-width; infinite if they always do. False if they are beyond it
// already at the last measurement: then only better measurements help, or more.
func (w Wear) KnownWithin(limit unit.Length) (use float64, ok bool) {
	return w.band.Until(float64(limit), w.last)
}

// Reached is the use at which a diameter is reached; infinite where that is not foreseen.
type Reached struct {
	Earliest float64 // from here on the diameter may be as small: a forecast's lower bound is
	Expected float64
	Latest   float64 // by here it is: the upper bound is
}

// Reaches is when the wheel is worn to a diameter, if it is not dressed meanwhile. What is reached by the last measurement is said to be
// reached there.
func (w Wear) Reaches(smallest unit.Length) Reached {
	value, half := w.band.At(w.last)
	ahead := w.band.Passes(float64(smallest), w.last)
	at := func(diameter, ahead float64) float64 {
		if diameter <= float64(smallest) {
			return w.last
		}
		return ahead
	}
	return Reached{
		Earliest: at(value-half, ahead.Lower),
		Expected: at(value, ahead.Line),
		Latest:   at(value+half, ahead.Upper),
	}
}
