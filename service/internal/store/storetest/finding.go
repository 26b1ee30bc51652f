package storetest

import (
	"database/sql"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
	"arris.example/service/internal/store/sqlstore"
)

// early is when all was written that a shop of schema 4 has here.
var early = time.Date(2026, 10, 1, 8, 0, 0, 0, time.UTC)

// looks are inspections, told in this order: of what, on which day of October, and what was found.
var looks = []struct {
	of    string
	day   int
	found shop.Finding
}{
	{"stations/regular", 9, shop.Sound}, {"stations/regular", 12, shop.Unsafe}, {"stations/regular", 11, shop.Attention},
	{"stations/older", 3, shop.Attention}, {"wheels/again", 3, shop.Unsafe}, {"wheels/again", 4, shop.Sound},
	{"holders/twice", 5, shop.Unsafe}, {"holders/twice", 5, shop.Sound}, {"holders/gone", 6, shop.Unsafe},
	{"tools/skew", 7, shop.Unsafe}, {"gauges/block", 8, shop.Unsafe},
}

// old makes a record's body as schema 4 had it, with or without what was known of inspections before.
var old = map[string]func(body string) string{
	"known":   func(body string) string { return strings.Replace(body, `,"Finding":0}`, "}", 1) },
	"unknown": func(body string) string { return body[:strings.LastIndex(body, `,"Inspecting":{`)] + "}" },
}

// Finding holds the step to schema 5 to its word, on an empty database: what the newest inspection found is in the record from then on.
func Finding(t *testing.T, db *sql.DB, dialect sqlstore.Dialect, steps fs.FS, open func() (store.Store, error)) {
	four := fstest.MapFS{}
	for _, name := range []string{"00001_records.sql", "00002_keys.sql", "00003_operations.sql", "00004_due.sql"} {
		text, err := fs.ReadFile(steps, name)
		if err != nil {
			t.Fatal(err)
		}
		four[name] = &fstest.MapFile{Data: text}
	}
	if err := sqlstore.Migrate(t.Context(), db, dialect, four); err != nil {
		t.Fatal(err)
	}
	// Its reason is written to look like a field: what people wrote stays as it is.
	hostile := `","Inspecting":{"Every":{"Known":true,"Value":7},"Last":"x","Due":"y","Occurred":"` + "\x00"
	weekly := shop.Inspecting{Every: shop.Some(7), Last: early.AddDate(0, 0, 8), Due: early.AddDate(0, 0, 15)}
	regular := shop.Station{Name: main + "/stations/regular", DisplayName: "{}", StateReason: hostile, Inspecting: weekly}
	older := shop.Station{Name: main + "/stations/older", StateReason: hostile}
	again := shop.Wheel{Name: main + "/wheels/again", Diameter: 187.30000000000001}
	twice := shop.Holder{Name: main + "/holders/twice"}
	gone := shop.Holder{Name: main + "/holders/gone"}
	never := shop.Station{Name: main + "/stations/never", Inspecting: shop.Inspecting{Every: shop.Some(7), Due: early}}
	keep(t, db, regular, "known", false)
	keep(t, db, older, "unknown", false)
	keep(t, db, again, "known", false)
	keep(t, db, twice, "unknown", false)
	keep(t, db, gone, "known", true)
	keep(t, db, never, "known", false)
	keep(t, db, shop.Tool{Name: main + "/tools/skew"}, "", false)
	keep(t, db, shop.Gauge{Name: main + "/gauges/block"}, "", false)
	for n, l := range looks {
		keep(t, db, shop.Inspection{Name: fmt.Sprintf("%s/inspections/i%d", main, n), Subject: main + "/" + l.of, Finding: l.found, Notes: hostile, Occurred: october(l.day)}, "", false)
	}

	s, err := open()
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Close() }() // only read
	if err := s.Check(t.Context()); err != nil {
		t.Error(err)
	}
	regular.Inspecting.Last, regular.Inspecting.Finding = october(12), shop.Unsafe
	older.Inspecting.Last, older.Inspecting.Finding = october(3), shop.Attention
	again.Inspecting.Last, again.Inspecting.Finding = october(4), shop.Sound
	twice.Inspecting.Last, twice.Inspecting.Finding = october(5), shop.Unsafe
	gone.Inspecting.Last, gone.Inspecting.Finding = october(6), shop.Unsafe
	is(t, s, regular.Name, 2, regular)
	is(t, s, older.Name, 2, older)
	is(t, s, again.Name, 2, again)
	is(t, s, twice.Name, 2, twice)
	is(t, s, gone.Name, 2, gone)
	is(t, s, never.Name, 1, never)
	is(t, s, main+"/tools/skew", 1, shop.Tool{Name: main + "/tools/skew"})
	for finding, want := range map[shop.Finding][]string{shop.NoFinding: {never.Name}, shop.Attention: {older.Name}, shop.Unsafe: {regular.Name}} {
		page, _, err := s.Find(t.Context(), store.Query{Shop: main, Kind: "stations", Filter: store.Where(store.ByFinding, fmt.Sprint(int(finding)))})
		var got []string
		for _, r := range page {
			got = append(got, r.Name)
		}
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("finding %d: %v, %v, want %v", finding, got, err, want)
		}
	}
	// What counted then had no finding, and still has none.
	r, err := s.Get(t.Context(), regular.Name, october(20))
	if err != nil {
		t.Fatal(err)
	}
	if then, err := store.Unpack[shop.Station](r); err != nil || r.Version != 1 || then.Inspecting != weekly {
		t.Errorf("as of then: version %d, %+v, %v", r.Version, then.Inspecting, err)
	}
}

