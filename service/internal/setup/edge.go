package setup

import (
	"context"
	"math"

	"arris.example/geometry"
	"arris.example/geometry/drawing"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/figure"
	"arris.example/service/internal/shop"
)

// EdgeQuestion asks what is ground along a whole edge: by settings as they are, where they are said, and otherwise by those that solve
// the question.
type EdgeQuestion struct {
	Question
	Settings *shop.Settings
	Ask      EdgeAsk
}

// EdgeAsk says how much of an edge is wanted.
type EdgeAsk struct {
	Shape      shop.Maybe[shop.EdgeShape] // in place of the tool's
	Points     int
	Views      bool
	Steel      bool
	Doubt      bool // how well the wedge angle is known
	Mesh       bool // the finished tool as a solid
	Poses      bool // how the tool stands while each place is ground
	Triangles  int  // of it, at most
	Sharpening unit.Length
	NoWays     bool // of findings do not look for what would help
}

// The defaults of an edge's analysis.
const (
	usualPoints                 = 65
	UsualTriangles              = 20_000
	usualSharpening unit.Length = 0.1
)

// EdgeAnswer is a whole edge and the steps that grind it.
type EdgeAnswer struct {
	Edge     WholeEdge
	Steps    []Step
	Cautions []Caution
	Basis    Basis
}

// WholeEdge is what is ground along an edge.
type WholeEdge struct {
	Places   []EdgePlace // from −side to +side
	Nose     int         // its index
	Findings []EdgeFinding
	Summary  EdgeSummary
	Plan     *drawing.Figure
	End      *drawing.Figure
	Plot     *EdgePlot
	Mesh     *EdgeMesh
	Steel    *EdgeSteel
	Text     string
}

// Undercut is how a wheel that grinds a place cuts into another.
type Undercut int

// The kinds of undercut.
const (
	NoUndercut Undercut = iota
	UndercutEdge
	UndercutArc
	UndercutElsewhere
)

// EdgePlace is a place of the edge. What follows Reached counts only where it is.
type EdgePlace struct {
	Share      float64 // of its wing, negative to −side
	Point      swung.Point
	Reached    bool
	Margin     float64
	Poor       bool // the wedge moves as a square root of the setting here
	Wedge      unit.Angle
	Axis       unit.Angle // of the ground face to the tool's axis
	Lean       swung.Lean
	Contact    shop.Maybe[geometry.Point]
	Elevation  shop.Maybe[unit.Angle]
	Aside      unit.Length // the contact, from the pivot's plane
	Undercut   Undercut
	Lands      []EdgeLand
	Expanded   shop.Maybe[unit.Angle]
	MonteCarlo bool
	Pose       shop.Maybe[swung.Pose]
}

// EdgeLand is a bevel at a place of the edge.
type EdgeLand struct {
	Bevel  int
	Width  shop.Maybe[unit.Length] // square to the edge
	Arc    shop.Maybe[unit.Length]
	Corner shop.Maybe[unit.Angle]
}

// Extreme is the smallest or largest wedge angle, and where it is.
type Extreme struct {
	Wedge unit.Angle
	Share float64
}

// EdgeSummary is an edge in a few numbers. What is not known is not reached.
type EdgeSummary struct {
	Nose        shop.Maybe[unit.Angle]
	Least, Most shop.Maybe[Extreme]
	Left, Right shop.Maybe[unit.Angle]
	Differ      unit.Angle
	Lean        unit.Angle
	Reached     float64
	Wing        unit.Length
	Text        string
}

// EdgeFinding is something wrong along a stretch of the edge.
type EdgeFinding struct {
	Code     string
	Severity Severity
	From, To float64 // shares of the wings
	ByMM     shop.Maybe[unit.Length]
	ByAngle  shop.Maybe[unit.Angle]
	Text     string
	Ways     []Way
}

// EdgeMesh is the finished tool as a binary glTF.
type EdgeMesh struct {
	GLTF      []byte
	Triangles int
}

// AnalyzeEdge answers what is ground along a whole edge.
func (s Solver) AnalyzeEdge(ctx context.Context, q EdgeQuestion) (EdgeAnswer, error) {
	x, p, err := s.placed(ctx, q.Question, q.Settings)
	if err != nil {
		return EdgeAnswer{}, err
	}
	whole, err := x.wholeEdge(ctx, p, q.Ask)
	if err != nil {
		return EdgeAnswer{}, err
	}
	steps := x.steps(p)
	return EdgeAnswer{Edge: whole, Steps: steps, Cautions: x.cautions(p, steps), Basis: x.basisOf(p)}, nil
}

// edgeBeside is the whole edge that goes along with an answer, when it was asked for. Thousands may be asked at once, so what would help is
// left to AnalyzeEdge.
func (x *search) edgeBeside(ctx context.Context, p plan, triangles int) (*WholeEdge, error) {
	if !x.q.Edge && !x.q.Mesh {
		return nil, nil
	}
	whole, err := x.wholeEdge(ctx, p, EdgeAsk{Views: x.q.Figure, Mesh: x.q.Mesh, Triangles: triangles, NoWays: true})
	return &whole, err
}

