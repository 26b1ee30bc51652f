package geometry

import (
	"fmt"
	"math"

	"arris.example/geometry/unit"
)

// The ink test: the bevel is inked, the tool put on the wheel as it is set, the wheel turned by hand, and where the ink has gone is where
// the two touch. How much blunter the setting is than the bevel is the difference of their tangents at the bevel's middle.

// Mark is where ink was rubbed off a bevel.
type Mark int

// The marks.
const (
	MarkMiddle Mark = iota // between the ends, or all over: as near as ink can tell
	MarkEdge               // the setting is blunter than the bevel
	MarkHeel               // the setting is keener
)

// InkOffset is how much blunter a setting is than a bevel of a chord, from where the mark lies behind its middle and the wheel that
// ground it.
//
// A smaller wheel, or any wheel on a flat bevel, touches in one place, which moves with the angle: ε = −m (1/R − 1/R_h). At an end it
// is the least that the offset may be. On a bevel from the same or a smaller wheel the two touch at an end whatever the offset is, so
// the size is not known: false, and [NextInkTrial] finds the setting from marks alone. A mark outside the bevel is an [*InkError].
func (w Wheel) InkOffset(ground Wheel, chord, behindMiddle unit.Length) (blunter unit.Angle, sized bool, err error) {
	if !(chord > 0 && behindMiddle >= -chord/2 && behindMiddle <= chord/2) {
		return 0, false, &InkError{BehindMiddle: behindMiddle, Chord: chord}
	}
	sharper := w.k - ground.k
	if !(sharper > 0) {
		return 0, false, nil
	}
	return unit.Angle(-float64(behindMiddle) * sharper), true, nil
}

// InkMark is the mark that a setting blunter by an angle leaves on a bevel of a chord: the other way round.
func (w Wheel) InkMark(ground Wheel, blunter unit.Angle, chord unit.Length) Mark {
	within := max(0, w.k-ground.k) * float64(chord) / 2
	switch {
	case blunter == 0 || math.Abs(float64(blunter)) < within:
		return MarkMiddle
	case blunter > 0:
		return MarkEdge
	}
	return MarkHeel
}

// InkFinding is what a mark between the ends says of the bevel and of the setting.
type InkFinding struct {
	Edge    unit.Angle  // the bevel's own edge angle
	Blunter unit.Angle  // the setting than the bevel, at the bevel's middle
	Gap     unit.Length // at which the two agree there
}

// ReadInk is what a mark says with the pivot at a gap, without the line of [Wheel.InkOffset] and [Sensitivity.Correction]: where the
// wheel touches, the bevel has the tangent that the wheel would grind there, and that is the planar relation. Where that is in the tool
// follows from the bevel as it is believed to be, and again as it is found to be. False where a mark is no size; a mark outside the
// bevel is an [*InkError], a gap out of reach a [*ReachError].
func (w Wheel) ReadInk(p Pivot, gap unit.Length, believed Hollow, behindMiddle unit.Length) (InkFinding, bool, error) {
	if _, sized, err := w.InkOffset(Wheel{k: believed.curvature()}, believed.Chord, behindMiddle); err != nil || !sized {
		return InkFinding{}, false, err
	}
	var found InkFinding
	for range inkRounds {
		var err error
		if found, err = w.readInk(p, gap, believed, float64(behindMiddle)); err != nil {
			return InkFinding{}, false, err
		}
		believed = believed.from(found.Edge)
	}
	return found, true, nil
}

// inkRounds is how often the bevel is put where it was found. A bevel of 10 mm that is wrong by an angle is found wrong by a twentieth
// of it on a reach of 100 mm; after six rounds nothing of ten degrees is left to see.
const inkRounds = 6

func (w Wheel) readInk(p Pivot, gap unit.Length, believed Hollow, behindMiddle float64) (InkFinding, error) {
	arc, bent := StackBevel{Hollow: believed}, believed.curvature()
	middle := arc.arcLength() / 2
	mark := middle + behindMiddle
	there, err := w.EdgeAngle(p.seenFrom(arc.onArc(mark)), gap)
	if err != nil {
		return InkFinding{}, err
	}
	atMiddle := p.seenFrom(arc.onArc(middle))
	set, err := w.EdgeAngle(atMiddle, gap)
	if err != nil {
		return InkFinding{}, err
	}
	own := there - unit.Angle(behindMiddle*bent)
	return InkFinding{
		Edge:    there - unit.Angle(mark*bent),
		Blunter: set - own,
		Gap:     w.Gap(atMiddle, own),
	}, nil
}