func october(day int) time.Time { return time.Date(2026, 10, day, 7, 30, 0, 250e6, time.UTC) }

// keep writes a record's first version as schema 4 did.
func keep(t *testing.T, db *sql.DB, record any, form string, deleted bool) {
	t.Helper()
	d, err := store.Pack(record)
	if err != nil {
		t.Fatal(err)
	}
	if change, ok := old[form]; ok {
		d.Body = change(d.Body)
	}
	at, occurred := early.UnixMicro(), early.UnixMicro()
	if !d.Occurred.IsZero() {
		occurred = d.Occurred.UnixMicro()
	}
	gone := sql.NullInt64{Int64: at, Valid: deleted}
	columns := `name, uid, version, shop, kind, parent, display_name, class, state, station, wheel, tool, recipe, holder, external_ids, body,
		occur_time, due_time, create_time, update_time, delete_time`
	values := "$1, $1, 1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, '[]', $13, $14, $15, $16, $16, $17"
	row := []any{
		d.Name, store.ShopOf(d.Name), store.KindOf(d.Name), store.ParentOf(d.Name), d.DisplayName, d.Class, d.State, d.Station, d.Wheel, d.Tool,
		d.Recipe, d.Holder, d.Body, occurred, store.DueMicros(d.Due), at, gone,
	}
	for _, statement := range []string{
		"INSERT INTO records (" + columns + ") VALUES (" + values + ")",
		"INSERT INTO history (" + columns + ", person, method, request_id) VALUES (" + values + ", '', '', '')",
	} {
		if _, err := db.ExecContext(t.Context(), statement, row...); err != nil {
			t.Fatal(err)
		}
	}
}

// is tells whether a record is kept so, in its version.
func is[T any](t *testing.T, s store.Store, name string, version int64, want T) {
	t.Helper()
	r, err := s.Get(t.Context(), name, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	got, err := store.Unpack[T](r)
	if err != nil || r.Version != version {
		t.Errorf("%s: version %d, want %d; %v", name, r.Version, version, err)
	}
	if diff := gocmp.Diff(want, got); diff != "" {
		t.Errorf("%s is not what was wanted (-):\n%s", name, diff)
	}
	if d, err := store.Pack(got); err != nil || d.Finding != r.Finding || d.Due.UnixMicro() != r.Due.UnixMicro() {
		t.Errorf("%s: its columns have finding %q, due %v; its body %q, %v", name, r.Finding, r.Due, d.Finding, d.Due)
	}
}
