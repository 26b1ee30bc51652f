package setup

import (
	"cmp"
	"math"
	"slices"

	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
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
			found[i].Text = words.Upper(x.say(undercutWords[kind], x.where(found[i])))
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
			f.Text = words.Upper(x.say("%s the angle moves as a square root of the setting: a small error there is many degrees.", x.where(f)))
			list = append(list, f)
		}
	}
	slices.SortStableFunc(list, func(a, b EdgeFinding) int {
		return cmp.Or(cmp.Compare(b.Severity, a.Severity), cmp.Compare(a.From, b.From), cmp.Compare(a.Code, b.Code))
	})
	return list
}

var undercutWords = map[Undercut]words.Text{
	UndercutEdge:      "%s the edge is bent in more than the wheel is round: beside the point it grinds, the wheel cuts the edge away.",
	UndercutArc:       "%s the wheel cuts into the face beside the one it grinds, between edge and heel.",
	UndercutElsewhere: "%s the wheel cuts into another part of the edge.",
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
func (x *search) where(f EdgeFinding) string {
	from, to := x.share(f.From), x.share(f.To)
	if from == to {
		return x.say("at %s", from)
	}
	return x.say("from %s to %s", from, to)
}

// share says a place by its share of the wing.
func (x *search) share(share float64) string {
	switch percent := x.percent(math.Abs(share)); {
	case percent == "0":
		return x.say("the nose")
	case percent == "100" && share < 0:
		return x.say("the −side wing's end")
	case percent == "100":
		return x.say("the +side wing's end")
	case share < 0:
		return x.say("%s %% of the −side wing", percent)
	default:
		return x.say("%s %% of the +side wing", percent)
	}
}

// sayUnreached says where a stretch is missed, by how much, and at what gap it would be reached.
func (x *search) sayUnreached(s stand, t shaped, u swung.Stretch) EdgeFinding {
	f := EdgeFinding{Code: unreached, Severity: Stop, From: t.share(u.From), To: t.share(u.To)}
	f.Text = x.say("%s the wheel cannot touch the edge along its own line: the pivot is too far from the wheel for it", x.where(f))
	if u.Worst.Excess < 0 {
		f.Text = x.say("%s the wheel cannot touch the edge along its own line: the pivot is too near to the wheel for it", x.where(f))
	}
	if u.Gap != 0 {
		off := s.set.gap - unit.Length(u.Gap)
		f.ByMM = shop.Some(off)
		f.Text += x.say(" by %s; at a wheel gap of %s all of it would be reached", x.length(unit.Length(math.Abs(float64(off)))), x.length(unit.Length(u.Gap)-x.support.Near))
	}
	if u.Turn != 0 {
		f.ByAngle = shop.Some(unit.Angle(u.Turn))
		f.Text += x.say("; or with the edge there turned by %s square to its line to the pivot", x.degrees(unit.Angle(u.Turn)))
	}
	f.Text = words.Upper(f.Text) + x.say(". As it is, that part stays as it was or is ground at another angle.")
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
	f.Text = words.Upper(x.say("%s the tool leans up to %s from where it stands at the nose; holder and pocket let it lean %s.", x.where(*f), x.degrees(worst), x.degrees(most)))
}
