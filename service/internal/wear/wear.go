// Package wear is what a shop's log says of a wheel: how fast it wears, what its diameter may be by now, and when to measure again.
package wear

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"time"

	"arris.example/geometry"
	"arris.example/geometry/trend"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// How well sizes are known at 95 % where nobody says: common practice.
const (
	ByCalliper unit.Length = 0.5
	ByStrip    unit.Length = 1 // a length marked on a strip laid around the rim, along a rule
)

// UsualDressing is how much of the diameter a dressing may take where the wheel's own log knows none: up to 1 mm, common practice.
const UsualDressing unit.Length = 1

// Basis is what wear is reckoned by.
type Basis int

// The bases.
const (
	ByDays Basis = iota
	ByUse        // hours at the wheel
)

const day = 24 * time.Hour

// again is how soon a wheel is measured again to mend the measurement before: no wheel wears by much in half a day, and from two readings a
// minute apart any rate would follow. Common practice.
const again = 12 * time.Hour

// Log is a wheel with what was measured of it, oldest first, and when it was used.
type Log struct {
	Wheel        shop.Wheel
	Measurements []shop.Measurement // with a size, that count
	Odd          []shop.Measurement // that fit the others so little that they do not count
	Basis        Basis
	uses         []use
	wear         trend.Wear
	why          error // why there is no rate
}

// use is time at the wheel, all of it up to then.
type use struct {
	at    time.Time
	hours float64
}

// Of reads a wheel's log. Corrected entries do not count, nor does what was measured again soon; entries whose time is told later than others
// come where their time is.
func Of(wheel shop.Wheel, measured []shop.Measurement, ground []shop.Sharpening) Log {
	l := Log{Wheel: wheel}
	var dressed bool
	byTime := slices.SortedStableFunc(slices.Values(measured), func(a, b shop.Measurement) int { return a.Occurred.Compare(b.Occurred) })
	for _, m := range byTime {
		dressed = dressed || m.Dressed
		if _, _, sized := Diameter(m); sized {
			m.Dressed, dressed = dressed, false // also by entries that say no more than that
			l.Measurements = append(l.Measurements, m)
		}
	}
	l.Measurements = lastWords(l.Measurements)
	l.uses = usesOf(ground)
	if len(l.Measurements) > 1 && l.usedBetween() {
		l.Basis = ByUse
	}
	l.fit()
	return l
}

// lastWords leaves out what was measured again soon after, if the wheel was not dressed meanwhile.
func lastWords(measured []shop.Measurement) []shop.Measurement {
	for i := len(measured) - 2; i >= 0; i-- {
		if next := measured[i+1]; !next.Dressed && next.Occurred.Sub(measured[i].Occurred) < again {
			measured = without(measured, i)
		}
	}
	return measured
}

// without leaves a measurement out, which is not the last; a dressing before it is then one before the next.
func without(measured []shop.Measurement, i int) []shop.Measurement {
	measured[i+1].Dressed = measured[i+1].Dressed || measured[i].Dressed
	return slices.Delete(measured, i, i+1)
}

// Diameter is what a measurement says of the diameter, and how well; false where it says that the wheel was dressed and no more. A length
// around is known π times as well as the diameter that follows from it.
func Diameter(m shop.Measurement) (unit.Length, unit.Length, bool) {
	if m.Diameter.Known {
		return m.Diameter.Value, m.Doubt.Or(ByCalliper), true
	}
	return geometry.AroundToDiameter(m.Around.Value, m.Tape), m.Doubt.Or(ByStrip) / math.Pi, m.Around.Known
}

// usesOf adds the time at the wheel up, entry by entry.
func usesOf(ground []shop.Sharpening) []use {
	corrected := map[string]bool{}
	for _, s := range ground {
		corrected[s.Corrects] = true
	}
	byTime := slices.SortedStableFunc(slices.Values(ground), func(a, b shop.Sharpening) int { return a.Occurred.Compare(b.Occurred) })
	var uses []use
	total := 0.0
	for _, s := range byTime {
		if s.Minutes.Known && !corrected[s.Name] {
			total += s.Minutes.Value / 60
			uses = append(uses, use{s.Occurred, total})
		}
	}
	return uses
}

