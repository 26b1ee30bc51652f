package store

import (
	"context"
	"slices"
	"strings"
	"time"
)

// A Record is one thing that a shop keeps. Its name says everything of where it belongs: `shops/main/wheels/north-cbn/measurements/m1` is of
// the shop `shops/main`, of the kind `measurements`, with the parent `shops/main/wheels/north-cbn`. The typed fields beside the body are
// what filters and orders may use; the body is the plain record as Pack wrote it.
type Record struct {
	Draft
	UID     string // of this record for ever
	Version int64  // 1, 2, …: the etag
	Created time.Time
	Updated time.Time // grows with every version, even where the clock went backwards
	Deleted time.Time // zero: it is not
}

// A Draft is what a caller writes of a record. Empty text is "not said".
type Draft struct {
	Name        string
	DisplayName string
	Class       string // a kind within the kind: of tool, of abrasive
	State       string
	Station     string // full names of what it refers to
	Wheel       string
	Tool        string
	Recipe      string
	Holder      string
	Occurred    time.Time // by the client's clock; zero: when it was created
	Due         time.Time // to be inspected; zero: never
	Finding     string    // of the last inspection
	ExternalIDs []ExternalID
	Body        string
}

// ExternalID is what another system calls a record; a value is unique in its shop and system, also among the deleted.
type ExternalID struct{ System, Value string }

// String is the system and the value, `inventory:T-0042`.
func (id ExternalID) String() string { return id.System + ":" + id.Value }

// A Version names one state of a record, which History and At read again for ever.
type Version struct {
	Name    string
	Version int64
}

// Caller is who changes something and how: the audit's columns. A RequestID makes a change happen once; Hash is the request body's, so
// that the id with another body is refused.
type Caller struct {
	Person    string // opaque
	Method    string
	RequestID string
	Hash      string
}

// Change is one line of the audit: a version of a record and who made it.
type Change struct {
	Record
	Seq    int64 // grows in the order of the changes
	Caller Caller
}

// Done is what a change wrote, in order. Replayed says that its request id was answered before and nothing was written now.
type Done struct {
	Wrote    []Version
	Replayed bool
}

// A Store keeps records. Its errors are *Error.
//
// Order: names, text columns and ties order by their bytes, times by the microsecond; the same question gives the same order on every store.
// Absence: what never was, and what was not yet at asOf, is NotFound. A deleted record is found by Get, with its time of deletion, and by a
// Query that asks for deleted ones.
// Atomicity: a Change is there whole, for every reader and after a pulled plug, once it returned no error; otherwise nothing of it is.
type Store interface {
	// Get reads a record as it is, or, with asOf, the newest version written at or before that time.
	Get(ctx context.Context, name string, asOf time.Time) (Record, error)
	// At reads exactly one version.
	At(ctx context.Context, v Version) (Record, error)
	// Find reads a page of records and the token of the next, empty after the last one.
	Find(ctx context.Context, q Query) (page []Record, next string, err error)
	// History reads a record's versions, oldest first; all that were ever written are there.
	History(ctx context.Context, name string) ([]Change, error)
	// Changes reads what changed in a shop after a place in the order of changes, oldest first.
	Changes(ctx context.Context, shop string, after int64, limit int) ([]Change, error)
	// Change runs do in one transaction and keeps what it wrote if it returns nil. Transactions run one after the other, so that whoever
	// follows Changes misses none. A caller's request id that was answered before gives the former answer without running do; with another
	// body it is RequestReused. Unavailable may come from a commit whose answer was lost: the same request id tells.
	Change(ctx context.Context, shop string, caller Caller, do func(Tx) error) (Done, error)
	// Check reads everything and fails with Damaged where it contradicts itself.
	Check(ctx context.Context) error
	Close() error
}

