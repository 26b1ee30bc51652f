package service

import (
	"context"
	"sync"
	"time"

	healthv1 "google.golang.org/grpc/health/grpc_health_v1"

	"arris.example/service/internal/demo"
	"arris.example/service/internal/store"
)

// How often a store is asked whether it answers, and how long it may take.
const (
	askEvery   = time.Second
	longestAsk = time.Second
)

// Ready tells whether the service takes calls, and its store answers; the health service says the same to others.
func (s *Service) Ready() bool { return s.ready.Load() && !s.away.Load() }

// watchStore keeps asking whether the store answers, until stop is called. What needs no store is answered meanwhile all the same.
func (s *Service) watchStore() (stop func()) {
	ctx, cancel := context.WithCancel(context.Background())
	var watch sync.WaitGroup
	watch.Go(func() {
		for tick := time.Tick(askEvery); ; {
			select {
			case <-ctx.Done():
				return
			case <-tick:
			}
			if err := s.askStore(ctx); ctx.Err() == nil {
				s.noteStore(err)
			}
		}
	})
	return func() { cancel(); watch.Wait() }
}

// noteStore says so where a store went away or came back.
func (s *Service) noteStore(err error) {
	switch away := err != nil; {
	case s.away.Swap(away) == away:
	case away:
		s.log.Warn("not ready: the store does not answer", "error", err)
		s.health.SetServingStatus("", healthv1.HealthCheckResponse_NOT_SERVING)
	default:
		s.log.Info("ready again: the store answers")
		s.health.SetServingStatus("", healthv1.HealthCheckResponse_SERVING)
	}
}

// askStore reads a record that may be there or not.
func (s *Service) askStore(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, longestAsk)
	defer cancel()
	_, err := s.store.Get(ctx, demo.Name, time.Time{})
	if store.Is(err, store.NotFound) {
		return nil
	}
	return err
}
