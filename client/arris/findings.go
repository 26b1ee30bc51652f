package arris

import (
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// findings are what both answers tell, solved or predicted.
type findings struct {
	steps        []*arrisv1.Step
	cautions     []*arrisv1.Caution
	basis        *arrisv1.Basis
	figure       *arrisv1.Figure
	explanations []*arrisv1.Explanation
	touchFirst   float64 // degrees the edge was left blunter on purpose
	predicted    bool
}

func findingsOf(answer proto.Message) findings {
	switch a := answer.(type) {
	case *arrisv1.SolveSetupResponse:
		s := a.GetSetup()
		return findings{
			steps: s.GetSteps(), cautions: s.GetCautions(), basis: s.GetBasis(), figure: s.GetFigure(),
			touchFirst: s.GetTouchFirstAppliedDeg(),
		}
	case *arrisv1.PredictGrindResponse:
		return findings{
			steps: a.GetSteps(), cautions: a.GetCautions(), basis: a.GetBasis(), figure: a.GetFigure(),
			explanations: a.GetExplanations(), predicted: true,
		}
	}
	return findings{}
}

// reading is one way to read where the support stands.
type reading struct {
	datum string // as Step.support.set_by names it
	label string
	text  string
}

// readings are all that the step has, the one to set by first.
func readings(s *arrisv1.SupportSetting) []reading {
	if s == nil {
		return nil
	}
	var list []reading
	add := func(datum, label string, setting interface{ GetText() string }, said bool) {
		if !said {
			return
		}
		r := reading{datum, label, setting.GetText()}
		if datum == s.GetSetBy() {
			list = append([]reading{r}, list...)
			return
		}
		list = append(list, r)
	}
	add("wheel_gap", "wheel gap", s.GetWheelGap(), s.WheelGap != nil)
	add("slide", "slide", s.GetSlide(), s.Slide != nil)
	add("height", "height", s.GetHeight(), s.Height != nil)
	add("platform_tilt", "platform tilt", s.GetPlatformTilt(), s.PlatformTilt != nil)
	add("platform_to_axle", "platform to axle", s.GetPlatformToAxle(), s.PlatformToAxle != nil)
	add("reference_line_to_axle", "tool's reference line to axle", s.GetReferenceLineToAxle(), s.ReferenceLineToAxle != nil)
	add("wheel_gap_far", "wheel gap to the far side", s.GetWheelGapFar(), s.WheelGapFar != nil)
	add("face_distance", "wheel's face to support", s.GetFaceDistance(), s.FaceDistance != nil)
	add("pivot_to_axle", "axle to pivot", s.GetPivotToAxle(), s.PivotToAxle != nil)
	return list
}
