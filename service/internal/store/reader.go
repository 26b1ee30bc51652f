package store

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/agnivade/levenshtein"

	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// Named reads plain records out of a store by their names: a store's Reader.
type Named struct{ Store Store }

// Station reads a station.
func (n Named) Station(ctx context.Context, name string, asOf time.Time) (shop.Station, error) {
	return read[shop.Station](ctx, n.Store, "station", name, asOf)
}

// Wheel reads a wheel.
func (n Named) Wheel(ctx context.Context, name string, asOf time.Time) (shop.Wheel, error) {
	return read[shop.Wheel](ctx, n.Store, "wheel", name, asOf)
}

// MountedWheel reads the wheel on a station; of several the one that was put there last.
func (n Named) MountedWheel(ctx context.Context, station string, asOf time.Time) (shop.Wheel, error) {
	return recalled(n.Store, "wheel on", station, asOf, func() (shop.Wheel, error) { return n.mounted(ctx, station, asOf) })
}

func (n Named) mounted(ctx context.Context, station string, asOf time.Time) (shop.Wheel, error) {
	page, _, err := n.Store.Find(ctx, Query{Shop: ShopOf(station), Kind: "wheels", Filter: Where(ByStation, station), OrderBy: ByUpdated, Down: true,
		AsOf: asOf, Limit: 1})
	if err == nil && len(page) == 0 {
		return shop.Wheel{}, unknown("wheel", "mounted on "+station+"; name the wheel", nil)
	}
	if err != nil {
		return shop.Wheel{}, Away("read the wheel on "+station, err)
	}
	return unpack[shop.Wheel](page[0])
}

// WheelLog reads a wheel's log.
func (n Named) WheelLog(ctx context.Context, wheel string, asOf time.Time) (WheelLog, error) {
	return recalled(n.Store, "log of", wheel, asOf, func() (l WheelLog, err error) {
		q := Query{Shop: ShopOf(wheel), Kind: "measurements", Filter: Where(ByWheel, wheel), OrderBy: ByOccurred, Down: true, AsOf: asOf, Limit: MaxPage}
		if l.Measured, err = page[shop.Measurement](ctx, n.Store, q); err != nil {
			return l, err
		}
		q.Kind = "sharpenings"
		l.Ground, err = page[shop.Sharpening](ctx, n.Store, q)
		return l, err
	})
}

