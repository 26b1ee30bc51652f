// Package records is how a shop's records are kept: new ones, changes, deletions, and what must be true of them. It knows every kind by a
// Kind and speaks neither the schema nor SQL.
package records

import (
	"context"
	"crypto/rand"
	"errors"
	"slices"
	"strings"
	"time"

	"arris.example/service/internal/fault"
	"arris.example/service/internal/store"
)

// Kind is a kind of record and what must be true of one.
type Kind[T any] struct {
	Noun       string // in words: "wheel"
	Collection string // in names: "wheels"
	// Name is where the plain record has its name.
	Name func(*T) *string
	// Refers are the full names of what it refers to; empty ones do not count.
	Refers func(T) []string
	// UsedBy are the collections that refer to this kind, by column: while one does, it is not deleted.
	UsedBy map[string]store.Column
	// UsedAt is where it is in use by itself, so that it is not deleted either; empty: nowhere.
	UsedAt func(T) string
	// Own takes over from the record as it was what only rules change, not whoever edits it. Of a new record it was nothing.
	Own func(now *T, was T)
	// Before completes a record before it is written, and may write others beside it; was is nil for a new one.
	Before func(tx store.Tx, now *T, was *T) error
}

// Item is a record with what the store knows of it.
type Item[T any] struct {
	store.Record
	Value T
}

// Write is who writes, and whether in earnest: a dry run checks and answers all, and keeps nothing.
type Write struct {
	store.Caller
	DryRun bool
}

// Draft is a new record below a parent. Without an id it gets one.
type Draft[T any] struct {
	Parent, ID  string
	Value       T
	ExternalIDs []store.ExternalID
}

var errDryRun = errors.New("a dry run")

// Keeper keeps records in a store.
type Keeper struct{ Store store.Store }

// Create keeps new records, all or none, and gives them in the order they came.
func Create[T any](ctx context.Context, k Keeper, kind *Kind[T], w Write, drafts ...Draft[T]) ([]Item[T], error) {
	for i := range drafts {
		if drafts[i].ID == "" {
			drafts[i].ID = NewID(kind.Noun)
		}
	}
	list, err := change(ctx, k, kind, kind.named(drafts[0]), w, func(tx store.Tx) ([]store.Record, error) {
		var wrote []store.Record
		for _, d := range drafts {
			r, err := create(tx, kind, d)
			if err != nil {
				return nil, err
			}
			wrote = append(wrote, r)
		}
		return wrote, nil
	})
	// A request that came before may have changed others of the kind as well.
	return slices.DeleteFunc(list, func(i Item[T]) bool { return i.Version != 1 }), err
}

// named is the full name that a draft gets.
func (k *Kind[T]) named(d Draft[T]) string {
	return strings.TrimPrefix(d.Parent+"/"+k.Collection+"/"+d.ID, "/")
}

func create[T any](tx store.Tx, kind *Kind[T], d Draft[T]) (store.Record, error) {
	if d.Parent != "" {
		if err := there(tx, d.Parent); err != nil {
			return store.Record{}, err
		}
	}
	name := kind.named(d)
	if _, err := tx.Get(name); err == nil { // said of itself, before anything is written beside it
		return tx.Create(store.Draft{Name: name})
	}
	*kind.Name(&d.Value) = name
	if kind.Own != nil {
		var nothing T
		kind.Own(&d.Value, nothing)
	}
	draft, err := kind.draft(tx, &d.Value, nil, d.ExternalIDs)
	if err != nil {
		return store.Record{}, err
	}
	return tx.Create(draft)
}

// draft is a record ready to be written: all it refers to is there, and it is complete.
func (k *Kind[T]) draft(tx store.Tx, now, was *T, ids []store.ExternalID) (store.Draft, error) {
	if err := k.refersWell(tx, *now); err != nil {
		return store.Draft{}, err
	}
	if k.Before != nil {
		if err := k.Before(tx, now, was); err != nil {
			return store.Draft{}, err
		}
	}
	d, err := store.Pack(*now)
	d.ExternalIDs = ids
	return d, err
}

