package figure

import (
	"math"

	"arris.example/geometry"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
)

// lines draws the directions that angles and dimensions refer to.
func (b *bench) lines() {
	b.line(PartTool, drawing.RoleConstruction, b.Pose.Place(-2*b.em, 0), b.Pose.Place(b.bladeEnd()+b.em, 0))
	if b.Labels.EdgeAngle != "" {
		tangent := b.Pose.Pitch - b.EdgeAngle
		b.line("edge_angle", drawing.RoleConstruction, b.Pose.Contact.Along(tangent, -2*b.em), b.Pose.Contact.Along(tangent, b.edgeRadius()+b.em))
	}
	if b.Labels.BevelReading != "" {
		chord := b.Pose.Pitch - b.Bevel.Reading
		b.line("bevel_reading", drawing.RoleConstruction, b.Pose.Contact, b.Pose.Contact.Along(chord, b.readingRadius()+b.em))
	}
	if b.Support.Kind == Platform {
		return
	}
	if b.Labels.WheelGap != "" || b.Labels.WheelGapFar != "" || b.Labels.PivotToAxle != "" {
		b.lineOfCentres()
	}
	if slide := b.Support.Slide; slide != nil {
		b.line("slide", drawing.RoleConstruction, b.Support.At.Along(slide.Direction, -4*b.em), b.Support.At.Along(slide.Direction, 4*b.em))
	}
}

func (b *bench) lineOfCentres() {
	beyond := b.Support.At.Along(b.towardsWheel(), -1.5*b.em)
	from := geometry.Point{}
	if b.Wheel.Flat() {
		from.Up = b.Support.At.Up
	}
	b.line("wheel_gap", drawing.RoleConstruction, from, beyond)
}

// dimensions adds those that have a label.
func (b *bench) dimensions() {
	b.toolDimensions()
	if b.Support.Kind == Platform {
		b.platformDimensions()
		return
	}
	b.supportDimensions()
	b.slideDimension()
}

// length adds a dimension if it has a text.
func (b *bench) length(part, text string, from, to geometry.Point, offset unit.Length) {
	if text != "" {
		b.add(part, drawing.RoleDimension, drawing.Dimension{From: from, To: to, Offset: offset, Text: text})
	}
}

// angle adds an angle between two directions, whichever comes first, if it has a text.
func (b *bench) angle(part, text string, apex geometry.Point, radius unit.Length, from, sweep unit.Angle) {
	if text == "" {
		return
	}
	if sweep < 0 {
		from, sweep = from+sweep, -sweep
	}
	if sweep < 1*unit.Degree { // no room for an arc
		b.add(part, drawing.RoleDimension, drawing.Text{At: apex.Along(from, radius+2*b.em), Text: text})
		return
	}
	b.add(part, drawing.RoleDimension, drawing.Angle{Apex: apex, Radius: radius, Start: from, Sweep: sweep, Text: text})
}

// The arcs of the two angles at the nose: the protractor's outside, short of the holder where there is room.
func (b *bench) readingRadius() unit.Length {
	radius := max(7*b.em, b.Bevel.Chord+4*b.em)
	if b.gripped() {
		radius = min(radius, max(b.StickOut-b.em/2, 5*b.em))
	}
	return radius
}

func (b *bench) edgeRadius() unit.Length { return b.readingRadius() - 2.2*b.em }

func (b *bench) toolDimensions() {
	nose, pitch := b.Pose.Contact, b.Pose.Pitch
	above := b.body.top + 2.5*b.em
	switch {
	case b.gripped():
		b.length("stick_out", b.Labels.StickOut, nose, b.Pose.Place(b.StickOut, 0), above)
	case b.Holder == Butted:
		b.length("stick_out", b.Labels.StickOut, nose, b.Pose.Place(b.Pivot.Behind, 0), above)
	}
	b.angle("edge_angle", b.Labels.EdgeAngle, nose, b.edgeRadius(), pitch-b.EdgeAngle, b.EdgeAngle)
	b.angle("bevel_reading", b.Labels.BevelReading, nose, b.readingRadius(), pitch-b.Bevel.Reading, b.Bevel.Reading)
	if b.Holder == Swing && b.gripped() && b.Labels.LegAngle != "" {
		radius := min(max(4*b.em, apart(b.joint(), b.pivot())/2), 5*b.em)
		b.line("leg_angle", drawing.RoleConstruction, b.joint(), b.joint().Along(pitch, radius+b.em))
		b.angle("leg_angle", b.Labels.LegAngle, b.joint(), radius, pitch-b.LegAngle, b.LegAngle)
	}
}

