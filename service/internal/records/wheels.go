package records

import (
	"context"
	"time"

	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
	"arris.example/service/internal/wear"
)

// measured puts what a measurement says into the wheel's record. One that is older than what the wheel has changes nothing there.
func measured(tx store.Tx, m, _ *shop.Measurement) error {
	if err := occurred(tx, &m.Occurred); err != nil {
		return err
	}
	name := store.ParentOf(m.Name)
	w, err := read[shop.Wheel](tx, name)
	if err != nil {
		return err
	}
	if w.Flat {
		return fault.Field("wheel_measurement", fault.Contradiction, "%s is a flat abrasive: it has no diameter to measure", name)
	}
	if diameter, _, sized := wear.Diameter(*m); sized {
		field := "wheel_measurement.diameter_mm"
		if !m.Diameter.Known {
			field = "wheel_measurement.around_mm"
		}
		if err := neverHad(&w, field, diameter); err != nil {
			return err
		}
	}
	return rewrite(tx, name, func(w *shop.Wheel) { believe(w, m) })
}

// nominal is how many times larger a wheel may be than it is called: 203.2 mm, 8 in, go by 200 mm.
const nominal = 1.02

// neverHad refuses a diameter that a wheel did not have when it was new.
func neverHad(w *shop.Wheel, field string, diameter unit.Length) error {
	if !w.NewDiameter.Known || diameter <= nominal*w.NewDiameter.Value {
		return nil
	}
	return fault.Field(field, fault.OutOfRange, "makes the wheel %.1f mm across, where it had %.1f mm when it was new, and no wheel grows; measure again, or correct its new_diameter_mm first",
		float64(diameter), float64(w.NewDiameter.Value))
}

// fitted puts a wheel on its station: the one that is there comes off. And it keeps a diameter that is new.
func fitted(tx store.Tx, now, was *shop.Wheel) error {
	if was == nil || was.Station != now.Station {
		if _, err := takeOff(tx, now.Name, now.Station); err != nil {
			return err
		}
	}
	regular(tx, &now.Inspecting)
	return told(tx, now, was)
}

// told keeps a diameter that somebody told as a measurement, so that the log has it.
func told(tx store.Tx, now, was *shop.Wheel) error {
	if now.Flat || was != nil && now.Diameter == was.Diameter && now.Doubt == was.Doubt && now.Measured.Equal(was.Measured) {
		return nil
	}
	if err := neverHad(now, "wheel.diameter_mm", now.Diameter); err != nil {
		return err
	}
	if now.Measured.IsZero() || was != nil && now.Measured.Equal(was.Measured) {
		now.Measured = tx.Now()
	}
	if err := occurred(tx, &now.Measured); err != nil {
		return err
	}
	if !now.Dressed.After(now.Measured) {
		now.Dressed = time.Time{}
	}
	d, err := store.Pack(shop.Measurement{
		Name: now.Name + "/" + Measurements.Collection + "/" + NewID(Measurements.Noun), Diameter: shop.Some(now.Diameter), Doubt: now.Doubt,
		Occurred: now.Measured,
	})
	if err != nil {
		return err
	}
	_, err = tx.Create(d)
	return err
}

// believe takes a measurement over into a wheel.
func believe(w *shop.Wheel, m *shop.Measurement) {
	diameter, doubt, known := wear.Diameter(*m)
	switch {
	case known && !m.Occurred.Before(w.Measured):
		w.Diameter, w.Doubt, w.Measured = diameter, shop.Some(doubt), m.Occurred
		if !m.Occurred.Before(w.Dressed) {
			w.Dressed = time.Time{}
		}
	case !known && m.Dressed && m.Occurred.After(w.Measured):
		w.Dressed = m.Occurred
	}
}

// Mount puts a wheel on a station and takes off the one that is there; an empty station takes the wheel off.
func Mount(ctx context.Context, k Keeper, w Write, name string, version int64, station string) (wheel Item[shop.Wheel], off shop.Maybe[Item[shop.Wheel]], err error) {
	list, err := change(ctx, k, Wheels, name, w, func(tx store.Tx) ([]store.Record, error) {
		taken, err := takeOff(tx, name, station)
		if err != nil {
			return nil, err
		}
		r, err := update(tx, Wheels, Edit[shop.Wheel]{Name: name, Version: version, Ours: true, Change: func(_ store.Tx, i Item[shop.Wheel]) (shop.Wheel, []store.ExternalID, error) {
			i.Value.Station = station
			return i.Value, i.ExternalIDs, nil
		}})
		return append(taken, r), err
	})
	if err != nil {
		return wheel, off, err
	}
	if len(list) > 1 {
		off = shop.Some(list[0])
	}
	if len(list) == 0 {
		wheel, err = Get(ctx, k, Wheels, name, time.Time{})
		return wheel, off, err
	}
	return list[len(list)-1], off, nil
}

// takeOff takes the wheels off a station that are not the one that goes there.
func takeOff(tx store.Tx, name, station string) (taken []store.Record, err error) {
	if station == "" {
		return nil, nil
	}
	on, _, err := tx.Find(store.Query{Shop: store.ShopOf(name), Kind: store.KindOf(name), Filter: store.Where(store.ByStation, station)})
	if err != nil {
		return nil, err
	}
	for _, r := range on {
		if r.Name == name {
			continue
		}
		if err := rewrite(tx, r.Name, func(w *shop.Wheel) { w.Station = "" }); err != nil {
			return nil, err
		}
		r, err := tx.Get(r.Name)
		if err != nil {
			return nil, err
		}
		taken = append(taken, r)
	}
	return taken, nil
}
