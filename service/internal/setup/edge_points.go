package setup

import (
	"errors"
	"fmt"
	"math"

	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// layPoints lays a smoothed line through the measured points. The wings end at the last points, or before them where that was said.
func (t *shaped) layPoints(field string) *no {
	spots, n := t.spots(field)
	if n != nil {
		return n
	}
	first, last := spots[0].Along, spots[len(spots)-1].Along
	lay := swung.NewMeasured
	if first >= 0 {
		lay, first = swung.NewMeasuredEven, -last
	}
	plan, err := lay(spots, float64(t.shape.Doubt.Or(ByCalliper))/2)
	if err != nil {
		return t.refuseSpot(field, err)
	}
	t.edge.Plan, t.edge.Left, t.edge.Right = plan, -first, last
	return t.endPoints(field)
}

// spots are the shape's points along the flute.
func (t *shaped) spots(field string) ([]swung.Spot, *no) {
	spots := make([]swung.Spot, len(t.shape.Points))
	for i, p := range t.shape.Points {
		along := float64(p.Place)
		if !p.AlongFlute {
			var ok bool
			if along, ok = t.section.AlongAt(float64(p.Place)); !ok {
				most := t.widest(math.Inf(1))
				return nil, refuse(EdgeOffFlute, fmt.Sprintf("%s.points.points[%d].side_mm", field, i), "the flute is nowhere %s wide to one side; it goes to %s, and points on its walls are told by along_flute_mm",
					mm(p.Place), mm(most)).contradicts().length(p.Place).least(-float64(most)).most(float64(most))
			}
		}
		spots[i] = swung.Spot{Along: along, Back: float64(p.Back)}
	}
	return spots, nil
}

// refuseSpot is the refusal of points that make no edge.
func (t *shaped) refuseSpot(field string, err error) *no {
	var spot *swung.SpotError
	if !errors.As(err, &spot) {
		return &no{Fault: fault.Fault{Kind: fault.Internal, Reason: fault.Mistake, Cause: err}}
	}
	at := fmt.Sprintf("%s.points.points[%d]", field, spot.Index)
	switch spot.Why {
	case swung.SpotTwice:
		return refuse(PointsCross, at, "%v", spot).contradicts().length(unit.Length(spot.Value))
	case swung.SpotUnsorted:
		return refuse(PointsUnsorted, at, "%v", spot).contradicts().length(unit.Length(spot.Value)).least(spot.Limit)
	}
	return &no{Fault: *fault.Field(at, fault.Contradiction, "%v", spot)}
}

// endPoints ends the wings where that was said, and refuses points beyond the rim.
func (t *shaped) endPoints(field string) *no {
	shorter, longer := math.Min(t.edge.Left, t.edge.Right), math.Max(t.edge.Left, t.edge.Right)
	end, said := t.shape.AlongFlute, field+".along_flute_mm"
	if half := t.shape.HalfWidth; half.Known {
		along, ok := t.section.AlongAt(float64(half.Value))
		if !ok {
			along = math.Inf(1)
		}
		end, said = shop.Some(unit.Length(along)), field+".half_width_mm"
	}
	if end.Known {
		if reach := float64(end.Value); reach <= 0 || reach > shorter {
			most := unit.Length(shorter)
			if t.shape.HalfWidth.Known {
				most = unit.Length(t.section.At(shorter).Side)
			}
			return refuse(EdgeOffFlute, said, "nothing was measured there: the shorter wing's points go to %s", mm(most)).contradicts().length(t.said(said, field)).most(float64(most))
		}
		t.edge.Left, t.edge.Right, longer = float64(end.Value), float64(end.Value), float64(end.Value)
	}
	if !t.bar.Known {
		return nil
	}
	if rim, ok := t.bar.Value.Rim(t.section); ok && longer > rim*(1+1e-9) {
		return refuse(WingBeyondFlute, field+".points", "the points go %s along the flute, and its rim is at %s: there is no steel beyond it", mm(unit.Length(longer)), mm(unit.Length(rim))).
			contradicts().length(unit.Length(longer)).most(rim)
	}
	return nil
}