func (b *bench) supportDimensions() {
	at, in := b.Support.At, b.towardsWheel()
	axle, rim := geometry.Point{}, geometry.Point{Up: at.Up}
	if !b.Wheel.Flat() {
		rim = axle.Along(in+2*quarter, b.Wheel.Radius())
	}
	b.length("wheel_gap", b.Labels.WheelGap, rim, at.Along(in, b.Support.Near), 0)
	b.length("wheel_gap_far", b.Labels.WheelGapFar, rim, at.Along(in, -b.Support.Far), -3*b.em)
	b.faceDistance()
	if b.Labels.Height != "" {
		top := geometry.Point{Out: at.Out, Up: at.Up + b.Support.Top}
		floor := geometry.Point{Out: at.Out, Up: b.Support.Floor}
		b.line("height", drawing.RoleConstruction, floor.Along(0, -4*b.em), floor.Along(0, 7*b.em))
		aside := 4 * b.em
		if top.Up > floor.Up {
			aside = -aside // to the right of the way up
		}
		b.length("height", b.Labels.Height, floor, top, aside)
	}
	if !b.Wheel.Flat() {
		b.length("pivot_to_axle", b.Labels.PivotToAxle, axle, at, -3*b.em)
	}
}

// faceDistance runs horizontally from the wheel's face at axle height to the support's near side.
func (b *bench) faceDistance() {
	if b.Labels.FaceDistance == "" {
		return
	}
	at, face := b.Support.At, geometry.Point{}
	if !b.Wheel.Flat() {
		face.Out = b.Wheel.Radius()
	}
	level := geometry.Point{Out: face.Out, Up: at.Up}
	b.line("face_distance", drawing.RoleConstruction, face, level)
	b.length("face_distance", b.Labels.FaceDistance, level, geometry.Point{Out: at.Out - b.Support.Near, Up: at.Up}, -4*b.em)
}

// slideDimension is the reading: from where the scale begins to the support, on the side away from the axle, clear of the wheel.
func (b *bench) slideDimension() {
	slide := b.Support.Slide
	if slide == nil || b.Labels.Slide == "" {
		return
	}
	left := slide.Direction + quarter
	sin, cos := left.SinCos()
	off := slide.Origin.Out*unit.Length(cos) + slide.Origin.Up*unit.Length(sin) // of the scale from the axle, to the left
	aside := 4 * b.em
	if !b.Wheel.Flat() && unit.Length(math.Abs(float64(off))) < b.Wheel.Radius() {
		aside += b.Wheel.Radius() - unit.Length(math.Abs(float64(off)))
	}
	from, to := slide.Origin, b.Support.At
	b.line("slide", drawing.RoleConstruction, geometry.Point{}, from) // how far the scale's zero is from the axle
	if reading := apart(from, to); math.Cos(float64(direction(from, to)-slide.Direction)) < 0 && reading > 0 {
		off = -off // the way from scale's zero to support runs against the slide: left and right change
	}
	if off < 0 {
		aside = -aside
	}
	b.length("slide", b.Labels.Slide, from, to, aside)
}

func (b *bench) platformDimensions() {
	s, pitch := b.body, b.Pose.Pitch
	b.tilt()
	front := b.Pose.Place(s.front, -s.bottom)
	rim := geometry.Point{Up: front.Up}
	if !b.Wheel.Flat() {
		rim = geometry.Point{}.Along(front.Elevation(), b.Wheel.Radius())
		line := b.footOfAxle(0)
		b.length("reference_line_to_axle", b.Labels.LineToAxle, geometry.Point{}, line, 0)
		surface := b.footOfAxle(-s.bottom)
		b.length("platform_to_axle", b.Labels.PlatformToAxle, geometry.Point{}, surface, 3*b.em)
		if b.Labels.LineToAxle+b.Labels.PlatformToAxle != "" {
			b.line(PartTool, drawing.RoleConstruction, line.Along(pitch, -b.em), b.Pose.Contact)
		}
		if b.Labels.PlatformToAxle != "" {
			b.line(PartSupport, drawing.RoleConstruction, surface.Along(pitch, -4*b.em), front)
		}
	}
	b.length("rest_gap", b.Labels.RestGap, rim, front, 0)
}

// footOfAxle is the point square above the axle on the line that runs along the tool at a height above the reference line.
func (b *bench) footOfAxle(above unit.Length) geometry.Point {
	ahead := b.Wheel.Radius() * unit.Length(b.EdgeAngle.Sin())
	return b.Pose.Place(-ahead, above)
}

// tilt is the angle of a platform's surface to the horizontal, drawn behind the platform.
func (b *bench) tilt() {
	text, tilt := b.Labels.PlatformTilt, b.Pose.Pitch
	if text == "" {
		return
	}
	s := b.body
	apex, end := b.Pose.Place(s.front+usualTable/2, -s.bottom), b.Pose.Place(s.back, -s.bottom)
	radius := apart(apex, end) + 2*b.em
	b.line("platform_tilt", drawing.RoleConstruction, apex, apex.Along(0, radius+b.em))
	b.line("platform_tilt", drawing.RoleConstruction, end, apex.Along(tilt, radius+b.em))
	b.angle("platform_tilt", text, apex, radius, 0, tilt)
}
