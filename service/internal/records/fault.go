package records

import (
	"context"
	"fmt"
	"time"

	"arris.example/service/internal/fault"
	"arris.example/service/internal/store"
)

// The reasons why a record is not kept.
const (
	EtagMismatch     fault.Reason = "ETAG_MISMATCH"
	RequestIDReused  fault.Reason = "REQUEST_ID_REUSED"
	IDTaken          fault.Reason = "ID_TAKEN"
	ExternalIDTaken  fault.Reason = "EXTERNAL_ID_TAKEN"
	Deleted          fault.Reason = "DELETED"
	NotDeleted       fault.Reason = "NOT_DELETED"
	StillUsed        fault.Reason = "STILL_USED"
	ReferenceMissing fault.Reason = "REFERENCE_MISSING"
	TooMany          fault.Reason = "RATE"
)

// Conflict tells that a record is not as the caller believes, with what it is and what the caller wants.
type Conflict[T any] struct {
	Now    Item[T]
	Wanted Item[T] // its value and its external ids
}

func (c *Conflict[T]) Error() string {
	return fmt.Sprintf("%s was changed meanwhile", c.Now.Name)
}

// faults is how a store's refusals are told.
var faults = map[store.Kind]fault.Fault{
	store.Taken:          {Kind: fault.Exists, Reason: IDTaken},
	store.Stale:          {Kind: fault.Conflict, Reason: EtagMismatch},
	store.Gone:           {Kind: fault.Impossible, Reason: Deleted},
	store.ClashingID:     {Kind: fault.Exists, Reason: ExternalIDTaken},
	store.RequestReused:  {Kind: fault.Exists, Reason: RequestIDReused},
	store.AppendOnlyKind: {Kind: fault.Impossible, Reason: Deleted},
	store.BadQuery:       {Kind: fault.BadRequest, Reason: fault.InvalidField},
	store.Crowded:        {Kind: fault.TooMuch, Reason: TooMany},
	store.BadRecord:      {Kind: fault.BadRequest, Reason: fault.InvalidField},
}

// faultOf tells a store's refusal, and where there is no such record now names the nearest.
func (k Keeper) faultOf(ctx context.Context, err error, noun, name string, asOf time.Time) error {
	if store.Is(err, store.NotFound) && asOf.IsZero() {
		return store.Unknown(ctx, k.Store, noun, name, asOf)
	}
	return FaultOfStore(err)
}

// FaultOfStore tells a store's refusal.
func FaultOfStore(err error) error {
	refused, ok := store.As(err)
	if !ok {
		return err
	}
	if refused.Kind == store.NotFound {
		return &fault.Fault{Kind: fault.NotFound, Reason: fault.NoSuchThing, Message: refused.Message, Cause: err}
	}
	if f, ok := faults[refused.Kind]; ok {
		f.Message, f.Cause = refused.Message, err
		return &f
	}
	return store.Away("keep records", err)
}
