package sheet_test

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"arris.example/deploy/outside"
	"arris.example/geometry/unit"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/sheet"
	"arris.example/service/internal/shop"
)

// extreme are questions whose cards are large, small, slender or blunt.
func extreme() map[string]setup.Question {
	elsewhere := apart()
	elsewhere.Places = make([]setup.RigSource, 2)
	elsewhere.Places[1].Station.Name = demo.Name + "/stations/south"
	flat := apart()
	flat.Rig.Station = setup.Source[shop.Station]{}
	flat.Rig.Wheel.Inline = &shop.Wheel{Flat: true}
	now := setup.Question{Common: asks["facets"]}
	now.Now = &shop.Settings{Datum: shop.DatumSlide, Support: 133}
	all := map[string]setup.Question{"apart": apart(), "on two machines": elsewhere, "on a flat abrasive": flat, "from where it stands": now}
	for name, ask := range asks {
		all[name] = setup.Question{Common: ask}
	}
	for _, stick := range []unit.Length{20, 30, 90, 140} {
		for _, leg := range []float64{10, 20, 40, 65, 88} {
			for _, edge := range []float64{16, 45, 85} {
				q := setup.Question{Common: asked("", "west", "")}
				q.Recipe = ""
				q.Rig.Holder.Name = demo.Name + "/holders/swing"
				q.Rig.Tool.Inline = &shop.Tool{Kind: shop.BowlGouge, SteelUnderFlute: shop.Some(unit.Length(9))}
				q.Given.StickOut, q.Given.Leg = shop.Some(stick), shop.Some(unit.Degrees(leg))
				q.Grind = &shop.Grind{Bevels: []shop.Bevel{{Of: shop.FrontAngle, Angle: unit.Degrees(edge), Width: shop.Some(unit.Length(2))}, {Of: shop.FrontAngle, Angle: unit.Degrees(edge * 0.8)}}}
				all[fmt.Sprintf("%g mm, leg %g°, edge %g°", stick, leg, edge)] = q
			}
		}
	}
	return all
}

// Whatever is asked, the words on a card stand inside of it and clear of its outline, larger than nothing, and everything is on its page.
func TestWordsStayOnTheirCards(t *testing.T) {
	m := maker()
	drawn := map[string]int{}
	for name, q := range extreme() {
		for _, u := range []setup.LengthUnit{setup.Millimetres, setup.Inches, setup.BothUnits} {
			q.Unit = u
			for word, kind := range kinds {
				cards, _, err := m.Cards(t.Context(), kind, q)
				if err != nil {
					if f, ok := fault.As(err); !ok || f.Kind != fault.Impossible {
						t.Errorf("%s, %s: %v", name, word, err)
					}
					continue
				}
				for _, page := range cards {
					drawn[word]++
					clearOfOutline(t, name+", "+word, page)
					text := textOf(paper.Document{Pages: []paper.Page{page}})
					if _, kept := asks[name]; kept && !strings.Contains(text, "revision 1") {
						t.Errorf("%s, %s: no revision on %q", name, word, text)
					}
				}
				d, _, err := m.Gauges(t.Context(), kind, q, paper.Letter)
				if f, ok := fault.As(err); err != nil && (!ok || f.Reason != sheet.TooLarge) {
					t.Errorf("%s, %s: %v", name, word, err)
				}
				for _, page := range d.Pages {
					onPage(t, name+", "+word, page)
				}
			}
		}
	}
	for word := range kinds {
		if drawn[word] < 20 {
			t.Errorf("only %d cards of kind %s", drawn[word], word)
		}
	}
}

