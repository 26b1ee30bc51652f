package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/pressly/goose/v3"

	"arris.example/service/internal/store"
	"arris.example/service/internal/store/sqlstore"
	"arris.example/service/internal/store/storetest"
)

func TestPromises(t *testing.T) {
	storetest.Run(t, func(t testing.TB) storetest.Opener {
		path := filepath.Join(t.TempDir(), "shop.db")
		return storetest.Opener{Open: func(clock func() time.Time) (store.Store, error) {
			return Open(t.Context(), Options{Path: path, Who: "a test", Clock: clock})
		}}
	})
}

func opened(t *testing.T, o Options) *Store {
	t.Helper()
	s, err := Open(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func refused(t *testing.T, err error, kind store.Kind, says string) {
	t.Helper()
	if !store.Is(err, kind) || !strings.Contains(err.Error(), says) {
		t.Fatalf("got %v, want kind %d that says %q", err, kind, says)
	}
}

func put(ctx context.Context, s store.Store, ids ...string) error {
	_, err := s.Change(ctx, "shops/main", store.Caller{}, func(tx store.Tx) error {
		for _, id := range ids {
			if _, err := tx.Create(store.Draft{Name: "shops/main/tools/" + id, Body: strings.Repeat("x", 2000)}); err != nil {
				return err
			}
		}
		return nil
	})
	return err
}

func has(t *testing.T, s store.Store, ids ...string) {
	t.Helper()
	for _, id := range ids {
		if _, err := s.Get(t.Context(), "shops/main/tools/"+id, time.Time{}); err != nil {
			t.Error(err)
		}
	}
	if err := s.Check(t.Context()); err != nil {
		t.Error(err)
	}
}

func TestEveryCommitIsSynced(t *testing.T) {
	s := opened(t, Options{Path: filepath.Join(t.TempDir(), "shop.db")})
	var journal string
	var sync int
	if err := s.SQL().QueryRow("PRAGMA journal_mode").Scan(&journal); err != nil {
		t.Fatal(err)
	}
	if err := s.SQL().QueryRow("PRAGMA synchronous").Scan(&sync); err != nil {
		t.Fatal(err)
	}
	if journal != "wal" || sync != 2 {
		t.Errorf("journal %s, synchronous %d; want wal and 2 (full)", journal, sync)
	}
}

func TestOneProcessAtATime(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop's file?.db")
	s := opened(t, Options{Path: path, Who: "arrisd on localhost:8080"})
	_, err := Open(t.Context(), Options{Path: path, Who: "arris"})
	refused(t, err, store.Locked, "arrisd on localhost:8080")
	refused(t, err, store.Locked, "--server")
	refused(t, Restore(t.Context(), backup(t, s), path, "arris"), store.Locked, "--server")
	opened(t, Options{Path: path, ReadOnly: true})
	s.Close()
	opened(t, Options{Path: path})
	if _, err := os.Stat(path); err != nil {
		t.Error("the file has another name than it was given")
	}
}

func backup(t *testing.T, s *Store) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "backup.db")
	if err := s.Backup(t.Context(), to); err != nil {
		t.Fatal(err)
	}
	return to
}

// A later migration runs on a shop that has records; the program before it refuses what came out and changes nothing.
func TestMigrationsOnLiveDataAndNewerRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	steps := fstest.MapFS{}
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
	s := opened(t, Options{Path: path})
	if err := put(t.Context(), s, "a", "b"); err != nil {
		t.Fatal(err)
	}
	s.Close()
	broken := fstest.MapFS{"00099_broken.sql": {Data: []byte("-- +goose Up\nALTER TABLE records ADD COLUMN more TEXT;\nNONSENSE;\n")}}
	for name, file := range steps {
		broken[name] = file
	}
	if _, err := Open(t.Context(), Options{Path: path, steps: broken}); err == nil {
		t.Fatal("a broken migration passed")
	}
	has(t, opened(t, Options{Path: path, ReadOnly: true}), "a", "b") // it left the schema as it was
	steps["00099_later.sql"] = &fstest.MapFile{Data: []byte("-- +goose Up\nALTER TABLE records ADD COLUMN more TEXT;\n")}
	s = opened(t, Options{Path: path, steps: steps})
	has(t, s, "a", "b")
	s.Close()
	_, err = Open(t.Context(), Options{Path: path})
	refused(t, err, store.Newer, "schema 99")
	has(t, opened(t, Options{Path: path, steps: steps}), "a", "b")
}

// A shop whose inspections were kept before records said what was found says it from the next start on.
func TestFindingsOfOlderShops(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	db, err := sql.Open("sqlite", dsn(Options{Path: path}))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	steps, err := fs.Sub(embedded, "migrations")
	if err != nil {
		t.Fatal(err)
	}
	storetest.Finding(t, db, sqlstore.Dialect{Name: goose.DialectSQLite3, Fault: Fault}, steps, func() (store.Store, error) {
		return Open(t.Context(), Options{Path: path})
	})
}

func TestDamagedFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	if err := os.WriteFile(path, []byte(strings.Repeat("no database ", 1000)), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Open(t.Context(), Options{Path: path})
	refused(t, err, store.Damaged, "backup")
	s := opened(t, Options{Path: filepath.Join(t.TempDir(), "ok.db")})
	if err := put(t.Context(), s, "a"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.SQL().Exec("DELETE FROM history"); err != nil {
		t.Fatal(err)
	}
	refused(t, s.Check(t.Context()), store.Damaged, "shops/main/tools/a")
	s = opened(t, Options{Path: filepath.Join(t.TempDir(), "printed.db")})
	if _, err := s.StartOperation(t.Context(), store.Operation{Name: "shops/main/operations/o", Items: 1}, []byte("ask")); err != nil {
		t.Fatal(err)
	}
	o, err := s.TakeOperation(t.Context(), "me")
	if err != nil {
		t.Fatal(err)
	}
	if err := s.KeepVolume(t.Context(), o, store.Made{Items: 1, Printed: 1, Pieces: [][]byte{{1}, {2}}}, 0); err != nil {
		t.Fatal(err)
	}
	if err := s.Check(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, err := s.SQL().Exec("DELETE FROM operation_pieces WHERE piece = 1"); err != nil {
		t.Fatal(err)
	}
	refused(t, s.Check(t.Context()), store.Damaged, "shops/main/operations/o has lost pieces")
}

// A file that has something else in it is not touched.
func TestAnotherProgramsFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "photos.db")
	other, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := other.Exec("CREATE TABLE photos (name TEXT)"); err != nil {
		t.Fatal(err)
	}
	other.Close()
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, readOnly := range []bool{false, true} {
		_, err := Open(t.Context(), Options{Path: path, ReadOnly: readOnly})
		refused(t, err, store.Damaged, "another program")
	}
	after, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(before[100:], after[100:]) { // the header says how it is journalled
		t.Error("it was changed")
	}
	empty := filepath.Join(t.TempDir(), "empty.db")
	if err := os.WriteFile(empty, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = Open(t.Context(), Options{Path: empty, ReadOnly: true})
	refused(t, err, store.Damaged, "no shop in it")
}

func TestReadOnly(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	s := opened(t, Options{Path: path})
	if err := put(t.Context(), s, "a"); err != nil {
		t.Fatal(err)
	}
	read := opened(t, Options{Path: path, ReadOnly: true})
	refused(t, put(t.Context(), read, "b"), store.ReadOnly, "nothing was changed")
	has(t, read, "a")
	_, err := Open(t.Context(), Options{Path: filepath.Join(t.TempDir(), "no", "folder", "shop.db")})
	if err == nil {
		t.Error("opened in a folder that is not there")
	}
}

func TestFullDisk(t *testing.T) {
	s := opened(t, Options{Path: filepath.Join(t.TempDir(), "shop.db"), pragmas: []string{"max_page_count(120)"}})
	kept := []string{}
	for i := 0; ; i++ {
		if i == 1000 {
			t.Fatal("it never got full")
		}
		pair := []string{fmt.Sprintf("a%d", i), fmt.Sprintf("b%d", i)}
		err := put(t.Context(), s, pair...)
		if err != nil {
			refused(t, err, store.Full, "no room")
			if _, err := s.Get(t.Context(), "shops/main/tools/"+pair[0], time.Time{}); !store.Is(err, store.NotFound) {
				t.Errorf("half a change: %v", err)
			}
			break
		}
		kept = append(kept, pair...)
	}
	has(t, s, kept...)
}

func TestBackupWhileWritingAndRestore(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	s := opened(t, Options{Path: path})
	if err := put(t.Context(), s, "before"); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	writing := make(chan error)
	go func() {
		for i := 0; ctx.Err() == nil; i++ {
			if err := put(context.WithoutCancel(ctx), s, fmt.Sprintf("w%d", i)); err != nil {
				writing <- err
				return
			}
		}
		writing <- nil
	}()
	kept := backup(t, s)
	stop()
	if err := <-writing; err != nil {
		t.Fatal(err)
	}
	refused(t, s.Backup(t.Context(), kept), store.Taken, "exists")
	if err := put(t.Context(), s, "after"); err != nil {
		t.Fatal(err)
	}
	s.Close()
	bad := filepath.Join(t.TempDir(), "bad.db")
	if err := os.WriteFile(bad, []byte(strings.Repeat("bad", 2000)), 0o600); err != nil {
		t.Fatal(err)
	}
	refused(t, Restore(t.Context(), bad, path, "a test"), store.Damaged, "damaged")
	if err := Restore(t.Context(), kept, path, "a test"); err != nil {
		t.Fatal(err)
	}
	s = opened(t, Options{Path: path})
	has(t, s, "before")
	if _, err := s.Get(t.Context(), "shops/main/tools/after", time.Time{}); !store.Is(err, store.NotFound) {
		t.Errorf("what came after the backup: %v", err)
	}
	has(t, opened(t, Options{Path: path + ".before-restore", ReadOnly: true}), "before", "after")
	if _, err := os.Stat(path + ".part"); !errors.Is(err, fs.ErrNotExist) {
		t.Error("a part was left behind")
	}
}

func BenchmarkStore(b *testing.B) {
	s, err := Open(b.Context(), Options{Path: filepath.Join(b.TempDir(), "shop.db")})
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	storetest.Bench(b, s, s.SQL())
}
