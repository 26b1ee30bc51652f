// Package rpc is what every call passes on its way in and out, whichever door it came through: a request id, the log, the
// metrics, the table that turns a fault into a status, the declared rules of the request, and, innermost, the net under a
// panic. Nothing in it knows a particular method.
package rpc

import (
	"context"
	"log/slog"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/reflect/protoreflect"

	arrisv1 "arris.example/proto/arris/v1"
)

// Config says what the interceptors work with.
type Config struct {
	Logger     *slog.Logger
	Registerer prometheus.Registerer
	// LargestRequest is the most bytes a request message may have.
	LargestRequest int
	// Services are the ones whose requests are prepared for validation before the first call, and whose calls are counted as
	// calculations.
	Services []protoreflect.ServiceDescriptor
	// OneCall compiles the rules of a request when it comes instead of those of all beforehand, for a process that makes one call.
	OneCall bool
	// Role is what callers may do: nobody signs in yet, so it is the same for all. Unspecified: everything.
	Role arrisv1.Role
}

// Interceptors is the chain that every call passes. Make one with New.
type Interceptors struct {
	log     *slog.Logger
	metrics *metrics
	rules   *rules
	roles   roles
	role    arrisv1.Role
	largest int
}

// New prepares the chain: it compiles the declared rules and registers the metrics, and fails if either cannot be done.
func New(cfg Config) (*Interceptors, error) {
	rules, err := newRules(cfg.Services, cfg.OneCall)
	if err != nil {
		return nil, err
	}
	metrics, err := newMetrics(cfg.Registerer, cfg.Services)
	if err != nil {
		return nil, err
	}
	if cfg.Role == arrisv1.Role_ROLE_UNSPECIFIED {
		cfg.Role = arrisv1.Role_ROLE_OWNER
	}
	return &Interceptors{
		log: cfg.Logger, metrics: metrics, rules: rules, roles: newRoles(cfg.Services), role: cfg.Role, largest: cfg.LargestRequest,
	}, nil
}

// workers are goroutines that serve one call after the other, so that not every call grows a stack of its own; when all are busy, calls
// get goroutines as usual.
const workers = 32

// ServerOptions makes a gRPC server use the chain for every call, those to methods it does not have included.
func (i *Interceptors) ServerOptions() []grpc.ServerOption {
	return []grpc.ServerOption{
		grpc.ChainUnaryInterceptor(i.metrics.server.UnaryServerInterceptor(), i.unary),
		grpc.ChainStreamInterceptor(i.metrics.knownStreams(), i.stream),
		grpc.UnknownServiceHandler(noSuchMethod),
		grpc.ForceServerCodecV2(newCodec(i.largest)),
		grpc.MaxRecvMsgSize(transportRoom * i.largest),
		grpc.NumStreamWorkers(workers),
	}
}

// Registrar registers services at a server so that even a request that cannot be read passes the chain.
func (i *Interceptors) Registrar(server *grpc.Server) grpc.ServiceRegistrar { return registrar{server} }

// Start lets every method appear in the metrics from the first scrape on. Call it when all services are registered.
func (i *Interceptors) Start(server *grpc.Server) { i.metrics.server.InitializeMetrics(server) }

func (i *Interceptors) unary(ctx context.Context, req any, info *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (any, error) {
	var answer any
	err := i.around(ctx, info.FullMethod, func(ctx context.Context) error {
		if err := i.rules.check(req); err != nil {
			return err
		}
		var err error
		answer, err = handler(ctx, req)
		return err
	})
	if err != nil {
		return nil, err
	}
	return answer, nil
}

func (i *Interceptors) stream(srv any, stream grpc.ServerStream, info *grpc.StreamServerInfo, handler grpc.StreamHandler) error {
	return i.around(stream.Context(), info.FullMethod, func(ctx context.Context) error {
		return handler(srv, &checkedStream{ServerStream: stream, ctx: ctx, rules: i.rules})
	})
}

// around is the chain itself, outermost first: request id, log and metrics, fault to status, recovery, role. What it returns is nil or
// a status error with an ErrorInfo.
func (i *Interceptors) around(ctx context.Context, method string, work func(context.Context) error) error {
	call := &call{id: requestID(ctx), chain: i}
	ctx = context.WithValue(ctx, callKey{}, call)
	// It can only fail where there is no transport, as in a test that calls a handler by hand.
	_ = grpc.SetHeader(ctx, call.header())

	start := time.Now()
	refused := faultOf(recovered(ctx, func(ctx context.Context) error {
		if err := i.roles.check(method, i.role); err != nil {
			return err
		}
		return work(ctx)
	}))
	took := time.Since(start)

	i.metrics.observe(method, call, refused, took)
	i.logCall(ctx, method, call, refused, took)
	if refused == nil {
		return nil
	}
	return statusOf(refused, call.id).Err()
}

// checkedStream checks every message of a stream as the request of a unary call is checked.
type checkedStream struct {
	grpc.ServerStream
	ctx   context.Context
	rules *rules
}

// Context is the call's own, with what the interceptors put there.
func (s *checkedStream) Context() context.Context { return s.ctx }

// RecvMsg receives a message and checks it.
func (s *checkedStream) RecvMsg(m any) error {
	if err := receive(s.ServerStream.RecvMsg, m); err != nil {
		return err
	}
	return s.rules.check(m)
}
