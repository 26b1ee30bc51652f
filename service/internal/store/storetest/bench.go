package storetest

import (
	"database/sql"
	"fmt"
	"os"
	"slices"
	"strconv"
	"testing"
	"time"

	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// Bench measures a store with many recipes (ARRIS_BENCH_RECORDS, 5,000 unless said): a point read in turns with the bare driver's, then
// the first page, a page deep in the list, and a page by an indexed filter, each with its 99th percentile.
func Bench(b *testing.B, s store.Store, db *sql.DB) {
	count := 5000
	if text := os.Getenv("ARRIS_BENCH_RECORDS"); text != "" {
		var err error
		if count, err = strconv.Atoi(text); err != nil {
			b.Fatal(err)
		}
	}
	fill(b, s, count)
	name := func(i int) string { return fmt.Sprintf("%s/recipes/r%07d", main, i*7919%count) }
	b.Run("read", func(b *testing.B) { readInTurns(b, s, db, name) })
	b.Run("recipe by name", func(b *testing.B) {
		for i := range b.N {
			if _, err := (store.Named{Store: s}).Recipe(ctx, name(i), time.Time{}); err != nil {
				b.Fatal(err)
			}
		}
	})
	q := store.Query{Shop: main, Kind: "recipes", Limit: 50}
	pages(b, "first page", s, q)
	deep := q
	deep.Token = q.After(store.Record{Draft: store.Draft{Name: fmt.Sprintf("%s/recipes/r%07d", main, count*9/10)}}, 0)
	pages(b, "deep page", s, deep)
	q.Filter = store.Where(store.ByHolder, main+"/holders/h7")
	pages(b, "filtered page", s, q)
	q = store.Query{Shop: main, Kind: "recipes", Limit: 50, OrderBy: store.ByUpdated, Down: true}
	pages(b, "newest first", s, q)
}

// readInTurns reads some records through the store and others through the bare driver, in turns, so that neither finds more in the caches.
// The driver gets what makes it fastest: a prepared statement, and cells that are read as they come.
func readInTurns(b *testing.B, s store.Store, db *sql.DB, name func(int) string) {
	bare, err := db.PrepareContext(ctx, `SELECT name, uid, version, display_name, class, state, station, wheel, tool, recipe, holder,
		external_ids, body, occur_time, create_time, update_time, delete_time FROM records WHERE name = $1`)
	if err != nil {
		b.Fatal(err)
	}
	defer bare.Close() //nolint:errcheck // it was only read
	var cells, into [17]any
	for i := range cells {
		into[i] = &cells[i]
	}
	var ours, theirs time.Duration
	for i := range b.N {
		start := time.Now()
		if _, err := s.Get(ctx, name(2*i), time.Time{}); err != nil {
			b.Fatal(err)
		}
		between := time.Now()
		if err := bare.QueryRowContext(ctx, name(2*i+1)).Scan(into[:]...); err != nil {
			b.Fatal(err)
		}
		ours, theirs = ours+between.Sub(start), theirs+time.Since(between)
	}
	b.ReportMetric(0, "ns/op") // both together say nothing
	b.ReportMetric(float64(ours.Nanoseconds())/float64(b.N), "ns-store")
	b.ReportMetric(float64(theirs.Nanoseconds())/float64(b.N), "ns-bare")
	b.ReportMetric(float64(ours)/float64(theirs), "×bare")
}

func pages(b *testing.B, what string, s store.Store, q store.Query) {
	b.Run(what, func(b *testing.B) {
		var times []float64
		for range b.N {
			start := time.Now()
			page, _, err := s.Find(ctx, q)
			if err != nil || len(page) == 0 {
				b.Fatal(len(page), err)
			}
			times = append(times, float64(time.Since(start).Microseconds()))
		}
		b.ReportMetric(percentile(times, 0.99), "µs-p99")
	})
}

// fill puts the recipes there, a thousand a change.
func fill(b *testing.B, s store.Store, count int) {
	b.Helper()
	for from := 0; from < count; from += 1000 {
		_, err := s.Change(ctx, main, store.Caller{Person: "bench"}, func(tx store.Tx) error {
			for i := from; i < min(from+1000, count); i++ {
				r := shop.Recipe{Name: fmt.Sprintf("%s/recipes/r%07d", main, i), DisplayName: fmt.Sprintf("Recipe %d", i), Revision: 1, Published: true,
					Holder: fmt.Sprintf("%s/holders/h%d", main, i%100)}
				d, err := store.Pack(store.RecipeHead{Newest: r, Published: shop.Some(r)})
				if err != nil {
					return err
				}
				if _, err := tx.Create(d); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
	}
}

func percentile(of []float64, share float64) float64 {
	slices.Sort(of)
	return of[int(share*float64(len(of)-1))]
}
