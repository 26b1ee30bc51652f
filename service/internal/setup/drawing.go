package setup

import (
	"arris.example/geometry"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
	"arris.example/service/internal/figure"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// drawing is the side view of a stand. Where nobody described the machine its support is put where a tool is usually held.
func (x *search) drawing(s stand, step Step) *drawing.Figure {
	v := figure.View{
		Wheel: x.surface, Pose: s.pose, EdgeAngle: s.front,
		Holder: figure.HolderKind(x.holder.Kind), StickOut: s.choice.stickOut, FaceDepth: x.holder.FaceDepth.Value,
		JointBehindFace: x.holder.Arm.JointBehindFace, JointBelowAxis: x.holder.Arm.JointBelowAxis, LegAngle: s.choice.leg,
		Labels: x.labels(s, step), Language: x.in.Language,
	}
	v.Pivot = s.pivot.SeenFrom(-s.bevel.behind, -s.bevel.below) // the drawing starts from the edge
	v.Bevel, _ = s.bevel.reground(x.surface, s.face, s.front)
	x.drawSteel(&v, s)
	x.drawSupport(&v, s)
	f := figure.SideView(v)
	return &f
}

// drawSteel gives the tool its section.
func (x *search) drawSteel(v *figure.View, s stand) {
	v.SteelDepth = s.face.steel.Value
	switch {
	case x.tool.Kind.TwoBevels():
		v.SteelAbove = s.face.steel.Value
	case x.tool.Kind == shop.NegativeRakeScraper:
		v.SteelAbove = x.tool.Thickness.Value - s.face.steel.Value
	}
}

func (x *search) drawSupport(v *figure.View, s stand) {
	support := x.support
	v.Support = figure.Support{
		Kind: figure.SupportKind(support.Kind), At: s.set.at, Near: support.Near, Far: support.Far, Top: support.Top, Floor: support.Reference.Value,
	}
	if support.Kind == shop.Bar {
		v.Support.Diameter = 2 * support.Near
	}
	if support.Slide.Known {
		v.Support.Slide = &support.Slide.Value.Slide
	}
	if support.Kind == shop.Platform {
		x.drawTable(v, s)
		return
	}
	if !s.posed {
		v.Supposed = true
		v.Support.At = figure.PlaceSupport(x.surface, s.pivot, s.front, s.set.gap)
		v.Pose = x.surface.Pose(s.pivot, s.front, v.Support.At)
	}
}

// drawTable gives a platform its front edge and hinge, where its machine has them.
func (x *search) drawTable(v *figure.View, s stand) {
	if !s.posed {
		v.Supposed = true
		tilt := s.front - 60*unit.Degree // the contact 30° above the axle
		if x.surface.Flat() {
			tilt = geometry.FlatTilt(s.front)
		}
		v.Pose = x.surface.PoseOnPlatform(s.front, tilt, s.set.line)
		return
	}
	t := (&table{rig: x.rig}).platform(s.set.reading)
	v.Support.Hinge = &t.Hinge
	if before := x.support.Table.Front; before.Known {
		front := t.Front(s.set.tilt, before.Value)
		v.Support.Front = &front
	}
}

// labels word the dimensions. Only the one the support is set by is drawn, and those of the tool.
func (x *search) labels(s stand, step Step) figure.Labels {
	l := figure.Labels{EdgeAngle: x.frontLabel(s)}
	if !x.wheel.Flat {
		l.Wheel = x.say("wheel ⌀%s", x.length(x.wheel.Diameter))
	}
	if r := step.Predicted.Reading; r.Known {
		l.BevelReading = x.say("bevel reading %s", x.degrees(r.Value))
	}
	if step.StickOut != nil {
		l.StickOut = x.say("stick-out %s", step.StickOut.Text)
		if x.holder.Kind == shop.Butted {
			l.StickOut = x.say("seat to nose %s", step.StickOut.Text)
		}
	}
	if step.Leg != nil {
		l.LegAngle = x.say("leg %s", step.Leg.Text)
	}
	if gap := step.Predicted.RestGap; gap.Known {
		l.RestGap = x.say("rest gap %s", x.length(gap.Value))
	}
	x.supportLabel(&l, step)
	return l
}

// frontLabel words the wheel's tangent at a bevel's front end, which is the edge's angle only where that is the edge.
func (x *search) frontLabel(s stand) string {
	label := words.Text("edge angle %s")
	if s.bevel.index > 0 {
		label = "front angle %s"
	}
	return x.say(label, x.degrees(s.front))
}

// The labels of what a support is set by.
var (
	datumLabels = map[shop.Datum]words.Text{
		shop.DatumSlide:          "slide %s",
		shop.DatumWheelGap:       "wheel gap %s",
		shop.DatumWheelGapFar:    "gap to the far side %s",
		shop.DatumPivotToAxle:    "distance from axle to pivot %s",
		shop.DatumFaceDistance:   "distance from the wheel's face %s",
		shop.DatumPlatformToAxle: "platform to axle %s",
	}
	heightLabels = map[shop.SupportKind]words.Text{
		shop.AnySupport: "support's height %s", shop.Bar: "bar's height %s", shop.Pocket: "pocket's height %s", shop.Platform: "platform's height %s",
	}
)

// supportLabel words the datum the support is set by.
func (x *search) supportLabel(l *figure.Labels, step Step) {
	lengths := step.Support.Lengths
	text := func(d shop.Datum) string {
		label := datumLabels[d]
		if d == shop.DatumHeight {
			label = heightLabels[x.support.Kind]
		}
		return x.say(label, lengths[d].Text)
	}
	switch d := step.Support.SetBy; d {
	case shop.DatumSlide:
		l.Slide = text(d)
		if lengths[shop.DatumWheelGap] != nil {
			l.WheelGap = text(shop.DatumWheelGap)
		}
	case shop.DatumWheelGap:
		l.WheelGap = text(d)
	case shop.DatumWheelGapFar:
		l.WheelGapFar = text(d)
	case shop.DatumPivotToAxle:
		l.PivotToAxle = text(d)
	case shop.DatumFaceDistance:
		l.FaceDistance = text(d)
	case shop.DatumHeight:
		l.Height = text(d)
	case shop.DatumTilt:
		l.PlatformTilt = x.say("tilt %s", words.Signed(step.Support.Tilt.Text))
	case shop.DatumPlatformToAxle:
		l.PlatformToAxle = text(d)
	}
}
