package store

import (
	"context"
	"time"

	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// Empty is a store that keeps nothing: every name is unknown.
type Empty struct{}

func nothing(name string) error {
	return &fault.Fault{Kind: fault.NotFound, Reason: fault.NoSuchThing,
		Message: "no shop is kept here, so there is no " + name + ": write the thing out in the request, or start the server with its demonstration shop"}
}

// Station is never found.
func (Empty) Station(_ context.Context, name string, _ time.Time) (shop.Station, error) {
	return shop.Station{}, nothing(name)
}

// Wheel is never found.
func (Empty) Wheel(_ context.Context, name string, _ time.Time) (shop.Wheel, error) {
	return shop.Wheel{}, nothing(name)
}

// MountedWheel is never found.
func (Empty) MountedWheel(_ context.Context, station string, _ time.Time) (shop.Wheel, error) {
	return shop.Wheel{}, nothing(station)
}

// Holder is never found.
func (Empty) Holder(_ context.Context, name string, _ time.Time) (shop.Holder, error) {
	return shop.Holder{}, nothing(name)
}

// Tool is never found.
func (Empty) Tool(_ context.Context, name string, _ time.Time) (shop.Tool, error) {
	return shop.Tool{}, nothing(name)
}

// Recipe is never found.
func (Empty) Recipe(_ context.Context, name string, _ time.Time) (shop.Recipe, error) {
	return shop.Recipe{}, nothing(name)
}

// Recipes are none.
func (Empty) Recipes(context.Context, string, time.Time) ([]shop.Recipe, error) { return nil, nil }
