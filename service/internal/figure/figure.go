// Package figure draws a solved set-up: a side view to scale in the wheel frame, `out` to the right and `up` upwards, the axle at
// 0, 0 (for a flat abrasive its face at out = 0). It decides what is drawn and where it lies; how lines look and where letters go
// is for whoever shows it.
package figure

import (
	"math"

	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// Figure is a drawing to scale.
type Figure struct {
	Items       []Item
	Least, Most geometry.Point // the box that holds everything, dimension lines included
	Description string         // one sentence with the numbers, for people who cannot see the drawing
}

// Item is one thing drawn. Later items cover earlier ones.
type Item struct {
	Part  string // what it belongs to: one of the Part constants
	Role  Role
	Shape Shape
}

// Parts that are no dimension. Those that are have the name of the setting they show: see [Labels].
const (
	PartWheel   = "wheel"
	PartTool    = "tool"
	PartHolder  = "holder"
	PartSupport = "support"
)

// Role is how an item is drawn; never the only carrier of a meaning.
type Role int

// The roles.
const (
	RoleUnset Role = iota
	RoleWheel
	RoleSteel
	RoleHolder
	RoleSupport
	RoleDimension
	RoleConstruction // centre lines and directions
)

// Shape is one of [Path], [Arc], [Text], [Dimension], [Angle].
type Shape interface {
	// reach widens a box until it holds the shape.
	reach(b *box)
}

// Path is a line through points, or with Closed an area.
type Path struct {
	Points []geometry.Point
	Closed bool
}

// Arc is a circle's arc from Start counter-clockwise through Sweep; 360° is a full circle.
type Arc struct {
	Centre       geometry.Point
	Radius       unit.Length
	Start, Sweep unit.Angle
}

// Text stands at a point.
type Text struct {
	At   geometry.Point
	Text string
}

// Dimension is a length between two points, its line moved aside by Offset (to the left of the way from From to To).
type Dimension struct {
	From, To geometry.Point
	Offset   unit.Length
	Text     string
}

// Angle is an angle at Apex, its arc from Start counter-clockwise through Sweep.
type Angle struct {
	Apex         geometry.Point
	Radius       unit.Length
	Start, Sweep unit.Angle
	Text         string
}

func (p Path) reach(b *box) {
	for _, point := range p.Points {
		b.include(point)
	}
}

// An arc reaches furthest at its ends and where it crosses the directions of the axes.
func (a Arc) reach(b *box) {
	b.include(a.Centre.Along(a.Start, a.Radius))
	b.include(a.Centre.Along(a.Start+a.Sweep, a.Radius))
	first := math.Ceil(float64(a.Start / quarter))
	for n := first; n < first+4 && unit.Angle(n)*quarter <= a.Start+a.Sweep; n++ {
		b.include(a.Centre.Along(unit.Angle(n)*quarter, a.Radius))
	}
}

func (t Text) reach(b *box) { b.include(t.At) }

func (d Dimension) reach(b *box) {
	from, to := d.Line()
	for _, point := range []geometry.Point{d.From, d.To, from, to} {
		b.include(point)
	}
}

// Line is where the dimension's line runs.
func (d Dimension) Line() (from, to geometry.Point) {
	aside := direction(d.From, d.To) + quarter
	return d.From.Along(aside, d.Offset), d.To.Along(aside, d.Offset)
}

func (a Angle) reach(b *box) {
	Arc{a.Apex, a.Radius, a.Start, a.Sweep}.reach(b)
	b.include(a.Apex)
}

// box is the least upright rectangle around what it has included.
type box struct {
	least, most geometry.Point
	begun       bool
}

func (b *box) include(p geometry.Point) {
	if !b.begun {
		*b = box{p, p, true}
		return
	}
	b.least = geometry.Point{Out: min(b.least.Out, p.Out), Up: min(b.least.Up, p.Up)}
	b.most = geometry.Point{Out: max(b.most.Out, p.Out), Up: max(b.most.Up, p.Up)}
}

// size is the longer side.
func (b *box) size() unit.Length {
	return max(b.most.Out-b.least.Out, b.most.Up-b.least.Up)
}

const (
	quarter  = unit.Angle(math.Pi / 2)
	fullTurn = unit.Angle(2 * math.Pi)
)

// direction is the angle above out of the way from one point to another.
func direction(from, to geometry.Point) unit.Angle {
	return geometry.Point{Out: to.Out - from.Out, Up: to.Up - from.Up}.Elevation()
}

// apart is the distance between two points.
func apart(a, b geometry.Point) unit.Length {
	return geometry.Point{Out: b.Out - a.Out, Up: b.Up - a.Up}.FromOrigin()
}
