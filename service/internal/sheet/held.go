package sheet

import (
	"time"

	"arris.example/service/internal/code"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// held is what a code of a question holds, once it is answered. Worth tells whether there is anything of a shop in it that may change.
func (m Maker) held(q setup.Question, b setup.Basis) (h code.Held, worth bool) {
	h = code.Held{
		Shop: q.Shop, Recipe: b.Recipe, Support: q.Rig.Support, Holder: q.Rig.Holder.Name, Diameter: b.WheelDiameter, AsOf: q.AsOf,
		Own: ownSettings(q),
		// What is written out may have any name.
		Station: ofShop(q.Rig.Station, b.Station), Wheel: ofShop(q.Rig.Wheel, b.Wheel), Tool: ofShop(q.Rig.Tool, b.Tool),
	}
	if h.AsOf.IsZero() {
		const step = time.Millisecond // never before what counted
		h.AsOf = m.now().Add(step - 1).Truncate(step)
	}
	return h, h.Recipe+h.Station+h.Wheel+h.Tool != ""
}

func ofShop[T any](s setup.Source[T], name string) string {
	if s.Inline != nil {
		return ""
	}
	return name
}

// ownSettings tells whether a question says what a code does not hold and its settings may rest on.
func ownSettings(q setup.Question) bool {
	r := q.Rig
	inline := r.Station.Inline != nil || r.Wheel.Inline != nil || r.Holder.Inline != nil || r.Tool.Inline != nil || r.Asides != setup.Asides{}
	chosen := q.Given != shop.Settings{} || len(q.Free) > 0 || q.TouchFirst != 0 || q.TouchSized
	rounded := q.Rounding.LengthStep != 0 || q.Rounding.AngleStep != 0 || len(q.Rounding.Blocks) > 0
	return inline || chosen || rounded || q.Grind != nil
}

func (m Maker) now() time.Time {
	if m.Solver.Now != nil {
		return m.Solver.Now()
	}
	return time.Now()
}
