package solid

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/flute"
	"arris.example/geometry/space"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
)

// bodies are the grinds that the kernel sees, and some in rectangular bars.
func bodies() []ground {
	g := swung.AtNose(geometry.RoundWheel(200), geometry.Pivot{Behind: 120, Below: 30}, 45*unit.Degree)
	setback := func(s float64) func(float64) swung.Plan {
		return func(rim float64) swung.Plan { return swung.Setback{Setback: s, Reach: rim, Exponent: 2} }
	}
	return append(grinds(),
		ground{"scraper", one(flute.Flat(), flute.RectangularBar(25, 8, 8), g, setback(6), 1)},
		ground{"roughing, rectangular", one(flute.Round(8), flute.RectangularBar(24, 14, 5), g, setback(1), 1)},
		ground{"shallow, rectangular", one(flute.Vee(6, 0.9), flute.RectangularBar(20, 9, 5), g, setback(5), 1)},
		ground{"wings end early", one(flute.Parabola(5), flute.RectangularBar(20, 12, 6), g, setback(5), 0.7)},
	)
}

func TestBodiesAreClosed(t *testing.T) {
	for _, g := range bodies() {
		for _, n := range []int{LeastTriangles, 3000, 20_000, 90_000} {
			m, err := Build(g.Tool, n)
			if err != nil {
				t.Fatalf("%s: %v", g.name, err)
			}
			if err := m.Check(); err != nil {
				t.Errorf("%s, %d: %v", g.name, n, err)
			}
			if made := m.Triangles(); made > n || made < n/2 {
				t.Errorf("%s: %d triangles of %d", g.name, made, n)
			}
		}
	}
}

// What is left of the bar must not depend on how fine the mesh is: finer meshes settle, four times as fast as they grow finer.
func TestVolumeSettles(t *testing.T) {
	for _, g := range bodies() {
		var v [3]float64
		for i, n := range []int{5_000, 20_000, 80_000} {
			m, err := Build(g.Tool, n)
			if err != nil {
				t.Fatalf("%s: %v", g.name, err)
			}
			v[i] = m.Volume()
		}
		whole := g.Bar.Area(g.Edge.Section) * g.Behind
		t.Logf("%s: removed behind the nose %.3f, %.3f, %.3f", g.name, whole-v[0], whole-v[1], whole-v[2])
		if d := math.Abs(v[2] - v[1]); d > 2e-3*(whole-v[2]) {
			t.Errorf("%s: volume %.4f of 20,000 triangles, %.4f of 80,000", g.name, v[1], v[2])
		}
	}
}

// Triangles face the way their corners' normals do, within what a patch turns between corners.
func TestNormals(t *testing.T) {
	for _, g := range bodies() {
		m, err := Build(g.Tool, 20_000)
		if err != nil {
			t.Fatalf("%s: %v", g.name, err)
		}
		bad, worst := 0, ""
		for i, p := range m.Patches {
			for _, f := range p.Faces {
				a, b, c := m.at(p, f[0]), m.at(p, f[1]), m.at(p, f[2])
				n := b.Minus(a).Cross(c.Minus(a))
				if n.Length() < 1e-5 {
					continue
				}
				for _, v := range f {
					if off := n.AngleTo(p.Vertices[v].Normal); off > 0.1 {
						bad++
						worst = fmt.Sprintf("patch %d (%v) at %v: %.3f rad", i, p.Surface, m.Positions[p.Vertices[v].Position], off)
					}
				}
			}
		}
		if bad > 0 {
			t.Errorf("%s: %d corners of triangles lean from their normals; %s", g.name, bad, worst)
		}
	}
}

func TestCreasesAreSharp(t *testing.T) {
	m, err := Build(grinds()[0].Tool, 20_000)
	if err != nil {
		t.Fatal(err)
	}
	normals := map[int32][]space.Dir{}
	for _, p := range m.Patches {
		for _, v := range p.Vertices {
			normals[v.Position] = append(normals[v.Position], v.Normal)
		}
	}
	nose := int32(-1)
	for i, p := range m.Positions {
		if p == (space.Vec{}) {
			nose = int32(i)
		}
	}
	if nose < 0 || len(normals[nose]) != 2 || math.Abs(normals[nose][0].AngleTo(normals[nose][1])-130*math.Pi/180) > 1e-9 {
		t.Errorf("normals at the nose of a 50° edge: %v", normals[nose])
	}
}

func TestRefusals(t *testing.T) {
	good := grinds()[0].Tool
	build := func(n int, change func(*Tool)) error {
		tool := good
		tool.Bevels = append([]swung.Bevel(nil), good.Bevels...)
		change(&tool)
		_, err := Build(tool, n)
		return err
	}
	var refused *BuildError
	var stack *swung.StackError
	var size *flute.SizeError
	same := func(*Tool) {}
	if err := build(LeastTriangles-1, same); !errors.As(err, &refused) || refused.Why != Count {
		t.Error(err)
	}
	if err := build(MostTriangles+1, same); !errors.As(err, &refused) || refused.Why != Count {
		t.Error(err)
	}
	if err := build(9999, func(t *Tool) { t.Bevels = nil }); !errors.As(err, &refused) || refused.Why != Bevels {
		t.Error(err)
	}
	if err := build(9999, func(t *Tool) { t.Behind = 11 }); !errors.As(err, &refused) {
		t.Error(err)
	}
	if err := build(9999, func(t *Tool) { t.Bevels[0].Setting.Gap += 60 }); !errors.As(err, &stack) || stack.Why != swung.Unreached {
		t.Error(err)
	}
	if err := build(9999, func(t *Tool) { t.Bar = flute.RoundBar(15, 20) }); !errors.As(err, &size) {
		t.Error(err)
	}
	steeper := func(t *Tool) {
		t.Bevels[0].Width = 2
		t.Bevels = append(t.Bevels, swung.Bevel{Setting: t.Bevels[0].Setting})
		t.Bevels[1].Setting.Gap += 3
	}
	if err := build(9999, steeper); !errors.As(err, &stack) || stack.Why != swung.Rising {
		t.Error(err)
	}
}
