package geometry

import (
	"math"

	"arris.example/geometry/unit"
)

// RoomBelow is how deep a holder may reach below the reference line at a distance behind the nose before it touches the wheel.
// It is infinite where the wheel's rim has fallen away, beyond R (1 − sin β).
func (w Wheel) RoomBelow(edge unit.Angle, behind unit.Length) unit.Length {
	sin, cos := math.Sincos(float64(edge))
	s := float64(behind)
	if w.Flat() {
		return unit.Length(s * math.Tan(float64(edge))) // the face runs on along the bevel
	}
	r := float64(w.Radius())
	across := s + r*sin
	if across >= r {
		return unit.Length(math.Inf(1))
	}
	// R cos β − √(R² − across²), with the difference of two nearly equal numbers taken out.
	return unit.Length(s * (s + 2*r*sin) / (r*cos + math.Sqrt((r-across)*(r+across))))
}
