package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"github.com/pressly/goose/v3"

	"arris.example/service/internal/store/sqlstore"
)

// Memory is a shop that is kept in memory and gone when it is closed. It has one connection: within a change, read through its Tx.
func Memory(ctx context.Context, clock func() time.Time) (*Store, error) {
	db, err := sql.Open("sqlite", "file::memory:?_txlock=immediate&_pragma=foreign_keys(1)")
	if err != nil {
		return nil, Fault(err)
	}
	db.SetMaxOpenConns(1)
	db.SetMaxIdleConns(1)
	dialect := sqlstore.Dialect{Name: goose.DialectSQLite3, Fault: Fault, Check: integrity, Clock: clock}
	if err := prepare(ctx, db, Options{}, dialect); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	s, err := sqlstore.New(ctx, db, dialect)
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return &Store{s}, nil
}
