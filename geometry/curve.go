package geometry

import (
	"fmt"
	"math"

	"arris.example/geometry/unit"
)

// Inside a bowl a tool rides on its edge and on the end of its land. Hollow arcs lie inside their chords, so only corners further back
// can touch first: where facets end, and the heel.

// TightestCurve is the smallest concave radius inside which a tool that rides on edge and land end touches nowhere else: the largest
// circle through those two and a later corner, and never less than half the land, which has to fit. It is infinite where a corner
// stands on or outside the land's prolonged chord. A softened heel clears a little more.
func (s Stack) TightestCurve() unit.Length {
	if len(s) == 0 {
		return 0
	}
	land := point2(s[0].End())
	tightest := float64(s[0].Chord) / 2
	for _, b := range s[1:] {
		tightest = max(tightest, circleThrough(land, point2(b.End())))
	}
	return unit.Length(tightest)
}

// vec2 is a place behind the edge and below the reference line, or any two coordinates.
type vec2 struct{ behind, below float64 }

func point2(behind, below unit.Length) vec2 { return vec2{float64(behind), float64(below)} }

func (a vec2) plus(b vec2) vec2     { return vec2{a.behind + b.behind, a.below + b.below} }
func (a vec2) minus(b vec2) vec2    { return vec2{a.behind - b.behind, a.below - b.below} }
func (a vec2) times(f float64) vec2 { return vec2{a.behind * f, a.below * f} }
func (a vec2) dot(b vec2) float64   { return a.behind*b.behind + a.below*b.below }
func (a vec2) cross(b vec2) float64 { return a.behind*b.below - a.below*b.behind }
func (a vec2) length() float64      { return math.Hypot(a.behind, a.below) }
func (a vec2) turned(by float64) vec2 {
	sin, cos := math.Sincos(by)
	return vec2{a.behind*cos - a.below*sin, a.behind*sin + a.below*cos}
}

// circleThrough is the radius below which a circle through the edge and the land's end does not hold a corner behind them:
// |EV| / (2 sin of the turn at the land's end). A corner that sees the land under an obtuse angle is held by every circle that holds
// the land: 0.
func circleThrough(land, corner vec2) float64 {
	on := corner.minus(land)
	turn := math.Atan2(on.cross(land), on.dot(land)) // positive inwards, towards the reference line
	switch {
	case !(turn > 0):
		return math.Inf(1)
	case corner.dot(on) <= 0:
		return 0
	}
	return corner.length() / (2 * math.Sin(turn))
}

// Lift is the angle by which a land's chord lifts the edge off a curve of a radius: asin(L/2ρ). A land that does not fit is a
// [*CurveError].
func Lift(land, curve unit.Length) (unit.Angle, error) {
	if !(land >= 0 && land <= 2*curve) || curve == 0 {
		return 0, &CurveError{Land: land, Curve: curve}
	}
	return unit.Angle(math.Asin(float64(land / (2 * curve)))), nil
}

// LongestLand is the longest land that lifts the edge no more than allowed: 2ρ sin(lift). From 90° on it is the curve's diameter.
func LongestLand(curve unit.Length, lift unit.Angle) unit.Length {
	return 2 * curve * unit.Length(math.Sin(min(float64(lift), math.Pi/2)))
}

// UndersideRoom is the angle by which the bar's underside behind the heel turns away from a curve that edge and heel both touch: the
// dip of the chord between them less the angle that chord makes with the curve. Below 0 the underside lies on the wood and lifts the
// tool. A chord that does not fit is a [*CurveError].
func (s Stack) UndersideRoom(curve unit.Length) (unit.Angle, error) {
	heel := point2(s.End())
	lift, err := Lift(unit.Length(heel.length()), curve)
	if err != nil {
		return 0, err
	}
	return unit.Angle(math.Atan2(heel.below, heel.behind)) - lift, nil
}

// ReliefFor is the largest front angle of a relief behind a land that clears a curve, through steel of a depth below the edge. False
// where none does: the land does not fit, already runs through the steel, or the curve rises again before it is as deep as the
// steel. A relief of a smaller angle clears too, until its heel comes too far back on the other side.
//
// The heel lies at the steel's depth and on the circle through edge and land end that has the curve's radius: x² + y² = 2 C·(x, y).
func (w Wheel) ReliefFor(land Hollow, curve, steel unit.Length) (unit.Angle, bool) {
	end, l, t := point2(land.End()), float64(land.Chord), float64(steel)
	rise := float64(curve-land.Chord/2) * float64(curve+land.Chord/2)
	if !(l > 0 && curve > 0 && rise >= 0 && t > end.below) {
		return 0, false
	}
	centre := end.times(0.5).plus(vec2{end.below, -end.behind}.times(math.Sqrt(rise) / l))
	toHeel := t * (t - 2*centre.below)
	under := centre.behind*centre.behind - toHeel
	// Where the circle is already rising at the land's end, the depths below it are out of its reach.
	if !(under >= 0 && end.behind < centre.behind) {
		return 0, false
	}
	heel := vec2{toHeel / (centre.behind + math.Sqrt(under)), t}
	relief := heel.minus(end)
	front, err := w.FrontOfReading(unit.Angle(math.Atan2(relief.below, relief.behind)), unit.Length(relief.length()))
	return front, err == nil && front > 0 && front < land.Far
}

// BevelsFor are a land and a relief for a curve: the longest land that lifts the edge no more than allowed, ground with the receiver, and
// behind it, ground with another wheel, the relief of the largest angle that clears. Where the land takes all the steel there is no
// relief. A [*CurveError] where no relief clears.
func (w Wheel) BevelsFor(edge, lift unit.Angle, curve, steel unit.Length, relief Wheel) (Stack, error) {
	whole, err := w.HollowOfDepth(edge, steel)
	longest := LongestLand(curve, lift)
	if err == nil && whole.Chord <= longest {
		return Stack{}.Then(whole)
	}
	land, err := w.HollowOfChord(edge, longest)
	if err != nil {
		return nil, err
	}
	front, ok := relief.ReliefFor(land, curve, steel)
	if !ok {
		return nil, &CurveError{Land: longest, Curve: curve, Steel: steel}
	}
	s, err := Stack{}.Then(land)
	if err != nil {
		return nil, err
	}
	_, below := land.End()
	behind, err := relief.HollowOfDepth(front, steel-below)
	if err != nil {
		return nil, err
	}
	return s.Then(behind)
}

// CurveError tells that a land does not fit into a curve, or that no relief through the steel behind it does.
type CurveError struct{ Land, Curve, Steel unit.Length }

func (e *CurveError) Error() string {
	if e.Steel > 0 {
		return fmt.Sprintf("no relief through %v of steel behind a land of %v clears a curve of radius %v", e.Steel, e.Land, e.Curve)
	}
	return fmt.Sprintf("a land of %v does not fit into a curve of radius %v", e.Land, e.Curve)
}