// clearOfOutline fails where words leave a card, come near its outline or cover one another.
func clearOfOutline(t *testing.T, what string, page paper.Page) {
	t.Helper()
	var words []paper.Words
	for _, m := range page.Marks {
		if w, ok := m.(paper.Words); ok {
			words = append(words, w)
		}
	}
	if len(words) == 0 {
		t.Errorf("%s: nothing is written", what)
	}
	for i, w := range words {
		if w.Size < 2 {
			t.Errorf("%s: the letters of %q are set in %.2f mm", what, w.Text, w.Size)
		}
		corners := w.Corners()
		for n, c := range corners {
			next := corners[(n+1)%len(corners)]
			for step := range 20 {
				p := paper.Point{X: c.X + (next.X-c.X)*float64(step)/20, Y: c.Y + (next.Y-c.Y)*float64(step)/20}
				if away := toLines(p, page); away < 0.8 {
					t.Errorf("%s: %q comes within %.2f mm of the outline", what, w.Text, away)
					return
				}
			}
		}
		if !inside(corners[0], page) {
			t.Errorf("%s: %q is off the card", what, w.Text)
		}
		for _, other := range words[:i] {
			a, b := paper.Bounds(w)
			c, d := paper.Bounds(other)
			if a.X < d.X && c.X < b.X && a.Y+0.2*w.Size < d.Y && c.Y+0.2*w.Size < b.Y {
				t.Errorf("%s: %q covers %q", what, w.Text, other.Text)
			}
		}
	}
}

// pieces are an outline's lines, arcs as short ones.
func pieces(page paper.Page) (all [][2]paper.Point) {
	for _, m := range page.Marks {
		l, ok := m.(paper.Line)
		if !ok {
			continue
		}
		points := slices.Clone(l.Points)
		if l.Arc != nil {
			for i := range 41 {
				points = append(points, l.Arc.At(l.Arc.Start+l.Arc.Sweep*float64(i)/40))
			}
		} else if l.Closed {
			points = append(points, points[0])
		}
		for i := 1; i < len(points); i++ {
			all = append(all, [2]paper.Point{points[i-1], points[i]})
		}
	}
	return all
}

// toLines is how far a point is from the outline.
func toLines(p paper.Point, page paper.Page) float64 {
	least := math.Inf(1)
	for _, l := range pieces(page) {
		dx, dy := l[1].X-l[0].X, l[1].Y-l[0].Y
		along := 0.0
		if square := dx*dx + dy*dy; square > 0 {
			along = max(0, min(1, ((p.X-l[0].X)*dx+(p.Y-l[0].Y)*dy)/square))
		}
		least = min(least, math.Hypot(p.X-l[0].X-along*dx, p.Y-l[0].Y-along*dy))
	}
	return least
}

// inside tells whether a ray from a point to the right leaves the outline once more than it enters it.
func inside(p paper.Point, page paper.Page) bool {
	in := false
	for _, l := range pieces(page) {
		if (l[0].Y > p.Y) != (l[1].Y > p.Y) && p.X < l[0].X+(p.Y-l[0].Y)*(l[1].X-l[0].X)/(l[1].Y-l[0].Y) {
			in = !in
		}
	}
	return in
}

// onPage fails where anything leaves the page or reaches into the check bar.
func onPage(t *testing.T, what string, page paper.Page) {
	t.Helper()
	for _, m := range page.Marks {
		least, most := paper.Bounds(m)
		if l, ok := m.(paper.Line); ok && len(l.Dashes) == 0 && l.Width == 0.2 && most.Y > page.Height-20 {
			t.Errorf("%s: a card reaches into the check bar, %.1f of %.1f mm", what, most.Y, page.Height)
		}
		if least.X < 5 || least.Y < 5 || most.X > page.Width-5 || most.Y > page.Height-5 {
			t.Errorf("%s: %v leaves the page", what, m)
		}
	}
}

