package solid

import (
	"math"
	"testing"
)

// TestGroundVerticesKnowTheirPlace: a vertex at the front of the first bevel lies on the edge at the length along the flute that it tells, and
// what goes down one column tells the same length, so that lines of one u run as the wheel does.
func TestGroundVerticesKnowTheirPlace(t *testing.T) {
	tool := grinds()[0].Tool
	m, err := Build(tool, 20_000)
	if err != nil {
		t.Fatal(err)
	}
	fronts, ends := 0, 0
	for _, p := range m.Patches {
		if p.Surface != Ground || p.Bevel != 0 {
			continue
		}
		for i, v := range p.Vertices {
			if v.Down == 0 {
				off := m.Positions[v.Position].Minus(tool.Edge.At(v.Along).At)
				if within := v.Along >= -tool.Edge.Left && v.Along <= tool.Edge.Right; within && off.Length() > 1e-9 {
					t.Errorf("at %g along the edge is %v", v.Along, off)
				}
				fronts++
				continue
			}
			if v.Along != p.Vertices[i-1].Along || !(v.Down > p.Vertices[i-1].Down) {
				t.Errorf("vertex %d goes from %g, %g to %g, %g", i, p.Vertices[i-1].Along, p.Vertices[i-1].Down, v.Along, v.Down)
			}
			if math.Abs(v.Down-1) < 1e-12 {
				ends++
			}
		}
	}
	if fronts < 100 || ends != fronts {
		t.Errorf("%d columns begin and %d end", fronts, ends)
	}
}
