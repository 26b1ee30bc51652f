package store

import (
	"context"
	"time"
)

// An Operation is work that goes on after the call that asked for it. It has items, of which a volume is made after the other.
type Operation struct {
	Name      string // shops/main/operations/o-4k2
	Person    string // who asked; opaque
	RequestID string
	Hash      string // of what was asked, so that the request id with another body is refused
	State     OperationState
	AsOf      time.Time
	Items     int
	Progress

	// What the store says of it; the zero time is "not yet".
	Created, Started, Ended, Expires time.Time
	Done                             int // items in volumes, printed or refused
	Refused                          int // of these
	Volumes                          []Volume
	Failure                          []byte // why it failed
	Holder                           string // who works on it
	Tries                            int    // how often it was taken since its last volume
}

// Progress is how far an operation is beyond its volumes, and how long was worked on it in all.
type Progress struct {
	Ahead  int
	Worked time.Duration
}

// OperationState is where an operation is in its life.
type OperationState string

// The states. The last three are ends.
const (
	Waiting   OperationState = "waiting"
	Running   OperationState = "running"
	Succeeded OperationState = "succeeded"
	Failed    OperationState = "failed"
	Cancelled OperationState = "cancelled"
)

// Ended tells whether nothing more is done.
func (s OperationState) Ended() bool { return s != Waiting && s != Running }

// Volume is a part of what an operation made, which is there whole or not at all. Volumes count from 1.
type Volume struct {
	Number, Items int
	Bytes         int64
}

// Made is what is kept of a stretch of items: a volume in pieces, none where none could be made, and why some could not.
type Made struct {
	Items   int // that were looked at
	Printed int
	Pieces  [][]byte
	Refused [][]byte
}

// MostUnfinished is how many operations of a shop may be unfinished.
const MostUnfinished = 20

// HoldTime is how long an operation is held by who took it. Clocks of processes on one database may differ by less.
const HoldTime = 15 * time.Second

// Operations keeps operations and is their queue: who takes one holds it for [HoldTime], and as long as it says so again. Its errors are
// *Error. All that is written is there whole, after a pulled plug as well.
type Operations interface {
	// StartOperation keeps a new operation with what was asked. A request id that an operation of the shop has gives that one; with another
	// hash it is RequestReused. More than [MostUnfinished] are Crowded.
	StartOperation(ctx context.Context, o Operation, request []byte) (Operation, error)
	// StartedOperation is the one that a request id began before, false where none did; with another hash it is RequestReused.
	StartedOperation(ctx context.Context, shop, requestID, hash string) (Operation, bool, error)
	Operation(ctx context.Context, name string) (Operation, error)
	// OperationsOf reads a page of a shop's operations, the newest first, and the token of the next, empty after the last one.
	OperationsOf(ctx context.Context, shop string, limit int, token string) (page []Operation, next string, err error)
	// CancelOperation ends an operation that has not ended, takes its volumes away, and gives it as it is then.
	CancelOperation(ctx context.Context, name string, keep time.Duration) (Operation, error)
	DeleteOperation(ctx context.Context, name string) error
	// Refused reads why items could not be made, in their order, from a place on.
	Refused(ctx context.Context, name string, from, limit int) ([][]byte, error)
	// Volume is one volume; Piece a piece of it, from 0 on.
	Volume(ctx context.Context, name string, volume int) (Volume, error)
	Piece(ctx context.Context, name string, volume, piece int) ([]byte, error)

	// TakeOperation takes the one with the fewest items done, of these the oldest, of those that nobody holds; NotFound where there is none.
	TakeOperation(ctx context.Context, holder string) (Operation, error)
	// OperationRequest is what was asked; who holds an operation may write it anew.
	OperationRequest(ctx context.Context, name string) ([]byte, error)
	RewriteRequest(ctx context.Context, held Operation, request []byte) error
	// HoldOperation says that its holder still works on it, and how far it is. It is Lost where somebody else has it, or nobody any more.
	HoldOperation(ctx context.Context, held Operation, p Progress) error
	// KeepVolume keeps what was made of the items after those done, and lets go. It is Lost where that is kept already.
	KeepVolume(ctx context.Context, held Operation, m Made, worked time.Duration) error
	// EndOperation says that nothing more is to be done, and lets go.
	EndOperation(ctx context.Context, held Operation, state OperationState, failure []byte, keep time.Duration) error
	// ReleaseOperation lets go at once of what is not done, so that others, or this process when it is back, need not wait.
	ReleaseOperation(ctx context.Context, held Operation) error
	// NextOperation is when there is next something to do: an operation that nobody holds by then, or one that expires. The zero time is never.
	NextOperation(ctx context.Context) (time.Time, error)
	// ExpireOperations deletes those whose time is over, with all they made.
	ExpireOperations(ctx context.Context) error
}

// OperationsIn are a store's operations; false where it keeps none.
func OperationsIn(s Store) (Operations, bool) {
	if r, ok := s.(*Remembering); ok {
		s = r.Store
	}
	o, ok := s.(Operations)
	return o, ok
}