// Printed, a block is as long and a notch as wide as it says, in the picture that another program draws.
func TestPrintedKindsAreTrue(t *testing.T) {
	m := maker()
	printed := func(kind sheet.Kind, q setup.Question) raster {
		d, _, err := m.Gauges(t.Context(), kind, q, paper.A4)
		if err != nil {
			t.Fatal(err)
		}
		to := filepath.Join(t.TempDir(), "page")
		outside.Run(t, "poppler-utils", "pdftoppm", "-r", "600", "-gray", "-f", "1", "-l", "1", "-singlefile", written(t, d), to)
		r := raster{page: d.Pages[0]}
		r.wide, r.high, r.grey = picture(t, to+".pgm")
		return r
	}
	// The end at the holder, the relief's far side and the stop cross the row just below where the tool lies.
	block := printed(sheet.StickOut, setup.Question{Common: asks["bowl"]})
	at := block.outline()
	across := block.row(at[0].Y + 1)
	if len(across) != 4 {
		t.Fatalf("lines at %v", across)
	}
	near(t, "a printed stick-out", across[2]-across[0], 45, 0.06)
	// A tongue's two sides.
	blocks := printed(sheet.Spacers, setup.Question{Common: asks["facets"]})
	spacings, _, err := m.Solver.Spacers(t.Context(), setup.Question{Common: asks["facets"]})
	if err != nil {
		t.Fatal(err)
	}
	low := slices.MaxFunc(blocks.outline(), func(a, b paper.Point) int { return cmp.Compare(a.Y, b.Y) }).Y
	across = blocks.row(low - 5)
	near(t, "a printed block", across[1]-across[0], float64(spacings[0].Blocks[0].Length), 0.06)
	// The notch's lower side between two rows; its upper side is level.
	card := printed(sheet.Bevel, setup.Question{Common: asks["bowl"]})
	cards, _, err := m.Solver.BevelCards(t.Context(), setup.Question{Common: asks["bowl"]})
	if err != nil {
		t.Fatal(err)
	}
	corner := card.outline()[0]
	first, second := card.row(corner.Y + 1.5)[1], card.row(corner.Y + 11.5)[1]
	near(t, "a printed notch", math.Atan2(10, second-first)*180/math.Pi, cards[0].Reading.Degrees(), 0.25)
	// The leg's side likewise, left of the wedge: it is the first line that is not dashed.
	wedge := printed(sheet.Leg, setup.Question{Common: asks["bowl"]})
	points := wedge.outline()
	end := points[len(points)-2]
	at1, at2 := wedge.nearest(end.Y-5, end.X-5/math.Tan(math.Pi/6)), wedge.nearest(end.Y-20, end.X-20/math.Tan(math.Pi/6))
	near(t, "a printed wedge", math.Atan2(15, at1-at2)*180/math.Pi, 30, 0.15)
}

// raster is a page as a picture of 600 dots to the inch.
type raster struct {
	page       paper.Page
	wide, high int
	grey       []byte
}

const dot = 25.4 / 600

// outline is the first card's.
func (r raster) outline() []paper.Point {
	for _, m := range r.page.Marks {
		if l, ok := m.(paper.Line); ok && l.Closed && l.Width == 0.2 && len(l.Dashes) == 0 {
			return l.Points
		}
	}
	return nil
}

// row is where lines cross a height, their middles in millimetres; words and dashes too.
func (r raster) row(y float64) (all []float64) {
	line := r.grey[int(y/dot)*r.wide : (int(y/dot)+1)*r.wide]
	for x := 0; x < r.wide; x++ {
		from := x
		for x < r.wide && line[x] < 128 {
			x++
		}
		if x > from {
			all = append(all, float64(from+x)/2*dot)
		}
	}
	return all
}

// nearest is the line nearest to a place.
func (r raster) nearest(y, x float64) float64 {
	return slices.MinFunc(r.row(y), func(a, b float64) int { return cmp.Compare(math.Abs(a-x), math.Abs(b-x)) })
}

