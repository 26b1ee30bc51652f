package service_test

import (
	"context"
	"math"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"arris.example/geometry/worked"
	arrisv1 "arris.example/proto/arris/v1"
)

// longest is how long one request may take. The largest search that is not refused takes about a second; the rest is for a machine
// that is busy with other things.
const longest = 30 * time.Second

// FuzzRequest asks the whole service, through every interceptor, whatever comes: the API's JSON, or the bytes of a message, with
// edits made to what was read, so that requests stay whole while their numbers go wild. It answers with finite numbers, or refuses
// with a reason of its own, in bounded time. It never makes a mistake of ours.
func FuzzRequest(f *testing.F) {
	all, err := worked.Examples()
	if err != nil {
		f.Fatal(err)
	}
	for i, e := range all {
		if e.Call != "" {
			f.Add([]byte(e.Request), []byte{})
			f.Add([]byte(e.Request), []byte{byte(i), byte(7 * i), byte(3 * i), byte(5 * i)})
		}
	}
	client := arrisv1.NewGrindServiceClient(dialDemo(f))
	f.Fuzz(func(t *testing.T, data, edits []byte) {
		if len(data) > 1<<15 {
			t.Skip("larger requests only take longer")
		}
		ctx, cancel := context.WithTimeout(t.Context(), longest)
		defer cancel()
		if solve, ok := read(data, &arrisv1.SolveSetupRequest{}); ok {
			edit(solve.ProtoReflect(), edits)
			answer, err := client.SolveSetup(ctx, solve)
			checkAnswer(t, solve, answer, err)
		}
		if predict, ok := read(data, &arrisv1.PredictGrindRequest{}); ok {
			edit(predict.ProtoReflect(), edits)
			answer, err := client.PredictGrind(ctx, predict)
			checkAnswer(t, predict, answer, err)
		}
		if match, ok := read(data, &arrisv1.MatchGrindRequest{}); ok {
			edit(match.ProtoReflect(), edits)
			answer, err := client.MatchGrind(ctx, match)
			checkAnswer(t, match, answer, err)
		}
		if edge, ok := read(data, &arrisv1.AnalyzeEdgeRequest{}); ok {
			edit(edge.ProtoReflect(), edits)
			answer, err := client.AnalyzeEdge(ctx, edge)
			checkAnswer(t, edge, answer, err)
		}
		if cells, ok := read(data, &arrisv1.MapEdgeRequest{}); ok {
			edit(cells.ProtoReflect(), edits)
			answer, err := client.MapEdge(ctx, cells)
			checkAnswer(t, cells, answer, err)
		}
		if furthest, ok := read(data, &arrisv1.FindFurthestWingRequest{}); ok {
			edit(furthest.ProtoReflect(), edits)
			answer, err := client.FindFurthestWing(ctx, furthest)
			checkAnswer(t, furthest, answer, err)
		}
		if flute, ok := read(data, &arrisv1.FitFluteRequest{}); ok {
			edit(flute.ProtoReflect(), edits)
			answer, err := client.FitFlute(ctx, flute)
			checkAnswer(t, flute, answer, err)
		}
		if regrind, ok := read(data, &arrisv1.PlanRegrindRequest{}); ok {
			edit(regrind.ProtoReflect(), edits)
			answer, err := client.PlanRegrind(ctx, regrind)
			checkAnswer(t, regrind, answer, err)
		}
	})
}

// spot is a place in a message that can be edited.
type spot struct {
	in    protoreflect.Message
	field protoreflect.FieldDescriptor
}

// spots are all fields of a message, and of the messages that are in it, in a fixed order.
func spots(m protoreflect.Message) (all []spot) {
	for i := range m.Descriptor().Fields().Len() {
		f := m.Descriptor().Fields().Get(i)
		all = append(all, spot{m, f})
		switch {
		case f.Message() == nil || !m.Has(f):
		case f.IsList():
			for j := range m.Get(f).List().Len() {
				all = append(all, spots(m.Get(f).List().Get(j).Message())...)
			}
		default:
			all = append(all, spots(m.Get(f).Message())...)
		}
	}
	return all
}

