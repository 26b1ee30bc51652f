package api

import (
	"context"
	"runtime"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/protobuf/types/known/durationpb"

	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
)

// Costly calculations (maps, solids, Monte Carlo) take turns, so that a kiosk's solves never wait for them.
const (
	mostWaiting  = 32 // more are refused at once
	mostAtOnce   = 64 // of however many cores
	tryAgainLate = 2 * time.Second

	longestCostly = 30 * time.Second
)

// turns is who may calculate something costly, and who waits for it.
type turns struct{ running, waiting chan struct{} }

func newTurns() turns {
	cores := min(max(1, runtime.GOMAXPROCS(0)/2), mostAtOnce)
	return turns{make(chan struct{}, cores), make(chan struct{}, mostWaiting)}
}

// turn waits for a turn where a call is costly, within the call's time, or [longestCostly] where the caller set none. The caller gives the
// turn back.
func (g *Grind) turn(ctx context.Context, costly bool) (_ context.Context, release func(), err error) {
	if !costly {
		return ctx, func() {}, nil
	}
	select {
	case g.turns.waiting <- struct{}{}:
	default:
		return nil, nil, &fault.Fault{
			Kind: fault.TooMuch, Reason: setup.TooCostly, Message: "too many maps, solids and doubts of whole edges are being calculated; try again shortly, or ask without them",
			Detail: &errdetails.RetryInfo{RetryDelay: durationpb.New(tryAgainLate)},
		}
	}
	defer func() { <-g.turns.waiting }()
	end := context.CancelFunc(func() {})
	if _, limited := ctx.Deadline(); !limited {
		ctx, end = context.WithTimeout(ctx, longestCostly)
	}
	select {
	case g.turns.running <- struct{}{}:
		return ctx, func() { end(); <-g.turns.running }, nil
	case <-ctx.Done():
		end()
		return nil, nil, ctx.Err()
	}
}
