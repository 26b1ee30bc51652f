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

// Costly calculations (maps, solids, Monte Carlo, paper) take turns, so that a kiosk's solves never wait for them.
const (
	mostWaiting  = 32 // more are refused at once
	mostAtOnce   = 64 // of however many cores
	tryAgainLate = 2 * time.Second

	longestCostly = 30 * time.Second
)

// Turns is who may calculate something costly, and who waits for it. Services that share them take turns with one another.
type Turns struct{ running, waiting chan struct{} }

// NewTurns lets half of the cores, one at least, calculate what is costly.
func NewTurns() Turns {
	cores := min(max(1, runtime.GOMAXPROCS(0)/2), mostAtOnce)
	return Turns{make(chan struct{}, cores), make(chan struct{}, mostWaiting)}
}

// turn waits for a turn where a call is costly, within the call's time, or [longestCostly] where the caller set none. The caller gives the
// turn back.
func (t Turns) turn(ctx context.Context, costly bool) (_ context.Context, release func(), err error) {
	if !costly {
		return ctx, func() {}, nil
	}
	select {
	case t.waiting <- struct{}{}:
	default:
		return nil, nil, &fault.Fault{
			Kind: fault.TooMuch, Reason: setup.TooCostly, Message: "too many maps, solids, doubts of whole edges and sheets are being calculated; try again shortly, or ask without them",
			Detail: &errdetails.RetryInfo{RetryDelay: durationpb.New(tryAgainLate)},
		}
	}
	return t.next(ctx)
}

// part waits for a turn for a part of an answer that has begun: it is not refused, however many wait.
func (t Turns) part(ctx context.Context) (_ context.Context, release func(), err error) {
	select {
	case t.waiting <- struct{}{}:
		return t.next(ctx)
	case <-ctx.Done():
		return nil, nil, ctx.Err()
	}
}

// next waits for a turn in a place among those who wait.
func (t Turns) next(ctx context.Context) (_ context.Context, release func(), err error) {
	defer func() { <-t.waiting }()
	end := context.CancelFunc(func() {})
	if _, limited := ctx.Deadline(); !limited {
		ctx, end = context.WithTimeout(ctx, longestCostly)
	}
	select {
	case t.running <- struct{}{}:
		return ctx, func() { end(); <-t.running }, nil
	case <-ctx.Done():
		end()
		return nil, nil, ctx.Err()
	}
}
