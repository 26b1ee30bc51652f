package arris

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// A column of a table for scripts. Numbers are in the unit the name ends with; what a row has not is empty.
type column[T any] struct {
	name string
	of   func(T) string
}

// stepColumns never change their order, here and in every other table; new ones come at the end. Numbers are those to set.
var stepColumns = []column[*arrisv1.Step]{
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

// writeCSV writes an answer as RFC 4180 has it: a header, commas, CRLF.
func writeCSV(out io.Writer, answer proto.Message) error {
	w := newCSV(out)
	switch a := answer.(type) {
	case *arrisv1.TransferSetupResponse:
		writeRows(w, "", differenceColumns, a.GetDifferences())
	case *arrisv1.MatchGrindResponse:
		writeRows(w, "", matchColumns, matchRows(a))
	case *arrisv1.PlanBevelsResponse:
		writeRows(w, "bevel", plannedColumns, a.GetBevels())
	case *arrisv1.CheckCurveResponse:
		writeRows(w, "", curveColumns, []*arrisv1.CheckCurveResponse{a})
	case *arrisv1.PlanRegrindResponse:
		writeRows(w, "", regrindColumns, regrindRows(a))
	case *arrisv1.AnalyzeEdgeResponse:
		writeRows(w, "", edgePointColumns, a.GetEdge().GetPoints())
	case *arrisv1.MapEdgeResponse:
		writeRows(w, "", cellColumns, a.GetCells())
	case *arrisv1.FindFurthestWingResponse:
		writeRows(w, "", furthestColumns, []*arrisv1.FindFurthestWingResponse{a})
	case *arrisv1.FitFluteResponse:
		writeRows(w, "", fluteColumns, a.GetFits())
	default:
		writeRows(w, "step", stepColumns, findingsOf(answer).steps)
	}
	w.Flush()
	return w.Error()
}

func newCSV(out io.Writer) *csv.Writer {
	w := csv.NewWriter(out)
	w.UseCRLF = true
	return w
}

// writeRows writes a header and a row for each thing, numbered in a first column where that has a name. The writer keeps its error.
func writeRows[T any](w *csv.Writer, number string, columns []column[T], things []T) {
	var row []string
	if number != "" {
		row = append(row, number)
	}
	_ = w.Write(append(row, names(columns)...))
	for i, thing := range things {
		row = row[:0]
		if number != "" {
			row = append(row, strconv.Itoa(i+1))
		}
		_ = w.Write(append(row, cells(columns, thing)...))
	}
}

func names[T any](columns []column[T]) []string {
	list := make([]string, len(columns))
	for i, c := range columns {
		list[i] = c.name
	}
	return list
}

func cells[T any](columns []column[T], thing T) []string {
	list := make([]string, len(columns))
	for i, c := range columns {
		list[i] = c.of(thing)
	}
	return list
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
