package service_test

import (
	"context"
	"net"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

// How fast a solve over gRPC is beside an empty call through the same interceptors. Both are asked in turns over TCP by 32 callers
// on one connection in the same run; `of-empty` is the share of the empty call's rate that the solve reaches.
func BenchmarkSolveSetupOverGRPC(b *testing.B) {
	empty := solver{solve: func(context.Context, *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
		return &arrisv1.SolveSetupResponse{}, nil
	}}
	full, bare := overTCP(b, service.Config{Demo: true}), overTCP(b, service.Config{Grind: empty})
	request := &arrisv1.SolveSetupRequest{
		Shop:        "shops/main",
		GrindSource: &arrisv1.SolveSetupRequest_Recipe{Recipe: "shops/main/recipes/bowl-50"},
		Rig:         &arrisv1.Rig{StationSource: &arrisv1.Rig_Station{Station: "shops/main/stations/north"}},
	}
	const batch = 5000
	var fullTime, bareTime time.Duration
	for b.Loop() {
		fullTime += askAll(b, full, request, batch)
		bareTime += askAll(b, bare, &arrisv1.SolveSetupRequest{}, batch)
	}
	calls := float64(b.N * batch)
	b.ReportMetric(calls/fullTime.Seconds(), "calls/s")
	b.ReportMetric(calls/bareTime.Seconds(), "empty-calls/s")
	b.ReportMetric(bareTime.Seconds()/fullTime.Seconds(), "of-empty")
}

func overTCP(b *testing.B, cfg service.Config) arrisv1.GrindServiceClient {
	s, err := service.New(cfg)
	if err != nil {
		b.Fatal(err)
	}
	listener, err := (&net.ListenConfig{}).Listen(b.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		b.Fatal(err)
	}
	var served sync.WaitGroup
	served.Go(func() {
		if err := s.Serve(listener); err != nil {
			b.Error(err)
		}
	})
	conn, err := grpc.NewClient(listener.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		_ = conn.Close()
		if err := s.Stop(context.Background()); err != nil {
			b.Error(err)
		}
		served.Wait()
	})
	return arrisv1.NewGrindServiceClient(conn)
}

func askAll(b *testing.B, client arrisv1.GrindServiceClient, request *arrisv1.SolveSetupRequest, times int64) time.Duration {
	const callers = 32
	var left atomic.Int64
	left.Store(times)
	var all sync.WaitGroup
	start := time.Now()
	for range callers {
		all.Go(func() {
			for left.Add(-1) >= 0 {
				if _, err := client.SolveSetup(b.Context(), request); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	all.Wait()
	return time.Since(start)
}

// How long a service takes to be made: compiled rules, metrics, engine.
func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		s, err := service.New(service.Config{Demo: true})
		if err != nil {
			b.Fatal(err)
		}
		if err := s.Stop(context.Background()); err != nil {
			b.Fatal(err)
		}
	}
}
