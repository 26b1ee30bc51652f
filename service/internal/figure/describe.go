package figure

import (
	"fmt"
	"math"
	"strings"

	"arris.example/geometry/unit"
)

// describe puts the drawing into one sentence.
func describe(v View) string {
	said := []string{"Side view to scale: " + describeWheel(v), describeContact(v), describeHolder(v), describeSupport(v)}
	l := v.Labels
	for _, text := range []string{
		l.EdgeAngle, l.BevelReading, l.StickOut, l.LegAngle, l.Slide, l.WheelGap, l.WheelGapFar, l.PivotToAxle, l.FaceDistance,
		l.Height, l.PlatformTilt, l.PlatformToAxle, l.LineToAxle, l.RestGap,
	} {
		if text != "" {
			said = append(said, text)
		}
	}
	return strings.Join(said, "; ") + "."
}

func describeWheel(v View) string {
	if v.Wheel.Flat() {
		return "a flat abrasive, its face upright, at the left"
	}
	return "a wheel of " + millimetres(v.Wheel.Diameter()) + " diameter at the left"
}

func describeContact(v View) string {
	handle := "level"
	if pitch := v.Pose.Pitch.Degrees(); math.Abs(pitch) >= 0.5 {
		handle = fmt.Sprintf("%.0f° %s the horizontal", math.Abs(pitch), sideOf(pitch, "above", "below"))
	}
	meets := "the edge meets it"
	if up := float64(v.Pose.Contact.Up); !v.Wheel.Flat() {
		meets += " " + millimetres(unit.Length(math.Abs(up))) + sideOf(up, " above", " below") + " axle height"
	}
	return meets + ", the tool's handle end " + handle
}

func describeHolder(v View) string {
	return [...]string{
		"the tool lies on a platform", "a clamp grips the tool", "a swing holder grips the tool", "the handle is butted",
		"the tool is held at a pivot",
	}[v.Holder]
}

func describeSupport(v View) string {
	at := v.Support.At
	where := " " + millimetres(at.Out) + " out from the axle and " + millimetres(unit.Length(math.Abs(float64(at.Up)))) +
		sideOf(float64(at.Up), " above it", " below it")
	if v.Wheel.Flat() {
		where = " " + millimetres(at.Out) + " from the face"
	}
	switch v.Support.Kind {
	case Bar:
		return "the bar stands" + where
	case Pocket:
		return "the pocket stands" + where
	case Platform:
		return "its underside flat on the surface"
	}
	return "the pivot stands" + where
}

func sideOf(v float64, positive, negative string) string {
	if v < 0 {
		return negative
	}
	return positive
}

func millimetres(l unit.Length) string { return fmt.Sprintf("%.1f mm", float64(l)) }
