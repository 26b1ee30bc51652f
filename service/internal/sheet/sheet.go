// Package sheet lays solved set-ups out on paper.
package sheet

import (
	"context"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"arris.example/geometry/unit"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
	"arris.example/service/internal/words"
)

// Maker makes sheets of what a solver solves.
type Maker struct {
	Solver setup.Solver
	Reader store.Reader
	Engine string // version, on every sheet
	Public string // the server's address for people, without a slash at its end; empty: codes lead nowhere
}

// Setup solves a question and lays the answer out, in the same numbers. The key says whom or what the sheet is for; it may be empty.
func (m Maker) Setup(ctx context.Context, key string, q setup.Question, size paper.Size) (paper.Document, setup.Setup, error) {
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
	s := &sheet{speech: speechOf(q), size: size, title: title, engine: m.Engine, known: map[drawn]paper.Arranged{}}
	s.page()
	if err := m.sheetCode(s, q, found.Basis); err != nil {
		return paper.Document{}, setup.Setup{}, err
	}
	if strings.TrimSpace(key) != "" {
		facts = slices.Insert(facts, 0, fact{s.say("For"), key})
	}
	s.head = s.running(facts)
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
	s.heads()
	s.footers()
	return paper.Document{Title: title, Pages: s.pages}, found, nil
}

// fact is a line of a sheet's heading.
type fact struct{ what, is string }

