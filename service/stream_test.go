package service_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"testing"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	arrisv1 "arris.example/proto/arris/v1"
)

// item is a batch item about the reference set-up with an edge of its own.
func item(key string, edge float64) *arrisv1.BatchItem {
	return &arrisv1.BatchItem{Key: key, Request: &arrisv1.SolveSetupRequest{
		Rig: &arrisv1.Rig{
			StationSource: &arrisv1.Rig_Station{Station: "shops/main/stations/north"},
			HolderSource:  &arrisv1.Rig_Holder{Holder: "shops/main/holders/swing"},
		},
		GrindSource: &arrisv1.SolveSetupRequest_Grind{Grind: &arrisv1.Grind{Bevels: []*arrisv1.Bevel{{Angle: &arrisv1.Bevel_FrontAngleDeg{FrontAngleDeg: edge}}}}},
		Given:       &arrisv1.Settings{StickOutMm: ptr(45.0), Leg: &arrisv1.Settings_LegAngleDeg{LegAngleDeg: 30}},
	}}
}

func ptr[T any](v T) *T { return &v }

func itemsOf(n int) []*arrisv1.BatchItem {
	list := make([]*arrisv1.BatchItem, n)
	for i := range list {
		list[i] = item(fmt.Sprint(i), 30+float64(i%40))
	}
	return list
}

func TestOneBadItemLeavesTheOthers(t *testing.T) {
	client := arrisv1.NewGrindServiceClient(dialDemo(t))
	list := itemsOf(5)
	nan := 0.0
	nan /= nan
	list[1] = item("nan", nan)
	list[3] = item("keen", 5)
	got, err := client.BatchSolveSetups(t.Context(), &arrisv1.BatchSolveSetupsRequest{Shop: "shops/main", Items: list})
	if err != nil {
		t.Fatal(err)
	}
	want := map[int]codes.Code{1: codes.InvalidArgument, 3: codes.FailedPrecondition}
	for i, r := range got.GetResults() {
		if r.GetKey() != list[i].GetKey() || codes.Code(r.GetError().GetCode()) != want[i] || (r.GetSetup() == nil) != (want[i] != codes.OK) {
			t.Errorf("item %d: %v", i, r)
		}
		if r.GetError() != nil && len(r.GetError().GetDetails()) == 0 {
			t.Errorf("item %d is refused without a reason", i)
		}
	}
}

func TestBatchesThatAreRefusedWhole(t *testing.T) {
	client := arrisv1.NewGrindServiceClient(dialDemo(t))
	twice := itemsOf(3)
	twice[2].Key = twice[0].GetKey()
	for name, c := range map[string]struct {
		items []*arrisv1.BatchItem
		code  codes.Code
	}{
		"empty":    {nil, codes.InvalidArgument},
		"too many": {itemsOf(1001), codes.ResourceExhausted},
		"twice":    {twice, codes.InvalidArgument},
	} {
		_, err := client.BatchSolveSetups(t.Context(), &arrisv1.BatchSolveSetupsRequest{Shop: "shops/main", Items: c.items})
		if status.Code(err) != c.code {
			t.Errorf("%s: %v", name, err)
		}
	}
	if got, err := client.BatchSolveSetups(t.Context(), &arrisv1.BatchSolveSetupsRequest{Shop: "shops/main", Items: itemsOf(1000)}); err != nil || len(got.GetResults()) != 1000 {
		t.Errorf("1000 items: %v", err)
	}
}