// from is the same arc with another front angle.
func (h Hollow) from(front unit.Angle) Hollow {
	turn := front - h.Front
	h.Front, h.Reading, h.Far = front, h.Reading+turn, h.Far+turn
	return h
}

func (p Pivot) seenFrom(at vec2) Pivot {
	return p.SeenFrom(unit.Length(at.behind), unit.Length(at.below))
}

// Correction is how much further from the wheel a pivot must go so that a setting that is blunter by an angle agrees: −ε R r C / d.
// It is linear: good to a few hundredths of a degree from a third of one; [Wheel.ReadInk] is from anywhere.
func (s Sensitivity) Correction(blunter unit.Angle) unit.Length {
	return unit.Length(-float64(blunter) / s.Gap)
}

// InkError tells that a mark does not lie on the bevel.
type InkError struct{ BehindMiddle, Chord unit.Length }

func (e *InkError) Error() string {
	return fmt.Sprintf("a mark %v behind the middle is not on a bevel of %v; it lies from %v to %v", e.BehindMiddle, e.Chord, -e.Chord/2, e.Chord/2)
}

// InkTrial is a setting that was tested, along any one coordinate of a support, and where the ink went.
type InkTrial struct {
	Setting unit.Length
	Mark    Mark
}

// InkSearch is what a row of ink trials says.
type InkSearch struct {
	Next      unit.Length // the setting to try next; once done, the best there is
	Low, High unit.Length // the setting that agrees lies between; infinite where no trial bounds it yet
	Done      bool
}

// NextInkTrial finds a setting from marks that are signs and no sizes: move until the mark changes ends, then halve. The first trial
// gives the start; blunter is the first move, signed as the coordinate runs when the setting gets blunter. The search is done when the
// bounds are no further apart than the resolution, or at a mark in the middle. A start that is none, a move or a resolution that is not
// a length, or trials of which a keener one was too blunt and a blunter one too keen, is an [*InkSearchError].
func NextInkTrial(trials []InkTrial, blunter, resolution unit.Length) (InkSearch, error) {
	if len(trials) == 0 || blunter == 0 || !blunter.IsFinite() || !(resolution > 0) {
		return InkSearch{}, &InkSearchError{}
	}
	sign := unit.Length(math.Copysign(1, float64(blunter)))
	keen, blunt := unit.Length(math.Inf(-1)), unit.Length(math.Inf(1)) // towards the blunt side
	for _, t := range trials {
		switch at := sign * t.Setting; {
		case !at.IsFinite():
			return InkSearch{}, &InkSearchError{}
		case t.Mark == MarkEdge:
			blunt = min(blunt, at)
		case t.Mark == MarkHeel:
			keen = max(keen, at)
		}
	}
	if keen >= blunt {
		return InkSearch{}, &InkSearchError{TooKeen: sign * keen, TooBlunt: sign * blunt}
	}
	s := InkSearch{Low: min(sign*keen, sign*blunt), High: max(sign*keen, sign*blunt)}
	last := trials[len(trials)-1]
	switch step := sign * blunter; {
	case last.Mark != MarkEdge && last.Mark != MarkHeel:
		s.Next, s.Done = last.Setting, true
	case math.IsInf(float64(keen), -1):
		s.Next = sign * (blunt - step)
	case math.IsInf(float64(blunt), 1):
		s.Next = sign * (keen + step)
	default:
		s.Next = (s.Low + s.High) / 2
		s.Done = s.High-s.Low <= resolution || s.Next == s.Low || s.Next == s.High
	}
	return s, nil
}

// InkSearchError tells why a row of trials has no next. Where the two settings differ from 0 they contradict each other.
type InkSearchError struct{ TooKeen, TooBlunt unit.Length }

func (e *InkSearchError) Error() string {
	if *e == (InkSearchError{}) {
		return "an ink search needs a first trial, a move that is not 0 and a resolution above 0, all finite"
	}
	return fmt.Sprintf("the marks contradict each other: %v was too keen and %v too blunt; test one of them again", e.TooKeen, e.TooBlunt)
}
