package solid

import (
	"bytes"
	"cmp"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"arris.example/deploy/outside"
	"arris.example/geometry"
	"arris.example/geometry/flute"
	"arris.example/geometry/space"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
)

// The finished tools are held against a solid kernel that knows nothing of them: npm manifold-3d cuts the blank with a wheel at every pose,
// and what is left is measured there. Only where the wheel stands comes from here.

// ground is one tool to hold against the kernel.
type ground struct {
	name string
	Tool
}

// grinds are ten of three kinds: bowl gouges with parabolic flutes, spindle gouges with round ones, hollowing gouges with facets.
func grinds() []ground {
	bowl := func(name string, radius, diameter, under, setback, nose, wheel float64) ground {
		section, bar := flute.Parabola(radius), flute.RoundBar(diameter, under)
		return ground{name, one(section, bar, swung.AtNose(geometry.RoundWheel(unit.Length(wheel)), geometry.Pivot{Behind: 105, Below: 60}, unit.Degrees(nose)),
			func(rim float64) swung.Plan { return swung.Setback{Setback: setback, Reach: rim, Exponent: 2} }, 1)}
	}
	spindle := func(name string, radius, diameter, under, setback, nose, reach float64) ground {
		section, bar := flute.Round(radius), flute.RoundBar(diameter, under)
		return ground{name, one(section, bar, swung.AtNose(geometry.RoundWheel(200), geometry.Pivot{Behind: 115, Below: 45}, unit.Degrees(nose)),
			func(rim float64) swung.Plan { return swung.Setback{Setback: setback, Reach: rim, Exponent: 2.5} }, reach)}
	}
	list := []ground{
		bowl("bowl, long wings", 4, 15, 6, 12, 50, 200),
		bowl("bowl, short wings", 3.5, 12, 5, 5, 55, 200),
		bowl("bowl, large wheel", 4, 15, 6.5, 9, 45, 250),
		bowl("bowl, small wheel", 3, 10, 4, 4, 60, 150),
		spindle("spindle", 4, 10, 5.5, 6, 38, 1),
		spindle("spindle, wings end before the rim", 5, 12, 7, 6, 35, 0.8),
		spindle("spindle, blunt", 3.5, 9, 5, 3, 48, 1),
	}
	for _, fronts := range [][]float64{{58, 42}, {55, 45, 35}, {60, 44, 30}} {
		list = append(list, hollowing(fronts))
	}
	return list
}

// one bevel on an edge that runs to a part of the rim.
func one(section flute.Section, bar flute.Bar, g swung.Setting, plan func(rim float64) swung.Plan, part float64) Tool {
	rim, _ := bar.Rim(section)
	return Tool{Bar: bar, Edge: swung.Even(section, plan(rim), part*rim), Behind: 50, Bevels: []swung.Bevel{{Setting: g}}}
}

// hollowing is a short-fluted gouge with a land, perhaps a facet, and a relief: every front angle is below the tangent there at the nose.
func hollowing(fronts []float64) ground {
	w, p := geometry.RoundWheel(150), geometry.Pivot{Behind: 110, Below: 40}
	t := one(flute.Vee(3, 40*math.Pi/180), flute.RoundBar(12, 6), swung.AtNose(w, p, unit.Degrees(fronts[0])),
		func(rim float64) swung.Plan { return swung.Setback{Setback: 2, Reach: rim, Exponent: 2} }, 1)
	t.Bevels = nil
	behind, below := 0.0, 0.0
	for _, front := range fronts {
		g := swung.Setting{Wheel: w, Pivot: p, Gap: w.Gap(p.SeenFrom(unit.Length(behind), unit.Length(below)), unit.Degrees(front))}
		t.Bevels = append(t.Bevels, swung.Bevel{Setting: g, Width: 2})
		chord := front*math.Pi/180 + math.Asin(2/150.0)
		behind, below = behind+2*math.Cos(chord), below+2*math.Sin(chord)
	}
	return ground{"hollowing", t}
}

type job struct {
	Section [][2]float64 `json:"section"`
	Flute   int          `json:"flute"`  // how many of the section's points are the flute's
	Slices  int          `json:"slices"` // the kernel cuts the blank in
	Front   float64      `json:"front"`
	Behind  float64      `json:"behind"`
	Sides   int          `json:"sides"`
	Wheels  []wheelPose  `json:"wheels"`
	Probes  []probe      `json:"probes"`
	Mesh    plainMesh    `json:"mesh"`
	GLTF    []byte       `json:"gltf"`
	faces   []swung.Face // of the probes
}

