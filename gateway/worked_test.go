package gateway_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"arris.example/gateway"
	"arris.example/geometry/worked"
	"arris.example/service"
)

// TestWorkedExamples asks every worked example over REST and holds the answer's JSON to it.
func TestWorkedExamples(t *testing.T) {
	all, err := worked.Examples()
	if err != nil {
		t.Fatal(err)
	}
	handler := demoHandler(t)
	for _, e := range all {
		if e.Call == "" {
			continue
		}
		t.Run(e.Name, func(t *testing.T) {
			answer := askREST(t, handler, e.Call, e.Request)
			for _, x := range e.Expect {
				if err := x.Check(answer); err != nil {
					t.Errorf("%v\nanswer: %s", err, answer)
				}
			}
		})
	}
}

func demoHandler(t *testing.T) http.Handler {
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
		if err := s.Stop(t.Context()); err != nil && t.Context().Err() == nil {
			t.Error(err)
		}
	})
	handler, err := gateway.New(conn, gateway.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return handler
}

// askREST asks over REST: with a shop in the path, when the request names one.
func askREST(t *testing.T, handler http.Handler, call, request string) []byte {
	t.Helper()
	var named struct{ Shop string }
	if err := json.Unmarshal([]byte(request), &named); err != nil {
		t.Fatal(err)
	}
	path := "/v1:" + call
	if named.Shop != "" {
		path = "/v1/" + named.Shop + ":" + call
	}
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(request))
	r.Header.Set("Content-Type", "application/json")
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, r)
	if w.Code == http.StatusOK {
		return w.Body.Bytes()
	}
	return refusalJSON(t, w.Body.Bytes())
}

// refusalJSON puts a google.rpc.Status where the examples look for it: the details by what they are.
func refusalJSON(t *testing.T, body []byte) []byte {
	t.Helper()
	var status struct {
		Code    int
		Message string
		Details []map[string]any
	}
	if err := json.NewDecoder(bytes.NewReader(body)).Decode(&status); err != nil {
		t.Fatalf("%v: %s", err, body)
	}
	found := map[string]any{"message": status.Message, "code": map[int]string{3: "INVALID_ARGUMENT", 9: "FAILED_PRECONDITION", 5: "NOT_FOUND"}[status.Code]}
	for _, d := range status.Details {
		switch d["@type"] {
		case "type.googleapis.com/google.rpc.ErrorInfo":
			found["reason"] = d["reason"]
		case "type.googleapis.com/google.rpc.BadRequest":
			found["violations"] = d["fieldViolations"]
		case "type.googleapis.com/arris.v1.GrindRefusal":
			found["refusal"] = d
		}
	}
	text, err := json.Marshal(map[string]any{"error": found})
	if err != nil {
		t.Fatal(err)
	}
	return text
}
