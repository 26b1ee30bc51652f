// Package queue does what goes on after its call: it takes operations from a store, has one step after the other of them done, and says
// meanwhile that it still works. What it does not finish, because it was stopped or killed, is taken up again from the last step kept.
package queue

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"arris.example/service/internal/store"
)

const (
	// tellEvery is how often a step says that it goes on and how far it is; so soon it also finds out that it was cancelled.
	tellEvery = time.Second
	// lookEvery is how long at most until the store is asked what there is to do, which another process may have begun.
	lookEvery = 30 * time.Second
	// restTime is how long is waited after something went wrong.
	restTime = 5 * time.Second
	// mostTries is how often a step is begun anew, also by processes that were killed over it.
	mostTries = 10
	// lastWords is how long letting go may take when the process ends.
	lastWords = 2 * time.Second
)

// Step does the next of an operation's items, tells how many of them it has looked at, and gives what it made; after the last item nothing,
// which ends the operation well. An error that is [Final] ends it too; after another it is tried again.
type Step func(ctx context.Context, o store.Operation, tell func(items int)) (store.Made, error)

// Final is an error that trying again does not mend, as it is told to those who ask.
type Final struct {
	Status []byte
	error
}

// NewFinal makes an error final.
func NewFinal(err error, status []byte) Final { return Final{status, err} }

// Config is what a queue works with.
type Config struct {
	Kept store.Operations
	Step Step
	// Broken is what is told of an operation whose steps fail again and again.
	Broken func(name string, err error) []byte
	// Keep is for how long it is kept what an operation made.
	Keep       time.Duration
	Logger     *slog.Logger
	Registerer prometheus.Registerer
}

// Queue does operations, one step at a time. Make one with New, end it with Stop.
type Queue struct {
	Config
	me      string
	kick    chan struct{}
	stop    context.CancelFunc
	working sync.WaitGroup
	ended   *prometheus.CounterVec
	running prometheus.Gauge
}

// New makes a queue and lets it work. What cannot be done now is done later, so that it never fails but for its metrics.
func New(cfg Config) (*Queue, error) {
	q := &Queue{
		Config: cfg, me: rand.Text(), kick: make(chan struct{}, 1),
		ended: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "arris_operations_ended_total", Help: "Operations that ended in this process, by how: succeeded or failed.",
		}, []string{"state"}),
		running: prometheus.NewGauge(prometheus.GaugeOpts{Name: "arris_operations_running", Help: "Operations that this process works on: 0 or 1."}),
	}
	for _, state := range []store.OperationState{store.Succeeded, store.Failed} {
		q.ended.WithLabelValues(string(state))
	}
	if err := errors.Join(cfg.Registerer.Register(q.ended), cfg.Registerer.Register(q.running)); err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(context.Background())
	q.stop = stop
	q.working.Go(func() { q.work(ctx) })
	return q, nil
}

// Kick says that there is something to do.
func (q *Queue) Kick() {
	select {
	case q.kick <- struct{}{}:
	default:
	}
}

// Stop ends the step under way, lets go of its operation, and returns when that is done.
func (q *Queue) Stop() {
	q.stop()
	q.working.Wait()
}

// work does what there is to do until ctx ends.
func (q *Queue) work(ctx context.Context) {
	for {
		pause, err := q.next(ctx)
		if ctx.Err() != nil {
			return
		}
		if err != nil {
			level := slog.LevelWarn
			if store.Is(err, store.Unavailable) { // whoever watches the store says so
				level = slog.LevelDebug
			}
			q.Logger.Log(ctx, level, "operations do not go on", "error", err, "again in", restTime)
			pause = restTime
		}
		select {
		case <-ctx.Done():
			return
		case <-q.kick:
		case <-time.After(pause):
		}
	}
}

// next does all there is to do, and says for how long there is nothing.
func (q *Queue) next(ctx context.Context) (pause time.Duration, err error) {
	for {
		due, err := q.Kept.NextOperation(ctx)
		if err != nil || due.IsZero() || time.Until(due) > 0 {
			return min(lookEvery, max(0, untilOr(due, lookEvery))), err
		}
		if err := q.Kept.ExpireOperations(ctx); err != nil {
			return 0, err
		}
		o, err := q.Kept.TakeOperation(ctx, q.me)
		if store.Is(err, store.NotFound) { // somebody else was faster, or it was one that expired
			continue
		}
		if err != nil {
			return 0, err
		}
		if err := q.do(ctx, o); err != nil {
			return 0, err
		}
	}
}

func untilOr(t time.Time, otherwise time.Duration) time.Duration {
	if t.IsZero() {
		return otherwise
	}
	return time.Until(t)
}

// do does a step of an operation, or ends it. That it is not ours any more is no error.
func (q *Queue) do(ctx context.Context, o store.Operation) error {
	q.running.Set(1)
	defer q.running.Set(0)
	err := q.step(ctx, o)
	var final Final
	switch {
	case ctx.Err() != nil:
		release, end := context.WithTimeout(context.WithoutCancel(ctx), lastWords)
		defer end()
		return q.Kept.ReleaseOperation(release, o)
	case errors.As(err, &final):
		err = q.end(ctx, o, store.Failed, final.Status)
	case err != nil && !store.Is(err, store.Lost) && (store.Is(err, store.Full) || o.Tries >= mostTries):
		err = errors.Join(err, q.end(ctx, o, store.Failed, q.Broken(o.Name, err)))
	}
	if err == nil || store.Is(err, store.Lost) {
		return nil
	}
	return fmt.Errorf("%s: %w", o.Name, err)
}

// step does a step and keeps what it made.
func (q *Queue) step(ctx context.Context, o store.Operation) error {
	if o.Tries > mostTries { // whoever began it was killed over it
		return fmt.Errorf("it was begun %d times and never done", o.Tries-1)
	}
	began := time.Now()
	var ahead atomic.Int64
	worked := func() time.Duration { return o.Worked + time.Since(began) }
	within, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	telling := sync.WaitGroup{}
	telling.Go(func() {
		for tick := time.Tick(tellEvery); ; {
			select {
			case <-within.Done():
				return
			case <-tick:
			}
			if err := q.Kept.HoldOperation(within, o, store.Progress{Ahead: int(ahead.Load()), Worked: worked()}); store.Is(err, store.Lost) {
				cancel(err)
			}
		}
	})
	made, err := q.Step(within, o, func(items int) { ahead.Store(int64(items)) })
	lost := context.Cause(within)
	cancel(nil)
	telling.Wait()
	switch {
	case store.Is(lost, store.Lost):
		return lost
	case err != nil:
		return err
	case made.Items == 0:
		return q.end(ctx, o, store.Succeeded, nil)
	}
	return q.Kept.KeepVolume(ctx, o, made, worked())
}

// end ends an operation.
func (q *Queue) end(ctx context.Context, o store.Operation, state store.OperationState, failure []byte) error {
	err := q.Kept.EndOperation(ctx, o, state, failure, q.Keep)
	if err == nil {
		q.ended.WithLabelValues(string(state)).Inc()
	}
	return err
}
