package records

import (
	"errors"
	"strings"
	"time"

	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// sharpened completes an entry: the recipe as the revision that counted then, the wheel that was on the station and what it was believed to
// measure. The tool's length, where it was measured and not again since, is from now on the tool's.
func sharpened(tx store.Tx, s, _ *shop.Sharpening) error {
	if err := occurred(tx, &s.Occurred); err != nil {
		return err
	}
	if err := errors.Join(inRevision(tx, s), onWheel(tx, s)); err != nil || s.Tool == "" || !s.OverallLength.Known {
		return err
	}
	if again, err := measuredSince(tx, s); again || err != nil {
		return err
	}
	return rewrite(tx, s.Tool, func(t *shop.Tool) { t.OverallLength = s.OverallLength })
}

// measuredSince tells whether the tool's length was measured after an entry: entries come late where the phone was out of reach.
func measuredSince(tx store.Tx, s *shop.Sharpening) (bool, error) {
	after := store.Filter{Op: ">", Column: store.ByOccurred, Value: s.Occurred}
	later, _, err := tx.Find(store.Query{
		Shop: store.ShopOf(s.Name), Kind: store.KindOf(s.Name), Filter: store.Filter{Op: "and", Of: []store.Filter{store.Where(store.ByTool, s.Tool), after}},
	})
	for _, r := range later {
		entry, err := store.Unpack[shop.Sharpening](r)
		if entry.OverallLength.Known || err != nil {
			return true, err
		}
	}
	return false, err
}

// inRevision names the revision that was published in place of a recipe.
func inRevision(tx store.Tx, s *shop.Sharpening) error {
	if s.Recipe == "" || strings.Contains(s.Recipe, "/revisions/") {
		return nil
	}
	h, err := then[store.RecipeHead](tx, "recipes", s.Occurred, store.Where(store.ByName, s.Recipe))
	if h.Published.Known {
		s.Recipe = h.Published.Value.RevisionName()
	}
	return err
}

// onWheel names the wheel on the station where none is said, and its diameter.
func onWheel(tx store.Tx, s *shop.Sharpening) error {
	which := store.Where(store.ByName, s.Wheel)
	switch {
	case s.Wheel == "" && s.Station == "":
		return nil
	case s.Wheel == "":
		which = store.Where(store.ByStation, s.Station)
	}
	w, err := then[shop.Wheel](tx, "wheels", s.Occurred, which)
	s.Wheel = w.Name
	if s.Wheel != "" && !w.Flat && !s.WheelDiameter.Known {
		s.WheelDiameter = shop.Some(w.Diameter)
	}
	return err
}

// then finds a plain record as it was at a time, or where there was none yet, as it is; an empty one where there is none either.
func then[T any](tx store.Tx, collection string, at time.Time, which store.Filter) (none T, err error) {
	name, _ := which.Value.(string)
	for _, asOf := range []time.Time{at, {}} {
		found, _, err := tx.Find(store.Query{Shop: store.ShopOf(name), Kind: collection, Filter: which, AsOf: asOf, Limit: 1})
		if err != nil {
			return none, err
		}
		if len(found) > 0 {
			return store.Unpack[T](found[0])
		}
	}
	return none, nil
}

// read reads a plain record within a change.
func read[T any](tx store.Tx, name string) (none T, err error) {
	r, err := tx.Get(name)
	if err != nil {
		return none, err
	}
	return store.Unpack[T](r)
}
