package solid

import (
	"math"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/flute"
	"arris.example/geometry/swung"
)

// On a flat abrasive an edge straight across a flat blade gets a plane bevel, and what goes is a wedge: width × thickness² / (2 tan β).
func TestSteelOfAPlaneBevel(t *testing.T) {
	const width, thickness, edge = 20.0, 6.0, math.Pi / 4
	g := swung.AtNose(geometry.FlatAbrasive(), geometry.Pivot{Behind: 100, Below: 40}, edge)
	tool := Tool{
		Bar: flute.RectangularBar(width, thickness, thickness), Edge: swung.Even(flute.Flat(), swung.Across{}, width/2), Behind: 50,
		Bevels: []swung.Bevel{{Setting: g}},
	}
	got, err := Removed(tool, 20_000)
	if want := width * thickness * thickness / (2 * math.Tan(edge)); err != nil || math.Abs(got-want) > 1e-6*want {
		t.Errorf("%g mm³, %v; want %g", got, err, want)
	}
}

// What goes is the same however much of the bar is shown, and more where the wings run further back.
func TestSteelIsOfTheEnd(t *testing.T) {
	for _, g := range bodies() {
		short, err := Removed(g.Tool, 20_000)
		if err != nil {
			t.Fatal(err)
		}
		longer := g.Tool
		longer.Behind += 7
		long, err := Removed(longer, 20_000)
		if err != nil || math.Abs(long-short) > 2e-3*short {
			t.Errorf("%s: %g mm³ of a longer bar, %g of a shorter, %v", g.name, long, short, err)
		}
	}
	g := grinds()[0].Tool
	plan, ok := g.Edge.Plan.(swung.Setback)
	if !ok {
		t.Fatal("another plan")
	}
	before, err := Removed(g, 20_000)
	if err != nil {
		t.Fatal(err)
	}
	plan.Setback += 2
	g.Edge.Plan = plan
	if after, err := Removed(g, 20_000); err != nil || after < before+10 {
		t.Errorf("%g mm³ with wings 2 mm further back, %g before, %v", after, before, err)
	}
}

// A tool that makes no body has no steel, and says why.
func TestSteelOfNoBody(t *testing.T) {
	g := grinds()[0].Tool
	g.Bevels = nil
	if got, err := Removed(g, 20_000); err == nil {
		t.Errorf("%g mm³", got)
	}
}