func TestStreamAnswersInOrderAndSurvivesBadItems(t *testing.T) {
	client := arrisv1.NewGrindServiceClient(dialDemo(t))
	stream, err := client.StreamSolveSetups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for message := range 4 {
		list := itemsOf(256)
		list[7] = item("bad", -1)
		if err := stream.Send(&arrisv1.StreamSolveSetupsRequest{Shop: "shops/main", Items: list, Detail: arrisv1.AnswerDetail_ANSWER_DETAIL_SUMMARY}); err != nil {
			t.Fatal(err)
		}
		got, err := stream.Recv()
		if err != nil {
			t.Fatal(err)
		}
		for i, r := range got.GetResults() {
			if r.GetKey() != list[i].GetKey() || (r.GetError() != nil) != (i == 7) {
				t.Fatalf("message %d, item %d: %v", message, i, r)
			}
			for _, step := range r.GetSetup().GetSteps() {
				if step.GetText() != "" || step.GetSupport().GetWheelGap().GetText() != "" || step.GetSupport().GetWheelGap().GetSetMm() == 0 {
					t.Fatalf("a summary is numbers only: %v", step)
				}
			}
		}
	}
	if err := stream.CloseSend(); err != nil {
		t.Fatal(err)
	}
	if _, err := stream.Recv(); !errors.Is(err, io.EOF) {
		t.Fatalf("the stream ends with %v", err)
	}
}

// A stream that is cancelled half-way, and one whose client stops reading, end without leaving anything behind: the test binary looks
// for goroutines at its end.
func TestStreamsThatEndEarly(t *testing.T) {
	client := arrisv1.NewGrindServiceClient(dialDemo(t))
	ctx, cancel := context.WithCancel(t.Context())
	stream, err := client.StreamSolveSetups(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if err := stream.Send(&arrisv1.StreamSolveSetupsRequest{Shop: "shops/main", Items: itemsOf(256)}); err != nil {
			t.Fatal(err)
		}
	}
	cancel()
	for err = nil; err == nil; {
		_, err = stream.Recv()
	}
	if status.Code(err) != codes.Canceled {
		t.Errorf("a cancelled stream ends with %v", err)
	}
}

// A client that sends and does not read is not read from either: what is under way stays bounded by the transport's windows.
func TestClientThatStopsReading(t *testing.T) {
	client := arrisv1.NewGrindServiceClient(dialDemo(t))
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	stream, err := client.StreamSolveSetups(ctx)
	if err != nil {
		t.Fatal(err)
	}
	request := &arrisv1.StreamSolveSetupsRequest{Shop: "shops/main", Items: itemsOf(256)}
	sent := make(chan int, 1)
	progress := make(chan struct{}, 1<<16)
	go func() {
		n := 0
		for n < 1<<14 && stream.Send(request) == nil {
			n++
			progress <- struct{}{}
		}
		sent <- n
	}()
	for range 2 { // it takes some, so it is running
		<-progress
	}
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	settled := 0
	for last := -1; settled < 20; { // until nothing moves any more for a while
		if n := len(progress); n == last {
			settled++
		} else {
			settled, last = 0, n
		}
		runtime.Gosched()
		runtime.GC()
	}
	runtime.ReadMemStats(&after)
	cancel()
	if n := <-sent; n >= 1<<14 {
		t.Errorf("all %d messages were taken from a client that does not read", n)
	}
	if grown := int64(after.HeapAlloc) - int64(before.HeapAlloc); grown > 64<<20 {
		t.Errorf("the heap grew by %d MB for a client that does not read", grown>>20)
	}
}

// BenchmarkStream sends a row of set-ups through one stream in messages of 256.
func BenchmarkStream(b *testing.B) {
	for name, detail := range map[string]arrisv1.AnswerDetail{
		"full": arrisv1.AnswerDetail_ANSWER_DETAIL_FULL, "summary": arrisv1.AnswerDetail_ANSWER_DETAIL_SUMMARY,
	} {
		b.Run(name, func(b *testing.B) {
			client := arrisv1.NewGrindServiceClient(dialDemo(b))
			stream, err := client.StreamSolveSetups(b.Context())
			if err != nil {
				b.Fatal(err)
			}
			request := &arrisv1.StreamSolveSetupsRequest{Shop: "shops/main", Items: itemsOf(256), Detail: detail}
			messages := b.N/256 + 1
			b.ResetTimer()
			go func() {
				for range messages {
					if stream.Send(request) != nil {
						return
					}
				}
				_ = stream.CloseSend()
			}()
			for range messages {
				if _, err := stream.Recv(); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(messages*256)/b.Elapsed().Seconds(), "setups/s")
			if _, err := stream.Recv(); !errors.Is(err, io.EOF) {
				b.Fatal(err)
			}
		})
	}
}
