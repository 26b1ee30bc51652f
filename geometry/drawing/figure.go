// Package drawing is what a technical drawing consists of, and where its lines and letters go: a [Figure] is lines, arcs, texts and
// dimensions in millimetres; [Take] takes it apart into strokes with arrowheads, and [Layout] finds places for its letters. What lines look
// like, and on what they are drawn, is for whoever shows it.
package drawing

import (
	"math"

	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// Place is where something lies in a figure.
type Place = geometry.Point

// Figure is a drawing to scale.
type Figure struct {
	Items       []Item
	Least, Most geometry.Point // the box that holds everything, dimension lines included
	Description string         // one sentence with the numbers, for people who cannot see the drawing
}

// Boxed is a figure of items with the box around them.
func Boxed(items []Item, description string) *Figure {
	var b Box
	for _, item := range items {
		item.Shape.Reach(&b)
	}
	return &Figure{Items: items, Least: b.Least, Most: b.Most, Description: description}
}

// Item is one thing drawn. Later items cover earlier ones.
type Item struct {
	Part  string // what it belongs to: one of the Part constants
	Role  Role
	Shape Shape
}

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
	// Reach widens a box until it holds the shape.
	Reach(b *Box)
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

// Reach holds all points.
func (p Path) Reach(b *Box) {
	for _, point := range p.Points {
		b.Include(point)
	}
}

// Reach holds an arc's ends and where it crosses the directions of the axes: there it reaches furthest.
func (a Arc) Reach(b *Box) {
	b.Include(a.Centre.Along(a.Start, a.Radius))
	b.Include(a.Centre.Along(a.Start+a.Sweep, a.Radius))
	first := math.Ceil(float64(a.Start / quarter))
	for n := first; n < first+4 && unit.Angle(n)*quarter <= a.Start+a.Sweep; n++ {
		b.Include(a.Centre.Along(unit.Angle(n)*quarter, a.Radius))
	}
}

// Reach holds where it stands; letters have no size here.
func (t Text) Reach(b *Box) { b.Include(t.At) }

// Reach holds what is measured and the dimension's line.
func (d Dimension) Reach(b *Box) {
	from, to := d.Line()
	for _, point := range []geometry.Point{d.From, d.To, from, to} {
		b.Include(point)
	}
}

// Line is where the dimension's line runs.
func (d Dimension) Line() (from, to geometry.Point) {
	aside := direction(d.From, d.To) + quarter
	return d.From.Along(aside, d.Offset), d.To.Along(aside, d.Offset)
}

// Reach holds the arc and the apex.
func (a Angle) Reach(b *Box) {
	Arc{a.Apex, a.Radius, a.Start, a.Sweep}.Reach(b)
	b.Include(a.Apex)
}

// Box is the least upright rectangle around what it has included.
type Box struct {
	Least, Most geometry.Point
	begun       bool
}

// Include widens the box to a point.
func (b *Box) Include(p geometry.Point) {
	if !b.begun {
		*b = Box{p, p, true}
		return
	}
	b.Least = geometry.Point{Out: min(b.Least.Out, p.Out), Up: min(b.Least.Up, p.Up)}
	b.Most = geometry.Point{Out: max(b.Most.Out, p.Out), Up: max(b.Most.Up, p.Up)}
}

const quarter = unit.Angle(math.Pi / 2)

// direction is the angle above out of the way from one point to another.
func direction(from, to geometry.Point) unit.Angle {
	return geometry.Point{Out: to.Out - from.Out, Up: to.Up - from.Up}.Elevation()
}
