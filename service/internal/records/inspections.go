package records

import (
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// inspected says when, where nobody did, and puts the inspection into the record of what was looked at.
func inspected(tx store.Tx, i, _ *shop.Inspection) error {
	if err := occurred(tx, &i.Occurred); err != nil {
		return err
	}
	switch store.KindOf(i.Subject) {
	case "stations":
		return rewrite(tx, i.Subject, func(s *shop.Station) { s.Inspecting.Looked(i.Occurred) })
	case "wheels":
		return rewrite(tx, i.Subject, func(w *shop.Wheel) { w.Inspecting.Looked(i.Occurred) })
	case "holders":
		return rewrite(tx, i.Subject, func(h *shop.Holder) { h.Inspecting.Looked(i.Occurred) })
	}
	return nil
}

// made takes over what inspections made: people set how often alone.
func made(now *shop.Inspecting, was shop.Inspecting) { now.Last, now.Due = was.Last, was.Due }

// regular reckons from the log when something is inspected next, since its interval may be another. Where nobody looked yet, it is due from when
// it got its interval.
func regular(tx store.Tx, name string, by store.Column, now *shop.Inspecting) error {
	since := now.Due
	*now = shop.Inspecting{Every: now.Every}
	if !now.Every.Known {
		return nil
	}
	newest, _, err := tx.Find(store.Query{
		Shop: store.ShopOf(name), Kind: "inspections", Filter: store.Where(by, name), OrderBy: store.ByOccurred, Down: true, Limit: 1,
	})
	if err != nil {
		return err
	}
	for _, r := range newest {
		i, err := store.Unpack[shop.Inspection](r)
		if err != nil {
			return err
		}
		now.Looked(i.Occurred)
	}
	if now.Last.IsZero() {
		if now.Due = since; since.IsZero() {
			now.Due = tx.Now()
		}
	}
	return nil
}
