package store

import (
	"context"
	"time"
)

// None is a store that keeps nothing: a service without one calculates, and says so where a name or a record is asked for.
type None struct{}

func nothing() error {
	return Errorf(NoShop, "no shop is kept here: write the thing out in the request, or start with a shop (--store FILE, or --demo)")
}

// Get finds nothing.
func (None) Get(context.Context, string, time.Time) (Record, error) { return Record{}, nothing() }

// At finds nothing.
func (None) At(context.Context, Version) (Record, error) { return Record{}, nothing() }

// Find finds nothing.
func (None) Find(context.Context, Query) ([]Record, string, error) { return nil, "", nothing() }

// History finds nothing.
func (None) History(context.Context, string) ([]Change, error) { return nil, nothing() }

// Changes finds nothing.
func (None) Changes(context.Context, string, int64, int) ([]Change, error) { return nil, nothing() }

// Change keeps nothing, and says so.
func (None) Change(context.Context, string, Caller, func(Tx) error) (Done, error) {
	return Done{}, nothing()
}

// Check has nothing to check.
func (None) Check(context.Context) error { return nil }

// Close has nothing to close.
func (None) Close() error { return nil }
