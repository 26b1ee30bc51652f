package arris

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	arrisv1 "arris.example/proto/arris/v1"
)

// A column of the table for scripts. Numbers are those to set, in the unit the name ends with; what a step has not is empty.
type column struct {
	name string
	of   func(*arrisv1.Step) string
}

// columns never change their order; new ones come at the end.
var columns = []column{
	{"bevel", func(s *arrisv1.Step) string { return strconv.Itoa(int(s.GetBevel()) + 1) }},
	{"side", func(s *arrisv1.Step) string { return sideWord(s.GetSide()) }},
	{"stick_out_mm", func(s *arrisv1.Step) string { return setMM(s.GetStickOut()) }},
	{"leg_angle_deg", func(s *arrisv1.Step) string { return setDeg(s.GetLegAngle()) }},
	{"leg_position", func(s *arrisv1.Step) string { return harmless(s.GetLegPosition()) }},
	{"set_by", func(s *arrisv1.Step) string { return harmless(s.GetSupport().GetSetBy()) }},
	{"wheel_gap_mm", func(s *arrisv1.Step) string { return setMM(s.GetSupport().GetWheelGap()) }},
	{"wheel_gap_far_mm", func(s *arrisv1.Step) string { return setMM(s.GetSupport().GetWheelGapFar()) }},
	{"slide_mm", func(s *arrisv1.Step) string { return setMM(s.GetSupport().GetSlide()) }},
	{"pivot_to_axle_mm", func(s *arrisv1.Step) string { return setMM(s.GetSupport().GetPivotToAxle()) }},
	{"face_distance_mm", func(s *arrisv1.Step) string { return setMM(s.GetSupport().GetFaceDistance()) }},
	{"height_mm", func(s *arrisv1.Step) string { return setMM(s.GetSupport().GetHeight()) }},
	{"platform_tilt_deg", func(s *arrisv1.Step) string { return setDeg(s.GetSupport().GetPlatformTilt()) }},
	{"platform_to_axle_mm", func(s *arrisv1.Step) string { return setMM(s.GetSupport().GetPlatformToAxle()) }},
	{"reference_line_to_axle_mm", func(s *arrisv1.Step) string { return setMM(s.GetSupport().GetReferenceLineToAxle()) }},
	{"move_slide_mm", func(s *arrisv1.Step) string { return optional(moveOf(s).SlideMm) }},
	{"move_adjuster_turns", func(s *arrisv1.Step) string { return optional(moveOf(s).AdjusterTurns) }},
	{"move_wheel_gap_mm", func(s *arrisv1.Step) string { return optional(moveOf(s).WheelGapMm) }},
	{"move_tilt_deg", func(s *arrisv1.Step) string { return optional(moveOf(s).TiltDeg) }},
	{"wanted_front_angle_deg", func(s *arrisv1.Step) string { return number(s.GetWantedFrontAngleDeg()) }},
	{"edge_angle_deg", func(s *arrisv1.Step) string { return number(s.GetPredicted().GetEdgeAngleDeg()) }},
	{"bevel_reading_deg", func(s *arrisv1.Step) string { return optional(anglesOf(s).BevelReadingDeg) }},
	{"expanded_uncertainty_deg", func(s *arrisv1.Step) string { return number(s.GetPredicted().GetExpandedUncertaintyDeg()) }},
	{"bevel_width_mm", func(s *arrisv1.Step) string { return optional(anglesOf(s).BevelWidthMm) }},
	{"hollow_depth_mm", func(s *arrisv1.Step) string { return optional(anglesOf(s).HollowDepthMm) }},
	{"included_edge_angle_deg", func(s *arrisv1.Step) string { return optional(anglesOf(s).IncludedEdgeAngleDeg) }},
	{"included_reading_deg", func(s *arrisv1.Step) string { return optional(anglesOf(s).IncludedReadingDeg) }},
	{"axial_edge_angle_deg", func(s *arrisv1.Step) string { return optional(anglesOf(s).AxialEdgeAngleDeg) }},
	{"text", func(s *arrisv1.Step) string { return harmless(s.GetText()) }},
}

// writeCSV writes a row for each step, as RFC 4180 has it: a header, commas, CRLF.
func writeCSV(out io.Writer, steps []*arrisv1.Step) error {
	w := csv.NewWriter(out)
	w.UseCRLF = true
	row := []string{"step"}
	for _, c := range columns {
		row = append(row, c.name)
	}
	if err := w.Write(row); err != nil {
		return err
	}
	for i, s := range steps {
		row = append(row[:0], strconv.Itoa(i+1))
		for _, c := range columns {
			row = append(row, c.of(s))
		}
		if err := w.Write(row); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

func anglesOf(s *arrisv1.Step) *arrisv1.Angles {
	if s.Predicted == nil {
		return &arrisv1.Angles{}
	}
	return s.Predicted
}

func moveOf(s *arrisv1.Step) *arrisv1.Move {
	if move := s.GetSupport().GetMove(); move != nil {
		return move
	}
	return &arrisv1.Move{}
}

func setMM(s *arrisv1.LengthSetting) string {
	if s == nil {
		return ""
	}
	return number(s.GetSetMm())
}

func setDeg(s *arrisv1.AngleSetting) string {
	if s == nil {
		return ""
	}
	return number(s.GetSetDeg())
}

func optional(v *float64) string {
	if v == nil {
		return ""
	}
	return number(*v)
}

// number is a number in full, never with an exponent.
func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// harmless keeps a spreadsheet from taking a text for a formula.
func harmless(text string) string {
	if strings.IndexAny(text, "=+-@") == 0 {
		return "'" + text
	}
	return text
}

func sideWord(s arrisv1.Side) string {
	switch s {
	case arrisv1.Side_SIDE_FIRST:
		return "first"
	case arrisv1.Side_SIDE_SECOND:
		return "second"
	case arrisv1.Side_SIDE_UPPER:
		return "upper"
	default:
		return ""
	}
}
