package service_test

import (
	"context"
	"encoding/json"
	"testing"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"arris.example/geometry/worked"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

// dialDemo connects to a service with the demonstration shop, in this process but through every interceptor.
func dialDemo(t testing.TB) arrisv1.GrindServiceClient {
	t.Helper()
	s, err := service.New(service.Config{Demo: true})
	if err != nil {
		t.Fatal(err)
	}
	conn, err := s.Dial()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := conn.Close(); err != nil {
			t.Error(err)
		}
		if err := s.Stop(context.Background()); err != nil {
			t.Error(err)
		}
	})
	return arrisv1.NewGrindServiceClient(conn)
}

func TestWorkedExamples(t *testing.T) {
	all, err := worked.Examples()
	if err != nil {
		t.Fatal(err)
	}
	client := dialDemo(t)
	for _, e := range all {
		if e.Call == "" {
			continue
		}
		t.Run(e.Name, func(t *testing.T) {
			answer := ask(t, client, e.Call, e.Request)
			for _, x := range e.Expect {
				if err := x.Check(answer); err != nil {
					t.Errorf("%v\nanswer: %s", err, answer)
				}
			}
		})
	}
}

// ask calls a method with a request in JSON and gives its answer, or its refusal under `error`, in JSON.
func ask(t *testing.T, client arrisv1.GrindServiceClient, call, request string) []byte {
	t.Helper()
	var answer proto.Message
	var err error
	switch call {
	case "solveSetup":
		answer, err = invoke(t, request, &arrisv1.SolveSetupRequest{}, client.SolveSetup)
	case "predictGrind":
		answer, err = invoke(t, request, &arrisv1.PredictGrindRequest{}, client.PredictGrind)
	default:
		t.Fatalf("no method %s", call)
	}
	if err != nil {
		return refusalJSON(t, err)
	}
	text, err := protojson.MarshalOptions{EmitUnpopulated: true}.Marshal(answer)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func invoke[Q proto.Message, A proto.Message](t *testing.T, request string, q Q, call func(context.Context, Q, ...grpc.CallOption) (A, error)) (proto.Message, error) {
	t.Helper()
	if err := protojson.Unmarshal([]byte(request), q); err != nil {
		t.Fatal(err)
	}
	return call(t.Context(), q)
}

// refusalJSON puts a status and its details where the examples look for them.
func refusalJSON(t *testing.T, err error) []byte {
	t.Helper()
	st := status.Convert(err)
	found := map[string]any{"code": codeName(st), "message": st.Message()}
	for _, d := range st.Details() {
		switch d := d.(type) {
		case *errdetails.ErrorInfo:
			found["reason"] = d.GetReason()
		case *errdetails.BadRequest:
			found["violations"] = asJSON(t, d)["fieldViolations"]
		case *arrisv1.GrindRefusal:
			found["refusal"] = asJSON(t, d)
		}
	}
	text, marshalErr := json.Marshal(map[string]any{"error": found})
	if marshalErr != nil {
		t.Fatal(marshalErr)
	}
	return text
}

func asJSON(t *testing.T, m proto.Message) map[string]any {
	t.Helper()
	text, err := protojson.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	var out map[string]any
	if err := json.Unmarshal(text, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// codeName is the code as google.rpc.Code spells it.
func codeName(st *status.Status) string {
	return map[string]string{
		"InvalidArgument": "INVALID_ARGUMENT", "FailedPrecondition": "FAILED_PRECONDITION", "NotFound": "NOT_FOUND",
	}[st.Code().String()]
}
