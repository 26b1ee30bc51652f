package figure

import (
	"arris.example/geometry"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
)

// SideView draws a solved set-up.
func SideView(v View) drawing.Figure {
	b := newBench(v)
	b.wheel()
	b.seat()
	b.tool()
	b.holder()
	b.post()
	b.lines()
	b.dimensions()
	least, most := b.box.Least, b.box.Most
	return drawing.Figure{
		Items:       b.items,
		Least:       least.Along(-quarter, b.em).Along(2*quarter, b.em),
		Most:        most.Along(quarter, b.em).Along(0, b.em),
		Description: describe(v),
	}
}

// bench is a drawing in the making.
type bench struct {
	View
	items []drawing.Item
	box   drawing.Box

	em    unit.Length      // a letter's height that reads well at this size of drawing
	depth unit.Length      // of the steel as drawn, below the reference line
	lower []geometry.Point // profile below the reference line from edge to underside, in the tool frame (behind, −below)
	body  section          // the holder as drawn
}

// section is a stretch of tool or holder in the tool frame.
type section struct {
	front, back unit.Length // behind the nose
	top, bottom unit.Length // above and below the reference line
}

// lettersAcross is how many letter heights the longer side of a drawing takes.
const lettersAcross = 46

func newBench(v View) *bench {
	b := &bench{View: v}
	b.depth = b.steel()
	b.Bevel = b.bevel()
	b.lower = profile(append([]geometry.Hollow{b.Bevel}, v.Behind...), b.depth)
	b.depth = max(b.depth, -b.lower[len(b.lower)-1].Up)
	b.body = b.bodySection()
	b.em = b.extent() / lettersAcross
	return b
}

// extent is the longer side of wheel, tool and support together.
func (b *bench) extent() unit.Length {
	var all drawing.Box
	if !b.Wheel.Flat() {
		drawing.Arc{Radius: b.Wheel.Radius(), Sweep: fullTurn}.Reach(&all)
	}
	all.Include(b.Pose.Contact)
	all.Include(b.Pose.Place(b.bladeEnd(), 0))
	if b.Support.Kind != Platform {
		all.Include(b.Support.At)
	}
	return max(size(all), 60)
}

func (b *bench) add(part string, role drawing.Role, s drawing.Shape) {
	b.items = append(b.items, drawing.Item{Part: part, Role: role, Shape: s})
	s.Reach(&b.box)
}

// area adds a closed outline.
func (b *bench) area(part string, role drawing.Role, points ...geometry.Point) {
	b.add(part, role, drawing.Path{Points: points, Closed: true})
}

func (b *bench) line(part string, role drawing.Role, points ...geometry.Point) {
	b.add(part, role, drawing.Path{Points: points})
}

func (b *bench) circle(part string, role drawing.Role, centre geometry.Point, radius unit.Length) {
	b.add(part, role, drawing.Arc{Centre: centre, Radius: radius, Sweep: fullTurn})
}

// strip adds a straight piece of a width from one point to another.
func (b *bench) strip(part string, role drawing.Role, from, to geometry.Point, width unit.Length) {
	left := direction(from, to) + quarter
	half := width / 2
	b.area(part, role, from.Along(left, half), to.Along(left, half), to.Along(left, -half), from.Along(left, -half))
}

// cross marks a centre.
func (b *bench) cross(part string, at geometry.Point, arm unit.Length) {
	b.line(part, drawing.RoleConstruction, at.Along(0, -arm), at.Along(0, arm))
	b.line(part, drawing.RoleConstruction, at.Along(quarter, -arm), at.Along(quarter, arm))
}

// wheel draws the rim and the axle, or a flat abrasive's face with some body behind it.
func (b *bench) wheel() {
	if b.Wheel.Flat() {
		b.face()
		return
	}
	b.circle(PartWheel, drawing.RoleWheel, geometry.Point{}, b.Wheel.Radius())
	b.cross(PartWheel, geometry.Point{}, 1.5*b.em)
	if b.Labels.Wheel != "" {
		at := geometry.Point{Out: -b.Wheel.Radius() / 6, Up: b.Wheel.Radius() / 2}
		if b.Support.Kind == Platform { // dimensions from axle to platform run above it, those to a pivot below
			at.Up = -at.Up
		}
		b.add(PartWheel, drawing.RoleWheel, drawing.Text{At: at, Text: b.Labels.Wheel})
	}
}

func (b *bench) face() {
	contact, support := b.Pose.Contact.Up, b.Pose.Contact.Up
	if b.Support.Kind != Platform {
		support = b.Support.At.Up
	}
	low, high := min(contact-b.depth, support)-8*b.em, max(contact, support)+6*b.em
	thick := 2 * b.em
	b.area(PartWheel, drawing.RoleWheel,
		geometry.Point{Up: high}, geometry.Point{Out: -thick, Up: high},
		geometry.Point{Out: -thick, Up: low}, geometry.Point{Up: low})
	if b.Labels.Wheel != "" {
		b.add(PartWheel, drawing.RoleWheel, drawing.Text{At: geometry.Point{Out: -thick / 2, Up: high + b.em}, Text: b.Labels.Wheel})
	}
}
