package records

import (
	"errors"
	"strings"

	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// sharpened completes an entry: the recipe as the revision that counts now, the wheel that is on the station and what it was believed to
// measure. The tool's length, where it was measured, is from now on the tool's.
func sharpened(tx store.Tx, s, _ *shop.Sharpening) error {
	if s.Occurred.IsZero() {
		s.Occurred = tx.Now()
	}
	err := errors.Join(inRevision(tx, s), onWheel(tx, s))
	if err != nil || s.Tool == "" || !s.OverallLength.Known {
		return err
	}
	return rewrite(tx, s.Tool, func(t *shop.Tool) { t.OverallLength = s.OverallLength })
}

// inRevision names the published revision in place of a recipe. What is not there is said where all it refers to is looked for.
func inRevision(tx store.Tx, s *shop.Sharpening) error {
	if s.Recipe == "" || strings.Contains(s.Recipe, "/revisions/") {
		return nil
	}
	h, err := read[store.RecipeHead](tx, s.Recipe)
	if err == nil && h.Published.Known {
		s.Recipe = h.Published.Value.RevisionName()
	}
	return ifOther(err)
}

// onWheel names the wheel on the station where none is said, and its diameter.
func onWheel(tx store.Tx, s *shop.Sharpening) error {
	if s.Wheel == "" && s.Station != "" {
		on, _, err := tx.Find(store.Query{Shop: store.ShopOf(s.Name), Kind: Wheels.Collection, Filter: store.Where(store.ByStation, s.Station), Limit: 1})
		if err != nil {
			return err
		}
		for _, r := range on {
			s.Wheel = r.Name
		}
	}
	if s.Wheel == "" || s.WheelDiameter.Known {
		return nil
	}
	w, err := read[shop.Wheel](tx, s.Wheel)
	if err == nil && !w.Flat {
		s.WheelDiameter = shop.Some(w.Diameter)
	}
	return ifOther(err)
}

// read reads a plain record within a change.
func read[T any](tx store.Tx, name string) (none T, err error) {
	r, err := tx.Get(name)
	if err != nil {
		return none, err
	}
	return store.Unpack[T](r)
}

// ifOther is an error that is not about a record that is not there.
func ifOther(err error) error {
	if store.Is(err, store.NotFound) {
		return nil
	}
	return err
}
