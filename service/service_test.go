package service_test

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"math"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"go.uber.org/goleak"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/metadata"
	reflectionv1 "google.golang.org/grpc/reflection/grpc_reflection_v1"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/emptypb"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// solver is a GrindService whose solving is whatever a test needs.
type solver struct {
	arrisv1.UnimplementedGrindServiceServer
	solve func(context.Context, *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error)
}

func (s solver) SolveSetup(ctx context.Context, req *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
	return s.solve(ctx, req)
}

func answers(context.Context, *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
	return &arrisv1.SolveSetupResponse{Setup: &arrisv1.Setup{Steps: []*arrisv1.Step{{Text: "one step"}}}}, nil
}

func waits(ctx context.Context, _ *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
	<-ctx.Done()
	return nil, ctx.Err()
}

func panics(context.Context, *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
	panic("a wheel fell off")
}

// started is a service with a connection to it; both end with the test.
func started(t testing.TB, cfg service.Config) (*service.Service, *grpc.ClientConn) {
	t.Helper()
	s, err := service.New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	conn, err := s.Dial()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := conn.Close(); err != nil {
			t.Error(err)
		}
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := s.Stop(ctx); err != nil {
			t.Error(err)
		}
	})
	return s, conn
}

func grindOf(t testing.TB, cfg service.Config) arrisv1.GrindServiceClient {
	_, conn := started(t, cfg)
	return arrisv1.NewGrindServiceClient(conn)
}

// reasonOf is the ErrorInfo reason of an error, empty where it has none.
func reasonOf(err error) string {
	for _, d := range status.Convert(err).Details() {
		if info, ok := d.(*errdetails.ErrorInfo); ok && info.GetDomain() == "arris.example" {
			return info.GetReason()
		}
	}
	return ""
}

func wantRefusal(t *testing.T, err error, code codes.Code, reason string) {
	t.Helper()
	if got := status.Code(err); got != code || reasonOf(err) != reason {
		t.Errorf("got %v %q (%v), want %v %q", got, reasonOf(err), err, code, reason)
	}
}

func TestAnswersPass(t *testing.T) {
	grind := grindOf(t, service.Config{Grind: solver{solve: answers}})
	resp, err := grind.SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{})
	if err != nil || resp.GetSetup().GetSteps()[0].GetText() != "one step" {
		t.Errorf("got %v, %v", resp, err)
	}
}

func TestRequestsThatBreakARuleAreNotCalculated(t *testing.T) {
	grind := grindOf(t, service.Config{Grind: solver{solve: panics}})
	_, err := grind.SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{
		Shop:  "?",
		Given: &arrisv1.Settings{StickOutMm: proto.Float64(math.NaN())},
	})
	wantRefusal(t, err, codes.InvalidArgument, "INVALID_FIELD")
	var fields []string
	for _, d := range status.Convert(err).Details() {
		if bad, ok := d.(*errdetails.BadRequest); ok {
			for _, v := range bad.GetFieldViolations() {
				fields = append(fields, v.GetField()+":"+v.GetReason())
			}
		}
	}
	if got := strings.Join(fields, " "); got != "shop:BAD_FORM given.stick_out_mm:NOT_FINITE" {
		t.Errorf("violations: %s", got)
	}
}

func TestPanicIsOneCallsTroubleOnly(t *testing.T) {
	var log syncBuffer
	grind := grindOf(t, service.Config{
		Logger: slog.New(slog.NewTextHandler(&log, nil)),
		Grind: solver{solve: func(ctx context.Context, req *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
			if req.GetShop() == "shops/broken" {
				return panics(ctx, req)
			}
			return answers(ctx, req)
		}},
	})
	_, err := grind.SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{Shop: "shops/broken"})
	wantRefusal(t, err, codes.Internal, "INTERNAL")
	if strings.Contains(status.Convert(err).Proto().String(), "wheel fell") {
		t.Errorf("the caller is told what broke: %v", err)
	}
	if text := log.String(); !strings.Contains(text, "a wheel fell off") || !strings.Contains(text, "service_test.go") {
		t.Errorf("the log does not say what broke and where:\n%s", text)
	}
	if _, err := grind.SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{}); err != nil {
		t.Errorf("the next call: %v", err)
	}
}

