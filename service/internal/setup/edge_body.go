package setup

import (
	"errors"
	"fmt"
	"math"

	"arris.example/geometry/solid"
	"arris.example/geometry/swung"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// bodyBehind is how much of the bar a body shows behind its wings, beside a girth of it.
const bodyBehind = 20 // mm

// body is the tool that a plan makes, as one body: bar, flute and every bevel that goes round the edge.
func (x *search) body(p plan, t shaped) (solid.Tool, error) {
	if !t.bar.Known {
		return solid.Tool{}, fault.Field("rig.tool.bar", fault.Missing, "a tool's body needs its bar: {\"diameterMm\": 15} and the steel under its flute")
	}
	body := solid.Tool{Bar: t.bar.Value, Edge: t.edge, Bevels: x.chain(p, t).Bevels}
	end := math.Max(t.edge.At(t.edge.Right).At.Back, t.edge.At(-t.edge.Left).At.Back)
	body.Behind = math.Max(end, 0) + t.bar.Value.Girth() + bodyBehind
	return body, nil
}

// mesh is the finished tool as a binary glTF.
func (x *search) mesh(p plan, t shaped, triangles int) (*EdgeMesh, error) {
	body, err := x.body(p, t)
	if err != nil {
		return nil, err
	}
	if triangles == 0 {
		triangles = UsualTriangles
	}
	m, err := solid.Build(body, triangles)
	if err != nil {
		return nil, noBody(err)
	}
	return &EdgeMesh{GLTF: m.GLTF(), Triangles: m.Triangles()}, nil
}

// removedTriangles are enough for a volume within a few parts in ten thousand.
const removedTriangles = 5_000

// steelDensity in g/mm³. High-speed steel: M2 is 8.16 g/cm³ (published data sheets). Carbon steel, powder steel and what is not told: from
// memory of such sheets, 7.85, 8.0 and 8.0.
var steelDensity = map[shop.Steel]float64{shop.AnySteel: 8.0e-3, shop.CarbonSteel: 7.85e-3, shop.HighSpeedSteel: 8.16e-3, shop.PowderSteel: 8.0e-3}

// weigh adds what the grind takes from the bar, cut square at the foremost place of its edge. A tool that makes no body is not weighed, and
// says so.
func (x *search) weigh(p plan, t shaped, s *EdgeSteel) {
	body, err := x.body(p, t)
	if err != nil {
		return
	}
	removed, err := solid.Removed(body, removedTriangles)
	if err != nil {
		s.Text += x.say(" The steel ground off is not known: the finished tool makes no body; ask for its mesh to see why.")
		return
	}
	s.Removed = shop.Some(removed)
	s.Mass = shop.Some(s.Removed.Value * steelDensity[x.tool.Steel])
	s.Text += x.say(" From the square bar the grind takes %s mm³, %s g.", x.in.Number(s.Removed.Value, 0), x.in.Number(s.Mass.Value, 1))
}

// noBody is the refusal of a tool that makes no body.
func noBody(err error) error {
	field := "rig.tool.bar"
	if stack := new(swung.StackError); errors.As(err, &stack) {
		field = fmt.Sprintf("grind.bevels[%d]", stack.Bevel)
	}
	return refuse(NoBody, field, "the finished tool makes no body: %v; points, views and wedge angles do not need one: leave the mesh out for them", err).err()
}
