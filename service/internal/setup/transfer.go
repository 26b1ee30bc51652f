package setup

import (
	"context"
	"math"
	"slices"
	"strings"

	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
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
	in, err := SpeechIn(c.From.Language, c.From.Unit)
	return Carried{From: from, To: to, Differences: comparison{in, decimals(float64(c.From.Rounding.lengthStep()))}.differences(from, to)}, err
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

// comparison says differences, of lengths with so many places.
type comparison struct {
	in     Speech
	places int
}

// differences lists what moves, step by step, as far as both have the setting.
func (c comparison) differences(from, to Setup) []Difference {
	var list []Difference
	for i := range min(len(from.Steps), len(to.Steps)) {
		a, b := from.Steps[i], to.Steps[i]
		lengths := func(quantity string, what words.Text, a, b *LengthSetting) {
			if a == nil || b == nil {
				return
			}
			by := c.in.Setting(unit.Length(math.Abs(float64(b.Set-a.Set))), c.places)
			list = append(list, Difference{Step: i, Quantity: quantity, From: float64(a.Set), To: float64(b.Set), Text: c.say(what, a.Text, b.Text, float64(b.Set-a.Set), by)})
		}
		angles := func(quantity string, what words.Text, a, b *AngleSetting) {
			if a == nil || b == nil {
				return
			}
			by := c.in.Degrees(unit.Angle(math.Abs(float64(b.Set - a.Set))))
			list = append(list, Difference{Step: i, Quantity: quantity, IsAngle: true, From: float64(a.Set), To: float64(b.Set), Text: c.say(what, a.Text, b.Text, float64(b.Set-a.Set), by)})
		}
		lengths("stick_out", "the stick-out", a.StickOut, b.StickOut)
		angles("leg_angle", "the leg", a.Leg, b.Leg)
		for d := range a.Support.Lengths {
			lengths(shop.Datum(d).String(), datumWords[shop.Datum(d)], a.Support.Lengths[d], b.Support.Lengths[d])
		}
		angles("platform_tilt", datumWords[shop.DatumTilt], a.Support.Tilt, b.Support.Tilt)
	}
	return list
}

// say says one difference, by how much.
func (c comparison) say(what words.Text, here, there string, move float64, by string) string {
	named := words.Upper(c.in.Say(what))
	switch {
	case math.Abs(move) <= float64(nothing):
		return c.in.Say("%s: the same, %s", named, there)
	case move > 0:
		return c.in.Say("%s: %s here, %s there, %s more", named, here, there, by)
	}
	return c.in.Say("%s: %s here, %s there, %s less", named, here, there, by)
}