func TestCallerGivesUp(t *testing.T) {
	reg := prometheus.NewRegistry()
	arrived, ended := make(chan struct{}), make(chan error, 1)
	grind := grindOf(t, service.Config{
		Registerer: reg,
		Grind: solver{solve: func(ctx context.Context, req *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
			close(arrived)
			resp, err := waits(ctx, req)
			ended <- err
			return resp, err
		}},
	})
	ctx, cancel := context.WithCancel(t.Context())
	go func() {
		<-arrived
		cancel()
	}()
	_, err := grind.SolveSetup(ctx, &arrisv1.SolveSetupRequest{})
	if status.Code(err) != codes.Canceled {
		t.Errorf("got %v", err)
	}
	if err := <-ended; !errors.Is(err, context.Canceled) {
		t.Errorf("the method's context ended with %v", err)
	}
	eventually(t, func() bool { return refusals(t, reg, "CANCELLED") == 1 }, "the refusal was not counted as CANCELLED")
}

func TestCallersTimeRunsOut(t *testing.T) {
	reg := prometheus.NewRegistry()
	grind := grindOf(t, service.Config{Registerer: reg, Grind: solver{solve: waits}})
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	_, err := grind.SolveSetup(ctx, &arrisv1.SolveSetupRequest{})
	if status.Code(err) != codes.DeadlineExceeded {
		t.Errorf("got %v", err)
	}
	// The server sees its own copy of the deadline pass, or the client hang up first.
	eventually(t, func() bool { return refusals(t, reg, "TIMED_OUT")+refusals(t, reg, "CANCELLED") == 1 }, "the refusal was not counted")
}

func TestMethodThatEndsOfItsOwnDeadline(t *testing.T) {
	grind := grindOf(t, service.Config{Grind: solver{
		solve: func(ctx context.Context, req *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
			ctx, cancel := context.WithTimeout(ctx, time.Millisecond)
			defer cancel()
			return waits(ctx, req)
		},
	}})
	_, err := grind.SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{})
	wantRefusal(t, err, codes.DeadlineExceeded, "TIMED_OUT")
}

func TestNoSuchMethod(t *testing.T) {
	reg := prometheus.NewRegistry()
	_, conn := started(t, service.Config{Registerer: reg, Grind: solver{solve: answers}})
	for _, method := range []string{"/arris.v1.GrindService/SolveEverything", "/arris.v1.Nobody/Nothing", "/x/y"} {
		err := conn.Invoke(t.Context(), method, &emptypb.Empty{}, &emptypb.Empty{})
		wantRefusal(t, err, codes.Unimplemented, "NO_SUCH_METHOD")
		if !strings.Contains(err.Error(), method) {
			t.Errorf("%v does not name %s", err, method)
		}
	}
	text := gathered(t, reg)
	if strings.Contains(text, "Nobody") || strings.Contains(text, "SolveEverything") {
		t.Error("callers can make the metrics grow by inventing methods")
	}
	if got := refusals(t, reg, "NO_SUCH_METHOD"); got != 3 {
		t.Errorf("%v refusals counted, want 3", got)
	}
}

// junk is sent as it is.
type junk []byte

type junkCodec struct{}

func (junkCodec) Marshal(v any) ([]byte, error) { return v.(junk), nil }
func (junkCodec) Unmarshal([]byte, any) error   { return nil }
func (junkCodec) Name() string                  { return "proto" }

