package storetest

import (
	"bytes"
	"fmt"
	"time"

	"arris.example/service/internal/store"
)

// operations are the bench's store's.
func (b *bench) operations() store.Operations {
	b.Helper()
	kept, ok := store.OperationsIn(b.Store)
	if !ok {
		b.Fatal("it keeps no operations")
	}
	return kept
}

// later lets time pass.
func (b *bench) later(d time.Duration) {
	b.ticks.Lock()
	defer b.ticks.Unlock()
	b.now = b.now.Add(d)
}

func (b *bench) begun(kept store.Operations, id string, items int) store.Operation {
	b.Helper()
	o, err := kept.StartOperation(ctx, store.Operation{Name: main + "/operations/" + id, Items: items}, []byte("ask "+id))
	b.ok(err)
	return o
}

func (b *bench) taken(kept store.Operations, holder, id string) store.Operation {
	b.Helper()
	o, err := kept.TakeOperation(ctx, holder)
	b.ok(err)
	if o.Name != main+"/operations/"+id || o.Holder != holder || o.State != store.Running {
		b.Fatalf("%s took %+v, want %s", holder, o, id)
	}
	return o
}

// operationsKept: what an operation makes is there whole, is listed, is found after the store was closed, and goes when the operation does.
func operationsKept(b *bench) {
	kept := b.operations()
	first, err := kept.StartOperation(ctx, store.Operation{Name: main + "/operations/a", Person: "p-1", RequestID: "r", Hash: "h", Items: 3}, []byte("ask a"))
	b.ok(err)
	again, err := kept.StartOperation(ctx, store.Operation{Name: main + "/operations/other", RequestID: "r", Hash: "h"}, nil)
	b.ok(err)
	if again.Name != first.Name || first.State != store.Waiting || first.AsOf.IsZero() || first.Created.IsZero() || !first.Started.IsZero() {
		b.Errorf("%+v and %+v", first, again)
	}
	_, err = kept.StartOperation(ctx, store.Operation{Name: main + "/operations/other", RequestID: "r", Hash: "another"}, nil)
	b.refused(err, store.RequestReused)

	o := b.taken(kept, "me", "a")
	ask, err := kept.OperationRequest(ctx, o.Name)
	b.ok(err)
	if string(ask) != "ask a" {
		b.Errorf("asked %q", ask)
	}
	b.ok(kept.RewriteRequest(ctx, o, []byte{0, 255, 1}))
	b.ok(kept.KeepVolume(ctx, o, store.Made{Items: 2, Printed: 1, Pieces: [][]byte{{0, 1}, {2}}, Refused: [][]byte{{0}}}, time.Minute))
	b.refused(kept.KeepVolume(ctx, o, store.Made{Items: 2, Printed: 1, Pieces: [][]byte{{9}}}, 0), store.Lost)
	o = b.taken(kept, "me", "a")
	b.ok(kept.KeepVolume(ctx, o, store.Made{Items: 1, Refused: [][]byte{{1}}}, 2*time.Minute))
	o = b.taken(kept, "me", "a")
	b.ok(kept.EndOperation(ctx, o, store.Succeeded, nil, time.Hour))
	b.ok(b.Close())
	b.Store, err = b.opener.Open(b.clock)
	b.ok(err)
	kept = b.operations()
	o, err = kept.Operation(ctx, o.Name)
	b.ok(err)
	if o.State != store.Succeeded || o.Person != "p-1" || o.Done != 3 || o.Refused != 2 || o.Worked != 2*time.Minute || o.Expires.Sub(o.Ended) != time.Hour ||
		len(o.Volumes) != 1 || o.Volumes[0] != (store.Volume{Number: 1, Items: 1, Bytes: 3}) {
		b.Errorf("%+v", o)
	}
	for i, want := range [][]byte{{0, 1}, {2}} {
		if piece, err := kept.Piece(ctx, o.Name, 1, i); err != nil || !bytes.Equal(piece, want) {
			b.Errorf("piece %d: %v, %v", i, piece, err)
		}
	}
	_, err = kept.Piece(ctx, o.Name, 1, 2)
	b.refused(err, store.NotFound)
	_, err = kept.Volume(ctx, o.Name, 2)
	b.refused(err, store.NotFound)
	if why, err := kept.Refused(ctx, o.Name, 1, 10); err != nil || len(why) != 1 || !bytes.Equal(why[0], []byte{1}) {
		b.Errorf("refused: %v, %v", why, err)
	}

	var all []string
	for i := range 5 {
		all = append(all, b.begun(kept, fmt.Sprint("n", i), 1).Name)
	}
	var listed []string
	for token, more := "", true; more; more = token != "" {
		var page []store.Operation
		page, token, err = kept.OperationsOf(ctx, main, 2, token)
		b.ok(err)
		for _, o := range page {
			listed = append([]string{o.Name}, listed...)
		}
	}
	if fmt.Sprint(listed) != fmt.Sprint(append([]string{o.Name}, all...)) {
		b.Errorf("listed, from the end: %v", listed)
	}
	_, _, err = kept.OperationsOf(ctx, "shops/other", 2, "nonsense")
	b.refused(err, store.BadQuery)

	b.later(2 * time.Hour)
	b.ok(kept.ExpireOperations(ctx))
	_, err = kept.Operation(ctx, o.Name)
	b.refused(err, store.NotFound)
	_, err = kept.Piece(ctx, o.Name, 1, 0)
	b.refused(err, store.NotFound)
	b.ok(kept.DeleteOperation(ctx, all[0]))
	b.refused(kept.DeleteOperation(ctx, all[0]), store.NotFound)
	for i := range store.MostUnfinished - 4 {
		b.begun(kept, fmt.Sprint("m", i), 1)
	}
	_, err = kept.StartOperation(ctx, store.Operation{Name: main + "/operations/more", Items: 1}, nil)
	b.refused(err, store.Crowded)
}

