package gateway

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	statusv1 "google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/types/known/anypb"
	"google.golang.org/protobuf/types/known/durationpb"

	arrisv1 "arris.example/proto/arris/v1"
)

// compacted is the plain way: the library's own.
func compacted(t testing.TB, text string) string {
	t.Helper()
	var out bytes.Buffer
	if err := json.Compact(&out, []byte(text)); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestCompactIsTheLibrarysWithoutTheCheck(t *testing.T) {
	for _, text := range []string{
		`{}`, `{"a": 1, "b": [1, 2,  3]}`, `{"a b": "c, d: \" e \\", "f": "\\"}`, `"\\\\ \" "`, `[ ]`, ` 1 `, `{"é ü": "1 ½ in"}`,
	} {
		if got, want := string(compact([]byte(text))), compacted(t, text); got != want {
			t.Errorf("%s: got %s, want %s", text, got, want)
		}
	}
}

// What the service can answer, spaced at random as protojson may in another build, comes out the same.
func TestMarshalDoesNotDependOnTheBuild(t *testing.T) {
	answer := sampleAnswer()
	text, err := newJSON().Marshal(answer)
	if err != nil {
		t.Fatal(err)
	}
	spaced := strings.ReplaceAll(protojson.MarshalOptions{EmitDefaultValues: true, Multiline: true, Indent: " "}.Format(answer), "\n", " ")
	if got := string(compact([]byte(spaced))); got != string(text) {
		t.Errorf("got  %s\nwant %s", got, text)
	}
	if want := compacted(t, spaced); string(text) != want {
		t.Errorf("got  %s\nwant %s", text, want)
	}
}

func sampleAnswer() *arrisv1.SolveSetupResponse {
	set := &arrisv1.LengthSetting{ExactMm: 108.4871, SetMm: 108.5, DegPerMm: 1.01, Text: `wheel gap 108.5 mm, "4 17/64 in"`}
	step := &arrisv1.Step{
		StickOut: set, Text: "Raise the bar: 3.5 mm, 2 1/3 turns clockwise", Predicted: &arrisv1.Angles{EdgeAngleDeg: 50},
		Support: &arrisv1.SupportSetting{Slide: set, WheelGap: set, PivotToAxle: set, SetBy: "wheel_gap"},
	}
	return &arrisv1.SolveSetupResponse{Setup: &arrisv1.Setup{Steps: []*arrisv1.Step{step, step, step}}}
}

func BenchmarkMarshal(b *testing.B) {
	codec, answer := newJSON(), sampleAnswer()
	b.Run("with its space taken out", func(b *testing.B) {
		for b.Loop() {
			if _, err := codec.Marshal(answer); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("as the library writes it", func(b *testing.B) {
		for b.Loop() {
			if _, err := codec.JSONPb.Marshal(answer); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func TestNearestIsNearerThanChance(t *testing.T) {
	bevel := (&arrisv1.Bevel{}).ProtoReflect().Descriptor()
	for key, want := range map[string]string{
		"frontAngelDeg": "frontAngleDeg", "FrontAngleDeg": "frontAngleDeg", "front_angle": "frontAngleDeg", "readingdeg": "readingDeg",
		"widht_mm": "widthMm", "x": "", "": "", "colour": "", strings.Repeat("frontAngleDeg", 10): "",
	} {
		got := ""
		if field := nearest(key, bevel); field != nil {
			got = field.JSONName()
		}
		if got != want {
			t.Errorf("%q: %q, want %q", key, got, want)
		}
	}
}

// A detail of a type that only the service knows must not cost the caller the reason.
func TestUnknownDetailsAreLeftOut(t *testing.T) {
	info, err := anypb.New(&errdetails.ErrorInfo{Reason: "NOT_FOUND", Domain: domain})
	if err != nil {
		t.Fatal(err)
	}
	w := httptest.NewRecorder()
	writeStatus(w, &statusv1.Status{Code: 5, Message: "gone", Details: []*anypb.Any{info, {TypeUrl: "type.googleapis.com/of.the.Future"}}}, http.StatusNotFound)
	want := `{"code":5,"message":"gone","details":[{"@type":"type.googleapis.com/google.rpc.ErrorInfo","reason":"NOT_FOUND","domain":"arris.example","metadata":{}}]}`
	if got := w.Body.String(); w.Code != http.StatusNotFound || got != want {
		t.Errorf("%d %s", w.Code, got)
	}
}

func TestRetryAfterIsRoundedUp(t *testing.T) {
	for wait, want := range map[time.Duration]string{time.Second: "1", 1500 * time.Millisecond: "2", time.Millisecond: "1"} {
		retry, err := anypb.New(&errdetails.RetryInfo{RetryDelay: durationpb.New(wait)})
		if err != nil {
			t.Fatal(err)
		}
		if got := retryAfter(&statusv1.Status{Details: []*anypb.Any{retry}}); got != want {
			t.Errorf("%v: %q, want %q", wait, got, want)
		}
	}
}
