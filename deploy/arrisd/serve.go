package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"syscall"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
	"google.golang.org/grpc"

	"arris.example/client/kiosk"
	"arris.example/gateway"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

// How long callers may take. A solve takes well under a millisecond, so these are for slow lines and lost ones.
const (
	headerTime = 5 * time.Second
	readTime   = 30 * time.Second
	writeTime  = 60 * time.Second
	idleTime   = 2 * time.Minute
	// headerBytes is the most that a request's headers may have.
	headerBytes = 16 << 10
	// drainTime is how long calls under way may take when the server ends.
	drainTime = 10 * time.Second
)

// server is all that runs.
type server struct {
	log     *slog.Logger
	service *service.Service
	conn    *grpc.ClientConn // the gateway's, in this process
	web     *http.Server
	webAt   net.Listener
	rpcAt   net.Listener
	cert    *certificate // nil: nothing is encrypted
}

// serve runs the server until ctx ends or a part of it fails.
func serve(ctx context.Context, start time.Time, s settings, stdout io.Writer, log *slog.Logger) error {
	srv, err := newServer(ctx, s, log)
	if err != nil {
		return err
	}
	failed := make(chan error, 2)
	go func() { failed <- srv.serveRPC() }()
	go func() { failed <- srv.serveWeb() }()
	log.Info(fmt.Sprintf("ready in %d ms", time.Since(start).Milliseconds()),
		"http", srv.webAt.Addr().String(), "grpc", srv.rpcAt.Addr().String(), "store", s.kept())

	running := 2
	if s.Demo {
		err = showDemo(ctx, stdout, srv, s)
	}
	if err == nil {
		select {
		case <-ctx.Done():
			log.Info("stopping", "drain", drainTime)
		case err = <-failed:
			running--
		}
	}
	srv.stop(context.WithoutCancel(ctx))
	for range running {
		if ended := <-failed; !errors.Is(ended, http.ErrServerClosed) {
			err = errors.Join(err, ended)
		}
	}
	return err
}

// serveRPC encrypts what comes from outside. The gateway's own calls never leave this process.
func (srv *server) serveRPC() error {
	if srv.cert == nil {
		return srv.service.Serve(srv.rpcAt)
	}
	return srv.service.Serve(tls.NewListener(srv.rpcAt, srv.cert.config("h2")))
}

func (srv *server) serveWeb() error {
	if srv.cert == nil {
		return srv.web.Serve(srv.webAt)
	}
	srv.web.TLSConfig = srv.cert.config() // its own protocols are added: HTTP/2, and 1.1
	return srv.web.ServeTLS(srv.webAt, "", "")
}

// scheme is how the addresses of REST and pages begin.
func (srv *server) scheme() string {
	if srv.cert == nil {
		return "http"
	}
	return "https"
}

func newServer(ctx context.Context, s settings, log *slog.Logger) (*server, error) {
	srv := &server{log: log}
	var err error
	if s.TLSCert != "" {
		if srv.cert, err = readCertificate(s, log); err != nil {
			return nil, err
		}
	}
	if srv.webAt, err = listen(ctx, log, "--http", s.HTTP); err != nil {
		return nil, err
	}
	if srv.rpcAt, err = listen(ctx, log, "--grpc", s.GRPC); err != nil {
		return nil, errors.Join(err, srv.webAt.Close())
	}
	if err := srv.assemble(s); err != nil { //nolint:contextcheck // what the gateway registers asks for a context and never looks at it
		return nil, errors.Join(err, srv.webAt.Close(), srv.rpcAt.Close())
	}
	return srv, nil
}

// roles are the values of --role.
var roles = map[string]arrisv1.Role{
	"viewer": arrisv1.Role_ROLE_VIEWER, "operator": arrisv1.Role_ROLE_OPERATOR, "keeper": arrisv1.Role_ROLE_KEEPER, "owner": arrisv1.Role_ROLE_OWNER,
}

// assemble joins service and gateway.
func (srv *server) assemble(s settings) error {
	registry := prometheus.NewRegistry()
	registry.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	if srv.cert != nil {
		registry.MustRegister(srv.cert.expiry())
	}
	var err error
	if srv.service, err = service.New(service.Config{
		Demo: s.Demo, Store: s.Store, Who: "arrisd on " + reachable(srv.rpcAt), Role: roles[s.Role], Logger: srv.log, Registerer: registry,
	}); err != nil {
		return err
	}
	if srv.conn, err = srv.service.Dial(); err != nil {
		return err
	}
	handler, err := gateway.New(srv.conn, gateway.Options{
		Logger: srv.log, Registerer: registry,
		Pages: map[string]http.Handler{"/metrics": promhttp.HandlerFor(registry, promhttp.HandlerOpts{})},
		Kiosk: gateway.Kiosk{Files: kiosk.Files(), EngineVersion: service.EngineVersion},
	})
	if err != nil {
		return err
	}
	srv.web = &http.Server{
		Handler:           handler,
		ReadHeaderTimeout: headerTime, ReadTimeout: readTime, WriteTimeout: writeTime, IdleTimeout: idleTime,
		MaxHeaderBytes: headerBytes,
		ErrorLog:       slog.NewLogLogger(srv.log.Handler(), slog.LevelWarn),
	}
	return nil
}

// stop lets probes know first, then ends REST, then gRPC, giving the calls under way their time.
func (srv *server) stop(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, drainTime)
	defer cancel()
	srv.service.Drain()
	if err := srv.web.Shutdown(ctx); err != nil {
		srv.log.Warn("REST calls were cut off", "error", errors.Join(err, srv.web.Close()))
	}
	if err := srv.conn.Close(); err != nil {
		srv.log.Warn("closing the gateway's connection", "error", err)
	}
	if err := srv.service.Stop(ctx); err != nil {
		srv.log.Warn("gRPC calls were cut off", "error", err)
	}
	srv.log.Info("stopped")
}

// listen takes an address, and says which flag to change when it cannot.
func listen(ctx context.Context, log *slog.Logger, flag, address string) (net.Listener, error) {
	listener, err := (&net.ListenConfig{}).Listen(ctx, "tcp", address)
	if errors.Is(err, syscall.EADDRINUSE) {
		return nil, fmt.Errorf("%s is taken by another program; choose another address with %s", address, flag)
	}
	if err != nil {
		return nil, fmt.Errorf("cannot listen on %s: %w; choose another address with %s", address, err, flag)
	}
	if at, ok := listener.Addr().(*net.TCPAddr); ok && !at.IP.IsLoopback() {
		log.Warn("open to the network; nobody is asked who they are", "flag", flag, "address", at.String())
	}
	return listener, nil
}
