package arris

import (
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// findings are what a set-up tells, solved, carried over or predicted.
type findings struct {
	steps        []*arrisv1.Step
	cautions     []*arrisv1.Caution
	basis        *arrisv1.Basis
	figure       *arrisv1.Figure
	edge         *arrisv1.Edge
	explanations []*arrisv1.Explanation
	proof        []*arrisv1.Proof
	differences  []*arrisv1.Difference // from the set-up here to the one there, which the rest is about
	touchFirst   float64               // degrees the edge was left blunter on purpose
	predicted    bool
}

func findingsOf(answer proto.Message) findings {
	switch a := answer.(type) {
	case *arrisv1.SolveSetupResponse:
		return setupFindings(a.GetSetup())
	case *arrisv1.TransferSetupResponse:
		found := setupFindings(a.GetTo())
		found.differences = a.GetDifferences()
		return found
	case *arrisv1.PredictGrindResponse:
		return findings{
			steps: a.GetSteps(), cautions: a.GetCautions(), basis: a.GetBasis(), figure: a.GetFigure(),
			explanations: a.GetExplanations(), edge: a.GetEdge(), predicted: true,
		}
	case *arrisv1.AnalyzeEdgeResponse:
		return findings{steps: a.GetSteps(), cautions: a.GetCautions(), basis: a.GetBasis(), edge: a.GetEdge()}
	}
	return findings{}
}

func setupFindings(s *arrisv1.Setup) findings {
	return findings{
		steps: s.GetSteps(), cautions: s.GetCautions(), basis: s.GetBasis(), figure: s.GetFigure(), proof: s.GetProof(),
		touchFirst: s.GetTouchFirstAppliedDeg(), edge: s.GetEdge(),
	}
}

// reading is one way to read where the support stands.
type reading struct {
	datum string // as Step.support.set_by names it
	label string
	text  string
}

// lengthWords is a length to set as its text has it; answers of numbers only have none.
func lengthWords(l *arrisv1.LengthSetting) string {
	if l == nil || l.GetText() != "" {
		return l.GetText()
	}
	return setMM(l) + " mm"
}

func angleWords(a *arrisv1.AngleSetting) string {
	if a == nil || a.GetText() != "" {
		return a.GetText()
	}
	return setDeg(a) + "°"
}

// labels are what people call settings, by the API's names.
var labels = map[string]string{
	"stick_out": "stick-out", "leg_angle": "leg", "wheel_gap": "wheel gap", "slide": "slide", "height": "height", "platform_tilt": "platform tilt",
	"platform_to_axle": "platform to axle", "reference_line_to_axle": "tool's reference line to axle", "wheel_gap_far": "wheel gap to the far side",
	"face_distance": "wheel's face to support", "pivot_to_axle": "axle to pivot",
}

// readings are all that the step has, the one to set by first.
func readings(s *arrisv1.SupportSetting) []reading {
	if s == nil {
		return nil
	}
	var list []reading
	add := func(datum, text string) {
		switch r := (reading{datum, labels[datum], text}); {
		case text == "":
		case datum == s.GetSetBy():
			list = append([]reading{r}, list...)
		default:
			list = append(list, r)
		}
	}
	add("wheel_gap", lengthWords(s.GetWheelGap()))
	add("slide", lengthWords(s.GetSlide()))
	add("height", lengthWords(s.GetHeight()))
	add("platform_tilt", angleWords(s.GetPlatformTilt()))
	add("platform_to_axle", lengthWords(s.GetPlatformToAxle()))
	add("reference_line_to_axle", lengthWords(s.GetReferenceLineToAxle()))
	add("wheel_gap_far", lengthWords(s.GetWheelGapFar()))
	add("face_distance", lengthWords(s.GetFaceDistance()))
	add("pivot_to_axle", lengthWords(s.GetPivotToAxle()))
	return list
}
