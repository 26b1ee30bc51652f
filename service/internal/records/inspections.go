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
		return rewrite(tx, i.Subject, func(s *shop.Station) { s.Inspecting.Looked(i.Occurred, i.Finding) })
	case "wheels":
		return rewrite(tx, i.Subject, func(w *shop.Wheel) { w.Inspecting.Looked(i.Occurred, i.Finding) })
	case "holders":
		return rewrite(tx, i.Subject, func(h *shop.Holder) { h.Inspecting.Looked(i.Occurred, i.Finding) })
	}
	return nil
}

// made takes over what inspections made: people set how often alone.
func made(now *shop.Inspecting, was shop.Inspecting) {
	now.Last, now.Due, now.Finding = was.Last, was.Due, was.Finding
}

// regular reckons anew when something is inspected next, since its interval may be another. Where nobody looked yet, it is due from when it got
// its interval.
func regular(tx store.Tx, now *shop.Inspecting) {
	if now.Again(); now.Every.Known && now.Due.IsZero() {
		now.Due = tx.Now()
	}
}
