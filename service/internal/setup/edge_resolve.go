package setup

import (
	"errors"
	"math"

	"arris.example/geometry/flute"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// shaped is a tool with its whole edge.
type shaped struct {
	shape   shop.EdgeShape
	section flute.Section
	bar     shop.Maybe[flute.Bar]
	edge    swung.Edge
}

// checkSwung refuses what no swing about a point makes.
func (r *rig) checkSwung() *no {
	sigma := r.tool.EdgeToSide
	switch {
	case r.holder.Kind == shop.Clamp:
		return refuse(NotSwung, "rig.holder", "a clamp turns about its bar and no other way, so it grinds the nose only; wings need a swing holder, a butted handle or another point to swing about")
	case r.support.Kind == shop.Platform || r.holder.Kind == shop.NoHolder:
		return refuse(NotSwung, "rig.support", "on a platform the tool is not swung about a point: every place of a straight or rounded edge gets the angle at its nose, and a hollow one cannot be ground on the rim; predict the grind at the nose instead")
	case sigma.Known && sigma.Value < 90*unit.Degree:
		return refuse(NotSwung, "rig.tool.edge_to_side_deg", "swung about a pivot the bevel of a straight edge at %s to its side would twist from one end to the other; lay it on a bar or a platform with the edge parallel to the axle, and predict that grind for its normal and axial angles", degrees(sigma.Value)).
			angle(sigma.Value).least(90)
	}
	return nil
}

// shaped is the tool's edge on its flute, or another shape in its place.
func (r *rig) shaped(other shop.Maybe[shop.EdgeShape]) (t shaped, err error) {
	if err := r.checkSwung().err(); err != nil {
		return t, err
	}
	if t.section, err = r.section(); err != nil {
		return t, err
	}
	if t.bar, err = r.barOf(t.section); err != nil {
		return t, err
	}
	field := "rig.tool.edge"
	shape := r.tool.Edge
	if other.Known {
		field, shape = "edge", other
	}
	if !shape.Known && r.tool.Kind == shop.RoughingGouge {
		shape = shop.Some(shop.EdgeShape{Plan: shop.AcrossPlan})
	}
	if !shape.Known {
		return t, fault.Field(field, fault.Missing, "say the edge's shape: how far its wings run back, {\"setback\": {\"setbackMm\": 12}}, straight across, or measured points")
	}
	t.shape = shape.Value
	t.edge.Section = t.section
	if n := r.layEdge(&t, field); n != nil {
		return t, n.err()
	}
	return t, nil
}

// section is the tool's flute.
func (r *rig) section() (flute.Section, error) {
	s, err := sectionOf(r.tool)
	if err == nil {
		err = refuseSize(s.Check())
	}
	return s, err
}

func sectionOf(t shop.Tool) (flute.Section, error) {
	radius := float64(t.Flute.Value.Radius)
	if old := t.FluteRadius; t.Flute.Known && old.Known && (t.Flute.Value.Shape != shop.RoundFlute || math.Abs(float64(old.Value)-radius) > 1e-6) {
		return flute.Section{}, fault.Field("rig.tool.flute_radius_mm", fault.Contradiction, "%s says a round flute of that radius, and flute says otherwise; leave one out", mm(old.Value))
	}
	switch t.Flute.Value.Shape {
	case shop.ParabolaFlute:
		return flute.Parabola(radius), nil
	case shop.RoundFlute:
		return flute.Round(radius), nil
	case shop.VeeFlute:
		return flute.Vee(radius, float64(t.Flute.Value.Wall)), nil
	case shop.FlatFlute:
		return flute.Flat(), nil
	}
	switch {
	case t.FluteRadius.Known:
		return flute.Round(float64(t.FluteRadius.Value)), nil
	case t.Kind.Flat():
		return flute.Flat(), nil
	}
	return flute.Section{}, fault.Field("rig.tool.flute", fault.Missing, "the wings depend on the flute more than on anything else: say its shape and its radius at the floor (a flute fit finds them from what can be measured)")
}

// barOf is the bar around the flute, where its sizes are known.
func (r *rig) barOf(s flute.Section) (bar shop.Maybe[flute.Bar], err error) {
	t := r.tool
	under, _ := r.steel()
	if !t.Bar.Known || !under.Known {
		return bar, nil
	}
	b := flute.RoundBar(float64(t.Bar.Value.Diameter), float64(under.Value))
	if t.Bar.Value.Diameter == 0 {
		b = flute.RectangularBar(float64(t.Bar.Value.Width), float64(t.Bar.Value.Thickness), float64(under.Value))
	}
	return shop.Some(b), refuseSize(b.Check(s))
}

// sizeFields are where the sizes that make no flute or bar come from.
var sizeFields = map[flute.Size]string{
	flute.FluteRadius: "rig.tool.flute.radius_mm", flute.FluteWall: "rig.tool.flute.wall_angle_deg", flute.BarDiameter: "rig.tool.bar.diameter_mm",
	flute.BarWidth: "rig.tool.bar.rectangular.width_mm", flute.BarThickness: "rig.tool.bar.rectangular.thickness_mm",
	flute.SteelUnderFlute: "rig.tool.steel_under_flute_mm",
}

// refuseSize is the refusal of sizes that make no flute or bar.
func refuseSize(err error) error {
	var size *flute.SizeError
	if !errors.As(err, &size) {
		return err
	}
	n := refuse(FluteDeeper, sizeFields[size.Size], "%v", size).contradicts()
	if size.Size == flute.FluteWall {
		return n.angle(unit.Angle(size.Value)).least(unit.Angle(size.Least).Degrees()).most(unit.Angle(size.Most).Degrees()).err()
	}
	return n.length(unit.Length(size.Value)).least(size.Least).most(size.Most).err()
}

// layEdge lays the shape's plan on the flute, as far as its wings go.
func (r *rig) layEdge(t *shaped, field string) *no {
	if t.shape.Plan == shop.PointsPlan {
		return t.layPoints(field)
	}
	reach, n := r.wingEnd(*t, field)
	if n != nil {
		return n
	}
	t.edge.Right, t.edge.Left = reach, reach
	setback := float64(t.shape.Setback)
	switch t.shape.Plan {
	case shop.SetbackPlan:
		t.edge.Plan = swung.Setback{Setback: setback, Reach: reach, Exponent: t.shape.Exponent}
	case shop.SweptPlan:
		plan, ok := swung.NewSwept(setback, float64(t.shape.NoseRadius), reach)
		if !ok {
			most := unit.Length(reach * reach / (2 * setback))
			return refuse(EdgeOffFlute, field+".swept.nose_radius_mm", "with wings %s long that run back %s the nose's radius must be below %s; there the edge is a parabola",
				mm(unit.Length(reach)), mm(t.shape.Setback), mm(most)).contradicts().length(t.shape.NoseRadius).most(float64(most))
		}
		t.edge.Plan = plan
	case shop.EvenSwingPlan:
		t.edge.Plan = swung.EvenSwing{Section: t.section} // its setting follows
	default:
		t.edge.Plan = swung.Across{}
	}
	return nil
}

// wingEnd is how far along the flute the wings go: as far as said, or to the rim.
func (r *rig) wingEnd(t shaped, field string) (float64, *no) {
	rim, hasRim := math.Inf(1), false
	if t.bar.Known {
		rim, hasRim = t.bar.Value.Rim(t.section)
	}
	var reach float64
	said := field + ".along_flute_mm"
	switch {
	case t.shape.AlongFlute.Known:
		reach = float64(t.shape.AlongFlute.Value)
	case t.shape.HalfWidth.Known:
		half := t.shape.HalfWidth.Value
		said = field + ".half_width_mm"
		along, ok := t.section.AlongAt(float64(half))
		if !ok {
			most := t.widest(rim)
			return 0, refuse(EdgeOffFlute, said, "the flute is nowhere %s wide to one side; it goes to %s, and the wings may run up its walls: say along_flute_mm", mm(half), mm(most)).
				contradicts().length(half).most(float64(most))
		}
		reach = along
	case r.tool.Kind == shop.RoughingGouge && r.tool.FluteRadius.Known:
		reach = float64(r.tool.FluteRadius.Value) * float64(r.tool.FluteHalfAngle.Or(75*unit.Degree))
		return min(reach, rim), nil
	case hasRim:
		return rim, nil
	default:
		return 0, &no{Fault: *fault.Field(field+".wing_end", fault.Missing, "say where the wings end, half_width_mm or along_flute_mm; or give the tool's bar and the steel under its flute, and they end at the rim")}
	}
	if reach > rim*(1+1e-9) {
		most, what := rim, "along the flute"
		if said == field+".half_width_mm" {
			most, what = t.section.At(rim).Side, "to the side"
		}
		return 0, refuse(WingBeyondFlute, said, "the flute's rim is %s %s: there is no steel beyond it", mm(unit.Length(most)), what).contradicts().
			length(unit.Length(t.said(said, field))).most(most)
	}
	return min(reach, rim), nil
}

// said is the length a wing's end was given by.
func (t shaped) said(at, field string) unit.Length {
	if at == field+".half_width_mm" {
		return t.shape.HalfWidth.Value
	}
	return t.shape.AlongFlute.Value
}

// widest is how far to the side a flute goes up to its rim.
func (t shaped) widest(rim float64) unit.Length {
	if math.IsInf(rim, 1) {
		rim = 1e4
	}
	return unit.Length(t.section.At(rim).Side)
}
