package api

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"sync"
	"sync/atomic"

	statuspb "google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/grpc"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/rpc"
	"arris.example/service/internal/setup"
)

// How many items a call may bring.
const (
	mostInBatch   = 1000
	mostInMessage = 256
)

// BatchSolveSetups solves many set-ups; each answers or says why.
func (g *Grind) BatchSolveSetups(ctx context.Context, req *arrisv1.BatchSolveSetupsRequest) (*arrisv1.BatchSolveSetupsResponse, error) {
	results, err := g.solveItems(ctx, items{shop: req.GetShop(), list: req.GetItems(), detail: req.GetDetail(), most: mostInBatch})
	if err != nil {
		return nil, err
	}
	return &arrisv1.BatchSolveSetupsResponse{Results: results}, nil
}

// StreamSolveSetups solves as many as come. It holds one message at a time: a client that stops reading stops being read from.
func (g *Grind) StreamSolveSetups(stream grpc.BidiStreamingServer[arrisv1.StreamSolveSetupsRequest, arrisv1.StreamSolveSetupsResponse]) error {
	for {
		req, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		results, err := g.solveItems(stream.Context(), items{shop: req.GetShop(), list: req.GetItems(), detail: req.GetDetail(), most: mostInMessage})
		if err != nil {
			return err
		}
		if err := stream.Send(&arrisv1.StreamSolveSetupsResponse{Results: results}); err != nil {
			return err
		}
	}
}

// items are what one message asks.
type items struct {
	shop    string
	wording *arrisv1.Wording
	list    []*arrisv1.BatchItem
	detail  arrisv1.AnswerDetail
	most    int
}

// solveItems answers each item in turn. What is wrong with the list as a whole refuses it all: nothing in it, too much, a key twice.
func (g *Grind) solveItems(ctx context.Context, in items) ([]*arrisv1.BatchResult, error) {
	if err := in.check(); err != nil {
		return nil, err
	}
	results := make([]*arrisv1.BatchResult, len(in.list))
	err := in.each(ctx, func(i int) { results[i] = g.solveItem(ctx, in, in.list[i]) })
	return results, err
}

// each does something with every item, on all cores.
func (in items) each(ctx context.Context, do func(i int)) error {
	var next atomic.Int64
	var working sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), 1+len(in.list)/leastForWorker) {
		working.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(in.list) && ctx.Err() == nil; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	working.Wait()
	return ctx.Err()
}

// leastForWorker is how many items make another goroutine worth starting: about 100 µs of work.
const leastForWorker = 16

func (in items) check() error {
	switch n := len(in.list); {
	case n == 0:
		return fault.Field("items", fault.Missing, "there is nothing to solve; send 1 to %d items", in.most)
	case n > in.most:
		return &fault.Fault{Kind: fault.TooMuch, Reason: setup.TooCostly, Message: fmt.Sprintf("%d items are more than the %d one message may have; send them in several", n, in.most)}
	}
	seen := make(map[string]int, len(in.list))
	for i, item := range in.list {
		if before, twice := seen[item.GetKey()]; twice && item.GetKey() != "" {
			return fault.Field(fmt.Sprintf("items[%d].key", i), fault.Contradiction, "%q is also the key of item %d: give each its own", item.GetKey(), before)
		}
		seen[item.GetKey()] = i
	}
	return nil
}

// solveItem answers one item. Its own mistakes are its own answer.
func (g *Grind) solveItem(ctx context.Context, in items, item *arrisv1.BatchItem) *arrisv1.BatchResult {
	found, refusal := in.solve(ctx, g.solver, item)
	if refusal != nil {
		return &arrisv1.BatchResult{Key: item.GetKey(), Outcome: &arrisv1.BatchResult_Error{Error: refusal}}
	}
	return &arrisv1.BatchResult{Key: item.GetKey(), Outcome: &arrisv1.BatchResult_Setup{Setup: setupOut(found)}}
}

// solve solves one item, or says why not.
func (in items) solve(ctx context.Context, solver setup.Solver, item *arrisv1.BatchItem) (found setup.Setup, refusal *statuspb.Status) {
	refusal = rpc.Item(ctx, item, func() (about rpc.Calculation, err error) {
		if found, err = solver.Solve(ctx, in.question(item)); err != nil {
			return about, refused(err)
		}
		return aboutBasis(found.Basis), nil
	})
	return found, refusal
}

// question is what an item asks, with what the list says for all.
func (in items) question(item *arrisv1.BatchItem) setup.Question {
	question := solveIn(item.GetRequest())
	if question.Shop == "" {
		question.Shop = in.shop
	}
	if item.GetRequest().GetWording() == nil {
		question.Language, question.Unit = in.wording.GetLanguageCode(), unitIn(in.wording.GetLengthUnit())
	}
	question.Brief = in.detail == arrisv1.AnswerDetail_ANSWER_DETAIL_SUMMARY
	return question
}