// facts are what a set-up rests on, by the names that people gave.
func (m Maker) facts(ctx context.Context, q setup.Question, b setup.Basis) (facts []fact, title string, err error) {
	in := speechOf(q)
	add := func(what words.Text, is string) {
		facts = append(facts, fact{in.say(what), is})
	}
	title = in.say("Set-up")
	if b.Recipe != "" {
		r, err := m.Reader.Recipe(ctx, b.Recipe, q.AsOf)
		if err != nil {
			return nil, "", err
		}
		title = called(r.DisplayName, r.Name)
		add("Recipe", in.say("%s, revision %s", path.Base(r.Name), strconv.FormatInt(int64(r.Revision), 10)))
	}
	for _, thing := range []struct {
		what words.Text
		name string
		read func() (string, error)
	}{
		{"Tool", b.Tool, func() (string, error) { t, err := m.Reader.Tool(ctx, b.Tool, q.AsOf); return t.DisplayName, err }},
		{"Station", b.Station, func() (string, error) {
			s, err := m.Reader.Station(ctx, b.Station, q.AsOf)
			return s.DisplayName, err
		}},
		{"Wheel", b.Wheel, func() (string, error) { w, err := m.Reader.Wheel(ctx, b.Wheel, q.AsOf); return w.DisplayName, err }},
		{"Holder", b.Holder, func() (string, error) { h, err := m.Reader.Holder(ctx, b.Holder, q.AsOf); return h.DisplayName, err }},
	} {
		is := ""
		if thing.name != "" {
			display, err := thing.read()
			if err != nil {
				return nil, "", err
			}
			is = called(display, thing.name)
		}
		if thing.what == "Wheel" {
			is = strings.TrimPrefix(is+", "+in.believed(b), ", ")
		}
		if is != "" {
			add(thing.what, is)
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
func (in speech) believed(b setup.Basis) string {
	if b.WheelDiameter == 0 {
		return in.say("flat abrasive")
	}
	text := "⌀\u00a0" + strings.ReplaceAll(in.Length(b.WheelDiameter, 1), " ", "\u00a0")
	if !b.WheelMeasured.IsZero() {
		text += in.say(", measured %s", b.WheelMeasured.UTC().Format(time.DateOnly))
	}
	return text
}

// setting is one thing to set: one number.
type setting struct {
	what  string // "the stick-out"
	lead  string // "Set the stick-out to"
	text  string // "45.0 mm"
	part  string // of the drawing
	means string // where it is measured to, and what a small mistake does
}

// settings are a step's, in the order to make them.
func (in speech) settings(s setup.Step) (all []setting) {
	more, change := unit.Length(1), in.say("1 mm more")
	if in.Unit == setup.Inches {
		more, change = unit.Inch/16, in.say("1/16 in more")
	}
	length := func(part string, l *setup.LengthSetting) {
		if l == nil {
			return
		}
		lead := words.Text("Set %s to")
		if l.Measured {
			lead = "Measure: %s is"
		}
		all = append(all, setting{l.What, in.say(lead, l.What), words.Signed(l.Text), part, joined(l.To, in.effect(unit.Angle(l.PerMM*float64(more)), change))})
	}
	angle := func(part, sense string, a *setup.AngleSetting) {
		if a != nil {
			means := in.effect(unit.Angle(a.PerAngle)*unit.Degree, in.say("1° more"))
			all = append(all, setting{a.What, in.say("Set %s to", a.What), words.Signed(a.Text), part, joined(sense, means)})
		}
	}
	length("stick_out", s.StickOut)
	angle("leg_angle", "", s.Leg)
	if s.Support.SetBy == shop.DatumTilt {
		angle(s.FigurePart, in.say("below 0° it falls towards you"), s.Support.Tilt)
	} else {
		length(s.FigurePart, s.Support.Lengths[s.Support.SetBy])
	}
	return all
}

// joined are two remarks, of which either may be none.
func joined(first, second string) string {
	if first == "" || second == "" {
		return first + second
	}
	return first + "; " + second
}

// sameMachine tells whether two steps are ground where the same machine, wheel and holder are.
func sameMachine(a, b setup.Step) bool {
	return a.Basis == nil && b.Basis == nil || a.Basis != nil && b.Basis != nil && *a.Basis == *b.Basis
}

// kept are the settings that are as in the step before, in words; the others are still to make.
func (in speech) kept(now, before []setting) (text string, rest []setting) {
	for _, s := range now {
		same := slices.ContainsFunc(before, func(b setting) bool { return b.part == s.part && b.text == s.text })
		if !same {
			rest = append(rest, s)
			continue
		}
		if as := in.say("%s at %s", s.what, s.text); text == "" {
			text = as
		} else {
			text = in.say("%s and %s", text, as)
		}
	}
	if text == "" {
		return "", rest
	}
	return in.say("Leave %s.", text), rest
}

// bevelWords say which of several is ground.
func (in speech) bevelWords(steps []setup.Step, i int) string {
	which := in.say("bevel %s from the edge", strconv.Itoa(steps[i].Bevel+1))
	switch {
	case steps[i].Side == setup.SecondSide:
		which = in.say("the second side, the tool turned over")
	case steps[i].Side == setup.FirstSide:
		which = in.say("the first side")
	case steps[i].Side == setup.UpperSide:
		which = in.say("the bevel above the edge")
	case steps[i].Bevel == 0:
		which = in.say("the edge itself")
	}
	return in.say("Grind %s of %s: %s", strconv.Itoa(i+1), strconv.Itoa(len(steps)), which)
}

// effect says what a change does to the edge; nothing where it does next to nothing.
func (in speech) effect(a unit.Angle, change string) string {
	by := math.Abs(a.Degrees())
	switch {
	case by < 0.005:
		return ""
	case a < 0:
		return in.say("%s is %s° keener", change, in.Number(by, 2))
	}
	return in.say("%s is %s° blunter", change, in.Number(by, 2))
}

// result is what a step grinds, in words.
func (in speech) result(step setup.Step) string {
	a, angle := step.Predicted, words.Text("Edge angle %s ± %s")
	if step.Bevel > 0 {
		angle = "Front angle %s ± %s"
	}
	text := in.say(angle, in.Degrees(a.Edge), in.Degrees(a.Expanded))
	if a.IncludedEdge.Known {
		text += in.say(" on this side; both faces together %s", in.Degrees(a.IncludedEdge.Value))
	}
	if a.Reading.Known {
		text += in.say("; a protractor laid on the bevel reads %s", in.Degrees(a.Reading.Value))
	}
	return text + "."
}

// proved says how the rounded numbers were checked.
func (in speech) proved(p setup.Proof) string {
	return in.say("Checked by another route from the numbers above: %s, %s° from what is said.", in.Degrees(p.Edge), in.Number(math.Abs(p.Difference.Degrees()), 3))
}
