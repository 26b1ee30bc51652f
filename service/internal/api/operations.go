package api

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"time"

	"google.golang.org/genproto/googleapis/api/httpbody"
	statuspb "google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/emptypb"
	"google.golang.org/protobuf/types/known/timestamppb"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/queue"
	"arris.example/service/internal/records"
	"arris.example/service/internal/rpc"
	"arris.example/service/internal/store"
)

// The reasons that operations add.
const (
	operationEnded fault.Reason = "OPERATION_ENDED"
	nothingGoesOn  fault.Reason = "NOTHING_GOES_ON"
)

// KeepOperations is for how long it is kept what an operation made, unless a service says otherwise.
const KeepOperations = 24 * time.Hour

// Operations is the OperationService.
type Operations struct {
	arrisv1.UnimplementedOperationServiceServer
	store  store.Store
	kept   store.Operations // nil: nothing is kept
	sheets *Sheets
	chain  *rpc.Interceptors
	keep   time.Duration
	queue  *queue.Queue // nil: nothing goes on here
	ending chan struct{}
	end    sync.Once
}

// NewOperations makes the OperationService on a store. Nothing goes on until Start.
func NewOperations(s store.Store, sheets *Sheets, chain *rpc.Interceptors, keep time.Duration) *Operations {
	kept, _ := store.OperationsIn(s)
	return &Operations{store: s, kept: kept, sheets: sheets, chain: chain, keep: keep, ending: make(chan struct{})}
}

// Start lets operations go on, those found unfinished first. Without a store there is nothing to start.
func (o *Operations) Start(cfg queue.Config) (err error) {
	if o.kept == nil {
		return nil
	}
	cfg.Kept, cfg.Keep, cfg.Step = o.kept, o.keep, o.step
	cfg.Broken = func(name string, err error) []byte { return packed(rpc.Status(records.FaultOfStore(err), name)) }
	o.queue, err = queue.New(cfg)
	return err
}

// Drain lets nobody wait any longer.
func (o *Operations) Drain() { o.end.Do(func() { close(o.ending) }) }

// Stop lets go of what is under way; whoever opens the store next goes on with it.
func (o *Operations) Stop() {
	o.Drain()
	if o.queue != nil {
		o.queue.Stop()
	}
}

// opened fails where nothing is kept.
func (o *Operations) opened(ctx context.Context) error {
	if o.kept != nil {
		return nil
	}
	_, err := o.store.Get(ctx, "shops/none", time.Time{}) // a store that keeps no operations keeps nothing, and says so
	return records.FaultOfStore(err)
}

// GetOperation tells how far an operation is.
func (o *Operations) GetOperation(ctx context.Context, req *arrisv1.GetOperationRequest) (*arrisv1.Operation, error) {
	if err := o.opened(ctx); err != nil {
		return nil, err
	}
	return operationShown(o.kept.Operation(ctx, req.GetName()))
}

// ListOperations reads a shop's operations.
func (o *Operations) ListOperations(ctx context.Context, req *arrisv1.ListOperationsRequest) (*arrisv1.ListOperationsResponse, error) {
	if err := o.opened(ctx); err != nil {
		return nil, err
	}
	page, next, err := o.kept.OperationsOf(ctx, req.GetParent(), int(req.GetPageSize()), req.GetPageToken())
	switch {
	case store.Is(err, store.BadQuery):
		return nil, badToken(err)
	case err == nil && len(page) == 0:
		_, err = o.store.Get(ctx, req.GetParent(), time.Time{}) // of a shop that is not there, there is none
	}
	if err != nil {
		return nil, records.FaultOfStore(err)
	}
	return &arrisv1.ListOperationsResponse{Operations: each(page, operationOut), NextPageToken: next}, nil
}

func badToken(err error) error { return fault.Field("page_token", fault.BadForm, "%v", err) }

// How long WaitOperation waits unless said, how often it looks, and how much of a call's time it leaves for the answer.
const (
	usualWait = 20 * time.Second
	lookAgain = 200 * time.Millisecond
	timeToSay = 20 // a 20th
)

