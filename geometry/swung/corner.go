package swung

import (
	"math"

	"arris.example/geometry"
	"arris.example/geometry/space"
	"arris.example/geometry/unit"
)

// Corner is the edge angle at a place on a straight-across gouge that is rolled about its pivot: `around` is how far from the nose the
// place lies round the flute, as an angle about the flute's axis, and fluteRadius the flute's. The gap is the pivot's.
//
// With the pivot on the flute's own axis (below = −fluteRadius) every place has the nose's angle. False where the wheel cannot touch the
// place along the edge.
func Corner(w geometry.Wheel, p geometry.Pivot, gap, fluteRadius unit.Length, around unit.Angle) (unit.Angle, bool) {
	sin, cos := math.Sincos(float64(around))
	r := float64(fluteRadius)
	f := Setting{Wheel: w, Pivot: p, Gap: gap}.Face(Point{
		At:    space.Vec{Up: r * (1 - cos), Side: r * sin},
		Edge:  space.Dir{Up: sin, Side: cos},
		Flute: space.Dir{Up: cos, Side: -sin},
	})
	return unit.Angle(f.Wedge), f.Reached()
}
