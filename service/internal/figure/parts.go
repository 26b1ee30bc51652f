// Package figure draws a solved set-up: a side view to scale in the wheel frame, `out` to the right and `up` upwards, the axle at
// 0, 0 (for a flat abrasive its face at out = 0). It decides what is drawn and where it lies.
package figure

import (
	"math"

	"arris.example/geometry"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
)

// Parts that are no dimension. Those that are have the name of the setting they show: see [Labels].
const (
	PartWheel   = "wheel"
	PartTool    = "tool"
	PartHolder  = "holder"
	PartSupport = "support"
)

const (
	quarter  = unit.Angle(math.Pi / 2)
	fullTurn = unit.Angle(2 * math.Pi)
)

// size is a box's longer side.
func size(b drawing.Box) unit.Length {
	return max(b.Most.Out-b.Least.Out, b.Most.Up-b.Least.Up)
}

// direction is the angle above out of the way from one point to another.
func direction(from, to geometry.Point) unit.Angle {
	return geometry.Point{Out: to.Out - from.Out, Up: to.Up - from.Up}.Elevation()
}

// apart is the distance between two points.
func apart(a, b geometry.Point) unit.Length {
	return geometry.Point{Out: b.Out - a.Out, Up: b.Up - a.Up}.FromOrigin()
}
