package store

import (
	"context"
	"sync"
	"sync/atomic"
	"time"
)

// Remembering is a store that nobody else writes to, so that plain records read by name are remembered until something changes. It has to
// be the only way in which the store is changed.
type Remembering struct {
	Store
	known atomic.Pointer[memory]
}

// memory is what was read since the last change.
type memory struct {
	sync.Map
	size atomic.Int64
}

// mostRemembered bounds what is remembered, about a kilobyte each.
const mostRemembered = 20_000

// Remember makes a store remember.
func Remember(s Store) *Remembering {
	r := &Remembering{Store: s}
	r.forget()
	return r
}

func (r *Remembering) forget() { r.known.Store(new(memory)) }

// Change changes records and forgets. A reader that is under way puts what it reads, old or new, where nobody looks any more.
func (r *Remembering) Change(ctx context.Context, shop string, caller Caller, do func(Tx) error) (Done, error) {
	defer r.forget()
	return r.Store.Change(ctx, shop, caller, do)
}

// recalled reads through a memory where the store has one and the question is about now. Refusals are not remembered.
func recalled[T any](s Store, what, name string, asOf time.Time, read func() (T, error)) (T, error) {
	r, ok := s.(*Remembering)
	if !ok || !asOf.IsZero() {
		return read()
	}
	known := r.known.Load()
	key := what + " " + name
	if v, ok := known.Load(key); ok {
		return v.(T), nil //nolint:errcheck,forcetypeassert // a key has the values of one type
	}
	v, err := read()
	if err == nil && known.size.Add(1) <= mostRemembered {
		known.Store(key, v)
	}
	return v, err
}
