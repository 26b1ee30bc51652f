package figure

import (
	"arris.example/geometry"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
)

// bodySection is what grips or carries the tool, as a stretch of it: the holder's body, a butted handle, or the platform's top.
func (b *bench) bodySection() section {
	s := section{front: b.StickOut, top: b.SteelAbove + usualWall, bottom: b.bodyBottom()}
	switch b.Holder {
	case Swing:
		s.back = s.front + max(b.JointBehindFace+usualBody/2, usualBody)
	case Clamp:
		s.back = s.front + usualBody
	case Butted:
		s.front, s.back, s.top = 0, b.Pivot.Behind, max(b.SteelAbove, usualHandle-min(b.depth/2, b.Pivot.Below))
	case NoHolder:
		s.front = b.tableFront()
		s.back, s.top, s.bottom = s.front+usualTable, b.SteelAbove, b.depth
	case BarePivot:
		s.front, s.back = 0, max(b.Pivot.Behind, 0)
	}
	return s
}

// bodyBottom is how far the holder reaches below the reference line: as told, else around the steel but not into the wheel.
func (b *bench) bodyBottom() unit.Length {
	if b.FaceDepth > 0 {
		return b.FaceDepth
	}
	room := b.Wheel.RoomBelow(b.EdgeAngle, b.StickOut)
	return max(b.depth, min(b.depth+usualWall, room-1))
}

// gripped tells whether there is a holder whose front face is known.
func (b *bench) gripped() bool {
	return (b.Holder == Swing || b.Holder == Clamp) && b.StickOut > 0
}

// pivot is where the machine holds tool and holder.
func (b *bench) pivot() geometry.Point {
	return b.Pose.Place(b.Pivot.Behind, -b.Pivot.Below)
}

// joint is where a swing holder's leg begins.
func (b *bench) joint() geometry.Point {
	return b.Pose.Place(b.StickOut+b.JointBehindFace, -b.JointBelowAxis)
}

// holder draws what grips the tool, up to the pivot.
func (b *bench) holder() {
	switch {
	case b.Holder == NoHolder || b.Holder == Butted:
	case !b.gripped():
		b.bareArm()
	case b.Holder == Swing:
		b.swing()
	default:
		b.clamp()
	}
}

// bareArm shows how the pivot belongs to the tool where no holder is known.
func (b *bench) bareArm() {
	b.line(PartHolder, drawing.RoleConstruction, b.Pose.Place(b.Pivot.Behind, 0), b.pivot())
	b.circle(PartHolder, drawing.RoleHolder, b.pivot(), usualBall)
}

func (b *bench) swing() {
	joint, ball := b.joint(), b.pivot()
	b.strip(PartHolder, drawing.RoleHolder, joint, ball, usualBall)
	b.circle(PartHolder, drawing.RoleHolder, ball, b.ballRadius())
	if reach := b.JointBelowAxis; reach > b.body.bottom || reach < -b.body.top {
		b.strip(PartHolder, drawing.RoleHolder, b.Pose.Place(b.StickOut+b.JointBehindFace, 0), joint, 2*usualWall)
	}
	b.grip()
	b.circle(PartHolder, drawing.RoleHolder, joint, usualBall)
}

func (b *bench) clamp() {
	bar := b.pivot()
	root := b.Pose.Place(min(max(b.Pivot.Behind, b.body.front+usualWall), b.body.back-usualWall), 0)
	b.strip(PartHolder, drawing.RoleHolder, root, bar, 2*usualWall)
	b.circle(PartHolder, drawing.RoleHolder, bar, b.barRadius()+usualWall-2)
	b.grip()
}

// grip draws the body around the tool.
func (b *bench) grip() {
	s := b.body
	b.area(PartHolder, drawing.RoleHolder, b.place(
		geometry.Point{Out: s.front, Up: s.top}, geometry.Point{Out: s.back, Up: s.top},
		geometry.Point{Out: s.back, Up: -s.bottom}, geometry.Point{Out: s.front, Up: -s.bottom})...)
}

// ballRadius is that of a ball whose V's bottom is where the pocket is gauged, else a usual one.
func (b *bench) ballRadius() unit.Length {
	if b.Support.Near >= 0 {
		return usualBall
	}
	return min(max(-b.Support.Near*unit.Length((45*unit.Degree).Sin()), usualBall/2), 3*usualBall)
}

func (b *bench) barRadius() unit.Length {
	switch {
	case b.Support.Kind == Bar && b.Support.Diameter > 0:
		return b.Support.Diameter / 2
	case b.Support.Near > 0:
		return b.Support.Near
	}
	return usualBar / 2
}