// probe is a point of the edge and which wheel ground it.
type probe struct {
	At    [3]float64 `json:"at"`
	Wheel int        `json:"wheel"`
}

type wheelPose struct {
	Place  float64    `json:"place"` // of the flute, from -1 at the left rim to 1 at the right
	Radius float64    `json:"radius"`
	Arc    float64    `json:"arc"` // of the fine part, radians behind the edge
	Width  float64    `json:"width"`
	Out    [3]float64 `json:"out"`
	Up     [3]float64 `json:"up"`
	Axle   [3]float64 `json:"axle"`
	Corner [3]float64 `json:"corner"`
}

type plainMesh struct {
	Positions []float64 `json:"positions"`
	Triangles []int32   `json:"triangles"`
}

func list(v space.Vec) [3]float64 { return [3]float64{v.Back, v.Up, v.Side} }

// wheelAt is where the wheel stands when it grinds a face.
func wheelAt(g swung.Setting, f swung.Face, length, place float64) wheelPose {
	const width = 40
	radius := float64(g.Wheel.Radius())
	axle := f.At.Plus(f.Normal.Times(radius))
	return wheelPose{place, radius, 1.1*length/radius + 0.15, width, list(f.Normal.Times(-1)), list(f.Run.Times(-1)), list(f.Axle), list(axle.Minus(f.Axle.Times(width / 2)))}
}

// sectionOf is the blank's: the flute from rim to rim, then the bar's outside below it.
func sectionOf(t Tool, rim float64) [][2]float64 {
	var points [][2]float64
	for i := range sides + 1 {
		p := t.Edge.Section.At(-rim + 2*rim*float64(i)/sides)
		points = append(points, [2]float64{p.Up, p.Side})
	}
	end := t.Edge.Section.At(rim)
	around := t.Bar.AroundAt(end.Side, end.Up)
	const round = 200
	var places []float64
	for i := 1; i < round; i++ {
		places = append(places, around-2*around*float64(i)/round)
	}
	for _, c := range t.Bar.Corners() {
		if math.Abs(c) < around-1e-9 {
			places = append(places, c)
		}
	}
	slices.Sort(places)
	slices.Reverse(places)
	for _, at := range places {
		s := t.Bar.Outline(at)
		points = append(points, [2]float64{s.Up, s.Side})
	}
	return points
}

// poses is how many the wheel takes from rim to rim; ARRIS_KERNEL_POSES asks for another number. The ridges between 180 are two or three
// ten-thousandths of what is removed; the kernel needs 10 to 50 s for them.
func poses(t testing.TB) int {
	n, err := strconv.Atoi(cmp.Or(os.Getenv("ARRIS_KERNEL_POSES"), "180"))
	if err != nil || n < 24 {
		t.Fatal("ARRIS_KERNEL_POSES is a number of 24 or more")
	}
	return n
}

const (
	sides = 360 // the blank's flute has, flat ones. Every pose lies in the middle of one, which has the flute's own direction there.
	parts = 20  // the kernel cuts the blank in
)

// jobFor lays the poses so close that the ridges between them do not count, and probes at poses.
func jobFor(t testing.TB, tool Tool, poses int) job {
	t.Helper()
	rim, _ := tool.Bar.Rim(tool.Edge.Section)
	m, err := Build(tool, 20_000)
	if err != nil {
		t.Fatal(err)
	}
	j := job{Section: sectionOf(tool, rim), Flute: sides + 1, Slices: parts, Front: -1, Behind: tool.Behind, Sides: 4096, Mesh: plain(m), GLTF: m.GLTF()}
	places := []float64{-tool.Edge.Left, tool.Edge.Right}
	for i := range poses {
		side := math.Floor(sides * (float64(i) + 0.5) / float64(poses))
		if along := rim * (2*(side+0.5)/sides - 1); along > -tool.Edge.Left && along < tool.Edge.Right {
			places = append(places, along)
		}
	}
	for i, along := range places {
		s, err := tool.station(along)
		if err != nil {
			t.Fatal(err)
		}
		if face := s.arcs[0].face; i >= 2 && i%4 == 3 {
			j.Probes, j.faces = append(j.Probes, probe{list(face.At), len(j.Wheels)}), append(j.faces, face)
		}
		for b, a := range s.arcs {
			j.Wheels = append(j.Wheels, wheelAt(tool.Bevels[b].Setting, a.face, a.length, along/rim))
		}
	}
	return j
}

