package api

import (
	"context"
	"errors"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
)

// TestCostlyCalculationsTakeTurns fills all turns: the next waits as long as its caller does, and beyond a queue callers are told to come
// again.
func TestCostlyCalculationsTakeTurns(t *testing.T) {
	g := &Grind{turns: Turns{running: make(chan struct{}, 1), waiting: make(chan struct{}, 1)}}
	_, release, err := g.turns.turn(t.Context(), true)
	if err != nil {
		t.Fatal(err)
	}
	gone, cancel := context.WithCancel(t.Context())
	waited := make(chan error)
	go func() {
		_, _, err := g.turns.turn(gone, true)
		waited <- err
	}()
	for len(g.turns.waiting) == 0 { // until it waits
		select {
		case err := <-waited:
			t.Fatalf("did not wait: %v", err)
		default:
		}
	}
	_, _, err = g.turns.turn(t.Context(), true)
	f, ok := fault.As(err)
	if !ok || f.Kind != fault.TooMuch || f.Reason != setup.TooCostly {
		t.Fatalf("got %v", err)
	}
	if retry, ok := f.Detail.(*errdetails.RetryInfo); !ok || retry.GetRetryDelay().AsDuration() <= 0 {
		t.Errorf("not told when to try again: %v", f.Detail)
	}
	cancel()
	if err := <-waited; !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	// Paper waits in the same queue.
	soon, end := context.WithTimeout(t.Context(), time.Millisecond)
	defer end()
	if _, err := (&Sheets{turns: g.turns}).RenderSheet(soon, &arrisv1.RenderSheetRequest{Setup: &arrisv1.SolveSetupRequest{}}); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("a sheet did not wait: %v", err)
	}
	release()
	if _, again, err := g.turns.turn(t.Context(), true); err != nil {
		t.Error(err)
	} else {
		again()
	}
}
