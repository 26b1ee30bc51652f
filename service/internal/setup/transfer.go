package setup

import (
	"context"
	"math"
	"slices"
	"strings"

	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// Carry asks for a set-up to be carried over to another wheel, station, holder or stick-out.
type Carry struct {
	From    Question
	To      RigSource // what differs; unset things stay
	Given   shop.Settings
	Blunter unit.Angle // of the second of a pair of wheels
}

// Carried is a set-up here and there.
type Carried struct {
	From, To    Setup
	Differences []Difference
}

// Difference is one setting of a step here and there; lengths in millimetres, angles in radians.
type Difference struct {
	Step     int
	Quantity string
	IsAngle  bool
	From, To float64
	Text     string
}

// Transfer solves here and there, and says what moves.
func (s Solver) Transfer(ctx context.Context, c Carry) (Carried, error) {
	from, err := s.Solve(ctx, c.From)
	if err != nil {
		return Carried{}, here(err)
	}
	there := c.From
	there.Rig = c.From.Rig.overlaid(c.To)
	there.Given = c.Given.Over(c.From.Given)
	there.TouchFirst += c.Blunter
	to, err := s.Solve(ctx, there)
	if err != nil {
		return Carried{}, err
	}
	return Carried{From: from, To: to, Differences: differences(from, to, c.From.Unit, c.From.Rounding)}, nil
}

// here puts the fields of a refusal of the set-up carried over to where the question has them.
func here(err error) error {
	f, ok := fault.As(err)
	if !ok {
		return err
	}
	said := *f
	said.Violations = slices.Clone(f.Violations)
	for i := range said.Violations {
		if rest, ok := strings.CutPrefix(said.Message, said.Violations[i].Field); ok {
			said.Message = "from." + said.Violations[i].Field + rest
		}
		said.Violations[i].Field = "from." + said.Violations[i].Field
	}
	if detail, ok := f.Detail.(*Refusal); ok && detail.Field != "" {
		copied := *detail
		copied.Field = "from." + copied.Field
		said.Detail = &copied
	}
	return &said
}

// overlaid is a rig with the things another says in their place. A wheel and a support belong to their station, so another station
// brings its own.
func (r RigSource) overlaid(o RigSource) RigSource {
	if o.Station.said() {
		r.Station, r.Support = o.Station, ""
		if r.Wheel.Inline == nil || o.Station.Name != "" {
			r.Wheel = Source[shop.Wheel]{}
		}
	}
	if o.Wheel.said() {
		r.Wheel = o.Wheel
	}
	if o.Support != "" {
		r.Support = o.Support
	}
	if o.Holder.said() {
		r.Holder = o.Holder
		if !o.Station.said() && o.Support == "" {
			r.Support = "" // another holder may stand elsewhere on the same station
		}
	}
	if o.Tool.said() {
		r.Tool = o.Tool
	}
	if o.Asides != (Asides{}) {
		r.Asides = o.Asides
	}
	return r
}

func (s Source[T]) said() bool { return s.Inline != nil || s.Name != "" }

// differences lists what moves, step by step, as far as both have the setting.
func differences(from, to Setup, u LengthUnit, r Rounding) []Difference {
	var list []Difference
	for i := range min(len(from.Steps), len(to.Steps)) {
		a, b := from.Steps[i], to.Steps[i]
		lengths := func(quantity, words string, a, b *LengthSetting) {
			if a != nil && b != nil {
				list = append(list, lengthDifference(i, quantity, words, *a, *b, u, r))
			}
		}
		lengths("stick_out", "the stick-out", a.StickOut, b.StickOut)
		if a.Leg != nil && b.Leg != nil {
			list = append(list, angleDifference(i, "leg_angle", "the leg", *a.Leg, *b.Leg))
		}
		for d := range a.Support.Lengths {
			lengths(shop.Datum(d).String(), datumWords[shop.Datum(d)], a.Support.Lengths[d], b.Support.Lengths[d])
		}
		if a.Support.Tilt != nil && b.Support.Tilt != nil {
			list = append(list, angleDifference(i, "platform_tilt", "the platform's tilt", *a.Support.Tilt, *b.Support.Tilt))
		}
	}
	return list
}

func lengthDifference(step int, quantity, words string, a, b LengthSetting, u LengthUnit, r Rounding) Difference {
	text := words + ": the same, " + b.Text
	if move := b.Set - a.Set; math.Abs(float64(move)) > float64(nothing) {
		text = words + ": " + a.Text + " here, " + b.Text + " there, " + PrintLength(unit.Length(math.Abs(float64(move))), u, decimals(float64(r.lengthStep()))) + more(float64(move))
	}
	return Difference{Step: step, Quantity: quantity, From: float64(a.Set), To: float64(b.Set), Text: upper(text)}
}

func angleDifference(step int, quantity, words string, a, b AngleSetting) Difference {
	text := words + ": the same, " + b.Text
	if move := b.Set - a.Set; move != 0 {
		text = words + ": " + a.Text + " here, " + b.Text + " there, " + degrees(unit.Angle(math.Abs(float64(move)))) + more(float64(move))
	}
	return Difference{Step: step, Quantity: quantity, IsAngle: true, From: float64(a.Set), To: float64(b.Set), Text: upper(text)}
}

func more(move float64) string {
	if move > 0 {
		return " more"
	}
	return " less"
}
