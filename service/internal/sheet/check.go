package sheet

import (
	"context"
	"math"
	"path"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"arris.example/geometry/unit"
	"arris.example/service/internal/code"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// ChangeKind is what happened to something that a sheet rests on. The API's list has the same order.
type ChangeKind int

// The kinds of change.
const (
	NoChange ChangeKind = iota
	RecipePublished
	Gone
	WheelReplaced
	WheelMeasured
	WheelDressed
	StationLocked
	ToolShorter
	ToolRecipe
	Renamed
	Edited
	SettingsMoved
	NotSettable
	NotToBeUsed
)

// Change is one thing that changed since a sheet was made.
type Change struct {
	Kind          ChangeKind
	Name, NowName string
	Before, After shop.Maybe[unit.Length]
	Supersedes    bool
	Text          string // a sentence
}

// Checked is what became of a sheet.
type Checked struct {
	Superseded bool
	Text       string
	Changes    []Change // what supersedes it first
	Moved      []setup.Difference
	Off        shop.Maybe[unit.Angle] // of the edge that its numbers grind now, positive is blunter
}

// Check tells what changed since a sheet was made, from what its code holds. What was read when the sheet was made follows what is there
// now: a recipe's published revision, the wheel on a station. What was named otherwise stays as it was named.
func (m Maker) Check(ctx context.Context, h code.Held, language string, u setup.LengthUnit) (Checked, error) {
	in, err := setup.SpeechIn(language, u)
	if err != nil {
		return Checked{}, err
	}
	c := &checking{Maker: m, speech: speech{in}, ctx: ctx, held: h, language: language}
	c.then, c.now = c.question(h.AsOf), c.question(time.Time{})
	for _, look := range []func() error{c.recipe, c.station, c.wheel, c.tool, c.holder, c.settings} {
		if err := look(); err != nil {
			return Checked{}, err
		}
	}
	return c.answer(), nil
}

// checking is a check under way.
type checking struct {
	Maker
	speech
	ctx       context.Context
	held      code.Held
	language  string         // its tag
	then, now setup.Question // the sheet's, and the one that a new sheet would ask
	recipes   [2]shop.Recipe // then and now, where they can be read
	changes   []Change
	moved     []setup.Difference
	off       shop.Maybe[unit.Angle]
}

// question is the sheet's, as far as its code holds it.
func (c *checking) question(asOf time.Time) setup.Question {
	q := setup.Question{Common: setup.Common{Shop: c.held.Shop, Recipe: c.held.Recipe, AsOf: asOf, Language: c.language, Unit: c.Unit}}
	q.Rig.Station.Name, q.Rig.Support, q.Rig.Wheel.Name = c.held.Station, c.held.Support, c.held.Wheel
	q.Rig.Holder.Name, q.Rig.Tool.Name = c.held.Holder, c.held.Tool
	return q
}

func (c *checking) add(change Change) { c.changes = append(c.changes, change) }

// told is what is said of a kind of record.
type told struct{ gone, renamed, edited, unfit words.Text }

var (
	recipeTold  = told{gone: "There is no recipe %s any more.", renamed: `The recipe %s is called "%s" now.`}
	stationTold = told{"There is no station %s any more.", `The station %s is called "%s" now.`, "What is kept of the station %s was changed.",
		"Do not grind here: the station %s was found not fit for use on %s."}
	wheelTold  = told{gone: "There is no wheel %s any more.", unfit: "Do not grind on the wheel %s: it was found not fit for use on %s."}
	toolTold   = told{"There is no tool %s any more.", `The tool %s is called "%s" now.`, "What is kept of the tool %s was changed.", ""}
	holderTold = told{"There is no holder %s any more.", `The holder %s is called "%s" now.`, "What is kept of the holder %s was changed.",
		"Do not use the holder %s: it was found not fit for use on %s."}
)

// gone adds that something is not kept any more.
func (c *checking) gone(what told, name string) {
	c.add(Change{Kind: Gone, Name: name, Supersedes: true, Text: c.say(what.gone, path.Base(name))})
}

// renamed adds that something has another name.
func (c *checking) renamed(what told, name, display string) {
	c.add(Change{Kind: Renamed, Name: name, Text: c.say(what.renamed, path.Base(name), paper.Isolate(display))})
}

// unfit adds that the newest inspection found something not fit for use. Like a lock that stops whoever would use it, and the sheet still counts.
func (c *checking) unfit(what told, name string, i shop.Inspecting) {
	if i.Finding == shop.Unsafe {
		c.add(Change{Kind: NotToBeUsed, Name: name, Text: c.say(what.unfit, path.Base(name), c.Day(i.Last))})
	}
}

// found is what a reader gives; what does not exist is no error here.
func found[T any](v T, err error) (T, bool, error) {
	if f, ok := fault.As(err); ok && f.Kind == fault.NotFound {
		return v, false, nil
	}
	return v, err == nil, err
}

// both reads a record as it was and as it is, and adds that it is gone or renamed.
func both[T any](c *checking, what told, name string, read func(context.Context, string, time.Time) (T, error), display func(T) string) (then, now T, known, there bool, err error) {
	if then, known, err = found(read(c.ctx, name, c.held.AsOf)); err != nil {
		return then, now, false, false, err
	}
	if now, there, err = found(read(c.ctx, name, time.Time{})); err != nil {
		return then, now, false, false, err
	}
	if !there {
		c.gone(what, name)
		return then, now, false, false, nil
	}
	if before, after := display(then), display(now); known && before != after {
		c.renamed(what, name, after)
	}
	return then, now, known, true, nil
}

// edited adds that something else about a record was changed.
func (c *checking) edited(what told, name string, changed bool) {
	if changed {
		c.add(Change{Kind: Edited, Name: name, Text: c.say(what.edited, path.Base(name))})
	}
}

func (c *checking) recipe() error {
	if c.held.Recipe == "" {
		return nil
	}
	base, number, _ := strings.Cut(c.held.Recipe, "/revisions/")
	then, known, err := found(c.Reader.Recipe(c.ctx, base, c.held.AsOf))
	if err != nil {
		return err
	}
	now, published, err := found(c.Reader.Recipe(c.ctx, base, time.Time{}))
	if err != nil {
		return err
	}
	if known && then.RevisionName() != c.held.Recipe || !published { // it was asked for by its number, or has no other meaning
		var there bool
		if now, there, err = found(c.Reader.Recipe(c.ctx, c.held.Recipe, time.Time{})); err != nil {
			return err
		}
		if !there {
			c.gone(recipeTold, base)
			return nil
		}
	} else {
		c.now.Recipe = base
	}
	if revision := now.RevisionName(); revision != c.held.Recipe {
		c.add(Change{Kind: RecipePublished, Name: c.held.Recipe, NowName: revision, Supersedes: true,
			Text: c.say("The recipe %s is at revision %s; the sheet is of revision %s.", path.Base(base), strconv.FormatInt(int64(now.Revision), 10), number)})
	}
	if known && then.DisplayName != now.DisplayName {
		c.renamed(recipeTold, base, now.DisplayName)
	}
	c.recipes = [2]shop.Recipe{then, now}
	return nil
}

func (c *checking) station() error {
	if c.held.Station == "" {
		return nil
	}
	then, now, known, there, err := both(c, stationTold, c.held.Station, c.Reader.Station, func(s shop.Station) string { return s.DisplayName })
	if err != nil || !there {
		return err
	}
	if now.State == shop.Locked {
		c.add(Change{Kind: StationLocked, Name: c.held.Station,
			Text: c.say("Do not grind here: the station %s is locked: %s.", path.Base(c.held.Station), paper.Isolate(now.StateReason))})
	}
	c.unfit(stationTold, c.held.Station, now.Inspecting)
	then.DisplayName, then.State, then.StateReason, then.StateTime, then.Inspecting = now.DisplayName, now.State, now.StateReason, now.StateTime, now.Inspecting
	c.edited(stationTold, c.held.Station, known && !reflect.DeepEqual(then, now))
	return nil
}

func (c *checking) wheel() error {
	if c.held.Wheel == "" {
		return nil
	}
	name := path.Base(c.held.Wheel)
	if follows, err := c.followsStation(); err != nil || !follows {
		if err != nil {
			return err
		}
		now, there, err := found(c.Reader.Wheel(c.ctx, c.held.Wheel, time.Time{}))
		if !there {
			c.gone(wheelTold, c.held.Wheel)
			return err
		}
		c.sameWheel(now)
		return nil
	}
	c.then.Rig.Wheel.Name, c.now.Rig.Wheel.Name = "", ""
	now, there, err := found(c.Reader.MountedWheel(c.ctx, c.held.Station, time.Time{}))
	switch {
	case err != nil:
		return err
	case !there:
		c.add(Change{Kind: WheelReplaced, Name: c.held.Wheel, Supersedes: true,
			Text: c.say("The wheel %s is not on the station any more, and no other is.", name)})
	case now.Name != c.held.Wheel:
		c.add(Change{Kind: WheelReplaced, Name: c.held.Wheel, NowName: now.Name, Supersedes: true, Before: c.diameter(c.held.Diameter), After: c.diameter(now.Diameter),
			Text: c.replaced(now)})
		c.unfit(wheelTold, now.Name, now.Inspecting)
	default:
		c.sameWheel(now)
	}
	return nil
}

// followsStation tells whether the sheet's wheel is the one that was on its station then, and not one that was named.
func (c *checking) followsStation() (bool, error) {
	if c.held.Station == "" {
		return false, nil
	}
	then, known, err := found(c.Reader.MountedWheel(c.ctx, c.held.Station, c.held.AsOf))
	return !known || then.Name == c.held.Wheel, err
}

// diameterStep is what a code holds a diameter to.
const diameterStep = 0.001

// sameWheel adds how the sheet's wheel has changed.
func (c *checking) sameWheel(now shop.Wheel) {
	name := path.Base(now.Name)
	c.unfit(wheelTold, now.Name, now.Inspecting)
	if !now.Flat && math.Abs(float64(now.Diameter-c.held.Diameter)) > diameterStep/2 {
		c.add(Change{Kind: WheelMeasured, Name: now.Name, Before: c.diameter(c.held.Diameter), After: c.diameter(now.Diameter),
			Text: c.say("The wheel %s measures %s, by the sheet %s.", name, c.Length(now.Diameter, 1), c.Length(c.held.Diameter, 1))})
	}
	if now.Dressed.After(c.held.AsOf) {
		c.add(Change{Kind: WheelDressed, Name: now.Name,
			Text: c.say("The wheel %s was dressed on %s and has not been measured since: measure it.", name, now.Dressed.UTC().Format(time.DateOnly))})
	}
}

func (c *checking) diameter(d unit.Length) shop.Maybe[unit.Length] {
	return shop.Maybe[unit.Length]{Value: d, Known: d > 0}
}

// replaced says by what the wheel was replaced, with both diameters where there are two.
func (c *checking) replaced(now shop.Wheel) string {
	before, after := path.Base(c.held.Wheel), path.Base(now.Name)
	if now.Flat || c.held.Diameter == 0 {
		return c.say("The wheel %s was replaced by %s.", before, after)
	}
	return c.say("The wheel %s was replaced by %s: ⌀ %s then, ⌀ %s now.", before, after, c.Length(c.held.Diameter, 1), c.Length(now.Diameter, 1))
}

func (c *checking) tool() error {
	if c.held.Tool == "" {
		return nil
	}
	name := path.Base(c.held.Tool)
	then, now, known, there, err := both(c, toolTold, c.held.Tool, c.Reader.Tool, func(t shop.Tool) string { return t.DisplayName })
	if err != nil || !there || !known {
		return err
	}
	for _, of := range []struct {
		text        words.Text
		then, after *shop.Maybe[unit.Length]
	}{
		{"The tool %s is shorter: overall length %s, then %s.", &then.OverallLength, &now.OverallLength},
		{"The tool %s is shorter: free blade %s, then %s.", &then.FreeBlade, &now.FreeBlade},
		{"The tool %s is shorter: usable length %s, then %s.", &then.UsableLength, &now.UsableLength},
	} {
		if of.then.Known && of.after.Known && of.after.Value < of.then.Value {
			c.add(Change{Kind: ToolShorter, Name: c.held.Tool, Before: *of.then, After: *of.after,
				Text: c.say(of.text, name, c.Length(of.after.Value, 1), c.Length(of.then.Value, 1))})
			*of.then = *of.after
		}
	}
	if base, _, _ := strings.Cut(c.held.Recipe, "/revisions/"); then.Recipe == base && now.Recipe != base && base != "" {
		text := c.say("The tool %s is ground to no recipe now.", name)
		if now.Recipe != "" {
			text = c.say("The tool %s is ground to %s now.", name, path.Base(now.Recipe))
		}
		c.add(Change{Kind: ToolRecipe, Name: c.held.Tool, NowName: now.Recipe, Supersedes: true, Text: text})
		then.Recipe = now.Recipe
	}
	then.DisplayName, then.State, then.Location = now.DisplayName, now.State, now.Location // of no consequence
	c.edited(toolTold, c.held.Tool, !reflect.DeepEqual(then, now))
	return nil
}

func (c *checking) holder() error {
	name := c.held.Holder
	if name == "" {
		name = c.recipes[1].Holder // another one than then is another revision, which is told
	}
	if name == "" {
		return nil
	}
	then, now, known, there, err := both(c, holderTold, name, c.Reader.Holder, func(h shop.Holder) string { return h.DisplayName })
	if err != nil || !there {
		return err
	}
	c.unfit(holderTold, name, now.Inspecting)
	then.DisplayName, then.Inspecting = now.DisplayName, now.Inspecting
	c.edited(holderTold, name, known && !reflect.DeepEqual(then, now))
	return nil
}

// settings solves then and now, and adds what moved. Where that cannot be, another diameter is enough to be superseded.
func (c *checking) settings() error {
	goneBy := func(ch Change) bool { return ch.Kind == Gone }
	if c.held.Own || slices.ContainsFunc(c.changes, goneBy) {
		c.uncompared()
		return nil
	}
	then, err := c.Solver.Solve(c.ctx, c.then)
	if err != nil {
		c.uncompared()
		return refusalOnly(err)
	}
	if d := c.held.Diameter; d > 0 && math.Abs(float64(then.Basis.WheelDiameter-d)) > diameterStep/2 {
		c.uncompared() // what was kept then is not what the sheet says
		return nil
	}
	now, err := c.Solver.Solve(c.ctx, c.now)
	if err != nil {
		f, ok := fault.As(err)
		if !ok || f.Kind != fault.Impossible && f.Kind != fault.BadRequest && f.Kind != fault.NotFound {
			return err
		}
		if !slices.ContainsFunc(c.changes, func(ch Change) bool { return ch.Kind == WheelReplaced && ch.NowName == "" }) { // which says it already
			c.add(Change{Kind: NotSettable, Name: c.held.Recipe, Supersedes: true, Text: c.say("It cannot be set up any more: %s.", f.Message)})
		}
		return nil
	}
	return c.compare(then, now)
}

// refusalOnly lets through what is no refusal of the question.
func refusalOnly(err error) error {
	if f, ok := fault.As(err); ok && (f.Kind == fault.Impossible || f.Kind == fault.BadRequest || f.Kind == fault.NotFound) {
		return nil
	}
	return err
}

func (c *checking) uncompared() {
	for i := range c.changes {
		c.changes[i].Supersedes = c.changes[i].Supersedes || c.changes[i].Kind == WheelMeasured
	}
}

// compare adds how the settings moved, and what the sheet's would grind.
func (c *checking) compare(then, now setup.Setup) error {
	var texts []string
	for i := range min(len(then.Steps), len(now.Steps)) {
		for _, d := range c.movesOf(i, then.Steps[i], now.Steps[i]) {
			c.moved = append(c.moved, d)
			texts = append(texts, d.Text)
		}
	}
	if a, b := len(then.Steps), len(now.Steps); a != b {
		texts = append(texts, c.say("steps: %s by the sheet, %s now", strconv.Itoa(a), strconv.Itoa(b)))
	}
	if len(texts) == 0 {
		c.off = shop.Some(unit.Angle(0))
		return nil
	}
	err := c.astray(then, now)
	c.add(Change{Kind: SettingsMoved, Name: c.held.Recipe, NowName: now.Basis.Recipe, Supersedes: true, Text: strings.TrimSpace(c.say("Settings moved: %s.", strings.Join(texts, "; ")) + " " + c.astrayWords())})
	return err
}

// astray finds how far off the edge comes out where it is set by the sheet's numbers as things are now.
func (c *checking) astray(then, now setup.Setup) error {
	edge := func(all []setup.Step) (setup.Step, bool) {
		i := slices.IndexFunc(all, func(s setup.Step) bool { return s.Bevel == 0 })
		return all[max(i, 0)], i >= 0
	}
	old, ok := edge(then.Steps)
	wanted, there := edge(now.Steps)
	if !ok || !there {
		return nil
	}
	q := setup.Forecast{Common: c.now.Common, Settings: settingsOf(old)}
	q.Rig.Support = now.Basis.Support
	found, err := c.Solver.Predict(c.ctx, q)
	if err != nil {
		return refusalOnly(err)
	}
	if got, ok := edge(found.Steps); ok {
		c.off = shop.Some(got.Predicted.Edge - wanted.Predicted.Edge)
	}
	return nil
}

// settingsOf are those that a sheet prints of a step.
func settingsOf(s setup.Step) (out shop.Settings) {
	if s.StickOut != nil {
		out.StickOut = shop.Some(s.StickOut.Set)
	}
	if s.Leg != nil {
		out.Leg = shop.Some(s.Leg.Set)
	}
	out.Datum = s.Support.SetBy
	if l := s.Support.Lengths[out.Datum]; l != nil {
		out.Support = l.Set
	}
	if s.Support.Tilt != nil {
		out.Tilt = s.Support.Tilt.Set
	}
	return out
}

// astrayWords say what the sheet's numbers grind now.
func (c *checking) astrayWords() string {
	const same = 0.1 * unit.Degree
	switch off := c.off.Value; {
	case !c.off.Known:
		return ""
	case math.Abs(float64(off)) < float64(same/2):
		return c.say("By the sheet the edge comes out the same within %s.", c.Degrees(same))
	case off < 0:
		return c.say("By the sheet the edge comes out %s keener.", c.Degrees(-off))
	default:
		return c.say("By the sheet the edge comes out %s blunter.", c.Degrees(off))
	}
}

// movesOf are the settings of a step that moved, of those that a sheet prints.
func (in speech) movesOf(i int, then, now setup.Step) (all []setup.Difference) {
	add := func(quantity string, isAngle bool, from, to float64, what, before, after string) {
		if math.Abs(from-to) > 1e-9 {
			all = append(all, setup.Difference{Step: i, Quantity: quantity, IsAngle: isAngle, From: from, To: to, Text: in.say("%s is %s, by the sheet %s", what, after, before)})
		}
	}
	length := func(quantity string, a, b *setup.LengthSetting) {
		if a != nil && b != nil {
			add(quantity, false, float64(a.Set), float64(b.Set), b.What, a.Text, b.Text)
		}
	}
	angle := func(quantity string, a, b *setup.AngleSetting) {
		if a != nil && b != nil {
			add(quantity, true, float64(a.Set), float64(b.Set), b.What, a.Text, b.Text)
		}
	}
	length("stick_out", then.StickOut, now.StickOut)
	angle("leg_angle", then.Leg, now.Leg)
	switch by := then.Support.SetBy; {
	case by != now.Support.SetBy:
		all = append(all, setup.Difference{Step: i, Quantity: now.Support.SetBy.String(), Text: in.say("the support is set by another quantity")})
	case by == shop.DatumTilt:
		angle(by.String(), then.Support.Tilt, now.Support.Tilt)
	default:
		length(by.String(), then.Support.Lengths[by], now.Support.Lengths[by])
	}
	return all
}

// answer puts what was found into order and words.
func (c *checking) answer() Checked {
	slices.SortStableFunc(c.changes, func(a, b Change) int {
		switch {
		case a.Supersedes == b.Supersedes:
			return 0
		case a.Supersedes:
			return -1
		}
		return 1
	})
	out := Checked{Changes: c.changes, Moved: c.moved, Off: c.off}
	var texts []string
	for _, ch := range c.changes {
		out.Superseded = out.Superseded || ch.Supersedes
		texts = append(texts, ch.Text)
	}
	since := c.held.AsOf.UTC().Format(time.DateOnly)
	switch {
	case out.Superseded:
		out.Text = c.say("Do not set by this sheet of %s any more.", since)
	case len(texts) > 0 && c.held.Own:
		out.Text = c.say("The sheet of %s has settings of its own, which cannot be compared.", since)
	case len(texts) > 0:
		out.Text = c.say("The settings of this sheet of %s still hold.", since)
	default:
		out.Text = c.say("The sheet still holds: nothing has changed since %s.", since)
	}
	out.Text = strings.Join(append([]string{out.Text}, texts...), " ")
	return out
}
