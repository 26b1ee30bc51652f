package rpc

import (
	"context"
	"fmt"

	"google.golang.org/grpc"
	"google.golang.org/grpc/encoding"
	"google.golang.org/grpc/encoding/proto"
	"google.golang.org/grpc/mem"

	"arris.example/service/internal/fault"
)

// A message that is too large or no message at all is refused by the gRPC library before any interceptor runs, in words of its
// own and without details. So requests are read into an envelope, which takes anything the transport lets through and
// remembers what is wrong with it; the refusal is then made inside the chain like every other.

// transportRoom is how many times the largest request the transport still reads, in order to refuse it with a reason. What
// is larger still it refuses by itself, unread, with RESOURCE_EXHAUSTED and no details.
const transportRoom = 8

// envelope is where a message is read into.
type envelope struct {
	message any
	refused *fault.Fault
}

// codec is the protobuf codec for what goes in an envelope and what does not.
type codec struct {
	encoding.CodecV2
	largest int
}

func newCodec(largest int) codec { return codec{encoding.GetCodecV2(proto.Name), largest} }

// Unmarshal reads a message; into an envelope it never fails.
func (c codec) Unmarshal(data mem.BufferSlice, v any) error {
	e, ok := v.(*envelope)
	if !ok {
		return c.CodecV2.Unmarshal(data, v)
	}
	if size := data.Len(); size > c.largest {
		e.refused = tooLarge(size, c.largest)
	} else if err := c.CodecV2.Unmarshal(data, e.message); err != nil {
		e.refused = unreadable(err)
	}
	return nil
}

func tooLarge(size, largest int) *fault.Fault {
	return &fault.Fault{
		Kind: fault.TooMuch, Reason: fault.BodyTooLarge,
		Message: fmt.Sprintf("the request has %d bytes; at most %d are taken", size, largest),
	}
}

func unreadable(err error) *fault.Fault {
	f := fault.Field("request", fault.BadForm, "the bytes are not the message this method takes; check both sides' schema")
	f.Cause = err
	return f
}

// receive reads a message by way of an envelope.
func receive(from func(any) error, message any) error {
	e := envelope{message: message}
	if err := from(&e); err != nil {
		return err
	}
	if e.refused != nil {
		return e.refused
	}
	return nil
}

// registrar registers services whose unary methods read their request by way of an envelope.
type registrar struct{ *grpc.Server }

// RegisterService registers a service like the server itself, with its unary methods enveloped.
func (r registrar) RegisterService(desc *grpc.ServiceDesc, impl any) {
	enveloped := *desc
	enveloped.Methods = make([]grpc.MethodDesc, len(desc.Methods))
	for i, m := range desc.Methods {
		enveloped.Methods[i] = grpc.MethodDesc{MethodName: m.MethodName, Handler: envelop(m.Handler)}
	}
	r.Server.RegisterService(&enveloped, impl)
}

// envelop lets a request that cannot be read go on to the interceptors, as its own refusal.
func envelop(method grpc.MethodHandler) grpc.MethodHandler {
	return func(srv any, ctx context.Context, decode func(any) error, chain grpc.UnaryServerInterceptor) (any, error) {
		var refused *fault.Fault
		read := func(message any) error {
			err := receive(decode, message)
			if f, ok := fault.As(err); ok {
				refused = f
				return nil
			}
			return err
		}
		checked := func(ctx context.Context, req any, info *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (any, error) {
			if refused != nil {
				req = refused
			}
			return chain(ctx, req, info, handler)
		}
		return method(srv, ctx, read, checked)
	}
}
