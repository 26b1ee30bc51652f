package demo

import (
	"fmt"
	"slices"
	"time"

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

// Records are all of them, in an order in which each refers to earlier ones alone. Their inspections are some days old.
func Records(now time.Time) []any {
	var all []any
	found := inspections(now)
	for _, s := range stations {
		looked(s.Name, &s.Inspecting, found)
		all = append(all, s)
	}
	for _, w := range wheels {
		looked(w.Name, &w.Inspecting, found)
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
	for _, i := range found {
		all = append(all, i)
	}
	return all
}

// inspections are each from the morning of its day.
func inspections(now time.Time) (list []shop.Inspection) {
	morning := now.UTC().Truncate(24 * time.Hour).Add(8 * time.Hour)
	for n, l := range looks {
		list = append(list, shop.Inspection{
			Name: fmt.Sprintf("%s/inspections/first-%d", Name, n+1), Subject: l.of, Finding: l.finding, Notes: l.notes, Occurred: morning.AddDate(0, 0, -l.ago),
		})
	}
	return list
}

// looked takes over what was found of one thing.
func looked(name string, i *shop.Inspecting, found []shop.Inspection) {
	for _, f := range found {
		if f.Subject == name {
			i.Looked(f.Occurred, f.Finding)
		}
	}
}
