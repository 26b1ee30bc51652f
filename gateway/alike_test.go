package gateway_test

import (
	"encoding/json"
	"math"
	"testing"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"arris.example/gateway"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

// The same question gets the same no through either door: code, message, reason, and every detail to the last field.
func TestRefusalsAreAlikeInGRPCAndREST(t *testing.T) {
	s, handler := behind(t, service.Config{Demo: true}, gateway.Options{})
	conn, err := s.Dial()
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	grind := arrisv1.NewGrindServiceClient(conn)
	request := func(edit func(*arrisv1.SolveSetupRequest)) *arrisv1.SolveSetupRequest {
		req := &arrisv1.SolveSetupRequest{
			Shop:        "shops/main",
			GrindSource: &arrisv1.SolveSetupRequest_Recipe{Recipe: "shops/main/recipes/bowl-50"},
			Rig: &arrisv1.Rig{
				StationSource: &arrisv1.Rig_Station{Station: "shops/main/stations/north"},
				HolderSource:  &arrisv1.Rig_Holder{Holder: "shops/main/holders/swing"},
			},
		}
		edit(req)
		return req
	}
	bevels := func(angles ...float64) *arrisv1.SolveSetupRequest_Grind {
		grind := &arrisv1.Grind{}
		for i, angle := range angles {
			bevel := &arrisv1.Bevel{Angle: &arrisv1.Bevel_FrontAngleDeg{FrontAngleDeg: angle}}
			if i < len(angles)-1 {
				bevel.WidthMm = proto.Float64(2)
			}
			grind.Bevels = append(grind.Bevels, bevel)
		}
		return &arrisv1.SolveSetupRequest_Grind{Grind: grind}
	}
	for name, c := range map[string]struct {
		req    *arrisv1.SolveSetupRequest
		reason string
	}{
		"no number": {request(func(r *arrisv1.SolveSetupRequest) {
			r.Given = &arrisv1.Settings{StickOutMm: proto.Float64(math.NaN()), Leg: &arrisv1.Settings_LegAngleDeg{LegAngleDeg: 1e6}}
		}), "INVALID_FIELD"},
		"no such recipe": {request(func(r *arrisv1.SolveSetupRequest) {
			r.GrindSource = &arrisv1.SolveSetupRequest_Recipe{Recipe: "shops/main/recipes/bowl-51"}
		}), "NOT_FOUND"},
		"angles do not fall": {request(func(r *arrisv1.SolveSetupRequest) { r.GrindSource = bevels(50, 55) }), "BEVELS_NOT_FALLING"},
		"stick-out beyond the blade": {request(func(r *arrisv1.SolveSetupRequest) {
			r.Given = &arrisv1.Settings{StickOutMm: proto.Float64(1900)}
		}), ""},
	} {
		_, err := grind.SolveSetup(t.Context(), c.req)
		over := status.Convert(err)
		if err == nil || c.reason != "" && reasonOf(over) != c.reason {
			t.Errorf("%s: gRPC says %v", name, err)
			continue
		}
		body, err := protojson.Marshal(c.req)
		if err != nil {
			t.Fatal(err)
		}
		w := post(handler, solvePath, string(body))
		if a := readAnswer(t, w); a.reason() != reasonOf(over) {
			t.Errorf("%s: gRPC says %s, REST %s", name, reasonOf(over), a.reason())
		}
		text, err := protojson.MarshalOptions{EmitDefaultValues: true}.Marshal(over.Proto())
		if err != nil {
			t.Fatal(err)
		}
		if got, want := withoutIDs(t, w.Body.Bytes()), withoutIDs(t, text); got != want {
			t.Errorf("%s:\nREST %s\ngRPC %s", name, got, want)
		}
	}
}

func reasonOf(st *status.Status) string {
	for _, d := range st.Details() {
		if info, ok := d.(*errdetails.ErrorInfo); ok {
			return info.GetReason()
		}
	}
	return ""
}

// withoutIDs is a status in a fixed form, without what differs from call to call.
func withoutIDs(t *testing.T, text []byte) string {
	t.Helper()
	var st map[string]any
	if err := json.Unmarshal(text, &st); err != nil {
		t.Fatal(err)
	}
	details, _ := st["details"].([]any)
	for _, d := range details {
		if detail, ok := d.(map[string]any); ok {
			delete(detail, "metadata")
		}
	}
	fixed, err := json.Marshal(st)
	if err != nil {
		t.Fatal(err)
	}
	return string(fixed)
}