// What a gauge is good for stands on paper, as another program reads it: the number, how far off it may be, on which wheel, of which revision,
// and what it depends on.
func TestGaugesSayWhatTheyAreGoodFor(t *testing.T) {
	m := maker()
	for word, wants := range map[string][]string{
		"stick-out": {"Stick-out 45.0 mm, from the holder's front face to the nose.", "From 44.1 mm to 46.0 mm, all else as it is set, it grinds 50.0° within 1.0° on a wheel of ⌀ 200.0 mm.", "good 44.1 mm to 46.0 mm"},
		"leg":       {"Leg 30.0° from the tool's axis towards the handle.", "From 28.7° to 31.3°, all else", "leg 30.0°"},
		"bevel":     {"Notch 52.9°, as a protractor laid on the bevel reads. The edge is 50.0°, for the bevel is hollow", "with wheels ⌀ 148.5 mm to 306.5 mm", "reads 52.9°"},
	} {
		d, _, err := m.Gauges(t.Context(), kinds[word], setup.Question{Common: asks["bowl"]}, paper.A4)
		if err != nil {
			t.Fatal(err)
		}
		file := written(t, d)
		outside.Run(t, "qpdf", "qpdf", "--check", file)
		text := strings.Join(strings.Fields(outside.Run(t, "poppler-utils", "pdftotext", "-raw", file, "-")), " ")
		for _, want := range append(wants, "only if the bar below measures 100.0 mm; otherwise it is invalid", "stiff", "bowl-50, revision 1") {
			if !strings.Contains(text, want) {
				t.Errorf("%s: no %q in %s", word, want, text)
			}
		}
	}
}

// In inches nothing but the check bar is in millimetres.
func TestKindsInInches(t *testing.T) {
	for word, q := range map[string]setup.Question{"stick-out": {Common: asks["bowl"]}, "leg": {Common: asks["bowl"]}, "spacers": {Common: asks["facets"]}, "bevel": {Common: asks["facets"]}} {
		q.Unit = setup.Inches
		d, _, err := maker().Gauges(t.Context(), kinds[word], q, paper.Letter)
		if err != nil {
			t.Fatal(err)
		}
		text := textOf(d)
		if rest := strings.NewReplacer("100 mm", "", "100.0 mm", "").Replace(text); strings.Contains(rest, " mm") || !strings.Contains(text, " in") {
			t.Errorf("%s: %s", word, text)
		}
	}
}

// The same question gives the same bytes, from a maker of its own as well.
func TestKindsAreTheSameBytes(t *testing.T) {
	for word, kind := range kinds {
		var first []byte
		for range 2 {
			m := changed(t, func(r any) any { return r })
			q := setup.Question{Common: asks["facets"]}
			d, _, err := m.Gauges(t.Context(), kind, q, paper.A4)
			if err != nil {
				t.Fatal(word, err)
			}
			cards, _, err := m.Cards(t.Context(), kind, q)
			var out bytes.Buffer
			if err := errors.Join(err, paper.PDF(&out, d), paper.SVG(&out, d.Title, d.Pages[0]), paper.DXF(&out, cards[0])); err != nil {
				t.Fatal(err)
			}
			if first == nil {
				first = out.Bytes()
			}
			if !bytes.Equal(first, out.Bytes()) {
				t.Errorf("%s: other bytes", word)
			}
		}
	}
}

// Whatever a recipe and a block on hand are called, nothing leaves its page and an SVG has no element but the drawing's own.
func TestGaugesWithHostileNames(t *testing.T) {
	for what, name := range map[string]string{
		"markup": `<script>alert(1)</script> & "quoted" </svg>`, "long": strings.Repeat("x", 200), "long words": strings.Repeat("a long name ", 16),
		"right to left": "مِثقار \u202e\u2067abc", "emoji": "block 🪵🔥",
	} {
		m := changed(t, func(record any) any {
			if r, ok := record.(shop.Recipe); ok {
				r.DisplayName = name
				return r
			}
			return record
		}, shop.Gauge{Name: demo.Name + "/gauges/a", DisplayName: name, Length: 21})
		for word, kind := range kinds {
			d, _, err := m.Gauges(t.Context(), kind, setup.Question{Common: asks["facets"]}, paper.A4)
			if err != nil {
				t.Fatal(what, word, err)
			}
			for _, page := range d.Pages {
				onPage(t, what+", "+word, page)
				var svg bytes.Buffer
				if err := paper.SVG(&svg, d.Title, page); err != nil {
					t.Fatal(err)
				}
				soundXML(t, svg.String())
			}
		}
	}
}