// WaitOperation answers when an operation has ended, or its time is over.
func (o *Operations) WaitOperation(ctx context.Context, req *arrisv1.WaitOperationRequest) (*arrisv1.Operation, error) {
	if err := o.opened(ctx); err != nil {
		return nil, err
	}
	wait := usualWait
	if req.GetTimeout() != nil {
		wait = req.GetTimeout().AsDuration()
	}
	if end, limited := ctx.Deadline(); limited {
		left := time.Until(end)
		wait = min(wait, left-left/timeToSay)
	}
	over := time.After(wait)
	for {
		found, err := o.kept.Operation(ctx, req.GetName())
		if err != nil || found.State.Ended() {
			return operationShown(found, err)
		}
		select {
		case <-time.After(lookAgain):
			continue
		case <-over:
		case <-o.ending:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
		return operationShown(o.kept.Operation(ctx, req.GetName()))
	}
}

// CancelOperation ends an operation before its time.
func (o *Operations) CancelOperation(ctx context.Context, req *arrisv1.CancelOperationRequest) (*arrisv1.Operation, error) {
	if err := o.opened(ctx); err != nil {
		return nil, err
	}
	found, err := o.kept.CancelOperation(ctx, req.GetName(), o.keep)
	if err == nil && found.State != store.Cancelled {
		return nil, &fault.Fault{Kind: fault.Impossible, Reason: operationEnded,
			Message: fmt.Sprintf("%s has %s already; delete it where it is of no use any more", found.Name, found.State)}
	}
	return operationShown(found, err)
}

// DeleteOperation forgets an operation.
func (o *Operations) DeleteOperation(ctx context.Context, req *arrisv1.DeleteOperationRequest) (*emptypb.Empty, error) {
	if err := o.opened(ctx); err != nil {
		return nil, err
	}
	if err := o.kept.DeleteOperation(ctx, req.GetName()); err != nil {
		return nil, records.FaultOfStore(err)
	}
	return &emptypb.Empty{}, nil
}

// ListRefusedSheets reads what cannot be made.
func (o *Operations) ListRefusedSheets(ctx context.Context, req *arrisv1.ListRefusedSheetsRequest) (*arrisv1.ListRefusedSheetsResponse, error) {
	if err := o.opened(ctx); err != nil {
		return nil, err
	}
	found, err := o.kept.Operation(ctx, req.GetParent())
	if err != nil {
		return nil, records.FaultOfStore(err)
	}
	from, size := 0, int(req.GetPageSize())
	if size == 0 {
		size = store.DefaultPage
	}
	if token := req.GetPageToken(); token != "" {
		if from, err = strconv.Atoi(token); err != nil || from < 0 {
			return nil, fault.Field("page_token", fault.BadForm, "is not of this list: leave it empty for the first page")
		}
	}
	out := &arrisv1.ListRefusedSheetsResponse{}
	if out.Refused, err = o.refused(ctx, found.Name, from, size); err != nil {
		return nil, err
	}
	if next := from + len(out.GetRefused()); next < found.Refused && len(out.GetRefused()) > 0 {
		out.NextPageToken = strconv.Itoa(next)
	}
	return out, nil
}

// refused reads why items are not printed.
func (o *Operations) refused(ctx context.Context, name string, from, limit int) (all []*arrisv1.BatchResult, err error) {
	kept, err := o.kept.Refused(ctx, name, from, limit)
	if err != nil {
		return nil, records.FaultOfStore(err)
	}
	for _, text := range kept {
		one := &arrisv1.BatchResult{}
		if err := proto.Unmarshal(text, one); err != nil {
			return nil, err
		}
		all = append(all, one)
	}
	return all, nil
}

// DownloadVolume sends a volume.
func (o *Operations) DownloadVolume(req *arrisv1.DownloadVolumeRequest, stream grpc.ServerStreamingServer[httpbody.HttpBody]) error {
	ctx := stream.Context()
	if err := o.opened(ctx); err != nil {
		return err
	}
	name, last, _ := strings.Cut(req.GetName(), "/volumes/")
	number, err := strconv.Atoi(last)
	if err != nil {
		return fault.Field("name", fault.BadForm, "must end in a volume's number, such as /volumes/1")
	}
	volume, err := o.kept.Volume(ctx, name, number)
	if err != nil {
		return records.FaultOfStore(err)
	}
	for sent, piece := int64(0), 0; sent < volume.Bytes; piece++ {
		data, err := o.kept.Piece(ctx, name, number, piece)
		if err != nil {
			return records.FaultOfStore(err)
		}
		if err := stream.Send(&httpbody.HttpBody{ContentType: pdf, Data: data}); err != nil {
			return err
		}
		sent += int64(len(data))
	}
	return nil
}

// operationStates are the states in the schema.
var operationStates = map[store.OperationState]arrisv1.OperationState{
	store.Waiting: arrisv1.OperationState_OPERATION_STATE_WAITING, store.Running: arrisv1.OperationState_OPERATION_STATE_RUNNING,
	store.Succeeded: arrisv1.OperationState_OPERATION_STATE_SUCCEEDED, store.Failed: arrisv1.OperationState_OPERATION_STATE_FAILED,
	store.Cancelled: arrisv1.OperationState_OPERATION_STATE_CANCELLED,
}

func operationShown(o store.Operation, err error) (*arrisv1.Operation, error) {
	if err != nil {
		return nil, records.FaultOfStore(err)
	}
	return operationOut(o), nil
}

// operationOut is an operation for its caller.
func operationOut(o store.Operation) *arrisv1.Operation {
	sheets := &arrisv1.SheetBatch{AsOfTime: timestamppb.New(o.AsOf), ItemCount: int32(o.Items), DoneCount: int32(o.Done + o.Ahead), RefusedCount: int32(o.Refused)} //nolint:gosec // at most ten thousand
	for _, v := range o.Volumes {
		sheets.Volumes = append(sheets.Volumes, &arrisv1.SheetVolume{
			Name: fmt.Sprintf("%s/volumes/%d", o.Name, v.Number), SheetCount: int32(v.Items), ByteCount: v.Bytes, //nolint:gosec // at most 500
		})
	}
	out := &arrisv1.Operation{
		Name: o.Name, State: operationStates[o.State], Done: o.State.Ended(), CreateTime: timeOut(o.Created), StartTime: timeOut(o.Started),
		EndTime: timeOut(o.Ended), ExpireTime: timeOut(o.Expires), Work: &arrisv1.Operation_Sheets{Sheets: sheets},
	}
	if done := o.Done + o.Ahead; o.State == store.Running && done > 0 {
		left := o.Worked / time.Duration(done) * time.Duration(o.Items-done)
		out.TimeLeft = durationpb.New(left.Round(time.Second))
	}
	if len(o.Failure) > 0 {
		out.Error = &statuspb.Status{}
		if err := proto.Unmarshal(o.Failure, out.GetError()); err != nil {
			out.Error = rpc.Status(err, o.Name)
		}
	}
	return out
}
