package demo

import (
	"slices"

	"arris.example/service/internal/shop"
)

// Stations lists the stations.
func Stations() []shop.Station { return slices.Clone(stations) }

// Wheels lists the wheels.
func Wheels() []shop.Wheel { return slices.Clone(wheels) }

// Holders lists the holders.
func Holders() []shop.Holder { return slices.Clone(holders) }

// Tools lists the tools.
func Tools() []shop.Tool { return slices.Clone(tools) }

// Recipes lists the recipes.
func Recipes() []shop.Recipe { return slices.Clone(recipes) }

// Records are all of them, in an order in which each refers to earlier ones alone.
func Records() []any {
	var all []any
	for _, s := range stations {
		all = append(all, s)
	}
	for _, w := range wheels {
		all = append(all, w)
		if !w.Flat {
			all = append(all, shop.Measurement{Name: w.Name + "/measurements/first", Diameter: shop.Some(w.Diameter), Doubt: w.Doubt, Occurred: w.Measured})
		}
	}
	for _, h := range holders {
		all = append(all, h)
	}
	for _, r := range recipes {
		all = append(all, r)
	}
	for _, t := range tools {
		all = append(all, t)
	}
	return all
}
