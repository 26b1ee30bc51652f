package service

import (
	"context"
	"errors"
	"fmt"

	"strings"
	"time"

	"arris.example/service/internal/demo"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
	"arris.example/service/internal/store/postgres"
	"arris.example/service/internal/store/sqlite"
)

// openPatience is how long opening a store may take, with its migrations.
const openPatience = time.Minute

// openStore opens what the config names, and sees that the default shop is in it.
func openStore(cfg Config) (store.Store, error) {
	if cfg.Store == "" && !cfg.Demo {
		return store.None{}, nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), openPatience)
	defer cancel()
	clock := &clock{seeding: true}
	s, err := dialStore(ctx, cfg, clock.now)
	if err != nil {
		return nil, fmt.Errorf("service: %w", err)
	}
	if cfg.ReadOnlyStore {
		clock.seeding = false
		return s, nil
	}
	if err := seed(ctx, s, cfg.Demo); err != nil {
		return nil, errors.Join(fmt.Errorf("service: %w", err), s.Close())
	}
	clock.seeding = false
	return s, nil
}

// clock is the machine's, but while the first records are put into a store: these were there before anybody asks, however far back.
type clock struct{ seeding bool }

func (c *clock) now() time.Time {
	if c.seeding {
		return time.Date(2026, time.November, 1, 0, 0, 0, 0, time.UTC)
	}
	return time.Now()
}

// dialStore opens a database, a file, or memory. Of a file and of memory this process is the only writer, so that what is read is remembered.
func dialStore(ctx context.Context, cfg Config, now func() time.Time) (store.Store, error) {
	if isDatabase(cfg.Store) {
		s, err := postgres.Open(ctx, postgres.Options{URL: cfg.Store, Clock: now})
		if err != nil { // a nil of a type of its own is no nil
			return nil, err
		}
		return s, nil
	}
	var s *sqlite.Store
	var err error
	if cfg.Store == "" {
		s, err = sqlite.Memory(ctx, now)
	} else {
		s, err = sqlite.Open(ctx, sqlite.Options{Path: filePath(cfg.Store), Who: cfg.Who, ReadOnly: cfg.ReadOnlyStore, Clock: now})
	}
	if err != nil {
		return nil, err
	}
	if cfg.ReadOnlyStore { // then another process may write
		return s, nil
	}
	return store.Remember(s), nil
}

// seed puts the default shop, or the demonstration shop with all it has, into a store where it is not.
func seed(ctx context.Context, s store.Store, demonstration bool) error {
	caller := store.Caller{Method: "seed"}
	main := shop.Shop{Name: demo.Name, DisplayName: "Main workshop"}
	if _, err := store.Seed(ctx, s, store.ShopOf(main.Name), caller, main); err != nil {
		return err
	}
	if !demonstration {
		return nil
	}
	_, err := store.Seed(ctx, s, demo.Name, caller, demo.Records(time.Now())...)
	return err
}

// Backup writes the whole of a shop's file, as it is at one moment, to a new file. A server may have it open meanwhile.
func Backup(ctx context.Context, kept, to string) error {
	s, err := openFile(ctx, kept)
	if err != nil {
		return err
	}
	return errors.Join(s.Backup(ctx, to), s.Close())
}

// Restore puts a backup in a file's place, once the backup is checked. Nobody may have the file open; it stays beside the new one as
// `….before-restore`.
func Restore(ctx context.Context, backup, kept, who string) error {
	if isDatabase(kept) {
		return errOwnTools
	}
	return sqlite.Restore(ctx, backup, filePath(kept), who)
}

// Check reads a whole store and fails where it is damaged or contradicts itself.
func Check(ctx context.Context, kept string) error {
	if isDatabase(kept) {
		s, err := postgres.Open(ctx, postgres.Options{URL: kept})
		if err != nil {
			return err
		}
		return errors.Join(s.Check(ctx), s.Close())
	}
	s, err := openFile(ctx, kept)
	if err != nil {
		return err
	}
	return errors.Join(s.Check(ctx), s.Close())
}

var errOwnTools = errors.New("a database is backed up and restored by its own tools, pg_dump and pg_restore")

// openFile opens a shop's file to read.
func openFile(ctx context.Context, kept string) (*sqlite.Store, error) {
	if isDatabase(kept) {
		return nil, errOwnTools
	}
	return sqlite.Open(ctx, sqlite.Options{Path: filePath(kept), ReadOnly: true})
}

func isDatabase(kept string) bool {
	return strings.HasPrefix(kept, "postgres://") || strings.HasPrefix(kept, "postgresql://")
}

func filePath(kept string) string { return strings.TrimPrefix(kept, "sqlite:") }