func TestRequestsThatCannotBeRead(t *testing.T) {
	const largest = 4096
	var log syncBuffer
	_, conn := started(t, service.Config{
		MaxRequestBytes: largest, Logger: slog.New(slog.NewTextHandler(&log, nil)), Grind: solver{solve: panics},
	})
	field := func(content string) junk {
		return protowire.AppendString(protowire.AppendTag(nil, 1, protowire.BytesType), content)
	}
	for name, c := range map[string]struct {
		body   junk
		code   codes.Code
		reason string
	}{
		"no message":         {junk("\xff\xff\xff"), codes.InvalidArgument, "INVALID_FIELD"},
		"text not UTF-8":     {field("\xc3\x28"), codes.InvalidArgument, "INVALID_FIELD"},
		"over the limit":     {field(strings.Repeat("a", largest)), codes.ResourceExhausted, "BODY_TOO_LARGE"},
		"far over the limit": {field(strings.Repeat("a", 6*largest)), codes.ResourceExhausted, "BODY_TOO_LARGE"},
	} {
		err := conn.Invoke(t.Context(), "/arris.v1.GrindService/SolveSetup", c.body, &emptypb.Empty{}, grpc.ForceCodec(junkCodec{}))
		wantRefusal(t, err, c.code, c.reason)
		if c.code == codes.ResourceExhausted && !strings.Contains(err.Error(), "4096") {
			t.Errorf("%s: %v does not name the limit", name, err)
		}
	}
	if n := strings.Count(log.String(), "msg=call"); n != 4 {
		t.Errorf("%d of 4 refusals are in the log", n)
	}
	// What is larger than the transport reads is refused all the same.
	err := conn.Invoke(t.Context(), "/arris.v1.GrindService/SolveSetup", field(strings.Repeat("a", 20*largest)), &emptypb.Empty{}, grpc.ForceCodec(junkCodec{}))
	if status.Code(err) != codes.ResourceExhausted {
		t.Errorf("enormous: %v", err)
	}
	if _, err := arrisv1.NewGrindServiceClient(conn).SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{Shop: "?"}); reasonOf(err) != "INVALID_FIELD" {
		t.Errorf("the next call: %v", err)
	}
}

func TestRequestIDs(t *testing.T) {
	var log syncBuffer
	_, conn := started(t, service.Config{Logger: slog.New(slog.NewTextHandler(&log, nil)), Grind: solver{solve: answers}})
	grind := arrisv1.NewGrindServiceClient(conn)
	call := func(ids ...string) string {
		ctx := t.Context()
		for _, id := range ids {
			ctx = metadata.AppendToOutgoingContext(ctx, "x-request-id", id)
		}
		var header metadata.MD
		if _, err := grind.SolveSetup(ctx, &arrisv1.SolveSetupRequest{}, grpc.Header(&header)); err != nil {
			t.Fatal(err)
		}
		got := header.Get("x-request-id")
		if len(got) != 1 || got[0] == "" || !strings.Contains(log.String(), "request_id="+got[0]) {
			t.Fatalf("header %v, log:\n%s", got, log.String())
		}
		return got[0]
	}
	if got := call("kiosk-7:42"); got != "kiosk-7:42" {
		t.Errorf("a sane id came back as %q", got)
	}
	for _, bad := range [][]string{{}, {""}, {"has space"}, {strings.Repeat("x", 65)}, {"a\"b"}, {"one", "two"}, {"-leading"}} {
		if got := call(bad...); len(got) < 20 || len(bad) > 0 && got == bad[0] {
			t.Errorf("ids %q became %q", bad, got)
		}
	}
	if first, second := call(), call(); first == second {
		t.Error("two calls have the same id")
	}
}

func TestRefusalsNameTheRequest(t *testing.T) {
	grind := grindOf(t, service.Config{Grind: solver{solve: answers}})
	ctx := metadata.AppendToOutgoingContext(t.Context(), "x-request-id", "r-1")
	_, err := grind.SolveSetup(ctx, &arrisv1.SolveSetupRequest{Shop: "?"})
	for _, d := range status.Convert(err).Details() {
		if info, ok := d.(*errdetails.ErrorInfo); ok && info.GetMetadata()["request_id"] == "r-1" {
			return
		}
	}
	t.Errorf("%v does not carry the id", err)
}

func TestLogSaysNothingOfBodies(t *testing.T) {
	var log syncBuffer
	grind := grindOf(t, service.Config{Logger: slog.New(slog.NewJSONHandler(&log, nil)), Grind: solver{solve: answers}})
	_, _ = grind.SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{Shop: "shops/secret"})
	_, _ = grind.SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{Shop: "SECRET"})
	text := log.String()
	for _, want := range []string{`"method":"/arris.v1.GrindService/SolveSetup"`, `"code":"OK"`, `"reason":"INVALID_FIELD"`, `"took":`} {
		if !strings.Contains(text, want) {
			t.Errorf("the log lacks %s:\n%s", want, text)
		}
	}
	if strings.Contains(strings.ToLower(text), "secret") {
		t.Errorf("the log repeats requests:\n%s", text)
	}
}

