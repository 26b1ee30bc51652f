package figure

import (
	"math"
	"slices"

	"arris.example/geometry"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
)

// seat draws what lies under the tool or the ball: it is drawn before them.
func (b *bench) seat() {
	switch b.Support.Kind {
	case Pocket:
		b.pocket()
	case Platform:
		b.platform()
	case AnySupport, Bar: // drawn by post
	}
}

// post draws what passes through the holder or stands for an unknown support: it is drawn after them.
func (b *bench) post() {
	at := b.Support.At
	switch b.Support.Kind {
	case Bar:
		b.circle(PartSupport, drawing.RoleSupport, at, b.barRadius())
		b.cross(PartSupport, at, b.barRadius()+b.em/2)
	case AnySupport:
		b.cross(PartSupport, at, b.em)
	case Pocket, Platform: // drawn by seat
	}
}

// pocket draws a block with a right-angled V in which the ball, or the handle's end, stands.
func (b *bench) pocket() {
	radius := b.ballRadius()
	bottom := -radius * math.Sqrt2
	if b.Holder == Butted {
		bottom, radius = 0, usualHandle/2 // the handle's end itself is the pivot
	}
	lip := max(b.Support.Near, bottom+radius)
	half := lip - bottom
	outline := []geometry.Point{
		{Out: bottom, Up: 0}, {Out: lip, Up: half}, {Out: lip, Up: half + radius}, {Out: bottom - radius, Up: half + radius},
		{Out: bottom - radius, Up: -half - radius}, {Out: lip, Up: -half - radius}, {Out: lip, Up: -half},
	}
	block := b.turned(outline, b.opening())
	if b.strikes(block) {
		block = b.turned(outline, b.towardsWheel())
	}
	b.area(PartSupport, drawing.RoleSupport, block...)
}

// turned brings an outline about the support's centre to the wheel frame, its first direction turned to another.
func (b *bench) turned(outline []geometry.Point, way unit.Angle) []geometry.Point {
	placed := make([]geometry.Point, len(outline))
	for i, p := range outline {
		placed[i] = b.Support.At.Along(way, p.Out).Along(way+quarter, p.Up)
	}
	return placed
}

// strikes tells whether a corner stands in the wheel.
func (b *bench) strikes(outline []geometry.Point) bool {
	return slices.ContainsFunc(outline, func(p geometry.Point) bool { return b.Wheel.GapTo(p) < 0 })
}

// opening is the way a pocket faces: along the line of centres towards the wheel, as its gauged surface does, but never so far
// from the leg that the leg would cut through the V's walls.
func (b *bench) opening() unit.Angle {
	const most = 30 * unit.Degree
	leg := b.Pose.Pitch + 2*quarter
	if b.Holder == Swing && b.gripped() {
		leg = direction(b.Support.At, b.joint())
	}
	off := math.Remainder(float64(b.towardsWheel()-leg), 2*math.Pi)
	return leg + min(max(unit.Angle(off), -most), most)
}

// towardsWheel is the line of centres' direction from the support.
func (b *bench) towardsWheel() unit.Angle {
	if b.Wheel.Flat() {
		return 2 * quarter
	}
	return direction(b.Support.At, geometry.Point{})
}

// tableFront is how far behind the nose a platform begins: where its front edge is known to be, else a little off the wheel.
func (b *bench) tableFront() unit.Length {
	front := b.Support.Front
	if front == nil {
		return b.clearAt(b.depth)
	}
	return b.behind(*front)
}

// clearAt is how far behind the nose a point of a depth below the reference line stands a rest gap off the wheel.
func (b *bench) clearAt(depth unit.Length) unit.Length {
	sin, cos := b.EdgeAngle.SinCos()
	if b.Wheel.Flat() {
		return (depth*unit.Length(cos) + usualRestGap) / unit.Length(sin)
	}
	// In the tool frame the axle lies R sin β ahead of the nose and R cos β below.
	r := float64(b.Wheel.Radius())
	from, over := r+usualRestGap, r*cos-float64(depth)
	return unit.Length(math.Sqrt(max(0, (from-over)*(from+over))) - r*sin)
}

// behind is how far behind the nose, along the tool, a point of the wheel frame lies.
func (b *bench) behind(p geometry.Point) unit.Length {
	sin, cos := b.Pose.Pitch.SinCos()
	return (p.Out-b.Pose.Contact.Out)*unit.Length(cos) + (p.Up-b.Pose.Contact.Up)*unit.Length(sin)
}

// platform draws the plate whose surface the tool's underside lies on, and its hinge.
func (b *bench) platform() {
	s := b.body
	under := s.bottom + usualPlate
	b.hinge()
	b.area(PartSupport, drawing.RoleSupport, b.place(
		geometry.Point{Out: s.front, Up: -s.bottom}, geometry.Point{Out: s.back, Up: -s.bottom},
		geometry.Point{Out: s.back, Up: -under}, geometry.Point{Out: max(s.front, b.clearAt(under)), Up: -under})...)
}

func (b *bench) hinge() {
	hinge := b.Support.Hinge
	if hinge == nil {
		return
	}
	foot := b.onTable(*hinge)
	b.strip(PartSupport, drawing.RoleSupport, foot, *hinge, usualPlate)
	b.circle(PartSupport, drawing.RoleSupport, *hinge, usualPlate/2)
	b.cross(PartSupport, *hinge, usualPlate)
}

// onTable is the point of a platform's surface square above or below another point.
func (b *bench) onTable(p geometry.Point) geometry.Point {
	return b.Pose.Place(b.behind(p), -b.body.bottom)
}
