// Package fault is how rules say no: an operation, a kind, a machine-readable reason, words, and the cause. It knows nothing of
// gRPC or HTTP; one table in package api turns a fault into a status.
package fault

import (
	"errors"
	"fmt"
	"strings"
)

// Kind is what sort of no it is; it decides the status code.
type Kind int

// The kinds.
const (
	Internal     Kind = iota // a mistake of ours
	BadRequest               // the request contradicts itself or the schema
	Impossible               // the request is fine, the world cannot
	NotFound                 // no such thing
	TooMuch                  // too many, too large, too costly
	Unavailable              // a part we need is away; trying again may help
	Cancelled                // the caller gave up
	TimedOut                 // the caller's time ran out
	NoSuchMethod             // no such method
	Conflict                 // the record is not as the caller believes
	Exists                   // there is such a one already
	Forbidden                // the caller may not
)

// Reason is the machine-readable reason, a name of the API's Reason list without its prefix.
type Reason string

// FieldReason is why one field was refused, a name of the API's FieldReason list without its prefix.
type FieldReason string

// The reasons why a field is refused.
const (
	Missing       FieldReason = "MISSING"
	NotFinite     FieldReason = "NOT_FINITE"
	NotANumber    FieldReason = "NOT_A_NUMBER"
	OutOfRange    FieldReason = "OUT_OF_RANGE"
	UnknownField  FieldReason = "UNKNOWN_FIELD"
	WrongUnit     FieldReason = "WRONG_UNIT"
	BadForm       FieldReason = "BAD_FORM"
	TooLong       FieldReason = "TOO_LONG"
	Contradiction FieldReason = "CONTRADICTION"
	UnknownValue  FieldReason = "UNKNOWN_VALUE"
)

// Reasons that do not belong to one rule.
const (
	InvalidField  Reason = "INVALID_FIELD"
	NoSuchThing   Reason = "NOT_FOUND"
	Mistake       Reason = "INTERNAL"
	BodyTooLarge  Reason = "BODY_TOO_LARGE"
	WasCancelled  Reason = "CANCELLED"
	RanOutOfTime  Reason = "TIMED_OUT"
	UnknownMethod Reason = "NO_SUCH_METHOD"
)

// Fault is a refusal.
type Fault struct {
	Op         string // the operation, for the log
	Kind       Kind
	Reason     Reason
	Message    string // for people: field, value, limit and what would work
	Violations []Violation
	Detail     any // a rule's own typed detail
	Cause      error
}

// Violation is one field that is wrong.
type Violation struct {
	Field  string // path in the request, proto names
	Reason FieldReason
	Text   string
}

func (f *Fault) Error() string {
	var parts []string
	for _, s := range []string{f.Op, string(f.Reason), f.Message} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	if f.Cause != nil {
		parts = append(parts, f.Cause.Error())
	}
	return strings.Join(parts, ": ")
}

// Unwrap gives the cause.
func (f *Fault) Unwrap() error { return f.Cause }

// As gives the fault in an error's chain.
func As(err error) (*Fault, bool) {
	var f *Fault
	ok := errors.As(err, &f)
	return f, ok
}

// Field is a fault about a single field.
func Field(path string, why FieldReason, format string, args ...any) *Fault {
	text := fmt.Sprintf(format, args...)
	return &Fault{
		Kind:       BadRequest,
		Reason:     InvalidField,
		Message:    path + ": " + text,
		Violations: []Violation{{Field: path, Reason: why, Text: text}},
	}
}
