//go:build unix

package postgres

import (
	"context"
	"database/sql"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"testing/fstest"
	"time"

	"github.com/pressly/goose/v3"

	"arris.example/deploy/postgrestest"
	"arris.example/service/internal/store"
	"arris.example/service/internal/store/sqlstore"
	"arris.example/service/internal/store/storetest"
)

var server *postgrestest.Server

func TestMain(m *testing.M) {
	os.Exit(func() int {
		var err error
		if server, err = postgrestest.Start(); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		if server != nil {
			defer server.Stop()
		}
		return m.Run()
	}())
}

func address(t testing.TB) string {
	t.Helper()
	if server == nil {
		t.Skip("PostgreSQL is not installed here (Debian's postgresql)")
	}
	return server.Database(t)
}

func TestPromises(t *testing.T) {
	storetest.Run(t, func(t testing.TB) storetest.Opener {
		url := address(t)
		return storetest.Opener{Open: func(clock func() time.Time) (store.Store, error) {
			return Open(t.Context(), Options{URL: url, Clock: clock})
		}}
	})
}

func put(ctx context.Context, s store.Store, id string) error {
	_, err := s.Change(ctx, "shops/main", store.Caller{}, func(tx store.Tx) error {
		_, err := tx.Create(store.Draft{Name: "shops/main/tools/" + id, Body: "{}"})
		return err
	})
	return err
}

func refused(t *testing.T, err error, kind store.Kind, says string) {
	t.Helper()
	if !store.Is(err, kind) || !strings.Contains(err.Error(), says) {
		t.Fatalf("got %v, want kind %d that says %q", err, kind, says)
	}
}

// While the database is away the store says so within the caller's time, keeps nothing, and comes back by itself.
func TestDatabaseAwayAndBack(t *testing.T) {
	url := address(t)
	s, err := Open(t.Context(), Options{URL: url})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if err := put(t.Context(), s, "before"); err != nil {
		t.Fatal(err)
	}
	ask := func() (error, error) {
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		_, err := s.Get(ctx, "shops/main/tools/before", time.Time{})
		ctx, cancel = context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		return err, put(ctx, s, "meanwhile")
	}
	for _, outage := range []struct {
		what       string
		away, back func() error
	}{
		{"stopped", server.StopNow, server.Start},
		{"paused", func() error { return server.Signal(syscall.SIGSTOP) }, func() error { return server.Signal(syscall.SIGCONT) }},
	} {
		if err := outage.away(); err != nil {
			t.Fatal(err)
		}
		reading, writing := ask()
		if err := outage.back(); err != nil {
			t.Fatal(err)
		}
		refused(t, reading, store.Unavailable, "")
		refused(t, writing, store.Unavailable, "")
		comeBack(t, s)
		if _, err := s.Get(t.Context(), "shops/main/tools/meanwhile", time.Time{}); !store.Is(err, store.NotFound) {
			t.Errorf("%s: what was refused: %v", outage.what, err)
		}
	}
	if err := s.Check(t.Context()); err != nil {
		t.Error(err)
	}
	_, err = Open(t.Context(), Options{URL: "host=" + t.TempDir() + " user=nobody"})
	refused(t, err, store.Unavailable, "")
}

// comeBack waits until the store answers again. A broken connection may cost a call or two.
func comeBack(t *testing.T, s store.Store) {
	t.Helper()
	var err error
	for range 100 {
		if _, err = s.Get(t.Context(), "shops/main/tools/before", time.Time{}); err == nil {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatalf("it does not come back: %v", err)
}

func TestMigrationsOnLiveDataAndNewerRefused(t *testing.T) {
	url := address(t)
	steps := fstest.MapFS{"00099_later.sql": {Data: []byte("-- +goose Up\nALTER TABLE records ADD COLUMN more TEXT;\n")}}
	names, err := fs.Glob(embedded, "migrations/*.sql")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		text, err := embedded.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		steps[filepath.Base(name)] = &fstest.MapFile{Data: text}
	}
	for i, o := range []Options{{URL: url}, {URL: url, steps: steps}} {
		s, err := Open(t.Context(), o)
		if err != nil {
			t.Fatal(err)
		}
		if err := put(t.Context(), s, fmt.Sprint("a", i)); err != nil {
			t.Fatal(err)
		}
		if _, err := s.Get(t.Context(), "shops/main/tools/a0", time.Time{}); err != nil {
			t.Error(err)
		}
		s.Close()
	}
	_, err = Open(t.Context(), Options{URL: url})
	refused(t, err, store.Newer, "schema 99")
}

// A shop whose inspections were kept before records said what was found says it from the next start on.
func TestFindingsOfOlderShops(t *testing.T) {
	url := address(t)
	db, err := sql.Open("pgx", url)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	steps, err := fs.Sub(embedded, "migrations")
	if err != nil {
		t.Fatal(err)
	}
	storetest.Finding(t, db, sqlstore.Dialect{Name: goose.DialectPostgres, Fault: Fault}, steps, func() (store.Store, error) {
		return Open(t.Context(), Options{URL: url})
	})
}

func BenchmarkStore(b *testing.B) {
	s, err := Open(b.Context(), Options{URL: address(b)})
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	storetest.Bench(b, s, s.SQL())
}
