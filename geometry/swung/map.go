package swung

import (
	"fmt"
	"math"

	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// Why tells what first keeps a setting from grinding an edge as it should be.
type Why int

// The reasons, in the order they are looked for.
const (
	Feasible       Why = iota
	PivotInWheel       // the gap is below 0
	NoseUnreached      // the wheel cannot touch the nose
	NoseOutside        // the nose's angle is not among those allowed
	EdgeUnreached      // the wheel cannot touch a part of the edge
	IllConditioned     // a margin is below LeastMargin
	TooKeen            // a wedge is below the least allowed
	TooBlunt           // a wedge is above the largest allowed
	Refused            // by Limits.Refuse
	reasons
)

func (w Why) String() string {
	return [...]string{
		"feasible", "the pivot would be in the wheel", "the nose is not reached", "the nose's angle is not allowed", "a part of the edge is not reached",
		"the angle moves as a square root of the setting", "too keen", "too blunt", "refused",
	}[w]
}

// Limits are what a ground edge has to keep to.
type Limits struct {
	LeastNose, MostNose   unit.Angle
	LeastWedge, MostWedge unit.Angle // of every place, the nose among them
	// Refuse is asked last, for what takes longer to find: undercut, lean, travel. It may be nil.
	Refuse func(Edge, Setting) bool
}

// Verdict is what a setting makes of an edge, in few words. Angles are 0 where they are not known: the nose's until it is reached, the wings'
// ends' where they are not, Least and Most unless the whole edge is.
type Verdict struct {
	Why         Why
	Nose        float64
	Right, Left float64 // wedges at the wings' ends
	Least, Most float64
}

// sampled is an edge by a few points, its nose in their middle.
type sampled struct {
	Edge
	points []Point
}

func (e Edge) sampled(n int) sampled {
	places := e.Places(n)
	s := sampled{e, make([]Point, len(places))}
	for i, along := range places {
		s.points[i] = e.At(along)
	}
	return s
}

// judge a setting on an edge.
func (l *Limits) judge(g Setting, s *sampled) (v Verdict) {
	if v.Why = PivotInWheel; !(g.Gap >= 0) {
		return v
	}
	pivot := g.pivot()
	nose := Face{Point: s.points[len(s.points)/2]}
	g.grind(pivot, &nose)
	if v.Why = NoseUnreached; !nose.Reached() {
		return v
	}
	v.Nose = nose.Wedge
	margin := v.along(g, s)
	if !(margin >= 0) {
		v.Least, v.Most = 0, 0
	}
	if v.Why = l.first(&v, margin); v.Why == Feasible && l.Refuse != nil && l.Refuse(s.Edge, g) {
		v.Why = Refused
	}
	return v
}

// along fills in the wedges and finds the least margin.
func (v *Verdict) along(g Setting, s *sampled) (margin float64) {
	pivot, last := g.pivot(), len(s.points)-1
	margin = math.Inf(1)
	v.Least, v.Most = math.Inf(1), math.Inf(-1)
	for i := range s.points {
		f := Face{Point: s.points[i]}
		g.grind(pivot, &f)
		margin = min(margin, f.Margin)
		if !f.Reached() {
			continue
		}
		v.Least, v.Most = min(v.Least, f.Wedge), max(v.Most, f.Wedge)
		switch i {
		case 0:
			v.Left = f.Wedge
		case last:
			v.Right = f.Wedge
		}
	}
	return margin
}

// first of the limits that is not kept.
func (l *Limits) first(v *Verdict, margin float64) Why {
	switch {
	case !(v.Nose >= float64(l.LeastNose) && v.Nose <= float64(l.MostNose)):
		return NoseOutside
	case !(margin >= 0):
		return EdgeUnreached
	case margin < LeastMargin:
		return IllConditioned
	case v.Least < float64(l.LeastWedge):
		return TooKeen
	case v.Most > float64(l.MostWedge):
		return TooBlunt
	}
	return Feasible
}

// Axes are the stick-outs, legs and gaps of a map. Each axis has to have a value, and the gaps ascend.
type Axes struct {
	StickOuts []unit.Length
	Legs      []unit.Angle
	Gaps      []unit.Length
}

// MostCells is how many a map may have, and MostPlaces how many places along the edge each may be judged by.
const (
	MostCells  = 20_000
	MostPlaces = 513
)

func (a Axes) cells() int { return len(a.StickOuts) * len(a.Legs) * len(a.Gaps) }

// MapError tells why axes make no map.
type MapError struct {
	Cells    int  // 0: an axis is empty
	Unsorted bool // the gaps do not ascend
}

func (e *MapError) Error() string {
	switch {
	case e.Unsorted:
		return "the gaps of a map have to ascend"
	case e.Cells == 0:
		return "each axis of a map needs a value at least"
	}
	return fmt.Sprintf("%d cells are too many for a map; at most %d are judged: take fewer steps, or map a part", e.Cells, MostCells)
}

// check divides, so that no product of long axes wraps.
func (a Axes) check() error {
	if len(a.StickOuts) == 0 || len(a.Legs) == 0 || len(a.Gaps) == 0 {
		return &MapError{}
	}
	if len(a.StickOuts) > MostCells/len(a.Legs)/len(a.Gaps) {
		return &MapError{Cells: a.cells()}
	}
	for i, gap := range a.Gaps[1:] {
		if !(gap > a.Gaps[i]) {
			return &MapError{Cells: a.cells(), Unsorted: true}
		}
	}
	return nil
}

// Map is which settings of a holder grind a whole edge.
type Map struct {
	Axes
	Cells  []Verdict    // stick-outs outermost, then legs, then gaps
	Counts [reasons]int // of cells, by their Why

	holder  geometry.SwingHolder
	setting Setting
	limits  Limits
	edge    sampled
}

// NewMap judges every cell by some places along the edge. Of the setting the wheel and what is usually 0 count. A holder without a leg has
// one leg angle that moves nothing. Axes that make no map are a [*MapError].
func NewMap(h geometry.SwingHolder, g Setting, e Edge, places int, a Axes, l Limits) (*Map, error) {
	if err := a.check(); err != nil {
		return nil, err
	}
	m := &Map{Axes: a, Cells: make([]Verdict, 0, a.cells()), holder: h, setting: g, limits: l, edge: e.sampled(min(places, MostPlaces))}
	for _, stickOut := range a.StickOuts {
		for _, leg := range a.Legs {
			m.setting.Pivot = h.Pivot(stickOut, leg)
			for _, gap := range a.Gaps {
				m.setting.Gap = gap
				v := l.judge(m.setting, &m.edge)
				m.Cells = append(m.Cells, v)
				m.Counts[v.Why]++
			}
		}
	}
	return m, nil
}

// At is a cell by the places of its values on the axes.
func (m *Map) At(stickOut, leg, gap int) Verdict {
	return m.Cells[(stickOut*len(m.Legs)+leg)*len(m.Gaps)+gap]
}

// FeasibleGaps are the ranges of gaps that are feasible at a stick-out and leg of the axes, bisected between the cells to where they end. A
// range that lies between two cells is not seen.
func (m *Map) FeasibleGaps(stickOut, leg int) []geometry.Interval {
	g := m.setting
	g.Pivot = m.holder.Pivot(m.StickOuts[stickOut], m.Legs[leg])
	samples := make([]float64, len(m.Gaps))
	for i, gap := range m.Gaps {
		samples[i] = float64(gap)
	}
	return runs(samples, func(gap float64) bool {
		g.Gap = length(gap)
		return m.limits.judge(g, &m.edge).Why == Feasible
	})
}

// Furthest is how far a size of an edge may go on a setting.
type Furthest struct {
	Size    float64             // the largest that is feasible
	Verdict Verdict             // there
	Limit   Why                 // what comes first beyond it; Feasible where only the range ends
	Ranges  []geometry.Interval // all that is feasible, ascending: smaller need not be better
}

// furthestSteps divide the range of sizes: what is feasible or not for less than a step may be missed.
const furthestSteps = 128

// Furthest finds the largest size from one to another, such as the setback or the reach of a plan, with which a setting grinds the whole
// edge within the limits. False where none is; Limit then says what is wrong at the smallest.
func (l Limits) Furthest(g Setting, shape func(size float64) Edge, from, to float64, places int) (Furthest, bool) {
	judge := func(size float64) Verdict {
		s := shape(size).sampled(min(places, MostPlaces))
		return l.judge(g, &s)
	}
	if !(from <= to) {
		return Furthest{Limit: judge(from).Why}, false
	}
	found := Furthest{Ranges: runs(evenly(from, to, furthestSteps), func(size float64) bool { return judge(size).Why == Feasible })}
	if len(found.Ranges) == 0 {
		found.Limit = judge(from).Why
		return found, false
	}
	found.Size = found.Ranges[len(found.Ranges)-1].High
	found.Verdict = judge(found.Size)
	if found.Size < to {
		found.Limit = judge(min(to, found.Size+1e-9*(to-from))).Why
	}
	return found, true
}