// operationsStarted: what a request id began is found by it, in its shop alone, for the same request alone.
func operationsStarted(b *bench) {
	kept := b.operations()
	_, there, err := kept.StartedOperation(ctx, main, "r", "h")
	b.ok(err)
	if there {
		b.Error("nothing was begun, and it is found")
	}
	first, err := kept.StartOperation(ctx, store.Operation{Name: main + "/operations/a", RequestID: "r", Hash: "h", Items: 3}, []byte("ask a"))
	b.ok(err)
	b.begun(kept, "b", 1) // without a request id
	found, there, err := kept.StartedOperation(ctx, main, "r", "h")
	b.ok(err)
	if !there || found.Name != first.Name || found.Items != 3 {
		b.Errorf("%v, %+v, want %+v", there, found, first)
	}
	_, _, err = kept.StartedOperation(ctx, main, "r", "another")
	b.refused(err, store.RequestReused)
	for _, other := range []struct{ shop, id string }{{main, "another"}, {"shops/other", "r"}} {
		if o, there, err := kept.StartedOperation(ctx, other.shop, other.id, "h"); err != nil || there {
			b.Errorf("%v: %v, %+v, %v", other, there, o, err)
		}
	}
}

// operationsHeld: one process at a time works on an operation; who does not say so in time, was cancelled or slept, has it no more.
func operationsHeld(b *bench) {
	kept := b.operations()
	if next, err := kept.NextOperation(ctx); err != nil || !next.IsZero() {
		b.Errorf("there is nothing, and next is %v, %v", next, err)
	}
	_, err := kept.TakeOperation(ctx, "me")
	b.refused(err, store.NotFound)
	b.begun(kept, "a", 3)
	b.begun(kept, "b", 3)
	if next, err := kept.NextOperation(ctx); err != nil || next.IsZero() || next.After(b.now) {
		b.Errorf("there is something now, and next is %v, %v", next, err)
	}
	mine := b.taken(kept, "me", "a")
	_ = b.taken(kept, "you", "b")
	_, err = kept.TakeOperation(ctx, "they")
	b.refused(err, store.NotFound)
	if next, err := kept.NextOperation(ctx); err != nil || !next.After(b.now) {
		b.Errorf("both are held, and next is %v, %v", next, err)
	}
	b.later(store.HoldTime * 2 / 3)
	b.ok(kept.HoldOperation(ctx, mine, store.Progress{Ahead: 2, Worked: time.Second}))
	if o, err := kept.Operation(ctx, mine.Name); err != nil || o.Ahead != 2 || o.Worked != time.Second {
		b.Errorf("%+v, %v", o, err)
	}
	b.later(store.HoldTime / 2)
	_ = b.taken(kept, "they", "b") // you did not say that you go on
	_, err = kept.TakeOperation(ctx, "they")
	b.refused(err, store.NotFound)
	b.later(store.HoldTime * 2)
	b.ok(kept.HoldOperation(ctx, mine, store.Progress{})) // late, and nobody else has it
	b.ok(kept.ReleaseOperation(ctx, mine))
	b.refused(kept.HoldOperation(ctx, mine, store.Progress{}), store.Lost)
	mine = b.taken(kept, "you", "a")
	if mine.Tries != 1 { // being let go does not count
		b.Errorf("%d tries", mine.Tries)
	}
	b.ok(kept.KeepVolume(ctx, mine, store.Made{Items: 1, Printed: 1, Pieces: [][]byte{{1}}}, 0))
	theirs := b.taken(kept, "they", "b") // the one that is less far comes first
	if theirs.Tries != 3 {
		b.Errorf("%d tries", theirs.Tries)
	}
	cancelled, err := kept.CancelOperation(ctx, mine.Name, time.Hour)
	b.ok(err)
	if cancelled.State != store.Cancelled || len(cancelled.Volumes) != 0 || cancelled.Expires.IsZero() {
		b.Errorf("%+v", cancelled)
	}
	_, err = kept.Piece(ctx, mine.Name, 1, 0)
	b.refused(err, store.NotFound)
	_, err = kept.CancelOperation(ctx, theirs.Name, time.Hour)
	b.ok(err)
	for what, err := range map[string]error{
		"hold": kept.HoldOperation(ctx, theirs, store.Progress{}), "keep": kept.KeepVolume(ctx, theirs, store.Made{Items: 1}, 0), "release": kept.ReleaseOperation(ctx, theirs),
		"end": kept.EndOperation(ctx, theirs, store.Succeeded, nil, time.Hour), "rewrite": kept.RewriteRequest(ctx, theirs, nil),
	} {
		if !store.Is(err, store.Lost) {
			b.Errorf("%s what was cancelled: %v", what, err)
		}
	}
	if next, err := kept.NextOperation(ctx); err != nil || next.Sub(b.now) < 30*time.Minute {
		b.Errorf("all have ended, and next is %v, %v", next, err)
	}
}