func plain(m Mesh) plainMesh {
	var p plainMesh
	for _, v := range m.Positions {
		p.Positions = append(p.Positions, v.Back, v.Up, v.Side)
	}
	for _, patch := range m.Patches {
		for _, f := range patch.Faces {
			for _, v := range f {
				p.Triangles = append(p.Triangles, patch.Vertices[v].Position)
			}
		}
	}
	return p
}

type result struct {
	Removed float64
	Seconds float64
	Wedges  []float64
	Off     []float64
	Ours    struct {
		Status string
		Volume float64
		Pieces int
	}
	GLTFErrors []string
}

// kernel runs jobs in the outside kernel, on all cores.
func kernel(t testing.TB, jobs []job) []result {
	t.Helper()
	tools, err := npmTools()
	if err != nil {
		outside.Missing(t, err.Error())
	}
	results := make([]result, len(jobs))
	var next atomic.Int64
	var all sync.WaitGroup
	for range runtime.NumCPU() {
		all.Go(func() {
			for i := next.Add(1) - 1; i < int64(len(jobs)); i = next.Add(1) - 1 {
				results[i] = kernelJob(t, tools, jobs[i])
			}
		})
	}
	all.Wait()
	return results
}

// kernelJob grinds one body in a process of its own.
func kernelJob(t testing.TB, tools string, j job) (r result) {
	input, err := json.Marshal(j)
	if err != nil {
		t.Error(err)
		return r
	}
	run := exec.CommandContext(t.Context(), "node", "testdata/kernel.mjs", tools)
	run.Stdin = bytes.NewReader(input)
	var complaint strings.Builder
	run.Stderr = &complaint
	output, err := run.Output()
	if err == nil {
		err = json.Unmarshal(output, &r)
	}
	if err != nil {
		t.Errorf("the kernel: %v\n%s", err, complaint.String())
	}
	return r
}

// npmTools is where the pinned npm packages are, installed when they are not.
func npmTools() (string, error) {
	if _, err := exec.LookPath("node"); err != nil {
		return "", err
	}
	output, err := exec.Command(filepath.Join("..", "..", ".ci", "npm-tools")).Output()
	return strings.TrimSpace(string(output)), err
}

func TestFinishedToolsAgainstSolidKernel(t *testing.T) {
	tools := bodies()
	jobs := make([]job, len(tools))
	for i, g := range tools {
		n := poses(t)
		if i >= len(grinds()) {
			n = 24 // in rectangular bars
		}
		jobs[i] = jobFor(t, g.Tool, n)
	}
	results := kernel(t, jobs)
	if t.Failed() {
		return
	}
	for i, r := range results {
		g := tools[i]
		m, err := Build(g.Tool, 20_000)
		if err != nil {
			t.Fatal(err)
		}
		removed := g.Bar.Area(g.Edge.Section)*(g.Behind-jobs[i].Front) - m.Volume()
		t.Logf("%s: removed %.2f mm³, by the kernel %.2f (%+.3f %%), in %.2f s", g.name, removed, r.Removed, 100*(removed/r.Removed-1), r.Seconds)
		if !(math.Abs(removed/r.Removed-1) <= 0.005) {
			t.Errorf("%s: removed %.3f mm³, by the kernel %.3f", g.name, removed, r.Removed)
		}
		for p, f := range jobs[i].faces {
			if off := math.Abs(r.Wedges[p]-f.Wedge) * 180 / math.Pi; !(off <= 0.1) {
				t.Errorf("%s: wedge %.3f° %.2f mm along the flute, by the kernel %.3f°", g.name, f.Wedge*180/math.Pi, f.Along, r.Wedges[p]*180/math.Pi)
			}
			if !(r.Off[p] <= 0.002) {
				t.Errorf("%s: the kernel's edge is %.4f mm off the prescribed one, %.2f mm along the flute", g.name, r.Off[p], f.Along)
			}
		}
		if r.Ours.Status != "NoError" || r.Ours.Pieces != 1 || !(math.Abs(r.Ours.Volume/m.Volume()-1) < 1e-5) {
			t.Errorf("%s: the kernel takes the mesh as %+v; its volume is %.3f", g.name, r.Ours, m.Volume())
		}
		if len(r.GLTFErrors) > 0 {
			t.Errorf("%s: glTF: %s", g.name, strings.Join(r.GLTFErrors, "; "))
		}
	}
}
