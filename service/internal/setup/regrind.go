package setup

import (
	"context"
	"math"
	"strconv"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// Change asks what it costs to bring a tool from one grind to another. What is wanted is the common part's recipe or grind.
type Change struct {
	Common
	Today       shop.Grind
	TodayPlaces []RigSource // where its bevels were ground, as [Common.Places]
	UsualLoss   shop.Maybe[unit.Length]
	Sharpenings int // 0: as few as cost no more than usual each
	Settings    shop.Settings
	Tolerance   shop.Maybe[unit.Angle]
}

// Regrind is the way from one grind to another.
type Regrind struct {
	Today, Wanted unit.Angle  // edge angles, of one face
	Lost          unit.Length // of the tool's length, once it is done
	Sharpenings   int
	LostEach      unit.Length
	Stages        []RegrindStage
	SeatAgain     shop.Maybe[unit.Length] // steel off the nose
	PerMM         shop.Maybe[float64]     // radians of edge angle per millimetre off the nose
	Text          string
	Cautions      []Caution
	Basis         Basis
}

// RegrindStage is the tool after a sharpening.
type RegrindStage struct {
	Sharpening int
	Lost       unit.Length
	Width      unit.Length // of the new surface
}

const (
	// usualLoss is what a careful sharpening takes off the nose.
	usualLoss unit.Length = 0.1
	// leastChange is the distance of two surfaces below which there is nothing to grind.
	leastChange unit.Length = 0.01
)

// Regrind plans a change of grind.
func (s Solver) Regrind(ctx context.Context, q Change) (Regrind, error) {
	q.Unheld = true
	r, err := s.resolve(ctx, q.Common)
	if err != nil {
		return Regrind{}, err
	}
	if err := checkWheel(r).err(); err != nil {
		return Regrind{}, err
	}
	c, err := s.change(ctx, q, r)
	if err != nil {
		return Regrind{}, err
	}
	out, err := c.spread(q)
	if err != nil {
		return Regrind{}, err
	}
	if err := s.seating(ctx, q, r, c, &out); err != nil {
		return Regrind{}, err
	}
	x := search{rig: r, q: Question{Common: q.Common}}
	out.Basis, out.Text, out.Cautions = x.basis(), x.regrindText(out), x.regrindCautions(q, out)
	return out, nil
}

// change is a change of grind on the face that costs most length.
type change struct {
	geometry.Regrind
	today, wanted face    // the first, or a negative-rake tool's lower one
	along         float64 // how much of a millimetre of the tool's length counts square to the edge
}

func (s Solver) change(ctx context.Context, q Change, r rig) (change, error) {
	wanted, err := s.stacked(ctx, q.Common, r, func(r rig) ([]face, error) { return r.wanted(q.Grind, nil) })
	if err != nil {
		return change{}, err
	}
	before := q.Common
	before.Places = q.TodayPlaces
	today, err := s.stacked(ctx, before, r, func(r rig) ([]face, error) { return r.grind(q.Today) })
	if err != nil {
		return change{}, under(err, "grind", "today")
	}
	c := change{along: r.alongBlade(), today: firstFace(today), wanted: firstFace(wanted)}
	for i := range wanted {
		if other := geometry.NewRegrind(today[i].stack, wanted[i].stack); i == 0 || other.LengthLost() > c.LengthLost() ||
			other.LengthLost() == c.LengthLost() && other.Advance() > c.Advance() {
			c.Regrind = other
		}
	}
	if most := c.Advance(); most < leastChange {
		return c, refuse(NothingToChange, "today", "the tool has this grind already: the two surfaces lie %s apart at most, and less than %s is nothing to grind; ask for another edge or other bevels", mm(most), mm(leastChange)).
			length(most).least(float64(leastChange)).err()
	}
	return c, nil
}

// stacked lays out bevels, each with the wheel it has, and wants them to run through steel of a known depth.
func (s Solver) stacked(ctx context.Context, q Common, r rig, plan func(rig) ([]face, error)) ([]face, error) {
	if err := s.elsewhere(ctx, q, &r); err != nil {
		return nil, err
	}
	faces, err := plan(r)
	if err != nil {
		return nil, err
	}
	for _, f := range faces {
		if !f.bevels[len(f.bevels)-1].sized {
			return nil, fault.Field("rig.tool", fault.Missing, "what a change of grind costs depends on how deep the steel is: say the tool's steel_under_flute_mm or blade_thickness_mm")
		}
	}
	return faces, nil
}

// spread divides the length lost by the sharpenings. What costs no length is ground in the first of them; where nothing costs any, all
// share what there is to grind.
func (c change) spread(q Change) (Regrind, error) {
	out := Regrind{
		Today: c.today.bevels[0].front, Wanted: c.wanted.bevels[0].front,
		Lost: c.LengthLost() / unit.Length(c.along), Sharpenings: q.Sharpenings,
	}
	if out.Sharpenings == 0 {
		n, usual := fewest(out.Lost, q.UsualLoss.Or(usualLoss)), q.UsualLoss.Or(usualLoss)
		if n > geometry.MostSharpenings {
			return out, fault.Field("usual_loss_mm", fault.OutOfRange, "with %v each it would take %.0f sharpenings to lose %s; at most %d can be planned, so say at least %.4f mm, or how many sharpenings",
				usual, n, mm(out.Lost), geometry.MostSharpenings, math.Ceil(float64(out.Lost)/geometry.MostSharpenings*1e4)/1e4)
		}
		out.Sharpenings = int(n)
	}
	n := unit.Length(out.Sharpenings)
	out.LostEach = out.Lost / n
	from, way := c.Advance()-c.LengthLost(), c.LengthLost()
	if way == 0 {
		from, way = 0, c.Advance()
	}
	for i := 1; i <= out.Sharpenings; i++ {
		stage := c.Stage(from + way*unit.Length(i)/n)
		out.Stages = append(out.Stages, RegrindStage{Sharpening: i, Lost: stage.Lost / unit.Length(c.along), Width: stage.Width})
	}
	return out, nil
}

// fewest is how many sharpenings cost no more than usual each. Chance in the last digit makes no more of them.
func fewest(lost, usual unit.Length) float64 { return max(1, math.Ceil(float64(lost/usual)-1e-9)) }

// seating tells when a tool that gets shorter has to be seated again, where holder and settings are known.
func (s Solver) seating(ctx context.Context, q Change, bare rig, c change, out *Regrind) error {
	held := q.Common
	held.Unheld = false
	if len(q.Places) > 0 {
		held.Rig = held.Rig.overlaid(q.Places[0])
	}
	said := q.Settings != shop.Settings{}
	if !said && !held.Rig.Holder.said() && bare.recipe.Holder == "" {
		return nil
	}
	r, err := s.resolve(ctx, held)
	if err != nil {
		return err
	}
	if r.support.Kind == shop.Platform {
		out.PerMM = shop.Some(0.0)
		return nil
	}
	x := search{rig: r, machine: r.machine(q.Doubts), settings: r.fill(c.wanted.bevels[0].given.Over(q.Settings))}
	if list := x.missing("settings", x.settings, false, false); len(list) > 0 {
		if said {
			return invalid(list)
		}
		return nil
	}
	choice := x.givenChoice()
	if n := x.checkChoice(choice); n != nil {
		return n.err()
	}
	pivot, _ := r.pivotOf(c.wanted, choice)
	if n := (&pivots{r, q.Doubts}).checkPivot(pivot, out.Wanted, "grind.bevels[0]"); n != nil {
		return n.err()
	}
	perMM := r.surface.Sensitivity(pivot, out.Wanted, r.surface.Gap(pivot, out.Wanted)).Behind
	out.PerMM = shop.Some(-perMM * c.along)
	off, ok := r.surface.Reseat(pivot, out.Wanted, q.Tolerance.Or(r.tolerance()))
	out.SeatAgain = shop.Maybe[unit.Length]{Value: off / unit.Length(c.along), Known: ok}
	return nil
}

// regrindText says what it costs in a sentence.
func (x *search) regrindText(out Regrind) string {
	text := x.say("From %s to %s", x.degrees(out.Today), x.degrees(out.Wanted))
	if x.tool.Kind.TwoBevels() {
		text += x.say(", each face,")
	}
	times := strconv.Itoa(out.Sharpenings)
	switch {
	case out.Lost < leastChange && out.Sharpenings == 1:
		text += x.say(" costs no length, only grinding time")
	case out.Lost < leastChange:
		text += x.say(" costs no length, only grinding time, over %s sharpenings", times)
	case out.Sharpenings == 1:
		text += x.say(" costs %s of length, at once", x.hundredth(out.Lost))
	default:
		text += x.say(" costs %s of length: at once, or over %s sharpenings of %s", x.hundredth(out.Lost), times, x.hundredth(out.LostEach))
	}
	if !out.PerMM.Known {
		return text
	}
	if out.PerMM.Value == 0 {
		return text + x.say("; on a platform the angle stays as the tool gets shorter")
	}
	text += x.say("; not seated again, the edge gets %s for each millimetre off the nose", x.signed(unit.Angle(out.PerMM.Value)))
	if out.SeatAgain.Known {
		text += x.say(", so seat it again after %s", x.hundredth(out.SeatAgain.Value))
	}
	return text
}

func (x *search) hundredth(l unit.Length) string { return x.in.Length(l, 2) }

// regrindCautions are the warnings that belong to a change of grind.
func (x *search) regrindCautions(q Change, out Regrind) []Caution {
	list := x.keptCautions()
	if usual := q.UsualLoss.Or(usualLoss); out.LostEach > usual*(1+1e-9) {
		list = append(list, x.caution("COSTS_MORE_THAN_USUAL", Warning, "", "Each sharpening takes %s off the nose where %s is usual; over %s sharpenings the change would cost nothing besides.",
			x.hundredth(out.LostEach), x.hundredth(usual), x.in.Number(fewest(out.Lost, usual), 0)))
	}
	if out.Lost < leastChange && out.Sharpenings > 1 {
		list = append(list, x.caution("EDGE_REACHED_LAST", Note, tradeSource, "Going keener grinds the heel first: only the last of %s sharpenings reaches the edge. Hone it at its old angle until then.", strconv.Itoa(out.Sharpenings)))
	}
	if again := out.SeatAgain; again.Known && again.Value < out.Lost {
		list = append(list, x.caution("SEAT_AGAIN", Warning, "", "The change takes more off the nose than the edge angle bears: measure the stick-out and seat the tool again after every %s.", x.hundredth(again.Value)))
	}
	return bySeverity(append(list, x.rigCautions()...))
}
