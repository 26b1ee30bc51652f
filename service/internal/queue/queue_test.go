package queue

import (
	"context"
	"errors"
	"log/slog"
	"sync/atomic"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/goleak"

	"arris.example/service/internal/store"
	"arris.example/service/internal/store/sqlite"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// hurried is a store whose clock goes on by a hold each time somebody looks what there is to do, so that nobody waits for what is held.
type hurried struct {
	store.Operations
	ahead atomic.Int64
}

func (h *hurried) clock() time.Time { return time.Now().Add(time.Duration(h.ahead.Load())) }

func (h *hurried) NextOperation(ctx context.Context) (time.Time, error) {
	h.ahead.Add(int64(2 * store.HoldTime))
	next, err := h.Operations.NextOperation(ctx)
	if h.clock().After(next) {
		next = time.Time{}.Add(time.Nanosecond)
	}
	return next, err
}

func begun(t *testing.T) (*hurried, string) {
	t.Helper()
	h := &hurried{}
	kept, err := sqlite.Memory(t.Context(), h.clock)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = kept.Close() })
	h.Operations = kept
	o, err := kept.StartOperation(t.Context(), store.Operation{Name: "shops/main/operations/o", Items: 3}, []byte("ask"))
	if err != nil {
		t.Fatal(err)
	}
	return h, o.Name
}

// ended lets a queue work until an operation has ended.
func ended(t *testing.T, h *hurried, name string, step Step) store.Operation {
	t.Helper()
	q, err := New(Config{
		Kept: h, Step: step, Keep: 1000 * time.Hour, Logger: slog.New(slog.DiscardHandler), Registerer: prometheus.NewRegistry(),
		Broken: func(name string, err error) []byte { return []byte(name + ": " + err.Error()) },
	})
	if err != nil {
		t.Fatal(err)
	}
	defer q.Stop()
	for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(time.Millisecond) {
		q.Kick()
		o, err := h.Operation(t.Context(), name)
		if err != nil {
			t.Fatal(err)
		}
		if o.State.Ended() {
			return o
		}
		if time.Now().After(deadline) {
			t.Fatalf("it does not end: %+v", o)
		}
	}
}

// A step that fails is tried again, from where the last volume was kept; a final error ends at once.
func TestStepsAreTriedAgain(t *testing.T) {
	h, name := begun(t)
	calls := 0
	o := ended(t, h, name, func(_ context.Context, o store.Operation, tell func(int)) (store.Made, error) {
		calls++
		tell(1)
		switch {
		case o.Done == o.Items:
			return store.Made{}, nil
		case calls%3 != 0:
			return store.Made{}, errors.New("not now")
		}
		return store.Made{Items: 1, Printed: 1, Pieces: [][]byte{{byte(o.Done)}}}, nil
	})
	if o.State != store.Succeeded || o.Done != 3 || len(o.Volumes) != 3 || calls != 10 {
		t.Errorf("%d calls: %+v", calls, o)
	}
	h, name = begun(t)
	calls = 0
	o = ended(t, h, name, func(context.Context, store.Operation, func(int)) (store.Made, error) {
		calls++
		return store.Made{}, NewFinal(errors.New("never"), []byte("because"))
	})
	if o.State != store.Failed || string(o.Failure) != "because" || calls != 1 {
		t.Errorf("%d calls: %+v", calls, o)
	}
}

// What fails again and again, or kills whoever works on it, ends.
func TestNothingIsTriedForEver(t *testing.T) {
	h, name := begun(t)
	calls := 0
	o := ended(t, h, name, func(context.Context, store.Operation, func(int)) (store.Made, error) {
		calls++
		return store.Made{}, errors.New("broken")
	})
	if o.State != store.Failed || string(o.Failure) != name+": broken" || calls != mostTries {
		t.Errorf("%d calls: %+v, %s", calls, o, o.Failure)
	}
	h, name = begun(t)
	for range mostTries {
		if _, err := h.TakeOperation(t.Context(), "killed"); err != nil {
			t.Fatal(err)
		}
		h.ahead.Add(int64(2 * store.HoldTime))
	}
	o = ended(t, h, name, func(context.Context, store.Operation, func(int)) (store.Made, error) {
		t.Error("it kills again")
		return store.Made{}, nil
	})
	if o.State != store.Failed || string(o.Failure) != name+": it was begun 10 times and never done" {
		t.Errorf("%+v, %s", o, o.Failure)
	}
}

// A step ends when its operation is cancelled, and nothing of it is kept.
func TestStepsEndWhenTheyAreCancelled(t *testing.T) {
	h, name := begun(t)
	stopped := make(chan struct{})
	o := ended(t, h, name, func(ctx context.Context, _ store.Operation, _ func(int)) (store.Made, error) {
		if _, err := h.CancelOperation(ctx, name, time.Hour*1000); err != nil {
			t.Error(err)
		}
		go func() { <-ctx.Done(); close(stopped) }()
		select {
		case <-ctx.Done():
			return store.Made{}, ctx.Err()
		case <-time.After(10 * time.Second):
			t.Error("it goes on")
			return store.Made{Items: 3}, nil
		}
	})
	select {
	case <-stopped:
	case <-time.After(10 * time.Second):
		t.Error("it was not stopped")
	}
	if o.State != store.Cancelled || o.Done != 0 {
		t.Errorf("%+v", o)
	}
}

// What is stopped lets go of its operation: others take it at once. The store's clock stands still, so that no hold ends by itself.
func TestWhatIsStoppedLetsGo(t *testing.T) {
	now := time.Now()
	kept, err := sqlite.Memory(t.Context(), func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = kept.Close() })
	o, err := kept.StartOperation(t.Context(), store.Operation{Name: "shops/main/operations/o", Items: 3}, []byte("ask"))
	if err != nil {
		t.Fatal(err)
	}
	begun := make(chan struct{})
	q, err := New(Config{
		Kept: kept, Keep: time.Hour, Logger: slog.New(slog.DiscardHandler), Registerer: prometheus.NewRegistry(),
		Step: func(ctx context.Context, _ store.Operation, _ func(int)) (store.Made, error) {
			close(begun)
			<-ctx.Done()
			return store.Made{}, ctx.Err()
		},
		Broken: func(string, error) []byte { return nil },
	})
	if err != nil {
		t.Fatal(err)
	}
	<-begun
	_, err = kept.TakeOperation(t.Context(), "other")
	if !store.Is(err, store.NotFound) {
		t.Errorf("while it is worked on: %v", err)
	}
	q.Stop()
	taken, err := kept.TakeOperation(t.Context(), "other")
	if err != nil || taken.Name != o.Name || taken.Tries != 1 { // being stopped does not count as a try
		t.Errorf("after it was stopped: %+v, %v", taken, err)
	}
}
