package records

import (
	"context"

	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// Lock takes a station out of service, or puts it back, with a reason. With a version, only what is still as it was seen is changed.
func Lock(ctx context.Context, k Keeper, w Write, name string, version int64, state shop.StationState, reason string) (Item[shop.Station], error) {
	lock := func(tx store.Tx, i Item[shop.Station]) (shop.Station, []store.ExternalID, error) {
		i.Value.State, i.Value.StateReason, i.Value.StateTime = state, reason, tx.Now()
		return i.Value, i.ExternalIDs, nil
	}
	return Update(ctx, k, Stations, w, Edit[shop.Station]{Name: name, Version: version, Ours: true, Change: lock})
}
