// Package sqlite keeps a shop in one file. Commits are synced to the disk before they are answered, so that a pulled plug loses none.
package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"syscall"
	"time"

	"github.com/pressly/goose/v3"
	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"arris.example/service/internal/store"
	"arris.example/service/internal/store/sqlstore"
)

//go:embed migrations/*.sql
var embedded embed.FS

// Options are how a file is opened.
type Options struct {
	Path     string
	Who      string // says in the lock file who has it open, and where --server reaches it: "arrisd on localhost:8481"
	ReadOnly bool   // takes no lock and changes nothing, not even the schema
	Clock    func() time.Time
	steps    fs.FS    // tests only: other migrations
	pragmas  []string // tests only
}

// Store is a shop in a file.
type Store struct {
	*sqlstore.DB
}

// Open opens a file, makes it where there is none, and brings its schema up to date. While it is open for writing a lock file beside it
// keeps other processes out.
func Open(ctx context.Context, o Options) (*Store, error) {
	release := func() error { return nil }
	if !o.ReadOnly {
		var err error
		if release, err = lock(o.Path, o.Who); err != nil {
			return nil, err
		}
	}
	s, err := open(ctx, o, release)
	if err != nil {
		return nil, errors.Join(err, release())
	}
	return s, nil
}

func open(ctx context.Context, o Options, release func() error) (*Store, error) {
	db, err := sql.Open("sqlite", dsn(o))
	if err != nil {
		return nil, Fault(err)
	}
	db.SetMaxOpenConns(8)
	db.SetMaxIdleConns(8)
	dialect := sqlstore.Dialect{Name: goose.DialectSQLite3, Fault: Fault, Check: integrity, Release: release, Clock: o.Clock}
	if err := prepare(ctx, db, o, dialect); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	s, err := sqlstore.New(ctx, db, dialect)
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return &Store{s}, nil
}

// prepare brings the schema up to date, or, where nothing may change, sees that it is.
func prepare(ctx context.Context, db *sql.DB, o Options, dialect sqlstore.Dialect) error {
	steps := o.steps
	if steps == nil {
		var err error
		if steps, err = fs.Sub(embedded, "migrations"); err != nil {
			return err
		}
	}
	if err := ours(ctx, db, o); err != nil {
		return err
	}
	if !o.ReadOnly {
		return sqlstore.Migrate(ctx, db, dialect, steps)
	}
	files, err := fs.Glob(steps, "*.sql")
	if err != nil {
		return err
	}
	have, err := sqlstore.SchemaVersion(ctx, db)
	if err != nil {
		return Fault(err)
	}
	if have != int64(len(files)) {
		return store.Errorf(store.Newer, "%s has schema %d and this version of arris reads schema %d: open it once for writing, or use the version that wrote it",
			o.Path, have, len(files))
	}
	return nil
}

// ours fails for a database that has no shop in it: another program's, or, where none may be made, an empty one.
func ours(ctx context.Context, db *sql.DB, o Options) error {
	var tables, versions int
	err := db.QueryRowContext(ctx, "SELECT COUNT(*), COUNT(*) FILTER (WHERE name = 'goose_db_version') FROM sqlite_master WHERE type = 'table'").Scan(&tables, &versions)
	switch {
	case err != nil:
		return Fault(err)
	case versions > 0 || tables == 0 && !o.ReadOnly:
		return nil
	case tables == 0:
		return store.Errorf(store.Damaged, "%s has no shop in it: is it the right file?", o.Path)
	}
	return store.Errorf(store.Damaged, "%s is a database of another program, and nothing in it was changed: choose another file", o.Path)
}

func dsn(o Options) string {
	q := url.Values{"_txlock": {"immediate"}, "_pragma": {"busy_timeout(5000)", "foreign_keys(1)", "cache_size(-16000)"}}
	if o.ReadOnly {
		q.Set("mode", "ro")
	} else {
		q["_pragma"] = append(q["_pragma"], "journal_mode(wal)", "synchronous(full)")
	}
	q["_pragma"] = append(q["_pragma"], o.pragmas...)
	return (&url.URL{Scheme: "file", Opaque: (&url.URL{Path: o.Path}).EscapedPath(), RawQuery: q.Encode()}).String()
}

