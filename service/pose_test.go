package service_test

import (
	"math"
	"testing"

	arrisv1 "arris.example/proto/arris/v1"
)

// TestPosesPutTheEdgeOnTheWheel moves every place of an edge as its pose says, with rotation matrices (Craig, Introduction to Robotics, ch. 2)
// and not with the engine's vectors: each comes to lie on the rim, at the height that is told beside it and where the wheel touches.
func TestPosesPutTheEdgeOnTheWheel(t *testing.T) {
	client := arrisv1.NewGrindServiceClient(dialDemo(t))
	for _, station := range []string{"north", "south", "west"} {
		for _, tool := range []string{"bowl-gouge-12", "bottom-gouge-12", "spindle-gouge-10", "hollowing-gouge-10"} {
			rig := &arrisv1.Rig{
				StationSource: &arrisv1.Rig_Station{Station: "shops/main/stations/" + station}, ToolSource: &arrisv1.Rig_Tool{Tool: "shops/main/tools/" + tool},
			}
			req := &arrisv1.AnalyzeEdgeRequest{Shop: "shops/main", Rig: rig, Include: []arrisv1.EdgePart{arrisv1.EdgePart_EDGE_PART_POSES}}
			answer, err := client.AnalyzeEdge(t.Context(), req)
			if err != nil {
				t.Fatal(tool, station, err)
			}
			radius := answer.GetBasis().GetWheelDiameterMm() / 2
			for _, p := range answer.GetEdge().GetPoints() {
				out, up, aside := moved(p.GetPose(), p.GetBackMm(), p.GetUpMm(), p.GetSideMm())
				off := math.Max(math.Abs(math.Hypot(out, up)-radius), math.Max(math.Abs(up-p.GetContactHeightMm()), math.Abs(aside)))
				if p.Pose == nil || !(off < 1e-9) {
					t.Errorf("%s on %s at %g %%: %v puts it at %g, %g, %g", tool, station, p.GetAlongPercent(), p.GetPose(), out, up, aside)
				}
			}
			req.Include = nil
			if plain, err := client.AnalyzeEdge(t.Context(), req); err != nil || plain.GetEdge().GetPoints()[0].Pose != nil {
				t.Errorf("not asked for: %v, %v", plain.GetEdge().GetPoints()[0].GetPose(), err)
			}
		}
	}
}

// moved is a place of the tool (back, up, side) on the machine: rolled, pitched, yawed, and moved with the nose.
func moved(p *arrisv1.EdgePose, back, up, side float64) (out, height, aside float64) {
	sin, cos := math.Sincos(p.GetRollDeg() * math.Pi / 180)
	up, side = up*cos-side*sin, up*sin+side*cos
	sin, cos = math.Sincos(p.GetPitchDeg() * math.Pi / 180)
	back, up = back*cos-up*sin, back*sin+up*cos
	sin, cos = math.Sincos(p.GetYawDeg() * math.Pi / 180)
	back, side = back*cos-side*sin, back*sin+side*cos
	return p.GetNoseOutMm() + back, p.GetNoseUpMm() + up, p.GetNoseAsideMm() + side
}