// hours at the wheel up to a time.
func (l Log) hours(t time.Time) float64 {
	i, _ := slices.BinarySearchFunc(l.uses, t, func(u use, t time.Time) int {
		return cmp.Or(u.at.Compare(t), -1) // the first that is later
	})
	if i == 0 {
		return 0
	}
	return l.uses[i-1].hours
}

// usedBetween tells whether use was kept between all measurements: only then does it stand for wear.
func (l Log) usedBetween() bool {
	for i, m := range l.Measurements[1:] {
		if l.hours(m.Occurred) == l.hours(l.Measurements[i].Occurred) {
			return false
		}
	}
	return true
}

// at is a time on the wear's own axis: days since the first measurement, or hours at the wheel. What is still to come is used as the log
// was on average.
func (l Log) at(t time.Time) float64 {
	first := l.Measurements[0].Occurred
	if l.Basis == ByDays {
		return t.Sub(first).Hours() / 24
	}
	known := l.uses[len(l.uses)-1].at
	if !t.After(known) {
		return l.hours(t)
	}
	return l.hours(known) + t.Sub(known).Hours()*l.pace()
}

// pace is hours at the wheel per hour of the calendar, over the log.
func (l Log) pace() float64 {
	first, last := l.Measurements[0].Occurred, l.uses[len(l.uses)-1].at
	if span := last.Sub(first).Hours(); span > 0 {
		return (l.hours(last) - l.hours(first)) / span
	}
	return 0
}

// timeAt is the other way of at; zero where it is never, or not within what a calendar holds.
func (l Log) timeAt(x float64) time.Time {
	const most = 200 * 365.25 // days
	first := l.Measurements[0].Occurred
	from, days := first, x
	if l.Basis == ByUse {
		for _, u := range l.uses {
			if u.hours >= x {
				return u.at
			}
		}
		from = l.uses[len(l.uses)-1].at
		days = (x - l.hours(from)) / l.pace() / 24
	}
	if !(days < most) {
		return time.Time{}
	}
	return from.Add(time.Duration(days * float64(day)))
}

// fit fits the wear, where the log tells it. What does not fit is left out, but for the last measurement, which is the one on record.
func (l *Log) fit() {
	if len(l.Measurements) == 0 {
		l.why = &trend.NoRateError{}
		return
	}
	for {
		l.wear, l.why = trend.FitWear(l.points())
		if l.why != nil || l.wear.Outlier < 0 || l.wear.Outlier == len(l.Measurements)-1 {
			return
		}
		l.Odd = append(l.Odd, l.Measurements[l.wear.Outlier])
		l.Measurements = without(l.Measurements, l.wear.Outlier)
	}
}

// points are the measurements as they are fitted.
func (l *Log) points() []trend.Measurement {
	points := make([]trend.Measurement, len(l.Measurements))
	for i, m := range l.Measurements {
		diameter, doubt, _ := Diameter(m)
		points[i] = trend.Measurement{Use: l.at(m.Occurred), Diameter: diameter, HalfWidth: doubt, Dressed: m.Dressed}
	}
	return points
}

// Wear is how the wheel wears; an error that says what the log lacks.
func (l Log) Wear() (trend.Wear, error) { return l.wear, l.why }

// last is the last measurement.
func (l Log) last() shop.Measurement { return l.Measurements[len(l.Measurements)-1] }

// Forecast is the diameter on a day, if the wheel is not dressed until then. A log that does not tell wear from none is read ahead no further
// than it is long: its rate would be made of the measurements' doubts, which grow without end. The error says what the log lacks.
func (l Log) Forecast(t time.Time) (trend.Forecast, error) {
	if l.why != nil {
		return trend.Forecast{}, l.why
	}
	last := l.at(l.last().Occurred)
	x := max(l.at(t), last)
	if !l.Tells() {
		x = min(x, last+last-l.at(l.Measurements[0].Occurred))
	}
	return l.wear.Forecast(x)
}

