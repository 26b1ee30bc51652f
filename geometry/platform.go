package geometry

import (
	"fmt"
	"math"

	"arris.example/geometry/unit"
)

// Platform is a table whose surface tilts about a hinge.
type Platform struct {
	Hinge   Point
	Surface unit.Length // above the hinge line, square to the surface
}

// Line is the signed distance from the axle of a line that runs `above` the surface at a tilt: the reference line of a tool
// that lies on the platform. It is positive on the usual side, above the axle.
func (p Platform) Line(tilt unit.Angle, above unit.Length) unit.Length {
	sin, cos := math.Sincos(float64(tilt))
	return p.Hinge.Up*unit.Length(cos) - p.Hinge.Out*unit.Length(sin) + p.Surface + above
}

// LinePerTilt is the change of [Platform.Line] per radian of tilt.
func (p Platform) LinePerTilt(tilt unit.Angle) unit.Length {
	sin, cos := math.Sincos(float64(tilt))
	return -p.Hinge.Up*unit.Length(sin) - p.Hinge.Out*unit.Length(cos)
}

// Tilts are the two tilts that put a line `above` the surface at a distance from the axle, the lower first, both in
// (−180°, 180°]; false where the hinge is too near to the axle.
func (p Platform) Tilts(line, above unit.Length) (low, high unit.Angle, ok bool) {
	q := float64(line - p.Surface - above)
	reach := float64(p.Hinge.FromOrigin())
	if !(math.Abs(q) <= reach) || reach == 0 {
		return 0, 0, false
	}
	// |H| cos(τ + φ) = q with φ the angle of the hinge from the vertical.
	phi := math.Atan2(float64(p.Hinge.Out), float64(p.Hinge.Up))
	turn := math.Atan2(math.Sqrt((reach-q)*(reach+q)), q)
	a, b := normalise(unit.Angle(turn-phi)), normalise(unit.Angle(-turn-phi))
	return min(a, b), max(a, b), true
}

// Front is the platform's front edge at a tilt, `before` the hinge towards the wheel.
func (p Platform) Front(tilt unit.Angle, before unit.Length) Point {
	return p.Hinge.Along(tilt, -before).Along(tilt+quarterTurn, p.Surface)
}

// LineAngle is the edge angle of a tool whose reference line passes the axle at a distance: cos β = e/R. On a flat abrasive it
// is the tilt against the face and the line's distance does not matter, so this is for round wheels only; a line beyond the rim
// is a [*LineError].
func (w Wheel) LineAngle(line unit.Length) (unit.Angle, error) {
	r, e := float64(w.Radius()), float64(line)
	if w.Flat() || !(math.Abs(e) <= r) {
		return 0, &LineError{Line: line, Most: w.Radius()}
	}
	return unit.Angle(2 * math.Atan2(math.Sqrt(r-e), math.Sqrt(r+e))), nil
}

// LineFor is the distance from the axle at which the reference line must pass for an edge angle: the inverse of
// [Wheel.LineAngle].
func (w Wheel) LineFor(edge unit.Angle) unit.Length {
	return w.Radius() * unit.Length(math.Cos(float64(edge)))
}

// PerLine is the change of the edge angle per millimetre of the line's distance, rad/mm, and PerDiameterAtLine per millimetre of
// diameter with the platform where it is.
func (w Wheel) PerLine(edge unit.Angle) float64 { return -w.k / math.Sin(float64(edge)) }

// PerDiameterAtLine is the change of the edge angle per millimetre of diameter with the line where it is, rad/mm. It is
// positive for a line above the axle: a worn wheel grinds keener.
func (w Wheel) PerDiameterAtLine(edge unit.Angle) float64 {
	sin, cos := math.Sincos(float64(edge))
	return w.k * cos / sin / 2
}

// FlatTilt is the tilt of a platform against a flat abrasive for an edge angle, and its own inverse apart from the sign: level is
// square to the face.
func FlatTilt(edge unit.Angle) unit.Angle { return edge - quarterTurn }

// LineError tells that a line passes the wheel without touching it.
type LineError struct{ Line, Most unit.Length }

func (e *LineError) Error() string {
	return fmt.Sprintf("the reference line passes the axle at %v; the wheel reaches %v", e.Line, e.Most)
}

const quarterTurn = unit.Angle(math.Pi / 2)

// normalise brings an angle into (−180°, 180°].
func normalise(a unit.Angle) unit.Angle {
	return unit.Angle(math.Atan2(math.Sin(float64(a)), math.Cos(float64(a))))
}