// A Tx is a change in progress. It reads what it wrote itself.
type Tx interface {
	// Now is the time that this change is written at.
	Now() time.Time
	Get(name string) (Record, error)
	Find(q Query) (page []Record, next string, err error)
	// Create keeps a new record. A name that was ever used, also by a deleted record, is Taken.
	Create(d Draft) (Record, error)
	// Update writes a record's next version where version is the present one (0: whichever it is), otherwise it is Stale and the error has
	// the present record. A deleted record is Gone; an append-only kind is never updated.
	Update(d Draft, version int64) (Record, error)
	// Delete and Undelete write a version that says so. Deleting what is deleted is Gone; undeleting what is not is Taken.
	Delete(name string, version int64) (Record, error)
	Undelete(name string, version int64) (Record, error)
}

// AppendOnly are the kinds whose records are never updated, deleted or undeleted: corrections are new records that point back.
var AppendOnly = []string{"sharpenings", "measurements", "inspections"}

// A Query asks for records of a kind in a shop.
type Query struct {
	Shop    string
	Kind    string
	Parent  string // empty: any
	Filter  Filter
	Search  string // forgiving: by shared groups of three letters, best first; excludes OrderBy and AsOf
	OrderBy Column // empty: by name
	Down    bool
	Deleted bool // with the deleted ones
	AsOf    time.Time
	Limit   int    // 1 … MaxPage; 0 is DefaultPage
	Token   string // from the same query's former page
}

// Page sizes.
const (
	DefaultPage = 100
	MaxPage     = 1000
)

// A Column is what filters and orders may use.
type Column string

// The columns. Times compare with time.Time, all others with string.
const (
	ByName     Column = "name"
	ByDisplay  Column = "display_name"
	ByClass    Column = "class"
	ByState    Column = "state"
	ByStation  Column = "station"
	ByWheel    Column = "wheel"
	ByTool     Column = "tool"
	ByRecipe   Column = "recipe"
	ByHolder   Column = "holder"
	ByOccurred Column = "occur_time"
	ByDue      Column = "due_time" // what is never due comes after every time
	ByFinding  Column = "finding"
	ByCreated  Column = "create_time"
	ByUpdated  Column = "update_time"
)

// ByExternalID compares, by = and != alone, with what another system calls a record now, as [ExternalID.String] writes it. Nothing is ordered
// by it.
const ByExternalID Column = "external_id"

// Columns are those that records are ordered by.
var Columns = []Column{ByName, ByDisplay, ByClass, ByState, ByStation, ByWheel, ByTool, ByRecipe, ByHolder, ByOccurred, ByDue, ByFinding, ByCreated, ByUpdated}

// IsTime tells whether a column compares with times.
func (c Column) IsTime() bool { return strings.HasSuffix(string(c), "_time") }

// A Filter is a comparison `Column Op Value`, with Op one of = != < <= > >=, or `and`, `or`, `not` of others. The zero Filter lets all pass.
type Filter struct {
	Op     string
	Column Column
	Value  any // string or time.Time
	Of     []Filter
}

// Where is the commonest filter: a column has a value.
func Where(c Column, value any) Filter { return Filter{Op: "=", Column: c, Value: value} }

// KindOf is a name's last collection, ShopOf the shop it is kept in, ParentOf what it belongs to.
func KindOf(name string) string {
	parts := strings.Split(name, "/")
	if len(parts) < 2 {
		return ""
	}
	return parts[len(parts)-2]
}

// ShopOf is the shop that a name is kept in; empty for a shop itself.
func ShopOf(name string) string {
	parts := strings.SplitN(name, "/", 4)
	if len(parts) < 3 {
		return ""
	}
	return parts[0] + "/" + parts[1]
}

// ParentOf is the name of what a record belongs to; empty for a shop.
func ParentOf(name string) string {
	parts := strings.Split(name, "/")
	return strings.Join(parts[:max(0, len(parts)-2)], "/")
}

// wellNamed tells whether a name is a path of collections and ids.
func wellNamed(name string) bool {
	parts := strings.Split(name, "/")
	return len(parts)%2 == 0 && parts[0] == "shops" && !slices.Contains(parts, "")
}
