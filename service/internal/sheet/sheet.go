// Package sheet lays solved set-ups out on paper.
package sheet

import (
	"context"
	"fmt"
	"math"
	"path"
	"slices"
	"strings"
	"time"

	"arris.example/geometry/unit"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// Maker makes sheets of what a solver solves.
type Maker struct {
	Solver setup.Solver
	Reader store.Reader
	Engine string // version, on every sheet
	Public string // the server's address for people, without a slash at its end; empty: codes lead nowhere
}

// Setup solves a question and lays the answer out, in the same numbers.
func (m Maker) Setup(ctx context.Context, q setup.Question, size paper.Size) (paper.Document, setup.Setup, error) {
	q.Figures, q.Proof = true, true
	q.Figure, q.Mesh, q.Budget = q.Edge, false, false // of the edge its views; the others are not for paper
	found, err := m.Solver.Solve(ctx, q)
	if err != nil {
		return paper.Document{}, setup.Setup{}, err
	}
	facts, title, err := m.facts(ctx, q, found.Basis)
	if err != nil {
		return paper.Document{}, setup.Setup{}, err
	}
	s := &sheet{size: size, unit: q.Unit, title: title, engine: m.Engine, known: map[drawn]paper.Arranged{}}
	s.page()
	if err := m.sheetCode(s, q, found.Basis); err != nil {
		return paper.Document{}, setup.Setup{}, err
	}
	s.heading(facts)
	s.stops(found.Cautions)
	for i := range found.Steps {
		s.step(found, i)
	}
	if found.Edge != nil {
		s.edge(*found.Edge)
	}
	s.cautions(found.Cautions)
	s.signed()
	s.footers()
	return paper.Document{Title: title, Pages: s.pages}, found, nil
}

// fact is a line of a sheet's heading.
type fact struct{ what, is string }

// facts are what a set-up rests on, by the names that people gave.
func (m Maker) facts(ctx context.Context, q setup.Question, b setup.Basis) (facts []fact, title string, err error) {
	add := func(what string, words ...string) {
		facts = append(facts, fact{what, strings.Join(words, "")})
	}
	title = "Set-up"
	if b.Recipe != "" {
		r, err := m.Reader.Recipe(ctx, b.Recipe, q.AsOf)
		if err != nil {
			return nil, "", err
		}
		title = called(r.DisplayName, r.Name)
		add("Recipe", path.Base(r.Name), fmt.Sprintf(", revision %d", r.Revision))
	}
	for _, thing := range []struct {
		what, name string
		read       func() (string, error)
	}{
		{"Tool", b.Tool, func() (string, error) { t, err := m.Reader.Tool(ctx, b.Tool, q.AsOf); return t.DisplayName, err }},
		{"Station", b.Station, func() (string, error) {
			s, err := m.Reader.Station(ctx, b.Station, q.AsOf)
			return s.DisplayName, err
		}},
		{"Wheel", b.Wheel, func() (string, error) { w, err := m.Reader.Wheel(ctx, b.Wheel, q.AsOf); return w.DisplayName, err }},
		{"Holder", b.Holder, func() (string, error) { h, err := m.Reader.Holder(ctx, b.Holder, q.AsOf); return h.DisplayName, err }},
	} {
		words := ""
		if thing.name != "" {
			display, err := thing.read()
			if err != nil {
				return nil, "", err
			}
			words = called(display, thing.name)
		}
		if thing.what == "Wheel" {
			words = strings.TrimPrefix(words+", "+believed(b, q.Unit), ", ")
		}
		if words != "" {
			add(thing.what, words)
		}
	}
	return facts, title, nil
}

// called is a thing's display name with its id behind it, where they differ.
func called(display, name string) string {
	id := path.Base(name)
	if display == "" || display == id {
		return id
	}
	return paper.Isolate(display) + " (" + id + ")"
}

// believed is the diameter and since when.
func believed(b setup.Basis, u setup.LengthUnit) string {
	if b.WheelDiameter == 0 {
		return "flat abrasive"
	}
	text := "⌀\u00a0" + strings.ReplaceAll(setup.PrintLength(b.WheelDiameter, u, 1), " ", "\u00a0")
	if !b.WheelMeasured.IsZero() {
		text += ", measured " + b.WheelMeasured.UTC().Format(time.DateOnly)
	}
	return text
}

// setting is one thing to set: one number.
type setting struct {
	what  string // "the stick-out"
	lead  string // "Set the stick-out to"
	text  string // "45.0 mm"
	part  string // of the drawing
	means string // what a small mistake does
}

// settings are a step's, in the order to make them.
func settings(s setup.Step, u setup.LengthUnit) (all []setting) {
	more, change := unit.Length(1), "1 mm more"
	if u == setup.Inches {
		more, change = unit.Inch/16, "1/16 in more"
	}
	length := func(part string, l *setup.LengthSetting) {
		if l == nil {
			return
		}
		lead := "Set " + l.What + " to"
		if l.Measured {
			lead = "Measure: " + l.What + " is"
		}
		all = append(all, setting{l.What, lead, signed(l.Text), part, effect(unit.Angle(l.PerMM*float64(more)), change)})
	}
	angle := func(part, sense string, a *setup.AngleSetting) {
		if a != nil {
			means := strings.TrimPrefix(sense+"; "+effect(unit.Angle(a.PerAngle)*unit.Degree, "1° more"), "; ")
			all = append(all, setting{a.What, "Set " + a.What + " to", signed(a.Text), part, means})
		}
	}
	length("stick_out", s.StickOut)
	angle("leg_angle", "", s.Leg)
	if s.Support.SetBy == shop.DatumTilt {
		angle(s.FigurePart, "below 0° it falls towards you", s.Support.Tilt)
	} else {
		length(s.FigurePart, s.Support.Lengths[s.Support.SetBy])
	}
	return all
}

// signed is a number with a minus that can be seen at arm's length.
func signed(text string) string {
	if rest, ok := strings.CutPrefix(text, "-"); ok {
		return "−" + rest
	}
	return text
}

// sameMachine tells whether two steps are ground where the same machine, wheel and holder are.
func sameMachine(a, b setup.Step) bool {
	return a.Basis == nil && b.Basis == nil || a.Basis != nil && b.Basis != nil && *a.Basis == *b.Basis
}

// kept are the settings that are as in the step before, in words; the others are still to make.
func kept(now, before []setting) (words string, rest []setting) {
	var as []string
	for _, s := range now {
		same := slices.ContainsFunc(before, func(b setting) bool { return b.part == s.part && b.text == s.text })
		if !same {
			rest = append(rest, s)
			continue
		}
		as = append(as, s.what+" at "+s.text)
	}
	if len(as) == 0 {
		return "", rest
	}
	return "Leave " + strings.Join(as, " and ") + ".", rest
}

// bevelWords say which of several is ground.
func bevelWords(steps []setup.Step, i int) string {
	which := fmt.Sprintf("bevel %d from the edge", steps[i].Bevel+1)
	switch {
	case steps[i].Side == setup.SecondSide:
		which = "the second side, the tool turned over"
	case steps[i].Side == setup.FirstSide:
		which = "the first side"
	case steps[i].Side == setup.UpperSide:
		which = "the bevel above the edge"
	case steps[i].Bevel == 0:
		which = "the edge itself"
	}
	return fmt.Sprintf("Grind %d of %d: %s", i+1, len(steps), which)
}

// effect says what a change does to the edge; nothing where it does next to nothing.
func effect(a unit.Angle, change string) string {
	degrees, way := a.Degrees(), "blunter"
	if degrees < 0 {
		degrees, way = -degrees, "keener"
	}
	if degrees < 0.005 {
		return ""
	}
	return change + " is " + unit.FormatFixed(degrees, 2) + "° " + way
}

// result is what a step grinds, in words.
func result(step setup.Step) string {
	a, angle := step.Predicted, "Edge angle"
	if step.Bevel > 0 {
		angle = "Front angle"
	}
	text := fmt.Sprintf("%s %s ± %s", angle, degrees(a.Edge), degrees(a.Expanded))
	if a.IncludedEdge.Known {
		text += fmt.Sprintf(" a side, %s both together", degrees(a.IncludedEdge.Value))
	}
	if a.Reading.Known {
		text += fmt.Sprintf("; a protractor laid on the bevel reads %s", degrees(a.Reading.Value))
	}
	return text + "."
}

// proved says how the rounded numbers were checked.
func proved(p setup.Proof) string {
	return fmt.Sprintf("Checked by another route from the numbers above: %s, %s° from what is said.", degrees(p.Edge),
		unit.FormatFixed(math.Abs(p.Difference.Degrees()), 3))
}

func degrees(a unit.Angle) string { return unit.FormatFixed(a.Degrees(), 1) + "°" }
