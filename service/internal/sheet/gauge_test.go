package sheet_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"arris.example/deploy/outside"
	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/sheet"
	"arris.example/service/internal/shop"
)

// cut is what another program finds in a drawing to cut.
type cut struct {
	arcs  [][7]float64 // centre, radius, start, end
	lines [][4]float64
}

// readDXF writes pages and reads them with ezdxf; each has to be one closed outline.
func readDXF(t *testing.T, pages ...paper.Page) (all []cut) {
	t.Helper()
	folder := t.TempDir()
	args := []string{"testdata/read_dxf.py"}
	for i, p := range pages {
		var text bytes.Buffer
		if err := paper.DXF(&text, p); err != nil {
			t.Fatal(err)
		}
		args = append(args, filepath.Join(folder, fmt.Sprintf("%d.dxf", i)))
		if err := os.WriteFile(args[i+1], text.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := os.Stat("/usr/lib/python3/dist-packages/ezdxf"); err != nil {
		outside.Missing(t, "ezdxf is missing: install Debian's python3-ezdxf")
	}
	for line := range strings.Lines(outside.Run(t, "python3-ezdxf", "/usr/bin/python3", args...)) {
		var a [7]float64
		var l [4]float64
		if line == "FILE\n" {
			all = append(all, cut{})
			continue
		}
		c := &all[len(all)-1]
		if n, _ := fmt.Sscanf(line, "ARC %g %g %g %g %g %g %g", &a[0], &a[1], &a[2], &a[3], &a[4], &a[5], &a[6]); n == 7 {
			c.arcs = append(c.arcs, a)
		} else if n, _ := fmt.Sscanf(line, "LINE %g %g %g %g", &l[0], &l[1], &l[2], &l[3]); n == 4 {
			c.lines = append(c.lines, l)
		} else {
			t.Fatalf("cannot read %q", line)
		}
	}
	if len(all) != len(pages) {
		t.Fatalf("%d drawings were read, not %d", len(all), len(pages))
	}
	for _, c := range all {
		c.closed(t)
	}
	return all
}

// closed fails unless lines and arcs make one outline: every end is met by exactly one other.
func (c cut) closed(t *testing.T) {
	t.Helper()
	ends := map[string]int{}
	note := func(x, y float64) { ends[fmt.Sprintf("%.3f %.3f", x+1e-9, y+1e-9)]++ }
	for _, a := range c.arcs {
		note(a[3], a[4])
		note(a[5], a[6])
	}
	for _, l := range c.lines {
		note(l[0], l[1])
		note(l[2], l[3])
	}
	for at, n := range ends {
		if n != 2 {
			t.Errorf("%d ends at %s: the outline is not closed", n, at)
		}
	}
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.5f, want %.5f within %g", what, got, want, tolerance)
	}
}

// A card to cut, as another program reads it, has the wheel's arc and the seat's distance from it as the solver has them.
func TestGaugesReadByAnother(t *testing.T) {
	m := maker()
	for _, name := range []string{"bowl", "facets", "detail", "roughing", "with land"} {
		t.Run(name, func(t *testing.T) {
			q := setup.Question{Common: asks[name]}
			cards, found, err := m.Cards(t.Context(), sheet.WheelGap, q)
			if err != nil {
				t.Fatal(err)
			}
			gauges, _, err := m.Solver.Gauges(t.Context(), q)
			if err != nil {
				t.Fatal(err)
			}
			if len(cards) != len(found.Steps) {
				t.Fatalf("%d cards for %d steps", len(cards), len(found.Steps))
			}
			for i, c := range readDXF(t, cards...) {
				gap := float64(found.Steps[i].Support.Lengths[shop.DatumWheelGap].Exact)
				rim := c.arcs[0]
				near(t, "the arc's radius", 2*rim[2], float64(found.Basis.WheelDiameter), 1e-4)
				nearest := rim[0] + rim[2]
				furthest := 0.0
				for _, l := range c.lines {
					furthest = max(furthest, l[0], l[2])
				}
				if seat := gauges[i].SeatOf; seat > 0 {
					near(t, "the seat's radius", c.arcs[1][2], float64(seat), 1e-4)
					furthest = c.arcs[1][0] - c.arcs[1][2]
				}
				if found.Steps[i].Support.SetBy == shop.DatumWheelGap {
					gap = float64(found.Steps[i].Support.Lengths[shop.DatumWheelGap].Set)
				}
				near(t, "rim to support", furthest-nearest, gap, 0.051) // set by another datum, the gap is not rounded itself
				near(t, "rim to support, as it is set", furthest-nearest, float64(gauges[i].Gap), 1e-4)
			}
		})
	}
}

// A gauge says with which wheels it is good. Put on the smallest and the largest by coordinates, without the engine's own range, it grinds
// just the tolerance away; beyond them more.
func TestGaugesKnowTheirWheels(t *testing.T) {
	m := maker()
	gauges, _, err := m.Solver.Gauges(t.Context(), setup.Question{Common: asks["bowl"]})
	if err != nil {
		t.Fatal(err)
	}
	g := gauges[0]
	// The pivot of the reference set-up: stick-out 45, joint 22 and 9, leg 74 at 30°.
	pivot := geometry.Pivot{Behind: unit.Length(45 + 22 + 74*math.Cos(math.Pi/6)), Below: unit.Length(9 + 74*math.Sin(math.Pi/6))}
	off := func(diameter float64) float64 {
		// The card's corners lie on its own arc; on a larger wheel they touch first. Slide the card until nothing is inside the rim.
		radius, half, gap := diameter/2, float64(g.HalfArc), 0.0
		for y := -half; y <= half; y += half / 500 {
			card := math.Sqrt(float64(g.Diameter*g.Diameter)/4-y*y) - float64(g.Diameter)/2 // of the arc at this height, from its middle
			rim := math.Sqrt(radius*radius-y*y) - radius
			gap = max(gap, rim-card)
		}
		edge, err := geometry.RoundWheel(unit.Length(diameter)).EdgeAngle(pivot, unit.Length(gap)+g.Gap)
		if err != nil {
			t.Fatal(err)
		}
		return math.Abs((edge - g.Edge).Degrees())
	}
	tolerance := g.Tolerance.Degrees()
	near(t, "off with its own wheel", off(float64(g.Diameter)), 0, 1e-6)
	near(t, "off with the smallest", off(float64(g.From)), tolerance, 0.002)
	near(t, "off with the largest", off(float64(g.To)), tolerance, 0.002)
	if !(off(float64(g.From)-1) > tolerance && off(float64(g.To)+1) > tolerance && g.From < g.Diameter && g.To > g.Diameter) {
		t.Errorf("good from %v to %v", g.From, g.To)
	}
}

// What cannot be held in a gap is refused with a reason; what does not fit on paper is to be cut.
func TestGaugesThatCannotBe(t *testing.T) {
	m := maker()
	for name, reason := range map[string]fault.Reason{"scraper": "NO_GAUGE", "skew": "NO_GAUGE", "roughing": "TOO_LARGE_FOR_PAPER"} {
		_, _, err := m.Gauges(t.Context(), sheet.WheelGap, setup.Question{Common: asks[name]}, paper.A4)
		if f, ok := fault.As(err); !ok || f.Reason != reason || f.Kind != fault.Impossible {
			t.Errorf("%s: %v, want %s", name, err, reason)
		}
	}
	near := setup.Question{Common: asks["detail"]}
	near.Given.StickOut = shop.Some(unit.Length(9))
	if _, _, err := m.Gauges(t.Context(), sheet.WheelGap, near, paper.A4); err == nil {
		t.Error("a gauge for no room")
	}
}

// Printed, a gauge is as long as it says: the picture that another program draws has its two ends as far apart.
func TestPrintedGaugeIsTrue(t *testing.T) {
	m := maker()
	for name, ask := range map[string]setup.Common{"bowl": asks["bowl"], "detail": asks["detail"]} {
		d, _, err := m.Gauges(t.Context(), sheet.WheelGap, setup.Question{Common: ask}, paper.A4)
		if err != nil {
			t.Fatal(err)
		}
		for _, page := range d.Pages {
			within(t, page)
		}
		gauges, _, err := m.Solver.Gauges(t.Context(), setup.Question{Common: ask})
		if err != nil {
			t.Fatal(err)
		}
		const dots = 600
		to := filepath.Join(t.TempDir(), name)
		outside.Run(t, "poppler-utils", "pdftoppm", "-r", fmt.Sprint(dots), "-gray", "-singlefile", written(t, d), to)
		wide, high, grey := picture(t, to+".pgm")
		// The card's axis is the row that its point or its seat is nearest to the middle of: the row through the middle of its lines.
		axis := axisOf(d.Pages[0]) * dots / 25.4
		row := int(math.Round(axis))
		if row >= high {
			t.Fatal("off the page")
		}
		first, last := -1, -1
		for x := range wide {
			if grey[row*wide+x] < 128 {
				if first < 0 {
					first = x
				}
				if float64(x-first)*25.4/dots < float64(gauges[0].Gap)+2 { // beyond is the bar's far side, dashed
					last = x
				}
			}
		}
		// From the rim to the point, or to the bar's near side; less the lines' width, of which a point's end has little.
		near(t, name+": from end to end", float64(last-first)*25.4/dots-0.2, float64(gauges[0].Gap), 0.12)
	}
}

// axisOf is how far down the page a card's axis lies: the centre of its arc.
func axisOf(p paper.Page) float64 {
	for _, m := range p.Marks {
		if l, ok := m.(paper.Line); ok && l.Arc != nil {
			return l.Arc.Centre.Y
		}
	}
	return 0
}