func TestMetricsOfMeaning(t *testing.T) {
	reg := prometheus.NewRegistry()
	_, conn := started(t, service.Config{Registerer: reg, Grind: solver{
		solve: func(ctx context.Context, req *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
			if req.GetShop() != "" {
				return panics(ctx, req)
			}
			return answers(ctx, req)
		},
	}})
	grind := arrisv1.NewGrindServiceClient(conn)
	if _, err := arrisv1.NewToolServiceClient(conn).ListTools(t.Context(), &arrisv1.ListToolsRequest{Parent: "shops/none"}); err == nil { // refused, and no calculation
		t.Error("tools of no shop")
	}
	_, _ = grind.SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{})
	_, _ = grind.SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{Shop: "?"})
	_, _ = grind.SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{Shop: "shops/main"})
	err := testutil.GatherAndCompare(reg, strings.NewReader(`
		# HELP arris_refusals_total Calls that were not answered, by the reason the caller was given.
		# TYPE arris_refusals_total counter
		arris_refusals_total{reason="INTERNAL"} 1
		arris_refusals_total{reason="INVALID_FIELD"} 1
		arris_refusals_total{reason="NOT_FOUND"} 1
		# HELP arris_solves_total Calculations, by kind of tool and support and by outcome: answered, refused or failed.
		# TYPE arris_solves_total counter
		arris_solves_total{kind="unknown",outcome="answered"} 1
		arris_solves_total{kind="unknown",outcome="failed"} 1
		arris_solves_total{kind="unknown",outcome="refused"} 1
	`), "arris_refusals_total", "arris_solves_total")
	if err != nil {
		t.Error(err)
	}
	text := gathered(t, reg)
	for _, want := range []string{"grpc_server_handled_total", "arris_call_seconds", "PredictGrind"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s among the metrics", want)
		}
	}
}

func TestTwoServicesCannotShareARegistry(t *testing.T) {
	reg := prometheus.NewRegistry()
	started(t, service.Config{Registerer: reg})
	if _, err := service.New(service.Config{Registerer: reg}); err == nil || !strings.Contains(err.Error(), "metrics") {
		t.Errorf("got %v", err)
	}
}

func TestHealthAndReadiness(t *testing.T) {
	s, conn := started(t, service.Config{Grind: solver{solve: answers}})
	health := healthv1.NewHealthClient(conn)
	check := func(name string) healthv1.HealthCheckResponse_ServingStatus {
		resp, err := health.Check(t.Context(), &healthv1.HealthCheckRequest{Service: name})
		if err != nil {
			t.Fatal(err)
		}
		return resp.GetStatus()
	}
	for _, name := range []string{"", "arris.v1.GrindService"} {
		if got := check(name); got != healthv1.HealthCheckResponse_SERVING {
			t.Errorf("%q is %v", name, got)
		}
	}
	if !s.Ready() {
		t.Error("a new service is not ready")
	}
	s.Drain()
	for _, name := range []string{"", "arris.v1.GrindService"} {
		if got := check(name); got != healthv1.HealthCheckResponse_NOT_SERVING {
			t.Errorf("draining: %q is %v", name, got)
		}
	}
	if s.Ready() {
		t.Error("a draining service is ready")
	}
	if _, err := arrisv1.NewGrindServiceClient(conn).SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{}); err != nil {
		t.Errorf("a draining service still answers, but: %v", err)
	}
	_, err := health.Check(t.Context(), &healthv1.HealthCheckRequest{Service: "nobody"})
	wantRefusal(t, err, codes.NotFound, "NOT_FOUND")
}

