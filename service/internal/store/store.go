// Package store is where a shop's records come from.
package store

import (
	"context"
	"time"

	"arris.example/service/internal/shop"
)

// Reader reads one shop's records by their full names, `shops/main/stations/north`. A name that does not exist is a fault of kind
// NotFound whose message names the nearest ones; other faults mean that the store is away. asOf asks for what counted at that time;
// the zero time means now.
type Reader interface {
	Station(ctx context.Context, name string, asOf time.Time) (shop.Station, error)
	Wheel(ctx context.Context, name string, asOf time.Time) (shop.Wheel, error)
	// MountedWheel is the wheel on a station; NotFound where it has none.
	MountedWheel(ctx context.Context, station string, asOf time.Time) (shop.Wheel, error)
	// WheelLog is what was measured of a wheel and ground on it, of each the newest thousand, newest first; none is no fault.
	WheelLog(ctx context.Context, wheel string, asOf time.Time) (WheelLog, error)
	Holder(ctx context.Context, name string, asOf time.Time) (shop.Holder, error)
	Tool(ctx context.Context, name string, asOf time.Time) (shop.Tool, error)
	// Recipe gives the published revision for a recipe's name, and exactly the revision for `…/revisions/7`.
	Recipe(ctx context.Context, name string, asOf time.Time) (shop.Recipe, error)
	// Recipes are the published recipes of a shop, ordered by name; none is no fault.
	Recipes(ctx context.Context, shopName string, asOf time.Time) ([]shop.Recipe, error)
	// Gauges are the blocks that a shop has on hand, the first thousand by name; none is no fault.
	Gauges(ctx context.Context, shopName string, asOf time.Time) ([]shop.Gauge, error)
}

// WheelLog is a wheel's log.
type WheelLog struct {
	Measured []shop.Measurement
	Ground   []shop.Sharpening
}
