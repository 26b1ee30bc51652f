// Package sqlstore is the store on a SQL database: one text of SQL for all of them. What differs is in Dialect.
package sqlstore

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"sync/atomic"
	"time"

	"github.com/pressly/goose/v3"

	"arris.example/service/internal/store"
)

// Dialect is what differs between databases.
type Dialect struct {
	Name goose.Dialect
	// Turn waits, at the beginning of a transaction, until no other process writes; empty where a transaction does so by itself.
	Turn string
	// Fault gives a driver's error as a store's.
	Fault func(error) *store.Error
	// Patience is how long a call may wait for a database that hangs; 0: as long as its caller does.
	Patience time.Duration
	// Check looks at the database below the tables; nil where there is nothing to look at.
	Check func(context.Context, *sql.DB) error
	// Release lets go of what was held while the store was open; nil for nothing.
	Release func() error
	// Clock is the time; nil is the machine's.
	Clock func() time.Time
}

// DB is a store on a database.
type DB struct {
	db      *sql.DB
	dialect Dialect
	closed  atomic.Bool
	present *sql.Stmt     // reads a record as it is: the commonest question by far
	turn    chan struct{} // has room for the one that writes
}

// New takes a database whose schema is up to date.
func New(ctx context.Context, db *sql.DB, dialect Dialect) (*DB, error) {
	if dialect.Clock == nil {
		dialect.Clock = time.Now
	}
	present, err := db.PrepareContext(ctx, getRecord)
	if err != nil {
		return nil, dialect.Fault(err)
	}
	return &DB{db: db, dialect: dialect, present: present, turn: make(chan struct{}, 1)}, nil
}

// Migrate brings a schema up to date, one step after the other, each in a transaction. A schema newer than the steps is refused.
func Migrate(ctx context.Context, db *sql.DB, d Dialect, steps fs.FS, options ...goose.ProviderOption) error {
	provider, err := goose.NewProvider(d.Name, db, steps, append(options, goose.WithDisableGlobalRegistry(true))...)
	if err != nil {
		return d.Fault(err)
	}
	have, err := provider.GetDBVersion(ctx)
	if err != nil {
		return d.Fault(err)
	}
	sources := provider.ListSources()
	known := sources[len(sources)-1].Version
	if have > known {
		return store.Errorf(store.Newer, "the shop's records have schema %d and this version of arris knows schemas up to %d: "+
			"use the version that wrote them or a newer one; nothing was changed", have, known)
	}
	if have == known {
		return nil
	}
	if _, err := provider.Up(ctx); err != nil {
		return d.Fault(err)
	}
	return nil
}

// SchemaVersion is the newest step that a database has had.
func SchemaVersion(ctx context.Context, db *sql.DB) (int64, error) {
	var version int64
	err := db.QueryRowContext(ctx, "SELECT MAX(version_id) FROM goose_db_version").Scan(&version)
	return version, err
}

// SQL is the database below, for what is not a store's business: backups, benchmarks.
func (s *DB) SQL() *sql.DB { return s.db }

// Close closes the store; what is asked of it afterwards is Closed.
func (s *DB) Close() error {
	if s.closed.Swap(true) {
		return nil
	}
	err := errors.Join(s.present.Close(), s.db.Close())
	if s.dialect.Release != nil {
		err = errors.Join(err, s.dialect.Release())
	}
	return err
}

// fault gives every error as a store's.
func (s *DB) fault(err error) error {
	if err == nil {
		return nil
	}
	if _, ok := store.As(err); ok {
		return err
	}
	if s.closed.Load() {
		return &store.Error{Kind: store.Closed, Message: "the store is closed", Cause: err}
	}
	return s.dialect.Fault(err)
}

// open fails after Close.
func (s *DB) open() error {
	if s.closed.Load() {
		return store.Errorf(store.Closed, "the store is closed")
	}
	return nil
}

// enter begins a call, which fails after Close. It ends within the database's patience, and before the caller's own time is over, so that
// what went wrong can still be said.
func (s *DB) enter(ctx context.Context) (context.Context, context.CancelFunc, error) {
	if err := s.open(); err != nil {
		return nil, nil, err
	}
	limit := s.dialect.Patience
	if limit == 0 {
		return ctx, func() {}, nil
	}
	if end, limited := ctx.Deadline(); limited {
		left := time.Until(end)
		limit = min(limit, left-left/20)
	}
	ctx, end := context.WithTimeout(ctx, limit)
	return ctx, end, nil
}