// edit makes an edit for every two bytes: the first picks the place, the second what is done there.
func edit(m protoreflect.Message, edits []byte) {
	for ; len(edits) >= 2 && len(edits) <= 64; edits = edits[2:] {
		all := spots(m)
		all[int(edits[0])%len(all)].edit(edits[1])
	}
}

func (s spot) edit(how byte) {
	number := func(was float64) float64 {
		to := []float64{0, -was, was * 2, was / 2, was + 1, was - 1, was * 1.01, was * 10, was / 10, 1e-9, 1, 5, 15, 45, 89.9, 90, 180, 200, 1000, math.NaN(), math.Inf(1)}
		return to[int(how)%len(to)]
	}
	has := s.in.Has(s.field)
	switch {
	case has && how > 240:
		s.in.Clear(s.field)
	case s.field.IsList() && s.field.Message() != nil:
		if list := s.in.Mutable(s.field).List(); list.Len() < 20 {
			list.AppendMutable()
		}
	case s.field.IsList() && s.field.Kind() == protoreflect.DoubleKind:
		s.in.Mutable(s.field).List().Append(protoreflect.ValueOfFloat64(float64(how)))
	case s.field.IsList():
		s.in.Mutable(s.field).List().Append(protoreflect.ValueOfEnum(protoreflect.EnumNumber(how % 5)))
	case s.field.Message() != nil:
		s.in.Mutable(s.field)
	case s.field.Kind() == protoreflect.DoubleKind:
		s.in.Set(s.field, protoreflect.ValueOfFloat64(number(s.in.Get(s.field).Float())))
	case s.field.Kind() == protoreflect.EnumKind:
		s.in.Set(s.field, protoreflect.ValueOfEnum(protoreflect.EnumNumber(int(how)%(s.field.Enum().Values().Len()+1))))
	case s.field.Kind() == protoreflect.BoolKind:
		s.in.Set(s.field, protoreflect.ValueOfBool(how%2 == 0))
	}
}

// read makes a request of bytes: JSON whose unknown fields are left out, so that a request for one method can be put to the other,
// or a message as it is sent.
func read[M proto.Message](data []byte, m M) (M, bool) {
	if err := (protojson.UnmarshalOptions{DiscardUnknown: true}).Unmarshal(data, m); err == nil {
		return m, true
	}
	proto.Reset(m)
	return m, proto.Unmarshal(data, m) == nil
}

func checkAnswer(t *testing.T, request, answer proto.Message, err error) {
	t.Helper()
	defer func() {
		if t.Failed() {
			text, _ := protojson.Marshal(request)
			t.Logf("%s", text)
		}
	}()
	if err == nil {
		wantFinite(t, answer.ProtoReflect())
		if _, err := protojson.Marshal(answer); err != nil {
			t.Errorf("the answer is no JSON: %v", err)
		}
		return
	}
	st := status.Convert(err)
	if _, known := arrisv1.Reason_value["REASON_"+reasonOf(err)]; !known || reasonOf(err) == "" {
		t.Errorf("refused with reason %q: %v", reasonOf(err), err)
	}
	switch st.Code() {
	case codes.Internal, codes.Unknown, codes.DeadlineExceeded, codes.Unavailable:
		t.Errorf("%v", err)
	}
	for _, d := range st.Details() {
		if m, ok := d.(proto.Message); ok {
			wantFinite(t, m.ProtoReflect())
		}
	}
}

// wantFinite walks a message and wants every number in it to be one.
func wantFinite(t *testing.T, m protoreflect.Message) {
	t.Helper()
	one := func(f protoreflect.FieldDescriptor, v protoreflect.Value) {
		switch {
		case f.Kind() == protoreflect.DoubleKind && (math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0)):
			t.Errorf("%s is %v", f.FullName(), v.Float())
		case f.Message() != nil && !f.IsMap():
			wantFinite(t, v.Message())
		}
	}
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		if f.IsList() {
			for i := range v.List().Len() {
				one(f, v.List().Get(i))
			}
		} else if !f.IsMap() {
			one(f, v)
		}
		return true
	})
}
