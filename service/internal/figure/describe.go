package figure

import (
	"math"
	"slices"
	"strings"

	"arris.example/geometry/unit"
	"arris.example/service/internal/words"
)

// describe puts the drawing into one sentence.
func describe(v View) string {
	l := v.Labels
	clauses := []string{
		v.say("Side view to scale: %s", describeWheel(v)), describeContact(v), v.say(holderWords[v.Holder]), describeSupport(v),
		l.EdgeAngle, l.BevelReading, l.StickOut, l.LegAngle, l.Slide, l.WheelGap, l.WheelGapFar, l.PivotToAxle, l.FaceDistance,
		l.Height, l.PlatformTilt, l.PlatformToAxle, l.LineToAxle, l.RestGap,
	}
	said := slices.DeleteFunc(clauses, func(clause string) bool { return clause == "" })
	return strings.Join(said, "; ") + "."
}

func (v *View) say(t words.Text, args ...string) string { return v.Language.Say(t, args...) }

func describeWheel(v View) string {
	if v.Wheel.Flat() {
		return v.say("a flat abrasive, its face upright, at the left")
	}
	return v.say("a wheel of %s diameter at the left", v.millimetres(v.Wheel.Diameter()))
}

func describeContact(v View) string {
	if v.Supposed {
		return v.say("the edge meets it at a place picked for the drawing")
	}
	meets, up := v.say("the edge meets it"), v.Pose.Contact.Up
	switch {
	case v.Wheel.Flat():
	case up < 0:
		meets = v.say("the edge meets it %s below axle height", v.millimetres(-up))
	default:
		meets = v.say("the edge meets it %s above axle height", v.millimetres(up))
	}
	pitch := v.Pose.Pitch.Degrees()
	by := v.Language.Number(math.Abs(pitch), 0)
	switch {
	case pitch >= 0.5:
		return meets + v.say(", the handle %s° above the horizontal", by)
	case pitch <= -0.5:
		return meets + v.say(", the handle %s° below the horizontal", by)
	}
	return meets + v.say(", the handle level")
}

var holderWords = [...]words.Text{
	NoHolder: "the tool lies flat on a platform", Clamp: "a clamp grips the tool", Swing: "a swing holder grips the tool", Butted: "the handle is butted",
	BarePivot: "the tool is held at a pivot",
}

// standWords say where a support stands: from a wheel's axle above it, or below it, or from a flat abrasive's face.
var standWords = map[SupportKind]struct{ above, below, flat words.Text }{
	AnySupport: {
		"the pivot stands %s out from the axle and %s above it", "the pivot stands %s out from the axle and %s below it", "the pivot stands %s from the face",
	},
	Bar: {
		"the bar stands %s out from the axle and %s above it", "the bar stands %s out from the axle and %s below it", "the bar stands %s from the face",
	},
	Pocket: {
		"the pocket stands %s out from the axle and %s above it", "the pocket stands %s out from the axle and %s below it", "the pocket stands %s from the face",
	},
}

func describeSupport(v View) string {
	if v.Supposed || v.Support.Kind == Platform {
		return ""
	}
	at, stands := v.Support.At, standWords[v.Support.Kind]
	switch {
	case v.Wheel.Flat():
		return v.say(stands.flat, v.millimetres(at.Out))
	case at.Up < 0:
		return v.say(stands.below, v.millimetres(at.Out), v.millimetres(-at.Up))
	}
	return v.say(stands.above, v.millimetres(at.Out), v.millimetres(at.Up))
}

func (v *View) millimetres(l unit.Length) string { return v.Language.Number(float64(l), 1) + " mm" }
