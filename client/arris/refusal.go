package arris

import (
	"cmp"
	"errors"
	"fmt"
	"strings"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// exitCodes are the exit codes of the API's status codes; all others are ExitOther.
var exitCodes = map[codes.Code]int{
	codes.InvalidArgument:    ExitRefused,
	codes.FailedPrecondition: ExitImpossible,
	codes.NotFound:           ExitNotFound,
	codes.Unavailable:        ExitAway,
	codes.DeadlineExceeded:   ExitAway,
	codes.Aborted:            ExitConflict,
	codes.AlreadyExists:      ExitExists,
}

// fail tells an error and returns its exit code. Nothing can be done about an error that cannot be told.
func (p *program) fail(err error) int {
	var left leftError
	if errors.As(err, &left) {
		defer func() { _, _ = fmt.Fprintln(p.Err, visible(left.advice())) }()
	}
	var usage usageError
	if errors.As(err, &usage) {
		_, _ = fmt.Fprintln(p.Err, "arris: "+visible(usage.Error()))
		return ExitUsage
	}
	var refused interface{ GRPCStatus() *status.Status }
	switch {
	case p.ctx.Err() != nil:
		_, _ = fmt.Fprintln(p.Err, "arris: interrupted")
		return ExitInterrupted
	case errors.Is(err, errSome): // every row has been told
		return ExitSome
	case errors.Is(err, errLate):
		err = status.Error(codes.DeadlineExceeded, err.Error())
	}
	if !errors.As(err, &refused) { // status.FromError would mix the words of what wraps it into the message
		_, _ = fmt.Fprintln(p.Err, "arris: "+visible(err.Error()))
		return ExitOther
	}
	st := refused.GRPCStatus()
	p.tell(st)
	if code, ok := exitCodes[st.Code()]; ok {
		return code
	}
	return ExitOther
}

// tell writes a refusal: with -o json as the status itself, else in words.
func (p *program) tell(st *status.Status) {
	if p.json {
		if text, err := jsonText(st.Proto()); err == nil {
			_, _ = p.Err.Write(text)
			return
		}
	}
	_, _ = fmt.Fprint(p.Err, "arris: "+p.refusalWords(st))
	if st.Code() == codes.NotFound {
		_, _ = fmt.Fprint(p.Err, p.kept)
	}
}

// refusalWords is a refusal for people: what it is, a line for each field, and what would work as flags.
func (p *program) refusalWords(st *status.Status) string {
	st = status.FromProto(cleaned(st.Proto()))
	message, reason := p.message(st), strings.ToUpper(codeWords(st.Code()))
	var lines []string
	for _, detail := range st.Details() {
		switch d := cleanedAny(detail).(type) {
		case *errdetails.ErrorInfo:
			reason = d.GetReason()
		case *errdetails.BadRequest:
			for _, v := range d.GetFieldViolations() {
				if strings.Contains(message, v.GetDescription()) { // it repeats what the fields' own lines say better
					message = "the request is refused"
				}
				lines = append(lines, "  "+p.speech.field(v.GetField())+": "+v.GetDescription()+" ["+v.GetReason()+"]")
			}
		case *arrisv1.Conflict:
			for _, c := range d.GetDifferences() {
				lines = append(lines, "  "+c.GetField()+": kept is "+saidText(c.GetBefore())+", yours is "+saidText(c.GetAfter()))
			}
		case *arrisv1.GrindRefusal:
			for _, way := range d.GetWays() {
				lines = append(lines, "would work: "+p.speech.way(way))
			}
		}
	}
	return message + " [" + reason + "]\n" + strings.Join(append(lines, ""), "\n")
}

// saidText is a field's value as JSON, or that it has none.
func saidText(value string) string { return cmp.Or(value, "not said") }

// message is the status's own, or where it came from our own end of the connection, what that means.
func (p *program) message(st *status.Status) string {
	ours := len(st.Details()) == 0
	switch {
	case ours && st.Code() == codes.DeadlineExceeded:
		return "no answer within " + p.limit + "; allow more by --timeout"
	case ours && st.Code() == codes.Unavailable && p.asked != "":
		return "no answer from " + p.asked + ": " + st.Message() + protectionHint(st.Message())
	}
	return st.Message()
}

// codeWords is a status code as the API writes it: FAILED_PRECONDITION.
func codeWords(code codes.Code) string {
	var words strings.Builder
	for i, r := range code.String() {
		if i > 0 && 'A' <= r && r <= 'Z' {
			words.WriteByte('_')
		}
		words.WriteRune(r)
	}
	return words.String()
}

// wayText is something that would work, as people can type it.
func wayText(way *arrisv1.Way) string {
	var say []string
	if b := way.GetFirstBevel(); b != nil {
		say = append(say, "--bevel "+bevelText(b)+" (in place of the first bevel)")
	}
	if s := way.GetSettings(); s != nil {
		say = append(say, settingFlagsText(s)...)
	}
	if e := way.GetEdge(); e != nil {
		say = append(say, edgeFlagsText(e)...)
	}
	if len(say) == 0 {
		return way.GetText()
	}
	return strings.Join(say, " ")
}

// fieldFlags are the flags behind the API's fields, by the end of the field's path.
var fieldFlags = map[string]string{
	"shop": "--shop", "as_of_time": "--as-of", "recipe": "the recipe", "free": "--free", "touch_first_deg": "--touch-first",
	"stick_out_mm": "--stick-out", "leg_angle_deg": "--leg", "leg_position": "--leg", "wheel_gap_mm": "--gap",
	"wheel_gap_far_mm": "--gap-far", "slide_mm": "--slide", "pivot_to_axle_mm": "--axle", "face_distance_mm": "--face",
	"height_mm": "--height", "platform_tilt_deg": "--tilt", "platform_to_axle_mm": "--platform",
	"rig.station": "--station", "rig.support": "--support", "rig.wheel": "--wheel", "rig.holder": "--holder", "rig.tool": "--tool",
	"inline_wheel.diameter_mm": "--wheel", "pivot.behind_mm": "--pivot-behind", "pivot.below_mm": "--pivot-below",
	"steel_under_flute_mm": "--steel", "blade_thickness_mm": "--thickness", "edge_to_side_deg": "--edge-to-side",
	"flute_radius_mm": "--flute-radius", "edge_below_top_mm": "--edge-below-top", "grind.bevels": "--bevel", "grind.upper_bevel": "--upper",
	"settings.support": "--gap", "settings.leg": "--leg", "given.leg": "--leg", "given.support": "--gap", "length_step_mm": "--step", "angle_step_deg": "--angle-step", "rounding.blocks_mm": "--block",
	"from": "the set-up here", "blunter_deg": "--blunter",
	"evidence": "--reading, --chord or --mark", "measured.chord_mm": "--chord", "ink.chord_mm": "--chord", "measured.reading_deg": "--reading",
	"measured.steel_depth_mm": "--steel", "behind_edge_mm": "--mark-at", "ink.ground_diameter_mm": "--ground-by",
	"micro_bevel": "--micro", "micro_bevel.steeper_deg": "--micro", "micro_bevel.width_mm": "--micro", "softened_heel_mm": "--soften",
	"plan": "--micro, --relief, --clears, --facets or --turns", "land": "--relief", "land.width_mm": "--land", "land.front_angle_deg": "--relief",
	"land.clears_radius_mm": "--clears", "facets.land_width_mm": "--land", "facets.count": "--facets", "facets.last_front_angle_deg": "--last",
	"turns.adjuster_turns": "--turns", "turns.widths_mm": "--turns",
	"curve": "--radius or --profile", "radius_mm": "--radius", "profile.points": "--profile", "points.radius_mm": "--profile",
	"points.depth_mm": "--profile", "allowed_lift_deg": "--lift",
	"usual_loss_mm": "--loss", "sharpenings": "--sharpenings", "tolerance_deg": "--tolerance",
	"flute": "--flute", "flute.radius_mm": "--flute", "flute.wall_angle_deg": "--flute", "bar": "--bar", "bar.diameter_mm": "--bar",
	"rectangular.width_mm": "--bar", "rectangular.thickness_mm": "--bar", "pivot_aside_mm": "--pivot-aside", "tool_roll_deg": "--tool-roll",
	"contact_aside_mm": "--contact-aside", "edge": "--setback, --across, --swept, --even-swing or --edge-points",
	"edge.half_width_mm": "--half-width", "edge.along_flute_mm": "--wing-length", "setback.setback_mm": "--setback",
	"setback.exponent_count": "--exponent", "swept.setback_mm": "--swept", "swept.nose_radius_mm": "--nose-radius", "edge.points": "--edge-points",
	"edge.points.points": "--edge-points", "points.back_mm": "--edge-points", "points.side_mm": "--edge-points", "points.along_flute_mm": "--edge-points",
	"edge.points.doubt": "--edge-doubt", "wing": "--wing", "wing.wedge_angle_deg": "--wing", "wing.along_percent": "--wing-at",
	"wing.tolerance_deg": "--wing-tolerance", "points": "--points", "mesh_triangles": "--triangles", "sharpening_mm": "--sharpening",
	"stick_out": "--stick-outs", "leg": "--legs", "wheel_gap": "--gaps", "stick_out.values_mm": "--stick-outs", "wheel_gap.values_mm": "--gaps",
	"leg.values_deg": "--legs", "stick_out.from_mm": "--stick-outs", "stick_out.to_mm": "--stick-outs", "stick_out.steps": "--stick-outs",
	"wheel_gap.from_mm": "--gaps", "wheel_gap.to_mm": "--gaps", "wheel_gap.steps": "--gaps", "leg.from_deg": "--legs", "leg.to_deg": "--legs",
	"leg.steps": "--legs", "least_wedge_angle_deg": "--least-wedge", "mouth": "--mouth", "mouth.width_mm": "--mouth", "mouth.depth_mm": "--mouth",
	"pins": "--pin", "pins.diameter_mm": "--pin", "pins.above_floor_mm": "--pin", "points.up_mm": "--points", "doubt": "--doubt",
	"point_doubt": "--point-doubt", "scale_doubt_percent": "--scale-doubt", "turn_doubt_deg": "--turn-doubt", "shape": "--shape",
	"wording.language_code": "--language", "doubts.stick_out": "--doubt-stick-out", "doubts.support": "--doubt-support", "doubts.leg": "--doubt-leg", "doubts.tilt": "--doubt-tilt",
}

// speech is how a command tells what its caller can put right: the API's fields, and what would work.
type speech struct {
	field func(path string) string
	way   func(*arrisv1.Way) string
}

// inFlags is for what is asked by flags.
var inFlags = speech{fieldText, wayText}

// fieldText is a field with the flag behind it, if there is one.
func fieldText(path string) string {
	if flag := flagOf(path); flag != "" {
		return flag + " (" + path + ")"
	}
	return path
}

// flagOf is the flag behind a field, empty if there is none.
func flagOf(path string) string {
	if behind, ok := strings.CutPrefix(path, "behind_rig."); ok {
		return strings.Replace(flagOf("rig."+behind), "--", "--behind-", 1)
	}
	parts := strings.Split(path, ".")
	for from := range parts { // the longest end of the path first
		flag, ok := fieldFlags[plainPath(strings.Join(parts[from:], "."))]
		if !ok {
			continue
		}
		if rest, isFlag := strings.CutPrefix(flag, "--"); isFlag && parts[0] == "now" {
			flag = "--now-" + rest
		}
		return flag
	}
	switch {
	case strings.HasPrefix(path, "grind.bevels"):
		return "--bevel"
	case strings.HasPrefix(path, "today"):
		return "--today"
	}
	return ""
}

// plainPath is a path without the places in lists.
func plainPath(path string) string {
	for {
		before, rest, found := strings.Cut(path, "[")
		_, after, closed := strings.Cut(rest, "]")
		if !found || !closed {
			return path
		}
		path = before + after
	}
}

// settingFlagsText are settings as flags.
func settingFlagsText(s *arrisv1.Settings) []string {
	var say []string
	if s.StickOutMm != nil {
		say = append(say, "--stick-out "+mmText(s.GetStickOutMm()))
	}
	switch s.GetLeg().(type) {
	case *arrisv1.Settings_LegAngleDeg:
		say = append(say, "--leg "+degText(s.GetLegAngleDeg()))
	case *arrisv1.Settings_LegPosition:
		say = append(say, "--leg position:"+s.GetLegPosition())
	}
	set := s.ProtoReflect()
	if field := set.WhichOneof(set.Descriptor().Oneofs().ByName("support")); field != nil {
		text := mmText
		if strings.HasSuffix(string(field.Name()), "_deg") {
			text = degText
		}
		say = append(say, fieldFlags[string(field.Name())]+" "+text(set.Get(field).Float()))
	}
	return say
}

// rigFlagsText is a rig as flags, as far as flags can say it.
func rigFlagsText(r *arrisv1.Rig) (say []string) {
	add := func(flag, value string) {
		if value != "" {
			say = append(say, flag+" "+value)
		}
	}
	length := func(flag string, mm *float64) {
		if mm != nil {
			add(flag, mmText(*mm))
		}
	}
	name := func(flag, name string) {
		if shop, _, _ := strings.Cut(strings.TrimPrefix(name, "shops/"), "/"); name != "" && "shops/"+shop != usualShop && len(say) == 0 {
			add("--shop", shop)
		}
		add(flag, lastOf(name))
	}
	name("--station", r.GetStation())
	add("--support", r.GetSupport())
	name("--wheel", r.GetWheel())
	if r.GetInlineWheel().GetFlat() != nil {
		add("--wheel", "flat")
	} else if diameter := r.GetInlineWheel().GetDiameterMm(); diameter > 0 {
		add("--wheel", mmText(diameter))
	}
	name("--holder", r.GetHolder())
	if r.GetInlineHolder().GetNone() != nil {
		add("--holder", "none")
	}
	if pivot := r.GetInlineHolder().GetPivot(); pivot != nil {
		length("--pivot-behind", pivot.BehindMm)
		length("--pivot-below", pivot.BelowMm)
	}
	name("--tool", r.GetTool())
	if t := r.GetInlineTool(); t != nil {
		if t.GetKind() != arrisv1.ToolKind_TOOL_KIND_UNSPECIFIED {
			add("--kind", strings.ReplaceAll(strings.ToLower(strings.TrimPrefix(t.GetKind().String(), "TOOL_KIND_")), "_", "-"))
		}
		length("--steel", t.SteelUnderFluteMm)
		length("--thickness", t.BladeThicknessMm)
		if t.EdgeToSideDeg != nil {
			add("--edge-to-side", degText(t.GetEdgeToSideDeg()))
		}
		length("--flute-radius", t.FluteRadiusMm)
		length("--edge-below-top", t.EdgeBelowTopMm)
	}
	return say
}

// edgeFlagsText is an edge's shape as flags; of measured points nothing, for they stand in a file.
func edgeFlagsText(e *arrisv1.EdgeShape) []string {
	var say []string
	switch plan := e.GetPlan().(type) {
	case *arrisv1.EdgeShape_Setback:
		say = append(say, "--setback "+mmText(plan.Setback.GetSetbackMm()))
		if plan.Setback.ExponentCount != nil {
			say = append(say, "--exponent "+number(plan.Setback.GetExponentCount()))
		}
	case *arrisv1.EdgeShape_Across:
		say = append(say, "--across")
	case *arrisv1.EdgeShape_Swept:
		say = append(say, "--swept "+mmText(plan.Swept.GetSetbackMm()), "--nose-radius "+mmText(plan.Swept.GetNoseRadiusMm()))
	case *arrisv1.EdgeShape_EvenSwing:
		say = append(say, "--even-swing")
	}
	switch end := e.GetWingEnd().(type) {
	case *arrisv1.EdgeShape_HalfWidthMm:
		say = append(say, "--half-width "+mmText(end.HalfWidthMm))
	case *arrisv1.EdgeShape_AlongFluteMm:
		say = append(say, "--wing-length "+mmText(end.AlongFluteMm))
	}
	return say
}

// cleanedAny is a detail with its texts made visible; what could not be read stays an error.
func cleanedAny(detail any) any {
	if m, ok := detail.(proto.Message); ok {
		return cleaned(m)
	}
	return detail
}
