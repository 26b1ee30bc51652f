package figure

import (
	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// SideView draws a solved set-up.
func SideView(v View) Figure {
	b := newBench(v)
	b.wheel()
	b.seat()
	b.tool()
	b.holder()
	b.post()
	b.lines()
	b.dimensions()
	least, most := b.box.least, b.box.most
	return Figure{
		Items:       b.items,
		Least:       least.Along(-quarter, b.em).Along(2*quarter, b.em),
		Most:        most.Along(quarter, b.em).Along(0, b.em),
		Description: describe(v),
	}
}

// bench is a drawing in the making.
type bench struct {
	View
	items []Item
	box   box

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
	var all box
	if !b.Wheel.Flat() {
		Arc{Radius: b.Wheel.Radius(), Sweep: fullTurn}.reach(&all)
	}
	all.include(b.Pose.Contact)
	all.include(b.Pose.Place(b.bladeEnd(), 0))
	if b.Support.Kind != Platform {
		all.include(b.Support.At)
	}
	return max(all.size(), 60)
}

func (b *bench) add(part string, role Role, s Shape) {
	b.items = append(b.items, Item{part, role, s})
	s.reach(&b.box)
}

// area adds a closed outline.
func (b *bench) area(part string, role Role, points ...geometry.Point) {
	b.add(part, role, Path{Points: points, Closed: true})
}

func (b *bench) line(part string, role Role, points ...geometry.Point) {
	b.add(part, role, Path{Points: points})
}

func (b *bench) circle(part string, role Role, centre geometry.Point, radius unit.Length) {
	b.add(part, role, Arc{Centre: centre, Radius: radius, Sweep: fullTurn})
}

// strip adds a straight piece of a width from one point to another.
func (b *bench) strip(part string, role Role, from, to geometry.Point, width unit.Length) {
	left := direction(from, to) + quarter
	half := width / 2
	b.area(part, role, from.Along(left, half), to.Along(left, half), to.Along(left, -half), from.Along(left, -half))
}

// cross marks a centre.
func (b *bench) cross(part string, at geometry.Point, arm unit.Length) {
	b.line(part, RoleConstruction, at.Along(0, -arm), at.Along(0, arm))
	b.line(part, RoleConstruction, at.Along(quarter, -arm), at.Along(quarter, arm))
}

// wheel draws the rim and the axle, or a flat abrasive's face with some body behind it.
func (b *bench) wheel() {
	if b.Wheel.Flat() {
		b.face()
		return
	}
	b.circle(PartWheel, RoleWheel, geometry.Point{}, b.Wheel.Radius())
	b.cross(PartWheel, geometry.Point{}, 1.5*b.em)
	if b.Labels.Wheel != "" {
		at := geometry.Point{Out: -b.Wheel.Radius() / 6, Up: b.Wheel.Radius() / 2}
		if b.Support.Kind == Platform { // dimensions from axle to platform run above it, those to a pivot below
			at.Up = -at.Up
		}
		b.add(PartWheel, RoleWheel, Text{at, b.Labels.Wheel})
	}
}

func (b *bench) face() {
	contact, support := b.Pose.Contact.Up, b.Pose.Contact.Up
	if b.Support.Kind != Platform {
		support = b.Support.At.Up
	}
	low, high := min(contact-b.depth, support)-8*b.em, max(contact, support)+6*b.em
	thick := 2 * b.em
	b.area(PartWheel, RoleWheel,
		geometry.Point{Up: high}, geometry.Point{Out: -thick, Up: high},
		geometry.Point{Out: -thick, Up: low}, geometry.Point{Up: low})
	if b.Labels.Wheel != "" {
		b.add(PartWheel, RoleWheel, Text{geometry.Point{Out: -thick / 2, Up: high + b.em}, b.Labels.Wheel})
	}
}