func TestReflection(t *testing.T) {
	_, conn := started(t, service.Config{})
	stream, err := reflectionv1.NewServerReflectionClient(conn).ServerReflectionInfo(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	ask := &reflectionv1.ServerReflectionRequest{MessageRequest: &reflectionv1.ServerReflectionRequest_ListServices{}}
	if err := stream.Send(ask); err != nil {
		t.Fatal(err)
	}
	resp, err := stream.Recv()
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, s := range resp.GetListServicesResponse().GetService() {
		names = append(names, s.GetName())
	}
	if !strings.Contains(strings.Join(names, " "), "arris.v1.GrindService") {
		t.Errorf("reflection lists %v", names)
	}
	if err := stream.CloseSend(); err != nil {
		t.Fatal(err)
	}
	for err == nil {
		_, err = stream.Recv()
	}
}

func TestServesOverTCPAndStops(t *testing.T) {
	s, err := service.New(service.Config{Grind: solver{solve: answers}})
	if err != nil {
		t.Fatal(err)
	}
	listener, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	served := make(chan error, 1)
	go func() { served <- s.Serve(listener) }()
	conn, err := grpc.NewClient(listener.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if _, err := arrisv1.NewGrindServiceClient(conn).SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{}); err != nil {
		t.Error(err)
	}
	if err := s.Stop(t.Context()); err != nil {
		t.Error(err)
	}
	if err := <-served; err != nil {
		t.Errorf("Serve returned %v", err)
	}
	if _, err := arrisv1.NewGrindServiceClient(conn).SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{}); status.Code(err) != codes.Unavailable {
		t.Errorf("a stopped service answers %v", err)
	}
}

func TestStopWaitsForCallsAndThenDoesNot(t *testing.T) {
	for name, patient := range map[string]bool{"patient": true, "at once": false} {
		t.Run(name, func(t *testing.T) {
			arrived, release := make(chan struct{}), make(chan struct{})
			s, err := service.New(service.Config{Grind: solver{
				solve: func(ctx context.Context, req *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
					close(arrived)
					select {
					case <-release:
						return answers(ctx, req)
					case <-ctx.Done():
						return nil, ctx.Err()
					}
				},
			}})
			if err != nil {
				t.Fatal(err)
			}
			conn, err := s.Dial()
			if err != nil {
				t.Fatal(err)
			}
			defer conn.Close()
			answered := make(chan error, 1)
			go func() {
				_, err := arrisv1.NewGrindServiceClient(conn).SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{})
				answered <- err
			}()
			<-arrived
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			if patient {
				go func() {
					eventually(t, func() bool { return !s.Ready() }, "stopping did not begin")
					close(release)
				}()
			} else {
				cancel()
			}
			stopped, err := s.Stop(ctx), <-answered
			if patient && (stopped != nil || err != nil) {
				t.Errorf("stopped with %v, the call ended with %v", stopped, err)
			}
			if !patient && (stopped == nil || err == nil) {
				t.Errorf("stopped with %v although a call was under way, which ended with %v", stopped, err)
			}
		})
	}
}

func TestManyCallersAtOnce(t *testing.T) {
	grind := grindOf(t, service.Config{Logger: slog.New(slog.NewTextHandler(&syncBuffer{}, nil)), Grind: solver{
		solve: func(ctx context.Context, req *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
			if req.GetShop() == "shops/broken" {
				return panics(ctx, req)
			}
			return answers(ctx, req)
		},
	}})
	want := map[string]string{"": "", "shops/broken": "INTERNAL", "?": "INVALID_FIELD"}
	var all sync.WaitGroup
	for range 20 {
		for shop, reason := range want {
			all.Go(func() {
				_, err := grind.SolveSetup(t.Context(), &arrisv1.SolveSetupRequest{Shop: shop})
				if got := reasonOf(err); got != reason {
					t.Errorf("shop %q: reason %q, want %q", shop, got, reason)
				}
			})
		}
	}
	all.Wait()
}

// syncBuffer is a log that calls may write at once.
type syncBuffer struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (b *syncBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.Write(p)
}

func (b *syncBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.String()
}

// eventually waits for what happens beside the test.
func eventually(t *testing.T, holds func() bool, complaint string) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); !holds(); time.Sleep(time.Millisecond) {
		if time.Now().After(deadline) {
			t.Error(complaint)
			return
		}
	}
}

func refusals(t *testing.T, reg *prometheus.Registry, reason string) float64 {
	t.Helper()
	families, err := reg.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range families {
		for _, m := range f.GetMetric() {
			if f.GetName() == "arris_refusals_total" && m.GetLabel()[0].GetValue() == reason {
				return m.GetCounter().GetValue()
			}
		}
	}
	return 0
}

func gathered(t *testing.T, reg *prometheus.Registry) string {
	t.Helper()
	families, err := reg.Gather()
	if err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	for _, f := range families {
		all.WriteString(f.String() + "\n")
	}
	return all.String()
}
