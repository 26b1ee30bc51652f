package geometry

import (
	"math"

	"arris.example/geometry/unit"
)

// Oblique is a straight edge at an angle to the blade, as on a skew, ground with the edge parallel to the axle. Angles of its bevels
// are normal angles, in the plane square to the edge.
type Oblique struct {
	EdgeToSide unit.Angle // between edge and long side; 90° is straight across
}

// NormalReach is how much of a length along the blade counts square to the edge.
func (o Oblique) NormalReach(along unit.Length) unit.Length {
	return along * unit.Length(math.Sin(float64(o.EdgeToSide)))
}

// Aside is how far to the side of a point a length along the blade behind the edge the contact lies, measured along the axle.
func (o Oblique) Aside(along unit.Length) unit.Length {
	return along * unit.Length(math.Cos(float64(o.EdgeToSide)))
}

// Axial is the angle of a bevel in the plane along the blade: tan β_axial = tan β_normal · sin σ (ISO 3002-1 planes).
func (o Oblique) Axial(normal unit.Angle) unit.Angle {
	sin, cos := math.Sincos(float64(normal))
	return unit.Angle(math.Atan2(sin*math.Sin(float64(o.EdgeToSide)), cos))
}

// Normal is the inverse of [Oblique.Axial].
func (o Oblique) Normal(axial unit.Angle) unit.Angle {
	sin, cos := math.Sincos(float64(axial))
	return unit.Angle(math.Atan2(sin, cos*math.Sin(float64(o.EdgeToSide))))
}
