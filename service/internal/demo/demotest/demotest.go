// Package demotest gives tests the demonstration shop as the store keeps it.
package demotest

import (
	"context"
	"sync"
	"time"

	"arris.example/service/internal/demo"
	"arris.example/service/internal/store"
	"arris.example/service/internal/store/sqlite"
)

// Reader reads the demonstration shop, kept in memory for as long as the test's process lasts.
var Reader = sync.OnceValue(func() store.Named {
	ctx := context.Background()
	s, err := sqlite.Memory(ctx, nil)
	if err == nil {
		_, err = store.Seed(ctx, s, demo.Name, store.Caller{Method: "seed"}, demo.Records(time.Now())...)
	}
	if err != nil {
		panic(err) // only tests come here, before the first of them
	}
	return store.Named{Store: store.Remember(s)}
})
