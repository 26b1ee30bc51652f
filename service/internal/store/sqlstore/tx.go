package sqlstore

import (
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/json"
	"errors"
	"slices"
	"time"

	"arris.example/service/internal/store"
)

// tx is a change in progress.
type tx struct {
	ctx    context.Context
	tx     *sql.Tx
	shop   string
	caller store.Caller
	now    time.Time
	wrote  []store.Version
	broken error // the database's first refusal: what follows cannot be kept
}

// note keeps the first error that is the database's and not an answer.
func (t *tx) note(err error) error {
	if err == nil || t.broken != nil {
		return err
	}
	if _, ok := store.As(err); !ok {
		t.broken = err
	}
	return err
}

func (t *tx) exec(query string, args ...any) error {
	_, err := t.tx.ExecContext(t.ctx, query, args...)
	return t.note(err)
}

// Now is the time that this change is written at.
func (t *tx) Now() time.Time { return t.now }

// Get reads a record as it is in this change.
func (t *tx) Get(name string) (store.Record, error) {
	r, err := get(t.ctx, t.tx, name, time.Time{})
	return r, t.note(err)
}

// Find reads a page as it is in this change.
func (t *tx) Find(q store.Query) ([]store.Record, string, error) {
	page, next, err := find(t.ctx, t.tx, q)
	return page, next, t.note(err)
}

// Create keeps a new record.
func (t *tx) Create(d store.Draft) (store.Record, error) {
	if err := t.mine(d); err != nil {
		return store.Record{}, err
	}
	switch old, err := t.Get(d.Name); {
	case err == nil && old.Deleted.IsZero():
		return store.Record{}, &store.Error{Kind: store.Taken, Message: d.Name + " exists already: choose another id, or update it", Now: old}
	case err == nil:
		return store.Record{}, &store.Error{Kind: store.Taken, Now: old,
			Message: d.Name + " was deleted and its id is not used again: choose another id, or undelete it"}
	case !store.Is(err, store.NotFound):
		return store.Record{}, err
	}
	r := store.Record{Draft: d, UID: newUID(), Version: 1, Created: t.now, Updated: t.now}
	return t.write(r)
}

// Update writes a record's next version.
func (t *tx) Update(d store.Draft, version int64) (store.Record, error) {
	if err := t.mine(d); err != nil {
		return store.Record{}, err
	}
	r, err := t.present(d.Name, version)
	if err != nil {
		return store.Record{}, err
	}
	if !r.Deleted.IsZero() {
		return store.Record{}, gone(r)
	}
	r.Draft = d
	return t.next(r)
}

// Delete writes a version that says that the record is gone.
func (t *tx) Delete(name string, version int64) (store.Record, error) {
	r, err := t.present(name, version)
	if err != nil {
		return store.Record{}, err
	}
	if !r.Deleted.IsZero() {
		return store.Record{}, gone(r)
	}
	r.Deleted = later(t.now, r.Updated)
	return t.next(r)
}

// Undelete takes a deletion back.
func (t *tx) Undelete(name string, version int64) (store.Record, error) {
	r, err := t.present(name, version)
	if err != nil {
		return store.Record{}, err
	}
	if r.Deleted.IsZero() {
		return store.Record{}, &store.Error{Kind: store.Taken, Message: name + " is not deleted", Now: r}
	}
	r.Deleted = time.Time{}
	return t.next(r)
}

func gone(r store.Record) error {
	return &store.Error{Kind: store.Gone, Message: r.Name + " is deleted: undelete it first", Now: r}
}

// mine refuses a draft that cannot be kept, or of another shop than the change's.
func (t *tx) mine(d store.Draft) error {
	if err := d.Validate(); err != nil {
		return err
	}
	if store.ShopOf(d.Name) != t.shop {
		return store.Errorf(store.BadRecord, "%s is not of %s, which this change is for", d.Name, t.shop)
	}
	return nil
}