// Fault gives SQLite's errors, and those of the file system below, as a store's.
func Fault(err error) *store.Error {
	var known *store.Error
	if errors.As(err, &known) {
		return known
	}
	code := lib.SQLITE_OK
	if e := new(sqlite.Error); errors.As(err, &e) {
		code = e.Code() & 0xff
	}
	kind, message := store.Unavailable, "the shop's file does not answer"
	switch {
	case code == lib.SQLITE_CORRUPT, code == lib.SQLITE_NOTADB:
		kind, message = store.Damaged, "the shop's file is damaged: keep a copy of it and restore a backup"
	case code == lib.SQLITE_FULL, errors.Is(err, syscall.ENOSPC):
		kind, message = store.Full, "there is no room left for the shop's file: nothing was changed; make room and try again"
	case code == lib.SQLITE_READONLY, code == lib.SQLITE_PERM, errors.Is(err, syscall.EROFS), errors.Is(err, fs.ErrPermission):
		kind, message = store.ReadOnly, "the shop's file may not be written: nothing was changed; change its permissions and those of its folder"
	case code == lib.SQLITE_CANTOPEN:
		message = "the shop's file cannot be opened: does its folder exist, and may it be written?"
	case code == lib.SQLITE_BUSY, code == lib.SQLITE_LOCKED:
		message = "another process is writing the shop's file for longer than five seconds; try again"
	}
	return &store.Error{Kind: kind, Message: message, Cause: err}
}

// integrity asks SQLite to look at every page.
func integrity(ctx context.Context, db *sql.DB) error {
	var said string
	if err := db.QueryRowContext(ctx, "PRAGMA integrity_check(1)").Scan(&said); err != nil {
		return err
	}
	if said != "ok" {
		return store.Errorf(store.Damaged, "the shop's file is damaged (%s): keep a copy of it and restore a backup", said)
	}
	return nil
}

// Backup writes the whole shop, as it is at one moment, to a new file while others read and write. The file is complete or not there.
func (s *Store) Backup(ctx context.Context, to string) error {
	if _, err := os.Lstat(to); err == nil {
		return store.Errorf(store.Taken, "%s exists already and is not overwritten: choose another name", to)
	}
	part := fmt.Sprintf("%s.%d.part", to, os.Getpid())
	defer os.Remove(part) //nolint:errcheck // after the rename it is not there
	if _, err := s.SQL().ExecContext(ctx, "VACUUM INTO $1", part); err != nil {
		return Fault(err)
	}
	return move(part, to)
}

// Restore puts a backup in a shop's place. The backup is read and checked first; the file it replaces stays beside it as
// `….before-restore`. Nobody may have the shop open.
func Restore(ctx context.Context, backup, path, who string) (err error) {
	if err := proof(ctx, backup); err != nil {
		return err
	}
	release, err := lock(path, who)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, release()) }()
	part := path + ".part"
	defer os.Remove(part) //nolint:errcheck // after the rename it is not there
	if err := copyFile(backup, part); err != nil {
		return Fault(err)
	}
	if err := setAside(path); err != nil {
		return Fault(err)
	}
	return move(part, path)
}

// proof reads a backup through.
func proof(ctx context.Context, backup string) error {
	s, err := Open(ctx, Options{Path: backup, ReadOnly: true})
	if err != nil {
		return err
	}
	return errors.Join(s.Check(ctx), s.Close())
}

// setAside copies a shop's file and its journal, and takes the journal away: it belongs to the old file alone. Should the machine stop
// now, the copy has everything.
func setAside(path string) error {
	for _, end := range []string{"", "-wal"} {
		err := copyFile(path+end, path+".before-restore"+end)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	for _, end := range []string{"-wal", "-shm"} {
		if err := os.Remove(path + end); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}
