// Package service is Arris as a gRPC service. One constructor makes it from a config; it can be served on any listener and
// called in the same process, and both ways pass the same interceptors.
package service

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"sync"
	"sync/atomic"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/health"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/reflection"
	"google.golang.org/grpc/test/bufconn"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/api"
	"arris.example/service/internal/rpc"
	"arris.example/service/internal/store"
)

// EngineVersion names the engine, as every answer does.
const EngineVersion = api.EngineVersion

// DefaultMaxRequestBytes is the most a request may have unless the config says otherwise. A solve takes a few hundred bytes.
const DefaultMaxRequestBytes = 1 << 20

// MostAnswerBytes is the most an answer has: the finest mesh, with the edge it belongs to. gRPC clients take 4 MiB unless they say so.
const MostAnswerBytes = 16 << 20

// pipeBytes is how much an in-process connection holds on the way.
const pipeBytes = 256 << 10

// Config says what a service is made of. Its zero value is a service that calculates and keeps no shop.
type Config struct {
	// Store is where shops are kept: a file's path (SQLite), or postgres://user@host/database. Empty: nothing is kept.
	Store string
	// ReadOnlyStore reads a file that may be open elsewhere, and changes nothing.
	ReadOnlyStore bool
	// Who says in a file's lock who has it open, and where --server reaches it: "arrisd on localhost:8481".
	Who string
	// Demo puts the demonstration shop into the store where it is not yet; without a store it is kept in memory.
	Demo bool
	// OneCall makes ready for a single call, sooner: what a command line wants that ends after it.
	OneCall bool
	// Role is what callers may do, since nobody signs in yet; unspecified: everything.
	Role arrisv1.Role
	// Logger gets a line for every call; nil: nobody does.
	Logger *slog.Logger
	// Registerer gets the metrics; nil: a registry of the service's own, which nobody reads.
	Registerer prometheus.Registerer
	// MaxRequestBytes is the most a request message may have; 0: DefaultMaxRequestBytes.
	MaxRequestBytes int
	// Grind calculates; nil: the engine does. Tests put something here that is slow, or breaks.
	Grind arrisv1.GrindServiceServer
}

// Service answers gRPC calls. Make one with New, end it with Stop.
type Service struct {
	server  *grpc.Server
	store   store.Store
	health  *health.Server
	log     *slog.Logger
	ready   atomic.Bool
	away    atomic.Bool // the store
	pipes   sync.WaitGroup
	unwatch func()
}

// New makes a service that is ready to be called. It fails if the metrics are already taken by another service in the same
// registry.
func New(cfg Config) (*Service, error) {
	cfg = cfg.withDefaults()
	chain, err := rpc.New(rpc.Config{
		Logger: cfg.Logger, Registerer: cfg.Registerer, LargestRequest: cfg.MaxRequestBytes, Services: descriptors(), OneCall: cfg.OneCall, Role: cfg.Role,
	})
	if err != nil {
		return nil, fmt.Errorf("service: %w", err)
	}
	kept, err := openStore(cfg)
	if err != nil {
		return nil, err
	}
	s := &Service{server: grpc.NewServer(chain.ServerOptions()...), store: kept, log: cfg.Logger, health: health.NewServer(), unwatch: func() {}}
	to := chain.Registrar(s.server)
	register(to, cfg.Grind, kept)
	healthv1.RegisterHealthServer(to, s.health)
	reflection.RegisterV1(s.server)
	chain.Start(s.server)
	for _, d := range descriptors() {
		s.health.SetServingStatus(string(d.FullName()), healthv1.HealthCheckResponse_SERVING)
	}
	s.ready.Store(true)
	if cfg.Store != "" && !cfg.OneCall {
		s.unwatch = s.watchStore()
	}
	return s, nil
}

func (cfg Config) withDefaults() Config {
	if cfg.Logger == nil {
		cfg.Logger = slog.New(slog.DiscardHandler)
	}
	if cfg.Registerer == nil {
		cfg.Registerer = prometheus.NewRegistry()
	}
	if cfg.MaxRequestBytes == 0 {
		cfg.MaxRequestBytes = DefaultMaxRequestBytes
	}
	return cfg
}

// Serve answers calls that come in at the listener until the service is stopped, which is no error.
func (s *Service) Serve(listener net.Listener) error {
	if err := s.server.Serve(listener); err != nil && !errors.Is(err, grpc.ErrServerStopped) {
		return fmt.Errorf("service: %w", err)
	}
	return nil
}

// Dial connects to the service within this process. The caller closes the connection.
func (s *Service) Dial(options ...grpc.DialOption) (*grpc.ClientConn, error) {
	pipe := bufconn.Listen(pipeBytes)
	s.pipes.Go(func() { _ = s.Serve(pipe) }) // a pipe cannot fail otherwise than by being stopped
	inProcess := []grpc.DialOption{
		grpc.WithContextDialer(func(ctx context.Context, _ string) (net.Conn, error) { return pipe.DialContext(ctx) }),
		grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithDefaultCallOptions(grpc.MaxCallRecvMsgSize(MostAnswerBytes)),
	}
	conn, err := grpc.NewClient("passthrough:///arris", append(inProcess, options...)...)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("service: %w", err), pipe.Close())
	}
	return conn, nil
}

// Drain makes the service say that it is not ready, while it still answers. Load balancers then send new calls elsewhere.
func (s *Service) Drain() {
	s.ready.Store(false)
	s.health.Shutdown()
}

// Stop ends the service: it takes no more calls, waits for those under way, and when ctx ends first, ends them too and
// returns the context's error. The store is closed last. A second Stop does nothing.
func (s *Service) Stop(ctx context.Context) error {
	s.Drain()
	s.unwatch()
	drained := make(chan struct{})
	go func() {
		defer close(drained)
		s.server.GracefulStop()
	}()
	var cut error
	select {
	case <-drained:
	case <-ctx.Done():
		cut = fmt.Errorf("service: calls were still under way: %w", ctx.Err())
		s.server.Stop()
		<-drained
	}
	s.pipes.Wait()
	return errors.Join(cut, s.store.Close())
}