// Get reads a record, also a deleted one, as it is or as it was.
func Get[T any](ctx context.Context, k Keeper, kind *Kind[T], name string, asOf time.Time) (Item[T], error) {
	r, err := k.Store.Get(ctx, name, asOf)
	if err != nil {
		return Item[T]{}, k.faultOf(ctx, err, kind.Noun, name, asOf)
	}
	return item[T](r)
}

// List reads a page of records and the next page's token. Of a parent that never was there is none.
func List[T any](ctx context.Context, k Keeper, kind *Kind[T], q store.Query) (page []Item[T], next string, err error) {
	q.Kind = kind.Collection
	if err := ofThis(q); err != nil {
		return nil, "", err
	}
	found, next, err := k.Store.Find(ctx, q)
	if err == nil && len(found) == 0 && q.Parent != "" {
		_, err = k.Store.Get(ctx, q.Parent, time.Time{})
	}
	if err != nil {
		return nil, "", k.faultOf(ctx, err, strings.TrimSuffix(store.KindOf(q.Parent), "s"), q.Parent, time.Time{})
	}
	page, err = items[T](found)
	return page, next, err
}

// ofThis tells that a page's token, where there is one, is of the same query.
func ofThis(q store.Query) error {
	if q.Token == "" {
		return nil
	}
	_, _, err := q.From()
	if refused, ok := store.As(err); ok {
		return fault.Field("page_token", fault.BadForm, "%s", refused.Message)
	}
	return err
}

// Edit is a change of one record.
type Edit[T any] struct {
	Name    string
	Version int64 // that the caller has seen; 0: whichever it is
	// Change makes the wanted record of the present one.
	Change func(store.Tx, Item[T]) (T, []store.ExternalID, error)
	Ours   bool // it is a rule's change, which may change what Own protects
	// Missing makes what to keep where there is none; nil: that is refused.
	Missing func() (Draft[T], error)
}

// Update changes a record. A change that changes nothing writes nothing.
func Update[T any](ctx context.Context, k Keeper, kind *Kind[T], w Write, e Edit[T]) (Item[T], error) {
	list, err := change(ctx, k, kind, e.Name, w, func(tx store.Tx) ([]store.Record, error) {
		r, err := update(tx, kind, e)
		return []store.Record{r}, err
	})
	if err == nil && len(list) == 0 { // asked before, and there was nothing to change
		return Get(ctx, k, kind, e.Name, time.Time{})
	}
	return one(list, err)
}

func update[T any](tx store.Tx, kind *Kind[T], e Edit[T]) (store.Record, error) {
	was, err := tx.Get(e.Name)
	if store.Is(err, store.NotFound) && e.Missing != nil {
		draft, err := e.Missing()
		if err != nil {
			return was, err
		}
		return create(tx, kind, draft)
	}
	if err != nil {
		return was, err
	}
	if !was.Deleted.IsZero() {
		return was, store.Errorf(store.Gone, "%s is deleted", e.Name)
	}
	present, err := item[T](was)
	if err != nil {
		return was, err
	}
	wanted, ids, err := e.Change(tx, present)
	if err != nil {
		return was, err
	}
	if kind.Own != nil && !e.Ours {
		kind.Own(&wanted, present.Value)
	}
	if e.Version != 0 && e.Version != was.Version {
		return was, &Conflict[T]{Now: present, Wanted: Item[T]{Value: wanted, Record: store.Record{Draft: store.Draft{ExternalIDs: ids}}}}
	}
	*kind.Name(&wanted) = *kind.Name(&present.Value)
	if same, err := unchanged(was, wanted, ids); same || err != nil {
		return was, err
	}
	d, err := kind.draft(tx, &wanted, &present.Value, ids)
	if err != nil {
		return was, err
	}
	return tx.Update(d, was.Version)
}

