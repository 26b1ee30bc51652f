package service_test

import (
	"context"
	"encoding/json"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/dynamicpb"

	"arris.example/geometry/worked"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

// dialDemo connects to a service with the demonstration shop, in this process but through every interceptor.
func dialDemo(t testing.TB) *grpc.ClientConn {
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
	return conn
}

func TestWorkedExamples(t *testing.T) {
	all, err := worked.Examples()
	if err != nil {
		t.Fatal(err)
	}
	conn := dialDemo(t)
	for _, e := range all {
		if e.Call == "" {
			continue
		}
		t.Run(e.Name, func(t *testing.T) {
			answer := ask(t, conn, e.Call, e.Request)
			for _, x := range e.Expect {
				if err := x.Check(answer); err != nil {
					t.Errorf("%v\nanswer: %s", err, answer)
				}
			}
		})
	}
}

// ask calls a method with a request in JSON and gives its answer, or its refusal under `error`, in JSON.
func ask(t *testing.T, conn grpc.ClientConnInterface, call, request string) []byte {
	t.Helper()
	name := protoreflect.Name(strings.ToUpper(call[:1]) + call[1:])
	method := arrisv1.File_arris_v1_grind_service_proto.Services().ByName("GrindService").Methods().ByName(name)
	if method == nil {
		t.Fatalf("no method %s", name)
	}
	req, answer := dynamicpb.NewMessage(method.Input()), dynamicpb.NewMessage(method.Output())
	if err := protojson.Unmarshal([]byte(request), req); err != nil {
		t.Fatal(err)
	}
	if err := conn.Invoke(t.Context(), "/arris.v1.GrindService/"+string(name), req, answer); err != nil {
		return refusalJSON(t, err)
	}
	text, err := protojson.MarshalOptions{EmitUnpopulated: true}.Marshal(answer)
	if err != nil {
		t.Fatal(err)
	}
	return text
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
