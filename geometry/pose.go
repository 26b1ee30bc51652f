package geometry

import (
	"math"

	"arris.example/geometry/unit"
)

// Pose is how a tool stands against the wheel, in the wheel frame.
type Pose struct {
	Contact   Point      // where the edge meets the abrasive
	Elevation unit.Angle // of the contact at the axle; 0 for a flat abrasive
	Pitch     unit.Angle // of the tool's axis towards the handle, above the horizontal
}

// Pose of a tool held at a pivot that stands at a place. Of the two poses that put the edge on the rim it is the upper one. The
// pivot's gap and the edge angle must satisfy the planar relation.
func (w Wheel) Pose(p Pivot, edge unit.Angle, support Point) Pose {
	sin, cos := math.Sincos(float64(edge))
	a, h := float64(p.Behind), float64(p.Below)
	along := a*cos + h*sin // from the nose along the tangent, downwards
	if w.Flat() {
		return Pose{Contact: Point{0, support.Up + unit.Length(along)}, Pitch: edge - quarterTurn}
	}
	radial := float64(w.Radius()) + a*sin - h*cos
	contact := normalise(support.Elevation() + unit.Angle(math.Atan2(along, radial)))
	return Pose{
		Contact:   Point{}.Along(contact, w.Radius()),
		Elevation: contact,
		Pitch:     normalise(contact - quarterTurn + edge),
	}
}

// PoseOnPlatform is the pose of a tool whose reference line runs at a tilt and grinds the edge angle.
func (w Wheel) PoseOnPlatform(edge, tilt unit.Angle, line unit.Length) Pose {
	if w.Flat() {
		return Pose{Contact: Point{0, line / unit.Length(math.Cos(float64(tilt)))}, Pitch: tilt}
	}
	contact := normalise(tilt + quarterTurn - edge)
	return Pose{Contact: Point{}.Along(contact, w.Radius()), Elevation: contact, Pitch: tilt}
}

// Place is where a point of the tool stands in the wheel frame.
func (p Pose) Place(behind, above unit.Length) Point {
	return p.Contact.Along(p.Pitch, behind).Along(p.Pitch+quarterTurn, above)
}