// unchanged tells whether a record would be written as it is.
func unchanged(was store.Record, wanted any, ids []store.ExternalID) (bool, error) {
	d, err := store.Pack(wanted)
	return d.Body == was.Body && slices.Equal(ids, was.ExternalIDs), err
}

// Delete deletes a record that nothing refers to. It stays readable and can come back.
func Delete[T any](ctx context.Context, k Keeper, kind *Kind[T], w Write, name string, version int64) (Item[T], error) {
	return one(change(ctx, k, kind, name, w, func(tx store.Tx) ([]store.Record, error) {
		if err := kind.unused(tx, name); err != nil {
			return nil, err
		}
		r, err := tx.Delete(name, version)
		return []store.Record{r}, err
	}))
}

// Undelete brings a record back, where all it refers to is there.
func Undelete[T any](ctx context.Context, k Keeper, kind *Kind[T], w Write, name string, version int64) (Item[T], error) {
	return one(change(ctx, k, kind, name, w, func(tx store.Tx) ([]store.Record, error) {
		switch was, err := tx.Get(name); {
		case err != nil:
			return nil, err
		case was.Deleted.IsZero():
			return nil, &fault.Fault{Kind: fault.Impossible, Reason: NotDeleted, Message: name + " is not deleted"}
		}
		r, err := tx.Undelete(name, version)
		if err != nil {
			return nil, err
		}
		back, err := item[T](r)
		if err != nil {
			return nil, err
		}
		return []store.Record{r}, kind.refersWell(tx, back.Value)
	}))
}

// change runs a change of the record named in one transaction and gives the records of its kind that it wrote. A request that was answered
// before is answered from what it wrote then.
func change[T any](ctx context.Context, k Keeper, kind *Kind[T], name string, w Write, do func(store.Tx) ([]store.Record, error)) ([]Item[T], error) {
	var wrote []store.Record
	done, err := k.Store.Change(ctx, store.ShopOf(name), w.Caller, func(tx store.Tx) error {
		var err error
		if wrote, err = do(tx); err == nil && w.DryRun {
			err = errDryRun
		}
		return err
	})
	switch {
	case errors.Is(err, errDryRun):
	case err != nil:
		return nil, k.faultOf(ctx, err, kind.Noun, name, time.Time{})
	case done.Replayed:
		if wrote, err = again(ctx, k, kind, done.Wrote); err != nil {
			return nil, err
		}
	}
	return items[T](wrote)
}

// again reads the records of a kind that a change wrote.
func again[T any](ctx context.Context, k Keeper, kind *Kind[T], wrote []store.Version) (list []store.Record, err error) {
	for _, v := range wrote {
		if store.KindOf(v.Name) != kind.Collection {
			continue
		}
		r, err := k.Store.At(ctx, v)
		if err != nil {
			return nil, k.faultOf(ctx, err, kind.Noun, v.Name, time.Time{})
		}
		list = append(list, r)
	}
	return list, nil
}

func item[T any](r store.Record) (Item[T], error) {
	v, err := store.Unpack[T](r)
	return Item[T]{Record: r, Value: v}, err
}

func items[T any](records []store.Record) ([]Item[T], error) {
	list := make([]Item[T], len(records))
	for i, r := range records {
		var err error
		if list[i], err = item[T](r); err != nil {
			return nil, FaultOfStore(err)
		}
	}
	return list, nil
}

// one of a change that writes one record.
func one[T any](list []T, err error) (none T, _ error) {
	if err != nil {
		return none, err
	}
	return list[len(list)-1], nil
}

// NewID is an id for a record that nobody named: its noun's first letter and enough chance that two never meet.
func NewID(noun string) string { return noun[:1] + "-" + strings.ToLower(rand.Text()[:madeLetters]) }

// madeLetters are 60 bits of chance.
const madeLetters = 12
