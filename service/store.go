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
	s, err := dialStore(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("service: %w", err)
	}
	if cfg.ReadOnlyStore {
		return s, nil
	}
	if err := seed(ctx, s, cfg.Demo); err != nil {
		return nil, errors.Join(fmt.Errorf("service: %w", err), s.Close())
	}
	return s, nil
}

// dialStore opens a database, a file, or memory. Of a file and of memory this process is the only writer, so that what is read is remembered.
func dialStore(ctx context.Context, cfg Config) (store.Store, error) {
	if strings.HasPrefix(cfg.Store, "postgres://") || strings.HasPrefix(cfg.Store, "postgresql://") {
		s, err := postgres.Open(ctx, postgres.Options{URL: cfg.Store})
		if err != nil { // a nil of a type of its own is no nil
			return nil, err
		}
		return s, nil
	}
	var s *sqlite.Store
	var err error
	if cfg.Store == "" {
		s, err = sqlite.Memory(ctx, nil)
	} else {
		s, err = sqlite.Open(ctx, sqlite.Options{Path: strings.TrimPrefix(cfg.Store, "sqlite:"), Who: cfg.Who, ReadOnly: cfg.ReadOnlyStore})
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
	_, err := store.Seed(ctx, s, demo.Name, caller, demo.Records()...)
	return err
}