// present is the record that a change is made to, if its version is still the one the caller has seen.
func (t *tx) present(name string, version int64) (store.Record, error) {
	if store.ShopOf(name) != t.shop {
		return store.Record{}, store.Errorf(store.NotFound, "there is no %s in %s", name, t.shop)
	}
	r, err := t.Get(name)
	if err != nil {
		return r, err
	}
	if slices.Contains(store.AppendOnly, store.KindOf(name)) {
		return r, &store.Error{Kind: store.AppendOnlyKind, Message: name + " is never changed: write a new record that points back to it", Now: r}
	}
	if version != 0 && version != r.Version {
		return r, &store.Error{Kind: store.Stale, Message: name + " was changed by someone else: look at what it is now and decide again", Now: r}
	}
	return r, nil
}

// later is now, or just after the record's last version where the clock went backwards.
func later(now, last time.Time) time.Time {
	if now.After(last) {
		return now
	}
	return last.Add(time.Microsecond)
}

// next writes the version that follows.
func (t *tx) next(r store.Record) (store.Record, error) {
	r.Version++
	r.Updated = later(t.now, r.Updated)
	return t.write(r)
}

// write keeps a version: the record as it is, its line in the history, its external ids and what search looks at.
func (t *tx) write(r store.Record) (store.Record, error) {
	r.ExternalIDs = slices.SortedFunc(slices.Values(r.ExternalIDs), compareIDs)
	if r.Occurred.IsZero() {
		r.Occurred = r.Created
	}
	r.Occurred = r.Occurred.UTC().Truncate(time.Microsecond)
	row, err := rowOf(r)
	if err != nil {
		return r, err
	}
	if r.Version > 1 {
		if err := t.replace(r); err != nil {
			return r, err
		}
	}
	if err := t.exec(insertRecord, row...); err != nil {
		return r, err
	}
	if err := t.exec(insertHistory, append(row, t.caller.Person, t.caller.Method, t.caller.RequestID)...); err != nil {
		return r, err
	}
	t.wrote = append(t.wrote, store.Version{Name: r.Name, Version: r.Version})
	return r, t.index(r)
}

// replace takes the former version away; that exactly one row went is what two writers of one version compete for.
func (t *tx) replace(r store.Record) error {
	result, err := t.tx.ExecContext(t.ctx, "DELETE FROM records WHERE name = $1 AND version = $2", r.Name, r.Version-1)
	if t.note(err) != nil {
		return err
	}
	if n, err := result.RowsAffected(); err != nil || n != 1 {
		return errors.Join(err, store.Errorf(store.Stale, "%s was changed by someone else: look at what it is now and decide again", r.Name))
	}
	if err := t.exec("DELETE FROM external_ids WHERE name = $1", r.Name); err != nil {
		return err
	}
	return t.exec("DELETE FROM trigrams WHERE name = $1", r.Name)
}

// index writes what a record is also found by.
func (t *tx) index(r store.Record) error {
	for _, id := range r.ExternalIDs {
		switch owner, err := external(t.ctx, t.tx, t.shop, id); {
		case err == nil:
			return &store.Error{Kind: store.ClashingID, Now: owner, Message: id.System + " calls " + owner.Name + " " + id.Value + " already: an external id names one record"}
		case !store.Is(err, store.NotFound):
			return t.note(err)
		}
		if err := t.exec("INSERT INTO external_ids (shop, system, value, name) VALUES ($1, $2, $3, $4)", t.shop, id.System, id.Value, r.Name); err != nil {
			return err
		}
	}
	grams := store.Trigrams(r.SearchText())
	if len(grams) == 0 {
		return nil
	}
	args := []any{t.shop, store.KindOf(r.Name), r.Name}
	for _, g := range grams {
		args = append(args, g)
	}
	return t.exec("INSERT INTO trigrams (shop, kind, name, gram) VALUES "+gramRows(len(grams)), args...)
}

func compareIDs(a, b store.ExternalID) int {
	return slices.Compare([]string{a.System, a.Value}, []string{b.System, b.Value})
}

// newUID is a version 4 UUID's 122 random bits, as letters.
func newUID() string { return rand.Text() }

// idsOf and idsFrom are external ids as they are stored.
func idsOf(ids []store.ExternalID) (string, error) {
	if len(ids) == 0 {
		return "", nil
	}
	text, err := json.Marshal(ids)
	return string(text), err
}

func idsFrom(text string) (ids []store.ExternalID, err error) {
	if text == "" {
		return nil, nil
	}
	err = json.Unmarshal([]byte(text), &ids)
	return ids, err
}
