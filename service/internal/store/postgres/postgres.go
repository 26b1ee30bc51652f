// Package postgres keeps shops in PostgreSQL. Connections that break are made anew, so that the store comes back by itself when the
// database does.
package postgres

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	gooselock "github.com/pressly/goose/v3/lock"

	"arris.example/service/internal/store"
	"arris.example/service/internal/store/sqlstore"
)

//go:embed migrations/*.sql
var embedded embed.FS

// Options are how a database is opened.
type Options struct {
	URL   string // postgres://user@host/database, or key=value pairs
	Clock func() time.Time
	steps fs.FS // tests only: other migrations
}

// patience is how long a connection may take to be made, and a writer wait for its turn, where the caller's time is not shorter.
const patience = 5 * time.Second

// longestCall is how long a call waits for a database that hangs, where the caller does not wait less.
const longestCall = 30 * time.Second

// longestIdle is how long a process may hold its turn without a word, as one that was paused does, before the database takes it away.
const longestIdle = 10 * time.Second

// turn takes a lock that ends with the transaction. It is any number that all arris servers use and nobody else does. The isolation is READ
// COMMITTED, so that what follows sees all that was committed before the lock was given: a stricter one looks at the database as it was
// before the wait (PostgreSQL's manual, 13.4).
var turn = fmt.Sprintf("SELECT pg_advisory_xact_lock(%d)", 0x61727269735f)

// Open connects, and brings the schema up to date; of several processes one does it and the others wait.
func Open(ctx context.Context, o Options) (*sqlstore.DB, error) {
	config, err := pgx.ParseConfig(o.URL)
	if err != nil {
		return nil, store.Errorf(store.Unavailable, "the database's address is not like postgres://user@host/database") // the cause may hold a password
	}
	if config.ConnectTimeout == 0 {
		config.ConnectTimeout = patience
	}
	config.RuntimeParams["lock_timeout"] = milliseconds(patience)
	config.RuntimeParams["idle_in_transaction_session_timeout"] = milliseconds(longestIdle)
	db := stdlib.OpenDB(*config)
	db.SetMaxOpenConns(16)
	db.SetMaxIdleConns(16)
	db.SetConnMaxIdleTime(5 * time.Minute)
	dialect := sqlstore.Dialect{Name: goose.DialectPostgres, Turn: turn, Patience: longestCall, Fault: Fault, Clock: o.Clock}
	if err := migrate(ctx, db, dialect, o.steps); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	s, err := sqlstore.New(ctx, db, dialect)
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return s, nil
}

func milliseconds(d time.Duration) string { return strconv.FormatInt(d.Milliseconds(), 10) }

func migrate(ctx context.Context, db *sql.DB, dialect sqlstore.Dialect, steps fs.FS) error {
	if steps == nil {
		var err error
		if steps, err = fs.Sub(embedded, "migrations"); err != nil {
			return err
		}
	}
	if err := db.PingContext(ctx); err != nil {
		return Fault(err)
	}
	locker, err := gooselock.NewPostgresSessionLocker()
	if err != nil {
		return err
	}
	return sqlstore.Migrate(ctx, db, dialect, steps, goose.WithSessionLocker(locker))
}

// Fault gives PostgreSQL's errors, and the network's, as a store's. The first two letters of a code are its class
// (PostgreSQL's manual, appendix A).
func Fault(err error) *store.Error {
	var known *store.Error
	if errors.As(err, &known) {
		return known
	}
	kind, message := store.Unavailable, "the database does not answer; try again"
	var e *pgconn.PgError
	if errors.As(err, &e) {
		switch {
		case e.Code == "53100":
			kind, message = store.Full, "the database has no room left: nothing was changed; make room and try again"
		case e.Code == "55P03":
			message = "another process is writing for longer than five seconds; try again"
		case e.Code == "25006":
			kind, message = store.ReadOnly, "the database may not be written: nothing was changed"
		case strings.HasPrefix(e.Code, "XX"):
			kind, message = store.Damaged, "the database is damaged: restore a backup"
		}
	}
	return &store.Error{Kind: kind, Message: message, Cause: err}
}
