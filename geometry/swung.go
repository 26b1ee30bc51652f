package geometry

import (
	"math"

	"arris.example/geometry/unit"
)

// RollCorner is the edge angle at a place on a straight-across gouge that is rolled about its pivot: `around` is how far from the
// nose the place lies round the flute, as an angle about the flute's axis, and fluteRadius the flute's. The gap is the pivot's.
//
// With the pivot on the flute's own axis (below = −fluteRadius) every place has the nose's angle. False where the wheel cannot
// touch the place along the edge.
//
// The machine fixes only the pivot's distance. At an edge point E with unit tangent t the ground face's outward normal n satisfies
// n·t = 0 and n·q = sin κ, q the unit vector from pivot to E.
func (w Wheel) RollCorner(p Pivot, gap, fluteRadius unit.Length, around unit.Angle) (unit.Angle, bool) {
	sin, cos := math.Sincos(float64(around))
	f := float64(fluteRadius)
	fromPivot := vec{-float64(p.Behind), f*(1-cos) + float64(p.Below), f * sin}
	tangent := vec{0, sin, cos}
	flute := vec{0, cos, -sin} // out of the steel, towards the flute's axis
	n, ok := w.faceNormal(fromPivot, tangent, gap)
	if !ok {
		return 0, false
	}
	return unit.Angle(math.Atan2(n.cross(flute).length(), -n.dot(flute))), true
}

// faceNormal is the outward normal (steel towards the axle) of the face ground through an edge point, given the vector from the
// pivot to it and the edge's unit tangent there, on the side of the nose's solution.
func (w Wheel) faceNormal(fromPivot, tangent vec, gap unit.Length) (vec, bool) {
	rho, g := fromPivot.length(), float64(gap)
	sinKappa := (g + w.k*(g*g-rho*rho)/2) / rho
	q := fromPivot.scale(1 / rho)
	l := q.cross(tangent).length()
	if !(math.Abs(sinKappa) <= l) || l == 0 {
		return vec{}, false
	}
	e1 := tangent.cross(q).cross(tangent).scale(1 / l)
	e2 := tangent.cross(e1)
	other := math.Sqrt((l-sinKappa)*(l+sinKappa)) / l
	return e1.scale(sinKappa / l).plus(e2.scale(other)), true
}

// vec is a vector in the tool frame: back, up, side.
type vec struct{ back, up, side float64 }

func (a vec) dot(b vec) float64   { return a.back*b.back + a.up*b.up + a.side*b.side }
func (a vec) length() float64     { return math.Sqrt(a.dot(a)) }
func (a vec) scale(f float64) vec { return vec{a.back * f, a.up * f, a.side * f} }
func (a vec) plus(b vec) vec      { return vec{a.back + b.back, a.up + b.up, a.side + b.side} }
func (a vec) cross(b vec) vec {
	return vec{a.up*b.side - a.side*b.up, a.side*b.back - a.back*b.side, a.back*b.up - a.up*b.back}
}