// Belief is how well a wheel's recorded diameter is known on a day.
type Belief struct {
	HalfWidth unit.Length // at 95 %
	Dressed   bool        // and not measured since
	Aged      bool        // it is known less well than it was measured, by the log
	Worn      unit.Length // how far the forecast lies below the recorded diameter; 0 where it does not
}

// Believed is how well the diameter that the wheel's record has is known on a day: as it was measured, less sure by what wear is forecast,
// until a dressing that was not measured, and by that dressing.
func (l Log) Believed(t time.Time) Belief {
	b := Belief{HalfWidth: l.Wheel.Doubt.Or(ByCalliper), Dressed: !l.Wheel.Dressed.IsZero() && !l.Wheel.Dressed.After(t)}
	if b.Dressed {
		t = l.Wheel.Dressed
	}
	if f, err := l.Forecast(t); err == nil && !math.IsInf(float64(f.HalfWidth), 1) {
		worn := l.Wheel.Diameter - f.Diameter
		b.Worn = max(0, worn)
		off := min(max(worn, -worn)+f.HalfWidth, l.usable())
		b.Aged = off > b.HalfWidth
		b.HalfWidth = max(b.HalfWidth, off)
	}
	if b.Dressed {
		b.HalfWidth += l.dressing()
	}
	return b
}

// usable is how much the wheel can have worn at most: below its smallest diameter nobody grinds, and below half of what it has there is little
// but flanges.
func (l Log) usable() unit.Length { return l.Wheel.Diameter - l.Wheel.Smallest.Or(l.Wheel.Diameter/2) }

// dressing is how much of the diameter a dressing may take: what the log's dressings took at most.
func (l Log) dressing() unit.Length {
	most := unit.Length(0)
	if l.why == nil {
		for _, s := range l.wear.Steps {
			most = max(most, s.Taken)
		}
	}
	if most > 0 {
		return most
	}
	return UsualDressing
}

// When is a time that is foreseen; zero where it is not.
type When struct{ Earliest, Expected time.Time }

// Tells tells whether the log tells wear from none. One by which the wheel grows tells none.
func (l Log) Tells() bool {
	silent := func(c trend.Caution) bool {
		return c == trend.CautionBarely || c == trend.CautionUntested || c == trend.CautionGrows
	}
	return l.why == nil && !slices.ContainsFunc(l.wear.Cautions, silent)
}

// Grows tells whether the wheel grows by its log, which no wheel does.
func (l Log) Grows() bool {
	return l.why == nil && slices.Contains(l.wear.Cautions, trend.CautionGrows)
}

// Reaches is when the wheel comes down to a diameter; no day where wear cannot be told from none, for it could then be any.
func (l Log) Reaches(diameter unit.Length) When {
	if !l.Tells() {
		return When{}
	}
	r := l.wear.Reaches(diameter)
	return When{l.timeAt(r.Earliest), l.timeAt(r.Expected)}
}

// KnownWithin is until when the recorded diameter is known within a limit, if nobody measures; zero where it always is, or the log does not
// tell. What has passed already is the time of the last measurement.
func (l Log) KnownWithin(limit unit.Length) time.Time {
	if l.why != nil || limit <= 0 {
		return time.Time{}
	}
	// Grows with time: the forecast moves away from the record, and is less sure.
	const steps = 64
	last := l.last().Occurred
	within := func(t time.Time) bool {
		f, err := l.Forecast(t)
		return err == nil && unit.Length(math.Abs(float64(l.Wheel.Diameter-f.Diameter)))+f.HalfWidth <= limit
	}
	if !within(last) {
		return last
	}
	low, high := time.Duration(0), 50*365*day
	if within(last.Add(high)) {
		return time.Time{}
	}
	for range steps {
		if middle := low + (high-low)/2; within(last.Add(middle)) {
			low = middle
		} else {
			high = middle
		}
	}
	return last.Add(low)
}

// TooFew tells whether an error says that more has to be measured.
func TooFew(err error) bool {
	var few *trend.NoRateError
	return errors.As(err, &few)
}
