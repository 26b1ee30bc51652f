package solid

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"arris.example/geometry/flute"
)

// TestBodiesAreClosed counts the sides of the triangles: in a closed body every one is passed once each way, and no triangle is without area.
func TestBodiesAreClosed(t *testing.T) {
	for _, g := range grinds() {
		for _, triangles := range []int{LeastTriangles, 2_000, 20_000} {
			m, err := Build(g.Tool, triangles)
			if err != nil {
				t.Errorf("%s: %v", g.name, err)
				continue
			}
			if n := m.Triangles(); n > triangles || n < triangles/3 {
				t.Errorf("%s: %d triangles where %d were asked for", g.name, n, triangles)
			}
			passed := map[[2]int32]int{}
			for _, p := range m.Patches {
				for _, f := range p.Faces {
					for i := range f {
						passed[[2]int32{p.Vertices[f[i]].Position, p.Vertices[f[(i+1)%3]].Position}]++
					}
				}
			}
			for side, n := range passed {
				if n != 1 || passed[[2]int32{side[1], side[0]}] != 1 {
					t.Fatalf("%s, %d triangles: side %v is passed %d times, and %d times the other way", g.name, triangles, side, n, passed[[2]int32{side[1], side[0]}])
				}
			}
		}
	}
}

// TestFinerMeshesAgree holds a coarse volume against a fine one.
func TestFinerMeshesAgree(t *testing.T) {
	for _, g := range grinds() {
		coarse, err := Build(g.Tool, 5_000)
		if err != nil {
			t.Fatalf("%s: %v", g.name, err)
		}
		fine, err := Build(g.Tool, MostTriangles)
		if err != nil {
			t.Fatalf("%s: %v", g.name, err)
		}
		if off := coarse.Volume()/fine.Volume() - 1; !(math.Abs(off) < 1e-3) {
			t.Errorf("%s: volume %.3f with 5,000 triangles, %.3f with %d", g.name, coarse.Volume(), fine.Volume(), MostTriangles)
		}
	}
}

// TestWhatMakesNoBody is refused by name.
func TestWhatMakesNoBody(t *testing.T) {
	good := grinds()[0].Tool
	with := func(change func(*Tool)) Tool {
		tool := good
		change(&tool)
		return tool
	}
	cases := []struct {
		why  Why
		tool Tool
	}{
		{NotRound, with(func(t *Tool) { t.Bar = flute.RectangularBar(20, 12, 5) })},
		{TooShort, with(func(t *Tool) { t.Behind = 5 })},
		{Unground, with(func(t *Tool) { t.Bevels = []Bevel{{Setting: t.Bevels[0].Setting}}; t.Bevels[0].Setting.Gap += 50 })},
		{Air, with(func(t *Tool) {
			steeper := t.Bevels[0].Setting
			steeper.Gap += 8
			t.Bevels = []Bevel{{Setting: t.Bevels[0].Setting, Width: 2}, {Setting: steeper}}
		})},
	}
	for _, c := range cases {
		_, err := Build(c.tool, 2_000)
		var why *BuildError
		if !errors.As(err, &why) || why.Why != c.why {
			t.Errorf("%v, want reason %d", err, c.why)
		}
	}
	for _, n := range []int{-1, LeastTriangles - 1, MostTriangles + 1} {
		if _, err := Build(good, n); err == nil {
			t.Errorf("%d triangles were made", n)
		}
	}
}

func BenchmarkBuild(b *testing.B) {
	for _, triangles := range []int{2_000, 20_000} {
		b.Run(fmt.Sprint(triangles), func(b *testing.B) {
			tool := grinds()[0].Tool
			for b.Loop() {
				if _, err := Build(tool, triangles); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
