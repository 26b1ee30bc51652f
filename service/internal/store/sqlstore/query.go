package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"arris.example/service/internal/store"
)

// reader is a database or a transaction.
type reader interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// columns are what a record is read from; shop, kind and parent are in its name.
const columns = `name, uid, version, display_name, class, state, station, wheel, tool, recipe, holder, external_ids, body,
	occur_time, due_time, finding, create_time, update_time, delete_time`

const getRecord = `SELECT ` + columns + ` FROM records WHERE name = $1`

const insertRecord = `INSERT INTO records (` + columns + `, shop, kind, parent)
	VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22)`

const insertHistory = `INSERT INTO history (` + columns + `, shop, kind, parent, person, method, request_id)
	VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23, $24, $25)`

// rowOf is a record as the arguments of insertRecord.
func rowOf(r store.Record) ([]any, error) {
	ids, err := idsOf(r.ExternalIDs)
	if err != nil {
		return nil, err
	}
	deleted := sql.NullInt64{Int64: r.Deleted.UnixMicro(), Valid: !r.Deleted.IsZero()}
	return []any{
		r.Name, r.UID, r.Version, r.DisplayName, r.Class, r.State, r.Station, r.Wheel, r.Tool, r.Recipe, r.Holder, ids, r.Body,
		r.Occurred.UnixMicro(), store.DueMicros(r.Due), r.Finding, r.Created.UnixMicro(), r.Updated.UnixMicro(), deleted,
		store.ShopOf(r.Name), store.KindOf(r.Name), store.ParentOf(r.Name),
	}, nil
}

// scan reads a record and, behind its columns, what else was selected.
func scan(row interface{ Scan(...any) error }, also ...any) (r store.Record, err error) {
	var ids string
	var occurred, due, created, updated int64
	var deleted sql.NullInt64
	fields := []any{
		&r.Name, &r.UID, &r.Version, &r.DisplayName, &r.Class, &r.State, &r.Station, &r.Wheel, &r.Tool, &r.Recipe, &r.Holder, &ids, &r.Body,
		&occurred, &due, &r.Finding, &created, &updated, &deleted,
	}
	if err := row.Scan(append(fields, also...)...); err != nil {
		return r, err
	}
	r.Occurred, r.Due, r.Created, r.Updated = store.FromMicros(occurred), store.DueFrom(due), store.FromMicros(created), store.FromMicros(updated)
	if deleted.Valid {
		r.Deleted = store.FromMicros(deleted.Int64)
	}
	r.ExternalIDs, err = idsFrom(ids)
	return r, err
}

// one reads a single record, or says what there is not.
func one(row *sql.Row, what string) (store.Record, error) {
	r, err := scan(row)
	if errors.Is(err, sql.ErrNoRows) {
		return r, store.Errorf(store.NotFound, "there is no %s", what)
	}
	return r, err
}

// clean is a text that may be asked for: databases refuse some that no record has.
func clean(text string) string {
	if strings.ContainsRune(text, 0) {
		return ""
	}
	return strings.ToValidUTF8(text, "")
}

func get(ctx context.Context, db reader, name string, asOf time.Time) (store.Record, error) {
	if clean(name) != name {
		return store.Record{}, store.Errorf(store.NotFound, "there is no %.80q", name)
	}
	if asOf.IsZero() {
		return one(db.QueryRowContext(ctx, getRecord, name), name)
	}
	return one(db.QueryRowContext(ctx, "SELECT "+columns+" FROM history WHERE name = $1 AND update_time <= $2 ORDER BY version DESC LIMIT 1",
		name, asOf.UnixMicro()), name+" at "+asOf.UTC().Format(time.RFC3339))
}

func external(ctx context.Context, db reader, shop string, id store.ExternalID) (store.Record, error) {
	return one(db.QueryRowContext(ctx, "SELECT "+columns+" FROM records WHERE name = (SELECT name FROM external_ids WHERE shop = $1 AND system = $2 AND value = $3)",
		clean(shop), clean(id.System), clean(id.Value)), fmt.Sprintf("record that %s calls %q", id.System, id.Value))
}