// Get reads a record.
func (s *DB) Get(ctx context.Context, name string, asOf time.Time) (store.Record, error) {
	ctx, end, err := s.enter(ctx)
	if err != nil {
		return store.Record{}, err
	}
	defer end()
	if asOf.IsZero() && clean(name) == name {
		r, err := one(s.present.QueryRowContext(ctx, name), name)
		return r, s.fault(err)
	}
	r, err := get(ctx, s.db, name, asOf)
	return r, s.fault(err)
}

// At reads one version.
func (s *DB) At(ctx context.Context, v store.Version) (store.Record, error) {
	ctx, end, err := s.enter(ctx)
	if err != nil {
		return store.Record{}, err
	}
	defer end()
	r, err := one(s.db.QueryRowContext(ctx, "SELECT "+columns+" FROM history WHERE name = $1 AND version = $2", clean(v.Name), v.Version),
		fmt.Sprintf("version %d of %s", v.Version, v.Name))
	return r, s.fault(err)
}

// Find reads a page.
func (s *DB) Find(ctx context.Context, q store.Query) ([]store.Record, string, error) {
	ctx, end, err := s.enter(ctx)
	if err != nil {
		return nil, "", err
	}
	defer end()
	page, next, err := find(ctx, s.db, q)
	return page, next, s.fault(err)
}

// History reads a record's versions.
func (s *DB) History(ctx context.Context, name string) ([]store.Change, error) {
	ctx, end, err := s.enter(ctx)
	if err != nil {
		return nil, err
	}
	defer end()
	found, err := changes(ctx, s.db, "name = $1 ORDER BY version", clean(name))
	if err == nil && len(found) == 0 {
		err = store.Errorf(store.NotFound, "there is no %s", name)
	}
	return found, s.fault(err)
}

// Changes reads what changed in a shop.
func (s *DB) Changes(ctx context.Context, shop string, after int64, limit int) ([]store.Change, error) {
	ctx, end, err := s.enter(ctx)
	if err != nil {
		return nil, err
	}
	defer end()
	if limit < 1 || limit > store.MaxPage {
		return nil, store.Errorf(store.BadQuery, "a page has 1 to %d changes, not %d", store.MaxPage, limit)
	}
	found, err := changes(ctx, s.db, "shop = $1 AND seq > $2 ORDER BY seq LIMIT $3", clean(shop), after, limit)
	return found, s.fault(err)
}

// Change runs do in a transaction. Writers take turns: in this process here, between processes by Dialect.Turn.
func (s *DB) Change(ctx context.Context, shop string, caller store.Caller, do func(store.Tx) error) (done store.Done, err error) {
	err = s.inTurn(ctx, func(ctx context.Context) error {
		done, err = s.try(ctx, shop, caller, do)
		return err
	})
	var no refusal
	if errors.As(err, &no) {
		return store.Done{}, no.error
	}
	return done, s.fault(err)
}

// inTurn runs work while nobody else of this process writes.
func (s *DB) inTurn(ctx context.Context, work func(context.Context) error) error {
	ctx, end, err := s.enter(ctx)
	if err != nil {
		return err
	}
	defer end()
	select {
	case s.turn <- struct{}{}:
		defer func() { <-s.turn }()
	case <-ctx.Done():
		return s.fault(ctx.Err())
	}
	return work(ctx)
}

// begin begins a transaction while no other process writes.
func (s *DB) begin(ctx context.Context) (*sql.Tx, error) {
	sqlTx, err := s.db.BeginTx(ctx, nil)
	if err != nil || s.dialect.Turn == "" {
		return sqlTx, err
	}
	if _, err := sqlTx.ExecContext(ctx, s.dialect.Turn); err != nil {
		return nil, errors.Join(err, sqlTx.Rollback())
	}
	return sqlTx, nil
}

// refusal is the caller's own error, which goes back to it as it is.
type refusal struct{ error }

