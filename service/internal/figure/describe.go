package figure

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"arris.example/geometry/unit"
)

// describe puts the drawing into one sentence.
func describe(v View) string {
	l := v.Labels
	clauses := []string{
		"Side view to scale: " + describeWheel(v), describeContact(v), describeHolder(v), describeSupport(v),
		l.EdgeAngle, l.BevelReading, l.StickOut, l.LegAngle, l.Slide, l.WheelGap, l.WheelGapFar, l.PivotToAxle, l.FaceDistance,
		l.Height, l.PlatformTilt, l.PlatformToAxle, l.LineToAxle, l.RestGap,
	}
	said := slices.DeleteFunc(clauses, func(clause string) bool { return clause == "" })
	return strings.Join(said, "; ") + "."
}

func describeWheel(v View) string {
	if v.Wheel.Flat() {
		return "a flat abrasive, its face upright, at the left"
	}
	return "a wheel of " + millimetres(v.Wheel.Diameter()) + " diameter at the left"
}

func describeContact(v View) string {
	if v.Supposed {
		return "the edge meets it at a place picked for the drawing"
	}
	meets := "the edge meets it"
	if up := float64(v.Pose.Contact.Up); !v.Wheel.Flat() {
		meets += " " + millimetres(unit.Length(math.Abs(up))) + sideOf(up, " above", " below") + " axle height"
	}
	handle := "level"
	if pitch := v.Pose.Pitch.Degrees(); math.Abs(pitch) >= 0.5 {
		handle = fmt.Sprintf("%.0f° %s the horizontal", math.Abs(pitch), sideOf(pitch, "above", "below"))
	}
	return meets + ", the handle " + handle
}

func describeHolder(v View) string {
	return [...]string{
		"the tool lies flat on a platform", "a clamp grips the tool", "a swing holder grips the tool", "the handle is butted",
		"the tool is held at a pivot",
	}[v.Holder]
}

func describeSupport(v View) string {
	if v.Supposed || v.Support.Kind == Platform {
		return ""
	}
	at := v.Support.At
	where := millimetres(at.Out) + " out from the axle and " + millimetres(unit.Length(math.Abs(float64(at.Up)))) +
		sideOf(float64(at.Up), " above it", " below it")
	if v.Wheel.Flat() {
		where = millimetres(at.Out) + " from the face"
	}
	return [...]string{"the pivot", "the bar", "the pocket"}[v.Support.Kind] + " stands " + where
}

func sideOf(v float64, positive, negative string) string {
	if v < 0 {
		return negative
	}
	return positive
}

func millimetres(l unit.Length) string { return fmt.Sprintf("%.1f mm", float64(l)) }
