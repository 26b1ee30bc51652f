package records

import (
	"time"
	_ "time/tzdata" // zones are the same on every machine that has none of its own

	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// The kinds.
var (
	Shops = &Kind[shop.Shop]{
		Noun: "shop", Collection: "shops", Name: func(s *shop.Shop) *string { return &s.Name },
		Before: zoned,
	}

	Stations = &Kind[shop.Station]{
		Noun: "station", Collection: "stations", Name: func(s *shop.Station) *string { return &s.Name },
		UsedBy: map[string]store.Column{"wheels": store.ByStation},
		Own: func(now *shop.Station, was shop.Station) {
			now.State, now.StateReason, now.StateTime = was.State, was.StateReason, was.StateTime
			made(&now.Inspecting, was.Inspecting)
		},
		Before: func(tx store.Tx, now, _ *shop.Station) error {
			regular(tx, &now.Inspecting)
			return nil
		},
	}

	Wheels = &Kind[shop.Wheel]{
		Noun: "wheel", Collection: "wheels", Name: func(w *shop.Wheel) *string { return &w.Name },
		Refers: func(w shop.Wheel) []string { return []string{w.Station} },
		UsedAt: func(w shop.Wheel) string { return w.Station },
		Own: func(now *shop.Wheel, was shop.Wheel) {
			now.Dressed = was.Dressed
			made(&now.Inspecting, was.Inspecting)
		},
		Before: fitted,
	}

	Measurements = &Kind[shop.Measurement]{
		Noun: "measurement", Collection: "measurements", Name: func(m *shop.Measurement) *string { return &m.Name },
		Before: measured,
	}

	Holders = &Kind[shop.Holder]{
		Noun: "holder", Collection: "holders", Name: func(h *shop.Holder) *string { return &h.Name },
		UsedBy: map[string]store.Column{"recipes": store.ByHolder},
		Own:    func(now *shop.Holder, was shop.Holder) { made(&now.Inspecting, was.Inspecting) },
		Before: func(tx store.Tx, now, _ *shop.Holder) error {
			regular(tx, &now.Inspecting)
			return nil
		},
	}

	Tools = &Kind[shop.Tool]{
		Noun: "tool", Collection: "tools", Name: func(t *shop.Tool) *string { return &t.Name },
		Refers: func(t shop.Tool) []string { return []string{t.Recipe} },
	}

	Recipes = &Kind[store.RecipeHead]{
		Noun: "recipe", Collection: "recipes", Name: func(h *store.RecipeHead) *string { return &h.Newest.Name },
		Refers: func(h store.RecipeHead) []string { return []string{h.Newest.Holder, h.Published.Value.Holder} },
		UsedBy: map[string]store.Column{"tools": store.ByRecipe},
		Own: func(now *store.RecipeHead, was store.RecipeHead) {
			now.Published, now.Superseded = was.Published, was.Superseded
			now.Newest.Revision, now.Newest.Published = was.Newest.Revision, false
		},
		Before: revised,
	}

	Sharpenings = &Kind[shop.Sharpening]{
		Noun: "sharpening", Collection: "sharpenings", Name: func(s *shop.Sharpening) *string { return &s.Name },
		Refers: func(s shop.Sharpening) []string { return []string{s.Tool, s.Recipe, s.Station, s.Wheel, s.Corrects} },
		Before: sharpened,
	}

	Inspections = &Kind[shop.Inspection]{
		Noun: "inspection", Collection: "inspections", Name: func(i *shop.Inspection) *string { return &i.Name },
		Refers: func(i shop.Inspection) []string { return []string{i.Subject} },
		Before: inspected,
	}

	Gauges = &Kind[shop.Gauge]{Noun: "gauge", Collection: "gauges", Name: func(g *shop.Gauge) *string { return &g.Name }}
)

// rewrite changes another record in the same change.
func rewrite[T any](tx store.Tx, name string, change func(*T)) error {
	r, err := tx.Get(name)
	if err != nil {
		return err
	}
	v, err := store.Unpack[T](r)
	if err != nil {
		return err
	}
	change(&v)
	d, err := store.Pack(v)
	if err != nil {
		return err
	}
	if d.Body == r.Body {
		return nil
	}
	d.ExternalIDs = r.ExternalIDs
	_, err = tx.Update(d, r.Version)
	return err
}

// zoned tells that a shop's time zone is one.
func zoned(_ store.Tx, s, _ *shop.Shop) error {
	if _, err := time.LoadLocation(s.TimeZone); err != nil || s.TimeZone == "Local" {
		return fault.Field("shop.time_zone", fault.UnknownValue, "is %q, which is no zone of the IANA database; write one such as Europe/Vienna, or UTC", s.TimeZone)
	}
	return nil
}

// aheadMost is how far a client's clock may be ahead of ours: a time zone, where somebody set it by the wall.
const aheadMost = 24 * time.Hour

// occurred says when something happened, where nobody did: now. What is yet to come has not, and would count before all that really does.
func occurred(tx store.Tx, at *time.Time) error {
	if at.IsZero() {
		*at = tx.Now()
	}
	if at.Sub(tx.Now()) > aheadMost {
		return fault.Field("occur_time", fault.OutOfRange, "is %s, which is yet to come; set the clock, or leave it out for now", at.UTC().Format(time.RFC3339))
	}
	return nil
}