// try runs a change once.
func (s *DB) try(ctx context.Context, shop string, caller store.Caller, do func(store.Tx) error) (store.Done, error) {
	none := store.Done{}
	sqlTx, err := s.begin(ctx)
	if err != nil {
		return none, err
	}
	defer sqlTx.Rollback() //nolint:errcheck // after a commit it has nothing to do, and after a failure the failure is what counts
	t := &tx{ctx: ctx, tx: sqlTx, shop: shop, caller: caller, now: s.dialect.Clock().UTC().Truncate(time.Microsecond)}
	if wrote, found, err := t.answered(); err != nil || found {
		return store.Done{Wrote: wrote, Replayed: found}, err
	}
	err = do(t)
	switch {
	case t.broken != nil:
		return none, t.broken // whatever the caller made of it
	case err != nil:
		return none, refusal{err}
	}
	if err := t.remember(); err != nil {
		return none, err
	}
	if err := sqlTx.Commit(); err != nil {
		return none, s.unsure(err)
	}
	return store.Done{Wrote: t.wrote}, nil
}

// unsure is the error of a commit: where the database has not said no, it may have kept the change before it went away.
func (s *DB) unsure(err error) error {
	refused := s.dialect.Fault(err)
	if refused.Kind == store.Unavailable {
		refused.Message = "the store went away while it kept this, and may have kept it: send the same request with the same request id again, or look before you repeat it"
	}
	return refused
}

// Check reads everything: the database's own structure, that every record is its newest version, that no version is missing, and that the
// other tables agree.
func (s *DB) Check(ctx context.Context) error {
	if err := s.open(); err != nil {
		return err
	}
	if s.dialect.Check != nil {
		if err := s.dialect.Check(ctx, s.db); err != nil {
			return s.fault(err)
		}
	}
	for what, query := range contradictions {
		var name string
		err := s.db.QueryRowContext(ctx, query).Scan(&name)
		if err == nil {
			return store.Errorf(store.Damaged, "the records contradict themselves: %s %s; restore a backup", name, what)
		}
		if !errors.Is(err, sql.ErrNoRows) {
			return s.fault(err)
		}
	}
	return nil
}

// contradictions are queries that find a name where something is wrong.
var contradictions = map[string]string{
	"is not as its newest version says": `SELECT r.name FROM records r LEFT JOIN history h ON h.name = r.name AND h.version = r.version
		WHERE h.name IS NULL OR h.body <> r.body OR h.update_time <> r.update_time OR h.external_ids <> r.external_ids
		OR COALESCE(h.delete_time, -1) <> COALESCE(r.delete_time, -1) LIMIT 1`,
	"has lost versions": `SELECT r.name FROM records r JOIN history h ON h.name = r.name GROUP BY r.name, r.version
		HAVING COUNT(*) <> r.version OR MIN(h.version) <> 1 OR MAX(h.version) <> r.version LIMIT 1`,
	"has versions and is no record": `SELECT h.name FROM history h LEFT JOIN records r ON r.name = h.name WHERE r.name IS NULL LIMIT 1`,
	"has an external id and is no record": `SELECT e.name FROM external_ids e LEFT JOIN records r ON r.name = e.name
		WHERE r.name IS NULL LIMIT 1`,
	"has lost pieces of a volume": `SELECT v.operation FROM operation_volumes v
		LEFT JOIN operation_pieces p ON p.operation = v.operation AND p.volume = v.volume
		GROUP BY v.operation, v.volume, v.bytes HAVING COALESCE(SUM(LENGTH(p.data)), 0) <> v.bytes LIMIT 1`,
	"is searched and is no record": `SELECT g.name FROM trigrams g LEFT JOIN records r ON r.name = g.name WHERE r.name IS NULL LIMIT 1`,
}

// answered gives what a former request with the caller's id wrote.
func (t *tx) answered() (wrote []store.Version, found bool, err error) {
	if t.caller.RequestID == "" {
		return nil, false, nil
	}
	var hash, text string
	err = t.tx.QueryRowContext(t.ctx, "SELECT hash, wrote FROM requests WHERE shop = $1 AND id = $2", clean(t.shop), clean(t.caller.RequestID)).Scan(&hash, &text)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return nil, false, nil
	case err != nil:
		return nil, false, err
	case hash != t.caller.Hash:
		return nil, false, store.Errorf(store.RequestReused, "the request id %q came before with another request: make a new id for a new request", t.caller.RequestID)
	}
	err = json.Unmarshal([]byte(text), &wrote)
	return wrote, true, err
}

func (t *tx) remember() error {
	if t.caller.RequestID == "" {
		return nil
	}
	text, err := json.Marshal(t.wrote)
	if err != nil {
		return err
	}
	return t.exec("INSERT INTO requests (shop, id, hash, wrote, answer_time) VALUES ($1, $2, $3, $4, $5)",
		t.shop, t.caller.RequestID, t.caller.Hash, string(text), t.now.UnixMicro())
}
