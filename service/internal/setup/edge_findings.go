package setup

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// The codes of what can be wrong along an edge.
const (
	unreached      = "UNREACHED"
	illConditioned = "ILL_CONDITIONED"
	undercutEdge   = "UNDERCUT_EDGE"
	undercutArc    = "UNDERCUT_ARC"
	undercutOther  = "UNDERCUT_ELSEWHERE"
	leanTooFar     = "LEAN_TOO_FAR"
)

// findings are what is wrong along an edge, the most serious first and along it.
func (x *search) findings(s stand, t shaped, a *swung.Analysis, e WholeEdge) []EdgeFinding {
	var list []EdgeFinding
	for _, stretch := range a.Unreached {
		list = append(list, x.sayUnreached(s, t, stretch))
	}
	for code, kind := range map[string]Undercut{undercutEdge: UndercutEdge, undercutArc: UndercutArc, undercutOther: UndercutElsewhere} {
		found := stretches(e, code, Stop, func(p EdgePlace) bool { return p.Undercut == kind })
		for i := range found {
			found[i].Text = upper(found[i].where()) + " " + undercutWords[kind] + "."
		}
		list = append(list, found...)
	}
	if most := x.holder.MostLean; most.Known {
		found := stretches(e, leanTooFar, Warning, func(p EdgePlace) bool { return unit.Angle(p.Lean.Angle) > most.Value })
		for i := range found {
			x.sayLean(&found[i], e, most.Value)
		}
		list = append(list, found...)
	}
	for _, stretch := range a.Poor {
		if stretch.Worst.Reached() {
			f := EdgeFinding{Code: illConditioned, Severity: Warning, From: t.share(stretch.From), To: t.share(stretch.To)}
			f.Text = upper(f.where()) + " the angle moves as a square root of the setting: a small error there is many degrees."
			list = append(list, f)
		}
	}
	slices.SortStableFunc(list, func(a, b EdgeFinding) int {
		return cmp.Or(cmp.Compare(b.Severity, a.Severity), cmp.Compare(a.From, b.From), cmp.Compare(a.Code, b.Code))
	})
	return list
}

var undercutWords = map[Undercut]string{
	UndercutEdge:      "the edge is bent in more than the wheel is round: beside the point it grinds, the wheel cuts the edge away",
	UndercutArc:       "the wheel cuts into the face beside the one it grinds, between edge and heel",
	UndercutElsewhere: "the wheel cuts into another part of the edge",
}

// stretches are the runs of places of which something holds.
func stretches(e WholeEdge, code string, severity Severity, holds func(EdgePlace) bool) (list []EdgeFinding) {
	open := false
	for _, p := range e.Places {
		switch {
		case !holds(p):
			open = false
		case open:
			list[len(list)-1].To = p.Share
		default:
			open = true
			list = append(list, EdgeFinding{Code: code, Severity: severity, From: p.Share, To: p.Share})
		}
	}
	return list
}

// where says where along the edge a finding is.
func (f EdgeFinding) where() string {
	from, to := shareWords(f.From), shareWords(f.To)
	if from == to {
		return "at " + from
	}
	return "from " + from + " to " + to
}

// shareWords say a place by its share of the wing.
func shareWords(share float64) string {
	wing := "+side"
	if share < 0 {
		wing = "−side"
	}
	switch percent := unit.FormatFixed(100*math.Abs(share), 0); percent {
	case "0":
		return "the nose"
	case "100":
		return "the " + wing + " wing's end"
	default:
		return percent + " % of the " + wing + " wing"
	}
}

// sayUnreached says where a stretch is missed, by how much, and at what gap it would be reached.
func (x *search) sayUnreached(s stand, t shaped, u swung.Stretch) EdgeFinding {
	f := EdgeFinding{Code: unreached, Severity: Stop, From: t.share(u.From), To: t.share(u.To)}
	word := "too far from the wheel"
	if u.Worst.Excess < 0 {
		word = "too near to the wheel"
	}
	f.Text = upper(f.where()) + " the wheel cannot touch the edge along its own line: the pivot is " + word + " for it"
	if u.Gap != 0 {
		off := s.set.gap - unit.Length(u.Gap)
		f.ByMM = shop.Some(off)
		f.Text += fmt.Sprintf(" by %s; at a wheel gap of %s all of it would be reached", x.length(unit.Length(math.Abs(float64(off)))), x.length(unit.Length(u.Gap)-x.support.Near))
	}
	if u.Turn != 0 {
		f.ByAngle = shop.Some(unit.Angle(u.Turn))
		f.Text += fmt.Sprintf("; or with the edge there turned by %s square to its line to the pivot", degrees(unit.Angle(u.Turn)))
	}
	f.Text += ". As it is, that part stays as it was or is ground at another angle."
	return f
}

func (x *search) sayLean(f *EdgeFinding, e WholeEdge, most unit.Angle) {
	var worst unit.Angle
	for _, p := range e.Places {
		if p.Share >= f.From && p.Share <= f.To {
			worst = max(worst, unit.Angle(p.Lean.Angle))
		}
	}
	f.ByAngle = shop.Some(worst - most)
	f.Text = fmt.Sprintf("%s the tool leans up to %s from where it stands at the nose; holder and pocket let it lean %s.", upper(f.where()), degrees(worst), degrees(most))
}
