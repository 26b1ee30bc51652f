package sqlstore

import (
	"context"
	"database/sql"
	"encoding/base64"
	"encoding/json"
	"errors"
	"time"

	"arris.example/service/internal/store"
)

var _ store.Operations = (*DB)(nil)

// operationColumns are what is read of an operation.
const operationColumns = "name, person, request_id, hash, state, holder, tries, as_of_time, create_time, start_time, end_time, expire_time, " +
	"items, done, ahead, refused, worked, failure"

// unfinished are the states of what is to be done.
const unfinished = "state IN ('waiting', 'running')"

// writing runs do in a transaction, in its turn.
func (s *DB) writing(ctx context.Context, do func(w writer) error) error {
	return s.fault(s.inTurn(ctx, func(ctx context.Context) error {
		tx, err := s.begin(ctx)
		if err != nil {
			return err
		}
		defer tx.Rollback() //nolint:errcheck // after a commit it has nothing to do, and after a failure the failure is what counts
		if err := do(writer{ctx, tx, s.dialect.Clock().UTC().Truncate(time.Microsecond)}); err != nil {
			return err
		}
		if err := tx.Commit(); err != nil {
			return s.unsure(err)
		}
		return nil
	}))
}

// writer is a transaction at a time.
type writer struct {
	ctx context.Context
	tx  *sql.Tx
	now time.Time
}

func (w writer) exec(query string, args ...any) error {
	_, err := w.tx.ExecContext(w.ctx, query, args...)
	return err
}

// held changes an operation that its holder still has.
func (w writer) held(o store.Operation, set string, args ...any) error {
	result, err := w.tx.ExecContext(w.ctx, "UPDATE operations SET "+set+" WHERE name = $1 AND holder = $2 AND done = $3 AND state = 'running'",
		append([]any{o.Name, o.Holder, o.Done}, args...)...)
	if err != nil {
		return err
	}
	if n, err := result.RowsAffected(); err != nil || n != 1 {
		return errors.Join(err, store.Errorf(store.Lost, "%s was cancelled or deleted, or another process goes on with it", o.Name))
	}
	return nil
}

// StartOperation keeps a new operation.
func (s *DB) StartOperation(ctx context.Context, o store.Operation, request []byte) (started store.Operation, err error) {
	shop := store.ShopOf(o.Name)
	err = s.writing(ctx, func(w writer) error {
		found, before, err := startedBy(w.ctx, w.tx, shop, o.RequestID, o.Hash)
		if before || err != nil {
			started = found
			return err
		}
		var waiting int
		if err := w.tx.QueryRowContext(w.ctx, "SELECT COUNT(*) FROM operations WHERE shop = $1 AND "+unfinished, shop).Scan(&waiting); err != nil {
			return err
		}
		if waiting >= store.MostUnfinished {
			return store.Errorf(store.Crowded, "%d operations of %s have not ended: wait until one has, or cancel one", waiting, shop)
		}
		o.State, o.Created = store.Waiting, w.now
		if o.AsOf.IsZero() {
			o.AsOf = w.now
		}
		o.AsOf = o.AsOf.UTC().Truncate(time.Microsecond)
		started = o
		if err := w.exec(`INSERT INTO operations (name, shop, person, request_id, hash, state, holder, hold_time, tries, as_of_time, create_time,
			start_time, end_time, expire_time, items, done, ahead, refused, worked) VALUES ($1, $2, $3, $4, $5, $6, '', 0, 0, $7, $8, 0, 0, 0, $9, 0, 0, 0, 0)`,
			o.Name, shop, o.Person, o.RequestID, o.Hash, string(o.State), o.AsOf.UnixMicro(), w.now.UnixMicro(), o.Items); err != nil {
			return err
		}
		return w.exec("INSERT INTO operation_requests (operation, body) VALUES ($1, $2)", o.Name, request)
	})
	return started, err
}

// StartedOperation reads the one that a request id began.
func (s *DB) StartedOperation(ctx context.Context, shop, requestID, hash string) (o store.Operation, before bool, err error) {
	err = s.reading(ctx, func(ctx context.Context) error {
		o, before, err = startedBy(ctx, s.db, shop, requestID, hash)
		return err
	})
	return o, before, err
}