// page reads one page of plain records.
func page[T any](ctx context.Context, s Store, q Query) ([]T, error) {
	found, _, err := s.Find(ctx, q)
	if err != nil {
		return nil, Away("read "+q.Kind, err)
	}
	list := make([]T, len(found))
	for i, r := range found {
		if list[i], err = unpack[T](r); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// Holder reads a holder.
func (n Named) Holder(ctx context.Context, name string, asOf time.Time) (shop.Holder, error) {
	return read[shop.Holder](ctx, n.Store, "holder", name, asOf)
}

// Tool reads a tool.
func (n Named) Tool(ctx context.Context, name string, asOf time.Time) (shop.Tool, error) {
	return read[shop.Tool](ctx, n.Store, "tool", name, asOf)
}

// Recipe reads the published revision for a recipe's name, and exactly the revision for `…/revisions/7`.
func (n Named) Recipe(ctx context.Context, name string, asOf time.Time) (shop.Recipe, error) {
	base, _, revision := strings.Cut(name, "/revisions/")
	head, err := read[RecipeHead](ctx, n.Store, "recipe", base, asOf)
	if err != nil {
		return shop.Recipe{}, err
	}
	published := head.Published
	switch {
	case !revision && !published.Known:
		return shop.Recipe{}, unknown("published revision", base+"; name a draft by its revision", nil)
	case !revision || published.Known && published.Value.RevisionName() == name:
		return published.Value, nil
	}
	r, err := read[shop.Recipe](ctx, n.Store, "revision", name, asOf)
	if f, ok := fault.As(err); ok && f.Kind == fault.NotFound {
		f.Message = fmt.Sprintf("%s has no revision %s; its newest is %d", base, name[strings.LastIndex(name, "/")+1:], head.Newest.Revision)
	}
	return r, err
}

// Recipes reads the published recipes of a shop, ordered by name.
func (n Named) Recipes(ctx context.Context, shopName string, asOf time.Time) ([]shop.Recipe, error) {
	return recalled(n.Store, "recipes of", shopName, asOf, func() ([]shop.Recipe, error) { return n.published(ctx, shopName, asOf) })
}

func (n Named) published(ctx context.Context, shopName string, asOf time.Time) ([]shop.Recipe, error) {
	q := Query{Shop: shopName, Kind: "recipes", Filter: Where(ByState, "published"), AsOf: asOf, Limit: MaxPage}
	var found []shop.Recipe
	for {
		page, next, err := n.Store.Find(ctx, q)
		if err != nil {
			return nil, Away("read the recipes", err)
		}
		for _, r := range page {
			head, err := unpack[RecipeHead](r)
			if err != nil {
				return nil, err
			}
			found = append(found, head.Published.Value)
		}
		if q.Token = next; next == "" {
			return found, nil
		}
	}
}

// Gauges reads the blocks that a shop has on hand, ordered by name.
func (n Named) Gauges(ctx context.Context, shopName string, asOf time.Time) ([]shop.Gauge, error) {
	return recalled(n.Store, "gauges of", shopName, asOf, func() ([]shop.Gauge, error) {
		return page[shop.Gauge](ctx, n.Store, Query{Shop: shopName, Kind: "gauges", AsOf: asOf, Limit: MaxPage})
	})
}

// read reads a record by its name, and where there is none names the nearest.
func read[T any](ctx context.Context, s Store, what, name string, asOf time.Time) (T, error) {
	return recalled(s, what, name, asOf, func() (T, error) { return readNow[T](ctx, s, what, name, asOf) })
}

func readNow[T any](ctx context.Context, s Store, what, name string, asOf time.Time) (none T, err error) {
	r, err := s.Get(ctx, name, asOf)
	if err == nil && KindOf(name) == what+"s" && r.Deleted.IsZero() {
		return unpack[T](r)
	}
	if err != nil && !Is(err, NotFound) {
		return none, Away("read "+name, err)
	}
	return none, Unknown(ctx, s, what, name, asOf)
}

// Unknown is the fault for a name that does not exist, with the nearest that do.
func Unknown(ctx context.Context, s Store, what, name string, asOf time.Time) error {
	near, err := nearest(ctx, s, what, name, asOf)
	if err != nil {
		return Away("read "+what+"s", err)
	}
	return unknown(what, name, near)
}

func unpack[T any](r Record) (T, error) {
	v, err := Unpack[T](r)
	if err != nil {
		return v, Away("read "+r.Name, err)
	}
	return v, nil
}

// nearest are up to three names of a kind that differ least from a name: of those that search finds, or of the first page.
func nearest(ctx context.Context, s Store, what, name string, asOf time.Time) ([]string, error) {
	q := Query{Shop: ShopOf(name), Kind: what + "s", AsOf: asOf}
	if what == "revision" {
		q.Parent, q.OrderBy, q.Down = ParentOf(name), ByCreated, true
	}
	page, next, err := s.Find(ctx, q)
	if err == nil && next != "" && asOf.IsZero() && what != "revision" {
		var alike []Record
		alike, _, err = s.Find(ctx, Query{Shop: q.Shop, Kind: q.Kind, Search: name[strings.LastIndex(name, "/")+1:]})
		page = append(alike, page...)
	}
	if err != nil && !Is(err, BadQuery) {
		return nil, err
	}
	names := make([]string, len(page))
	for i, r := range page {
		names[i] = r.Name
	}
	slices.SortStableFunc(names, func(a, b string) int {
		return cmp.Compare(levenshtein.ComputeDistance(a, name), levenshtein.ComputeDistance(b, name))
	})
	names = slices.Compact(names)
	return names[:min(3, len(names))], nil
}

// Seed puts records into a shop in one change; a shop that has, or had, any of them is left as it is. A recipe is put there with its head
// and, where it is published, as published.
func Seed(ctx context.Context, s Store, shopName string, caller Caller, records ...any) (seeded bool, err error) {
	drafts, err := seedDrafts(records)
	if err != nil {
		return false, err
	}
	_, err = s.Change(ctx, shopName, caller, func(tx Tx) error {
		seeded = false
		for _, d := range drafts {
			switch _, err := tx.Get(d.Name); {
			case err == nil:
				return errSeeded
			case !Is(err, NotFound):
				return err
			}
		}
		for _, d := range drafts {
			if _, err := tx.Create(d); err != nil {
				return err
			}
		}
		seeded = true
		return nil
	})
	if errors.Is(err, errSeeded) {
		return false, nil
	}
	return seeded && err == nil, err
}

var errSeeded = errors.New("the shop has records already")

func seedDrafts(records []any) ([]Draft, error) {
	var drafts []Draft
	for _, record := range records {
		kept := []any{record}
		if r, ok := record.(shop.Recipe); ok {
			published := r.Published
			r.Published = false
			head := RecipeHead{Newest: r}
			if published {
				head.Publish(r)
			}
			kept = []any{head, r}
		}
		for _, k := range kept {
			d, err := Pack(k)
			if err != nil {
				return nil, err
			}
			drafts = append(drafts, d)
		}
	}
	return drafts, nil
}
