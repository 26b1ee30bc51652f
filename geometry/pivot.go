package geometry

import (
	"math"

	"arris.example/geometry/unit"
)

// Pivot is the point of tool and holder that the machine holds, in the tool frame: the centre of the bar a clamp swings on, the
// ball that ends a leg, the end of a butted handle.
type Pivot struct {
	Behind unit.Length // the nose, along the axis
	Below  unit.Length // the reference line
}

// Reach is the pivot's distance from the nose.
func (p Pivot) Reach() unit.Length {
	return unit.Length(math.Hypot(float64(p.Behind), float64(p.Below)))
}

// Dip is the angle from the reference line down to the pivot, seen from the nose.
func (p Pivot) Dip() unit.Angle {
	return unit.Angle(math.Atan2(float64(p.Below), float64(p.Behind)))
}

// SeenFrom is the same pivot measured from another point of the tool, which lies behind the nose and below the reference line.
// With it the planar relation gives the tangent ground at that point.
func (p Pivot) SeenFrom(behind, below unit.Length) Pivot {
	return Pivot{p.Behind - behind, p.Below - below}
}

// SwingHolder is a holder with a leg from a joint to a ball.
type SwingHolder struct {
	JointBehindFace unit.Length
	JointBelowAxis  unit.Length
	Leg             unit.Length // joint to the ball's centre
}

// Pivot is the ball's place for a stick-out and a leg angle (from the axis towards the handle).
func (s SwingHolder) Pivot(stickOut unit.Length, leg unit.Angle) Pivot {
	sin, cos := math.Sincos(float64(leg))
	return Pivot{
		Behind: stickOut + s.JointBehindFace + s.Leg*unit.Length(cos),
		Below:  s.JointBelowAxis + s.Leg*unit.Length(sin),
	}
}

// PerLeg is the change of a swing holder's pivot per radian of leg angle.
func (s SwingHolder) PerLeg(leg unit.Angle) (behind, below unit.Length) {
	sin, cos := math.Sincos(float64(leg))
	return -s.Leg * unit.Length(sin), s.Leg * unit.Length(cos)
}