func startedBy(ctx context.Context, db reader, shop, requestID, hash string) (o store.Operation, before bool, err error) {
	if requestID == "" {
		return o, false, nil
	}
	found, err := operations(ctx, db, "shop = $1 AND request_id = $2", shop, requestID)
	switch {
	case err != nil || len(found) == 0:
		return o, false, err
	case found[0].Hash != hash:
		return o, false, store.Errorf(store.RequestReused, "the request id %q came before with another request: make a new id for a new request", requestID)
	}
	return found[0], true, nil
}

// Operation reads an operation.
func (s *DB) Operation(ctx context.Context, name string) (o store.Operation, err error) {
	err = s.reading(ctx, func(ctx context.Context) error {
		o, err = operation(ctx, s.db, name)
		return err
	})
	return o, err
}

// reading runs a read within the store's patience.
func (s *DB) reading(ctx context.Context, do func(context.Context) error) error {
	ctx, end, err := s.enter(ctx)
	if err != nil {
		return err
	}
	defer end()
	return s.fault(do(ctx))
}

func operation(ctx context.Context, db reader, name string) (store.Operation, error) {
	found, err := operations(ctx, db, "name = $1", clean(name))
	if err == nil && len(found) == 0 {
		err = store.Errorf(store.NotFound, "there is no %s: it may have expired", name)
	}
	if err != nil {
		return store.Operation{}, err
	}
	return found[0], nil
}

