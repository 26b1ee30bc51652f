package service_test

import (
	"testing"

	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// TestTheLargestMeshArrives asks for the finest body there is through an in-process connection, and for one of a solved set-up, which has none.
func TestTheLargestMeshArrives(t *testing.T) {
	client := arrisv1.NewGrindServiceClient(dialDemo(t))
	rig := &arrisv1.Rig{
		StationSource: &arrisv1.Rig_Station{Station: "shops/main/stations/north"}, ToolSource: &arrisv1.Rig_Tool{Tool: "shops/main/tools/bowl-gouge-12"},
	}
	answer, err := client.AnalyzeEdge(t.Context(), &arrisv1.AnalyzeEdgeRequest{
		Shop: "shops/main", Rig: rig, Include: []arrisv1.EdgePart{arrisv1.EdgePart_EDGE_PART_MESH}, MeshTriangles: proto.Int32(200_000),
	})
	if err != nil {
		t.Fatal(err)
	}
	mesh := answer.GetEdge().GetMesh()
	if n := mesh.GetTriangles(); n < 100_000 || n > 200_000 || string(mesh.GetGltf()[:4]) != "glTF" {
		t.Errorf("%d triangles in %d bytes", n, len(mesh.GetGltf()))
	}
	t.Logf("%d triangles, %d bytes", mesh.GetTriangles(), len(mesh.GetGltf()))
	solved, err := client.SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{Shop: "shops/main", Rig: rig, Include: []arrisv1.Part{arrisv1.Part_PART_EDGE, arrisv1.Part_PART_MESH}})
	if err != nil || solved.GetSetup().GetEdge() == nil || solved.GetSetup().GetEdge().GetMesh() != nil {
		t.Errorf("a solved set-up: %v, %v", solved.GetSetup().GetEdge().GetSummary(), err)
	}
}
