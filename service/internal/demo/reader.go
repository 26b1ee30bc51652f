package demo

import (
	"cmp"
	"context"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/agnivade/levenshtein"

	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// Shop is the demonstration shop as a store's reader. It never changes, so it answers the same for every time.
type Shop struct{}

// Station finds a station.
func (Shop) Station(_ context.Context, name string, _ time.Time) (shop.Station, error) {
	return find("station", name, stations, func(s shop.Station) string { return s.Name })
}

// Wheel finds a wheel.
func (Shop) Wheel(_ context.Context, name string, _ time.Time) (shop.Wheel, error) {
	return find("wheel", name, wheels, func(w shop.Wheel) string { return w.Name })
}

// MountedWheel finds the wheel on a station.
func (Shop) MountedWheel(_ context.Context, station string, _ time.Time) (shop.Wheel, error) {
	for _, w := range wheels {
		if w.Station == station {
			return w, nil
		}
	}
	return shop.Wheel{}, &fault.Fault{Kind: fault.NotFound, Reason: fault.NoSuchThing, Message: "no wheel is mounted on " + station + "; name the wheel"}
}

// Holder finds a holder.
func (Shop) Holder(_ context.Context, name string, _ time.Time) (shop.Holder, error) {
	return find("holder", name, holders, func(h shop.Holder) string { return h.Name })
}

// Tool finds a tool.
func (Shop) Tool(_ context.Context, name string, _ time.Time) (shop.Tool, error) {
	return find("tool", name, tools, func(t shop.Tool) string { return t.Name })
}

// Recipe finds a recipe's only revision, by the recipe's name or the revision's.
func (Shop) Recipe(_ context.Context, name string, _ time.Time) (shop.Recipe, error) {
	base, revision, named := strings.Cut(name, "/revisions/")
	r, err := find("recipe", base, recipes, func(r shop.Recipe) string { return r.Name })
	if err != nil {
		return r, err
	}
	if named && revision != strconv.Itoa(r.Revision) {
		return shop.Recipe{}, &fault.Fault{Kind: fault.NotFound, Reason: fault.NoSuchThing, Message: base + " has no revision " + revision + "; its newest is " + strconv.Itoa(r.Revision)}
	}
	return r, nil
}

// Recipes are the published recipes.
func (Shop) Recipes(_ context.Context, shopName string, _ time.Time) ([]shop.Recipe, error) {
	found := slices.DeleteFunc(Recipes(), func(r shop.Recipe) bool { return !r.Published || !strings.HasPrefix(r.Name, shopName+"/") })
	slices.SortFunc(found, func(a, b shop.Recipe) int { return cmp.Compare(a.Name, b.Name) })
	return found, nil
}

// find looks a record up by its full name, and where there is none names the nearest.
func find[T any](what, name string, all []T, nameOf func(T) string) (T, error) {
	for _, thing := range all {
		if nameOf(thing) == name {
			return thing, nil
		}
	}
	names := make([]string, len(all))
	for i, thing := range all {
		names[i] = nameOf(thing)
	}
	slices.SortStableFunc(names, func(a, b string) int { return cmp.Compare(distance(a, name), distance(b, name)) })
	var none T
	return none, &fault.Fault{Kind: fault.NotFound, Reason: fault.NoSuchThing,
		Message: "no " + what + " is called " + name + "; nearest: " + strings.Join(names[:min(3, len(names))], ", ")}
}

// distance is how many letters differ.
func distance(a, b string) int { return levenshtein.ComputeDistance(a, b) }

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