// operations reads those that a condition holds for, with their volumes.
func operations(ctx context.Context, db reader, where string, args ...any) ([]store.Operation, error) {
	rows, err := db.QueryContext(ctx, "SELECT "+operationColumns+" FROM operations WHERE "+where, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close() //nolint:errcheck // what went wrong is in rows.Err
	var found []store.Operation
	for rows.Next() {
		var o store.Operation
		var at [5]int64
		if err := rows.Scan(&o.Name, &o.Person, &o.RequestID, &o.Hash, &o.State, &o.Holder, &o.Tries, &at[0], &at[1], &at[2], &at[3], &at[4],
			&o.Items, &o.Done, &o.Ahead, &o.Refused, &o.Worked, &o.Failure); err != nil {
			return nil, err
		}
		for i, t := range []*time.Time{&o.AsOf, &o.Created, &o.Started, &o.Ended, &o.Expires} {
			if at[i] != 0 {
				*t = store.FromMicros(at[i])
			}
		}
		found = append(found, o)
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil { // closed before the next question: memory has one connection
		return nil, err
	}
	for i := range found {
		if found[i].Volumes, err = volumes(ctx, db, "operation = $1 ORDER BY volume", found[i].Name); err != nil {
			return nil, err
		}
	}
	return found, nil
}

func volumes(ctx context.Context, db reader, where string, args ...any) (found []store.Volume, err error) {
	rows, err := db.QueryContext(ctx, "SELECT volume, items, bytes FROM operation_volumes WHERE "+where, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close() //nolint:errcheck // what went wrong is in rows.Err
	for rows.Next() {
		var v store.Volume
		if err := rows.Scan(&v.Number, &v.Items, &v.Bytes); err != nil {
			return nil, err
		}
		found = append(found, v)
	}
	return found, rows.Err()
}

// reached is where a page of operations ended.
type reached struct {
	Shop, Name string
	Created    int64
}

// OperationsOf reads a page.
func (s *DB) OperationsOf(ctx context.Context, shop string, limit int, token string) (page []store.Operation, next string, err error) {
	from := reached{Shop: shop, Created: 1<<63 - 1}
	if token != "" {
		text, err := base64.RawURLEncoding.DecodeString(token)
		if err == nil {
			err = json.Unmarshal(text, &from)
		}
		if err != nil || from.Shop != shop {
			return nil, "", store.Errorf(store.BadQuery, "the page token is not of this list: leave it empty for the first page")
		}
	}
	if limit == 0 {
		limit = store.DefaultPage
	}
	err = s.reading(ctx, func(ctx context.Context) error {
		page, err = operations(ctx, s.db, "shop = $1 AND (create_time < $2 OR create_time = $2 AND name > $3) ORDER BY create_time DESC, name LIMIT $4",
			shop, from.Created, clean(from.Name), limit+1)
		return err
	})
	if len(page) > limit {
		page = page[:limit]
		text, err := json.Marshal(reached{shop, page[limit-1].Name, page[limit-1].Created.UnixMicro()})
		return page, base64.RawURLEncoding.EncodeToString(text), err
	}
	return page, "", err
}

// CancelOperation ends an operation before its time.
func (s *DB) CancelOperation(ctx context.Context, name string, keep time.Duration) (o store.Operation, err error) {
	err = s.writing(ctx, func(w writer) error {
		if o, err = operation(w.ctx, w.tx, name); err != nil || o.State.Ended() {
			return err
		}
		if err := w.exec("UPDATE operations SET state = 'cancelled', holder = '', end_time = $2, expire_time = $3 WHERE name = $1",
			name, w.now.UnixMicro(), w.now.Add(keep).UnixMicro()); err != nil {
			return err
		}
		if err := w.exec("DELETE FROM operation_volumes WHERE operation = $1", name); err != nil {
			return err
		}
		o, err = operation(w.ctx, w.tx, name)
		return err
	})
	return o, err
}

// DeleteOperation forgets an operation.
func (s *DB) DeleteOperation(ctx context.Context, name string) error {
	return s.writing(ctx, func(w writer) error {
		if _, err := operation(w.ctx, w.tx, name); err != nil {
			return err
		}
		return w.exec("DELETE FROM operations WHERE name = $1", name)
	})
}

// Refused reads refusals.
func (s *DB) Refused(ctx context.Context, name string, from, limit int) (why [][]byte, err error) {
	err = s.reading(ctx, func(ctx context.Context) error {
		rows, err := s.db.QueryContext(ctx, "SELECT why FROM operation_refusals WHERE operation = $1 AND place >= $2 ORDER BY place LIMIT $3", clean(name), from, limit)
		if err != nil {
			return err
		}
		defer rows.Close() //nolint:errcheck // what went wrong is in rows.Err
		for rows.Next() {
			var one []byte
			if err := rows.Scan(&one); err != nil {
				return err
			}
			why = append(why, one)
		}
		return rows.Err()
	})
	return why, err
}

// Volume reads what is known of a volume.
func (s *DB) Volume(ctx context.Context, name string, volume int) (v store.Volume, err error) {
	err = s.reading(ctx, func(ctx context.Context) error {
		found, err := volumes(ctx, s.db, "operation = $1 AND volume = $2", clean(name), volume)
		if err == nil && len(found) == 0 {
			return store.Errorf(store.NotFound, "there is no volume %d of %s: it is not made yet, or was taken away", volume, name)
		}
		if err == nil {
			v = found[0]
		}
		return err
	})
	return v, err
}

// Piece reads a piece of a volume.
func (s *DB) Piece(ctx context.Context, name string, volume, piece int) (data []byte, err error) {
	err = s.reading(ctx, func(ctx context.Context) error {
		err := s.db.QueryRowContext(ctx, "SELECT data FROM operation_pieces WHERE operation = $1 AND volume = $2 AND piece = $3", clean(name), volume, piece).Scan(&data)
		if errors.Is(err, sql.ErrNoRows) {
			return store.Errorf(store.NotFound, "volume %d of %s was taken away", volume, name)
		}
		return err
	})
	return data, err
}

// TakeOperation takes what is to be done.
func (s *DB) TakeOperation(ctx context.Context, holder string) (o store.Operation, err error) {
	err = s.writing(ctx, func(w writer) error {
		found, err := operations(w.ctx, w.tx, unfinished+" AND hold_time <= $1 ORDER BY done, create_time, name LIMIT 1", w.now.UnixMicro())
		if err != nil {
			return err
		}
		if len(found) == 0 {
			return store.Errorf(store.NotFound, "there is nothing to do")
		}
		o = found[0]
		if o.State, o.Holder, o.Ahead, o.Tries = store.Running, holder, 0, o.Tries+1; o.Started.IsZero() {
			o.Started = w.now
		}
		return w.exec("UPDATE operations SET state = 'running', holder = $2, hold_time = $3, start_time = $4, ahead = 0, tries = $5 WHERE name = $1",
			o.Name, o.Holder, w.now.Add(store.HoldTime).UnixMicro(), o.Started.UnixMicro(), o.Tries)
	})
	return o, err
}

// OperationRequest reads what was asked.
func (s *DB) OperationRequest(ctx context.Context, name string) (body []byte, err error) {
	err = s.reading(ctx, func(ctx context.Context) error {
		err := s.db.QueryRowContext(ctx, "SELECT body FROM operation_requests WHERE operation = $1", name).Scan(&body)
		if errors.Is(err, sql.ErrNoRows) {
			return store.Errorf(store.Lost, "%s was deleted", name)
		}
		return err
	})
	return body, err
}

// RewriteRequest writes what was asked in other words.
func (s *DB) RewriteRequest(ctx context.Context, held store.Operation, request []byte) error {
	return s.writing(ctx, func(w writer) error {
		if err := w.held(held, "hold_time = $4", w.now.Add(store.HoldTime).UnixMicro()); err != nil {
			return err
		}
		return w.exec("UPDATE operation_requests SET body = $2 WHERE operation = $1", held.Name, request)
	})
}

// HoldOperation goes on holding.
func (s *DB) HoldOperation(ctx context.Context, held store.Operation, p store.Progress) error {
	return s.writing(ctx, func(w writer) error {
		return w.held(held, "hold_time = $4, ahead = $5, worked = $6", w.now.Add(store.HoldTime).UnixMicro(), p.Ahead, int64(p.Worked))
	})
}

// KeepVolume keeps what was made and lets go.
func (s *DB) KeepVolume(ctx context.Context, held store.Operation, m store.Made, worked time.Duration) error {
	return s.writing(ctx, func(w writer) error {
		if err := w.held(held, "holder = '', hold_time = 0, tries = 0, ahead = 0, done = done + $4, refused = refused + $5, worked = $6",
			m.Items, len(m.Refused), int64(worked)); err != nil {
			return err
		}
		for i, why := range m.Refused {
			if err := w.exec("INSERT INTO operation_refusals (operation, place, why) VALUES ($1, $2, $3)", held.Name, held.Refused+i, why); err != nil {
				return err
			}
		}
		if m.Printed == 0 {
			return nil
		}
		number, bytes := len(held.Volumes)+1, 0
		for _, piece := range m.Pieces {
			bytes += len(piece)
		}
		if err := w.exec("INSERT INTO operation_volumes (operation, volume, items, bytes) VALUES ($1, $2, $3, $4)", held.Name, number, m.Printed, bytes); err != nil {
			return err
		}
		for i, piece := range m.Pieces {
			if err := w.exec("INSERT INTO operation_pieces (operation, volume, piece, data) VALUES ($1, $2, $3, $4)", held.Name, number, i, piece); err != nil {
				return err
			}
		}
		return nil
	})
}

// EndOperation ends an operation.
func (s *DB) EndOperation(ctx context.Context, held store.Operation, state store.OperationState, failure []byte, keep time.Duration) error {
	return s.writing(ctx, func(w writer) error {
		if err := w.held(held, "state = $4, failure = $5, end_time = $6, expire_time = $7, holder = '', hold_time = 0, ahead = 0",
			string(state), failure, w.now.UnixMicro(), w.now.Add(keep).UnixMicro()); err != nil || state == store.Succeeded {
			return err
		}
		return w.exec("DELETE FROM operation_volumes WHERE operation = $1", held.Name)
	})
}

// ReleaseOperation lets go.
func (s *DB) ReleaseOperation(ctx context.Context, held store.Operation) error {
	return s.writing(ctx, func(w writer) error { return w.held(held, "holder = '', hold_time = 0, ahead = 0, tries = tries - 1") })
}

// NextOperation is when there is something to do.
func (s *DB) NextOperation(ctx context.Context) (next time.Time, err error) {
	err = s.reading(ctx, func(ctx context.Context) error {
		var held, expires sql.NullInt64
		if err := s.db.QueryRowContext(ctx, "SELECT (SELECT MIN(hold_time) FROM operations WHERE "+unfinished+"), "+
			"(SELECT MIN(expire_time) FROM operations WHERE expire_time > 0)").Scan(&held, &expires); err != nil {
			return err
		}
		for _, at := range []sql.NullInt64{held, expires} {
			if t := store.FromMicros(at.Int64); at.Valid && (next.IsZero() || t.Before(next)) {
				next = t
			}
		}
		return nil
	})
	return next, err
}

// ExpireOperations deletes what nobody fetches any more.
func (s *DB) ExpireOperations(ctx context.Context) error {
	return s.writing(ctx, func(w writer) error {
		return w.exec("DELETE FROM operations WHERE expire_time > 0 AND expire_time <= $1", w.now.UnixMicro())
	})
}
