package store

import (
	"errors"
	"fmt"
	"strings"

	"arris.example/service/internal/fault"
)

// Kind is why a store says no.
type Kind int

// The kinds. The first ones are the caller's to mend; from Unavailable on the store itself is at fault.
const (
	NotFound       Kind = iota + 1
	Taken               // the name was used before, perhaps by a record that is deleted
	Stale               // the version is not the present one; the error has the present record
	Gone                // the record is deleted
	ClashingID          // another record has this external id
	RequestReused       // the request id came before with another body
	AppendOnlyKind      // records of this kind are never changed
	BadQuery            // a page token of another query, a column that does not exist, a value of the wrong type
	BadRecord           // a name or text that cannot be kept
	Crowded             // too many operations have not ended
	Lost                // an operation is not held any more: it was cancelled, deleted, or taken by another process
	Unavailable         // away, stopped, too slow
	Full                // no room left
	ReadOnly            // may not be written
	Damaged             // contradicts itself
	Newer               // written by a newer version of this program
	Locked              // another process has the file open
	Closed              // used after Close
	NoShop              // nothing is kept here at all
)

// Error is a store's refusal.
type Error struct {
	Kind    Kind
	Message string
	Now     Record // with Stale, Taken and ClashingID: the record that is in the way
	Cause   error
}

func (e *Error) Error() string {
	if e.Cause == nil {
		return e.Message
	}
	return e.Message + ": " + e.Cause.Error()
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Cause }

// Errorf makes a store's error.
func Errorf(kind Kind, format string, args ...any) *Error {
	return &Error{Kind: kind, Message: fmt.Sprintf(format, args...)}
}

// Is tells whether an error is a store's of this kind.
func Is(err error, kind Kind) bool {
	e, ok := As(err)
	return ok && e.Kind == kind
}

// As gives the store's error in an error's chain.
func As(err error) (*Error, bool) {
	var e *Error
	ok := errors.As(err, &e)
	return e, ok
}

// StoreUnavailable is the reason of every fault that says the store is away.
const StoreUnavailable fault.Reason = "STORE_UNAVAILABLE"

// Away is the fault for an error that no caller can mend. A store's own words say what happened and who can; what lies below is for the log.
func Away(op string, err error) error {
	away := &fault.Fault{Op: op, Kind: fault.Unavailable, Reason: StoreUnavailable, Cause: err,
		Message: "the shop's records cannot be read or written now; try again"}
	e, ok := As(err)
	switch {
	case ok && e.Kind == NoShop:
		return &fault.Fault{Op: op, Kind: fault.NotFound, Reason: fault.NoSuchThing, Message: e.Message}
	case ok:
		away.Message = e.Message
	}
	return away
}

// unknown is the fault for a name that does not exist, with the nearest that do.
func unknown(what, name string, nearest []string) error {
	message := "no " + what + " is called " + name
	if len(nearest) > 0 {
		message += "; nearest: " + strings.Join(nearest, ", ")
	}
	return &fault.Fault{Kind: fault.NotFound, Reason: fault.NoSuchThing, Message: message}
}
