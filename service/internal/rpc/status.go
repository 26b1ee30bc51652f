package rpc

import (
	"context"
	"errors"
	"fmt"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/protoadapt"
	"google.golang.org/protobuf/types/known/durationpb"

	"arris.example/service/internal/fault"
)

// Domain is the domain of every ErrorInfo.
const Domain = "arris.example"

// tryAgainAfter is what callers are told when a part we need is away.
const tryAgainAfter = time.Second

// codeTable is the one place where kinds of fault become status codes.
var codeTable = map[fault.Kind]codes.Code{
	fault.Internal:     codes.Internal,
	fault.BadRequest:   codes.InvalidArgument,
	fault.Impossible:   codes.FailedPrecondition,
	fault.NotFound:     codes.NotFound,
	fault.TooMuch:      codes.ResourceExhausted,
	fault.Unavailable:  codes.Unavailable,
	fault.Cancelled:    codes.Canceled,
	fault.TimedOut:     codes.DeadlineExceeded,
	fault.NoSuchMethod: codes.Unimplemented,
	fault.Conflict:     codes.Aborted,
	fault.Exists:       codes.AlreadyExists,
	fault.Forbidden:    codes.PermissionDenied,
}

// reasonTable is the reason of a status that comes without one: from the health and reflection services, which speak codes.
var reasonTable = map[codes.Code]fault.Fault{
	codes.InvalidArgument:   {Kind: fault.BadRequest, Reason: fault.InvalidField},
	codes.NotFound:          {Kind: fault.NotFound, Reason: fault.NoSuchThing},
	codes.ResourceExhausted: {Kind: fault.TooMuch, Reason: fault.BodyTooLarge},
	codes.Canceled:          {Kind: fault.Cancelled, Reason: fault.WasCancelled},
	codes.DeadlineExceeded:  {Kind: fault.TimedOut, Reason: fault.RanOutOfTime},
	codes.Unimplemented:     {Kind: fault.NoSuchMethod, Reason: fault.UnknownMethod},
}

// noSuchMethod answers calls to methods that nobody registered.
func noSuchMethod(_ any, stream grpc.ServerStream) error {
	name, _ := grpc.MethodFromServerStream(stream)
	return &fault.Fault{
		Kind: fault.NoSuchMethod, Reason: fault.UnknownMethod,
		Message: fmt.Sprintf("there is no method %s here; reflection lists those there are", name),
	}
}

// faultOf gives every error the shape of a fault; what is not one, nor the caller's own end, is a mistake of ours.
func faultOf(err error) *fault.Fault {
	if err == nil {
		return nil
	}
	if f, ok := fault.As(err); ok {
		return f
	}
	if f := endOfCall(err); f != nil {
		return f
	}
	if st, ok := status.FromError(err); ok {
		if known, ok := reasonTable[st.Code()]; ok {
			known.Message, known.Cause = st.Message(), err
			return &known
		}
	}
	return &fault.Fault{Kind: fault.Internal, Reason: fault.Mistake, Cause: err}
}

// endOfCall is the fault for a context that ended.
func endOfCall(err error) *fault.Fault {
	switch {
	case errors.Is(err, context.Canceled):
		return &fault.Fault{Kind: fault.Cancelled, Reason: fault.WasCancelled, Message: "the caller gave up", Cause: err}
	case errors.Is(err, context.DeadlineExceeded):
		return &fault.Fault{
			Kind: fault.TimedOut, Reason: fault.RanOutOfTime, Cause: err,
			Message: "the caller's time ran out; allow more, or ask for less at once",
		}
	}
	return nil
}

// codeOf is the status code of a fault, OK where there is none.
func codeOf(f *fault.Fault) codes.Code {
	if f == nil {
		return codes.OK
	}
	if code, ok := codeTable[f.Kind]; ok {
		return code
	}
	return codes.Internal
}

// statusOf is what the caller gets to see of a fault.
func statusOf(f *fault.Fault, id string) *status.Status {
	code := codeOf(f)
	message := f.Message
	if code == codes.Internal { // whatever it says, it is not for callers
		message = "something went wrong here that is not your fault; the log has it under request id " + id
	}
	st, err := status.New(code, message).WithDetails(details(f, code, id)...)
	if err != nil { // a detail that cannot be packed must not hide the refusal itself
		st, _ = status.New(code, message).WithDetails(errorInfo(f, id))
	}
	return st
}

func errorInfo(f *fault.Fault, id string) protoadapt.MessageV1 {
	return &errdetails.ErrorInfo{
		Reason: string(f.Reason), Domain: Domain, Metadata: map[string]string{"request_id": id},
	}
}

func details(f *fault.Fault, code codes.Code, id string) []protoadapt.MessageV1 {
	all := []protoadapt.MessageV1{errorInfo(f, id)}
	if code == codes.Internal {
		return all
	}
	if len(f.Violations) > 0 {
		all = append(all, badRequest(f.Violations))
	}
	if f.Kind == fault.Unavailable {
		all = append(all, &errdetails.RetryInfo{RetryDelay: durationpb.New(tryAgainAfter)})
	}
	if detail, ok := f.Detail.(proto.Message); ok {
		all = append(all, protoadapt.MessageV1Of(detail))
	}
	return all
}

func badRequest(violations []fault.Violation) *errdetails.BadRequest {
	fields := make([]*errdetails.BadRequest_FieldViolation, len(violations))
	for i, v := range violations {
		fields[i] = &errdetails.BadRequest_FieldViolation{Field: v.Field, Reason: string(v.Reason), Description: v.Text}
	}
	return &errdetails.BadRequest{FieldViolations: fields}
}