func changes(ctx context.Context, db reader, where string, args ...any) ([]store.Change, error) {
	rows, err := db.QueryContext(ctx, "SELECT "+columns+", seq, person, method, request_id FROM history WHERE "+where, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close() //nolint:errcheck // rows.Err has said what went wrong
	var found []store.Change
	for rows.Next() {
		var c store.Change
		c.Record, err = scan(rows, &c.Seq, &c.Caller.Person, &c.Caller.Method, &c.Caller.RequestID)
		if err != nil {
			return nil, err
		}
		found = append(found, c)
	}
	return found, rows.Err()
}

// statement grows a query; every argument takes the next number, in order.
type statement struct {
	text strings.Builder
	args []any
}

// add appends text whose question marks are the values.
func (s *statement) add(text string, values ...any) {
	for _, value := range values {
		before, after, _ := strings.Cut(text, "?")
		s.args = append(s.args, value)
		s.text.WriteString(before + "$" + strconv.Itoa(len(s.args)))
		text = after
	}
	s.text.WriteString(text)
}

// find reads a page and one record more, which tells whether there is a next.
func find(ctx context.Context, db reader, q store.Query) ([]store.Record, string, error) {
	if err := q.Validate(); err != nil {
		return nil, "", err
	}
	limit := q.Limit
	if limit == 0 {
		limit = store.DefaultPage
	}
	s, err := pageOf(q, limit+1)
	if err != nil || s == nil {
		return nil, "", err
	}
	rows, err := db.QueryContext(ctx, s.text.String(), s.args...)
	if err != nil {
		return nil, "", err
	}
	defer rows.Close() //nolint:errcheck // rows.Err has said what went wrong
	var page []store.Record
	var ranks []int64
	for rows.Next() {
		var rank int64
		r, err := scan(rows, &rank)
		if err != nil {
			return nil, "", err
		}
		page, ranks = append(page, r), append(ranks, rank)
	}
	if err := rows.Err(); err != nil || len(page) <= limit {
		return page, "", err
	}
	return page[:limit], q.After(page[limit-1], ranks[limit-1]), nil
}

// pageOf is the statement that reads a page; nil where the search has nothing to look for.
func pageOf(q store.Query, limit int) (*statement, error) {
	var after any
	var name string
	if q.Token != "" {
		var err error
		if after, name, err = q.From(); err != nil {
			return nil, err
		}
	}
	s := &statement{}
	if q.Search != "" {
		return searchPage(s, q, after, name, limit)
	}
	from(s, q)
	narrow(s, q)
	column, way, beyond := string(q.OrderBy), "ASC", ">"
	if column == "" {
		column = "name"
	}
	if q.Down {
		way, beyond = "DESC", "<"
	}
	if q.Token != "" {
		s.add(" AND (t."+column+", t.name) "+beyond+" (?, ?)", after, name)
	}
	order := " ORDER BY t." + column + " " + way
	if column != "name" {
		order += ", t.name " + way
	}
	s.add(order+" LIMIT ?", limit)
	return s, nil
}

// from begins a statement on the records as they are, or as they were.
func from(s *statement, q store.Query) {
	if q.AsOf.IsZero() {
		s.add("SELECT "+columns+", 0 FROM records t WHERE t.shop = ? AND t.kind = ?", q.Shop, q.Kind)
		return
	}
	s.add("SELECT "+columns+", 0 FROM history t WHERE t.shop = ? AND t.kind = ?", q.Shop, q.Kind)
	s.add(" AND t.version = (SELECT MAX(u.version) FROM history u WHERE u.name = t.name AND u.update_time <= ?)", q.AsOf.UnixMicro())
}

// narrow adds what a query asks besides its shop, kind and order.
func narrow(s *statement, q store.Query) {
	if q.Parent != "" {
		s.add(" AND t.parent = ?", q.Parent)
	}
	if !q.Deleted {
		s.add(" AND t.delete_time IS NULL")
	}
	if q.Filter.Op != "" {
		s.add(" AND ")
		filter(s, q.Shop, q.Filter)
	}
}

func filter(s *statement, shop string, f store.Filter) {
	switch f.Op {
	case "":
		s.add("1 = 1")
	case "not":
		s.add("NOT (")
		filter(s, shop, f.Of[0])
		s.add(")")
	case "and", "or":
		for i, of := range f.Of {
			s.add([]string{"(", " " + f.Op + " "}[min(i, 1)])
			filter(s, shop, of)
		}
		s.add(")")
	default:
		if f.Column == store.ByExternalID {
			system, value, _ := strings.Cut(f.Value.(string), ":") //nolint:errcheck,forcetypeassert // the query was validated
			s.add("t.name "+f.Op+" COALESCE((SELECT e.name FROM external_ids e WHERE e.shop = ? AND e.system = ? AND e.value = ?), '')", shop, system, value)
			return
		}
		value := f.Value
		if f.Column.IsTime() {
			value, _ = store.Micros(f.Value) // the query was validated
		}
		s.add("t."+string(f.Column)+" "+f.Op+" ?", value)
	}
}

// likeness is the share of a search's trigrams that a record has to have, in per cent.
const likeness = 40

// searchPage reads the records that share most trigrams with the search, ties by name.
func searchPage(s *statement, q store.Query, after any, name string, limit int) (*statement, error) {
	grams := store.Trigrams(store.Fold(q.Search))
	if len(grams) == 0 {
		return nil, nil //nolint:nilnil // nothing to look for finds nothing
	}
	s.add("SELECT "+columns+", shared FROM (SELECT name AS hit, COUNT(*) AS shared FROM trigrams WHERE shop = ? AND kind = ? AND gram IN (", q.Shop, q.Kind)
	for i, g := range grams {
		s.add([]string{"?", ", ?"}[min(i, 1)], g)
	}
	s.add(") GROUP BY name HAVING COUNT(*) * 100 >= ?) h JOIN records t ON t.name = h.hit WHERE 1 = 1", likeness*len(grams))
	narrow(s, q)
	if q.Token != "" {
		s.add(" AND (shared < ? OR shared = ? AND t.name > ?)", after, after, name)
	}
	s.add(" ORDER BY shared DESC, t.name LIMIT ?", limit)
	return s, nil
}

// gramRows are the values of n trigrams of one record, whose shop, kind and name are $1 to $3.
func gramRows(n int) string {
	var b strings.Builder
	for i := range n {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString("($1, $2, $3, $" + strconv.Itoa(4+i) + ")")
	}
	return b.String()
}