// placed is a search and its plan: of settings as they are, or solved.
func (s Solver) placed(ctx context.Context, q Question, settings *shop.Settings) (search, plan, error) {
	if settings != nil {
		return s.forecasted(ctx, Forecast{Common: q.Common, Settings: *settings})
	}
	x, p, _, err := s.solved(ctx, q)
	return x, p, err
}

// swing is a stand as the engine of whole edges sees it: of the pivot all that is set is its distance.
func (x *search) swing(s stand, t shaped) swung.Setting {
	pivot, _ := x.pivotOf(s.face, s.choice)
	g := swung.Setting{Wheel: x.surface, Pivot: pivot, Gap: s.set.gap, Aside: x.asides.Pivot, Roll: x.asides.Roll, Contact: x.asides.Contact}
	if t.bar.Known {
		g.Centre = unit.Length(t.bar.Value.Centre())
	}
	return g
}

// wholeEdge is what the last stand of a plan grinds along the whole edge.
func (x *search) wholeEdge(ctx context.Context, p plan, ask EdgeAsk) (WholeEdge, error) {
	last := p[len(p)-1]
	y := x.at(last.bevel)
	tool, err := y.shaped(ask.Shape)
	if err != nil {
		return WholeEdge{}, err
	}
	setting := y.swing(last, tool)
	tool.edge = tool.on(setting)
	if back := tool.edge.At(tool.edge.Right).At.Back; math.IsNaN(back) {
		return WholeEdge{}, refuse(EdgeOffFlute, "edge.even_swing", "the sphere about the pivot through the nose does not reach the wing's end, %s along the flute: shorten the wings",
			mm(unit.Length(tool.edge.Right))).length(unit.Length(tool.edge.Right)).err()
	}
	a := y.analysis(last, setting, tool, ask.Points)
	e := y.walk(last, a)
	if ask.Poses {
		e.pose(last, a)
	}
	y.undercuts(last, tool, a, &e)
	x.follow(p, tool, &e)
	e.Summary = y.summary(e, tool, a)
	e.Text = y.shapeText(tool)
	e.Findings = y.findings(last, tool, a, e)
	if len(e.Findings) > 0 && !ask.NoWays {
		ways := y.edgeHelp(ctx, last, tool, setting)
		for i := range e.Findings {
			e.Findings[i].Ways = ways
		}
	}
	if ask.Views {
		y.drawEdge(&e, tool)
	}
	if ask.Mesh {
		if e.Mesh, err = x.mesh(p, tool, ask.Triangles); err != nil {
			return WholeEdge{}, err
		}
	}
	if ask.Doubt {
		if err := y.doubts(ctx, last, tool, a, &e); err != nil {
			return WholeEdge{}, err
		}
	}
	if ask.Steel {
		e.Steel = y.steelOf(e, ask.Sharpening)
		x.weigh(p, tool, e.Steel)
	}
	return e, ctx.Err()
}

// analysis is what a setting makes of the whole edge at a number of places.
func (x *search) analysis(s stand, g swung.Setting, t shaped, points int) *swung.Analysis {
	if points == 0 {
		points = usualPoints
	}
	a := swung.Analyse(t.edge, g, x.supportAt(s), t.edge.Places(points))
	return &a
}

// supportAt is where the support stands, or with nobody describing the machine might: only contacts depend on it.
func (x *search) supportAt(s stand) geometry.Point {
	if s.set.placed {
		return s.set.at
	}
	return figure.PlaceSupport(x.surface, s.pivot, s.front, s.set.gap)
}

// walk puts an analysis into places, from −side to +side.
func (x *search) walk(s stand, a *swung.Analysis) WholeEdge {
	e := WholeEdge{Places: make([]EdgePlace, len(a.Points)), Nose: len(a.Points) / 2}
	for i := range a.Points {
		g := &a.Points[i]
		p := EdgePlace{Point: g.Point, Share: float64(i-e.Nose) / float64(e.Nose), Reached: g.Reached(), Margin: g.Margin}
		if p.Reached {
			p.Poor = p.Margin < swung.LeastMargin
			p.Wedge, p.Axis, p.Lean, p.Aside = unit.Angle(g.Wedge), unit.Angle(g.ToAxis()), g.Lean, a.Setting.Contact
			if s.set.placed && a.Nose.Reached() {
				p.Contact, p.Elevation = shop.Some(g.Contact), shop.Maybe[unit.Angle]{Value: unit.Angle(g.Elevation), Known: !x.surface.Flat()}
			}
		}
		e.Places[i] = p
	}
	return e
}

// pose adds how the tool stands while each place is ground, where the support has a place.
func (e *WholeEdge) pose(s stand, a *swung.Analysis) {
	for i := range e.Places {
		if e.Places[i].Reached && s.set.placed {
			e.Places[i].Pose = shop.Some(a.Setting.Pose(a.Points[i].Face, s.set.at))
		}
	}
}

// share is a length along the flute as a share of its wing.
func (t shaped) share(along float64) float64 {
	if along < 0 {
		return along / t.edge.Left
	}
	return along / t.edge.Right
}
