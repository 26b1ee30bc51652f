package sheet_test

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"arris.example/geometry/unit"
	"arris.example/service/internal/code"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/records"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/sheet"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
	"arris.example/service/internal/store/sqlite"
)

// bench is the demonstration shop on a clock of the test's own, and a sheet that was printed in it on 1 December.
type bench struct {
	t      *testing.T
	now    time.Time
	keeper records.Keeper
	maker  sheet.Maker
	held   code.Held
	paper  setup.Setup // what the sheet says
	called []string    // words that people here say
}

func printed(t *testing.T, ask setup.Common, more ...func(*setup.Question)) *bench {
	t.Helper()
	b := &bench{t: t, now: time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)}
	clock := func() time.Time { return b.now }
	kept, err := sqlite.Memory(t.Context(), clock)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { kept.Close() })
	if _, err := store.Seed(t.Context(), kept, demo.Name, store.Caller{}, demo.Records(time.Now())...); err != nil {
		t.Fatal(err)
	}
	b.keeper = records.Keeper{Store: kept}
	b.maker = makerOf(store.Named{Store: kept})
	b.maker.Solver.Now, b.maker.Public = clock, public
	b.now = time.Date(2026, 12, 1, 9, 0, 0, 0, time.UTC)
	q := setup.Question{Common: ask}
	for _, change := range more {
		change(&q)
	}
	d, found, err := b.maker.Setup(t.Context(), "", q, paper.A4)
	if err != nil {
		t.Fatal(err)
	}
	b.paper = found
	// What a scanner reads off the paper is all that the check gets.
	scanned := decoded(t, pictured(t, written(t, d))[0])
	resolved, err := code.Resolve(t.Context(), kept, demo.Name, scanned[0])
	if err != nil || resolved.Sheet == nil {
		t.Fatal(scanned, err)
	}
	b.held = *resolved.Sheet
	b.now = b.now.Add(30 * 24 * time.Hour)
	return b
}

// check is what became of the sheet. It is asked in all languages: they say the same, with the same numbers.
func (b *bench) check() sheet.Checked {
	b.t.Helper()
	in := func(language string) sheet.Checked {
		found, err := b.maker.Check(b.t.Context(), b.held, language, setup.Millimetres)
		if err != nil {
			b.t.Fatal(err)
		}
		return found
	}
	english := in("")
	for _, code := range []string{"de", "es"} {
		own := in(code)
		if said, told := english.Text, own.Text; said == told || !slices.Equal(numbersIn(said), numbersIn(told)) {
			b.t.Errorf("%s: %q says other numbers than %q", code, told, said)
		}
		if !reflect.DeepEqual(untold(english), untold(own)) {
			b.t.Errorf("%s: %+v is not %+v", code, own, english)
		}
		for i, change := range own.Changes {
			said := someWord.FindAllString(english.Changes[i].Text, -1)
			for _, word := range someWord.FindAllString(change.Text, -1) {
				// Refusals are in English everywhere.
				if change.Kind != sheet.NotSettable && slices.Contains(said, word) && !slices.Contains(alike[code], word) && !slices.Contains(b.names(), word) {
					b.t.Errorf("%s: %q is English in %q", code, word, change.Text)
				}
			}
		}
	}
	return english
}

// untold is an answer without its texts.
func untold(found sheet.Checked) sheet.Checked {
	found.Text, found.Changes, found.Moved = "", slices.Clone(found.Changes), slices.Clone(found.Moved)
	for i := range found.Changes {
		found.Changes[i].Text = ""
	}
	for i := range found.Moved {
		found.Moved[i].Text = ""
	}
	return found
}

// names are the words of what people called their things, here and in the demonstration shop.
func (b *bench) names() []string { return append(namesOf(demo.Records(time.Now())), b.called...) }

// want fails unless exactly these things changed.
func (b *bench) want(found sheet.Checked, superseded bool, kinds ...sheet.ChangeKind) {
	b.t.Helper()
	var got []sheet.ChangeKind
	for _, c := range found.Changes {
		got = append(got, c.Kind)
	}
	if found.Superseded != superseded || fmt.Sprint(got) != fmt.Sprint(kinds) {
		b.t.Errorf("superseded %t %v, want %t %v: %s", found.Superseded, got, superseded, kinds, found.Text)
	}
}

func (b *bench) says(found sheet.Checked, words ...string) {
	b.t.Helper()
	for _, w := range words {
		if !strings.Contains(found.Text, w) {
			b.t.Errorf("no %q in %q", w, found.Text)
		}
	}
}

func edit[T any](b *bench, kind *records.Kind[T], name string, change func(*T)) {
	b.t.Helper()
	b.ok(records.Update(b.t.Context(), b.keeper, kind, records.Write{}, records.Edit[T]{Name: demo.Name + "/" + name,
		Change: func(_ store.Tx, i records.Item[T]) (T, []store.ExternalID, error) {
			change(&i.Value)
			return i.Value, i.ExternalIDs, nil
		}}))
}

func (b *bench) ok(_ any, err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}

func (b *bench) measure(wheel string, m shop.Measurement) {
	b.t.Helper()
	b.ok(records.Create(b.t.Context(), b.keeper, records.Measurements, records.Write{}, records.Draft[shop.Measurement]{Parent: demo.Name + "/wheels/" + wheel, Value: m}))
}

func bowl() setup.Common { return asked("bowl-50", "north", "bowl-gouge-12") }

func TestSheetStillHolds(t *testing.T) {
	for name, ask := range asks {
		b := printed(t, ask)
		found := b.check()
		b.want(found, false)
		b.says(found, "nothing has changed since 2026-12-01")
		if !found.Off.Known || found.Off.Value != 0 || len(found.Moved) > 0 {
			t.Errorf("%s: %+v", name, found)
		}
	}
}

// What is of no consequence to a sheet does not supersede it.
func TestSheetHoldsAfterAll(t *testing.T) {
	b := printed(t, bowl())
	edit(b, records.Tools, "tools/bowl-gouge-12", func(t *shop.Tool) { t.Location = "rack 3" })
	edit(b, records.Recipes, "recipes/bowl-50", func(h *store.RecipeHead) { h.Newest.Notes = "a draft" })
	b.measure("south-white", shop.Measurement{Diameter: shop.Some(unit.Length(180))}) // another station's
	b.want(b.check(), false)
	edit(b, records.Tools, "tools/bowl-gouge-12", func(t *shop.Tool) { t.DisplayName = "Old faithful" })
	b.called = []string{"Old", "faithful"}
	found := b.check()
	b.want(found, false, sheet.Renamed)
	b.says(found, "still hold", `is called "Old faithful" now`)
}

func TestNewRevisionIsPublished(t *testing.T) {
	b := printed(t, bowl())
	edit(b, records.Recipes, "recipes/bowl-50", func(h *store.RecipeHead) { h.Newest.Grind.Bevels = []shop.Bevel{{Angle: 55 * unit.Degree}} })
	b.want(b.check(), false) // it is a draft yet
	b.ok(records.Publish(t.Context(), b.keeper, records.Write{}, demo.Name+"/recipes/bowl-50", 0, 2))
	found := b.check()
	b.want(found, true, sheet.RecipePublished, sheet.SettingsMoved)
	b.says(found, "Do not set by this sheet of 2026-12-01 any more.", "at revision 2; the sheet is of revision 1", "comes out 5.0° keener")
	if c := found.Changes[0]; c.Name != demo.Name+"/recipes/bowl-50/revisions/1" || c.NowName != demo.Name+"/recipes/bowl-50/revisions/2" {
		t.Errorf("%+v", c)
	}
	b.numbers(found, demo.Name+"/recipes/bowl-50")
	b.ok(records.RollBack(t.Context(), b.keeper, records.Write{}, demo.Name+"/recipes/bowl-50", 0, 1))
	if found = b.check(); !found.Superseded || found.Changes[0].Kind != sheet.RecipePublished || len(found.Moved) > 0 {
		t.Errorf("a revision with the same settings is another revision: %+v", found)
	}
}

// numbers holds what moved against a set-up solved now, and how far off the edge is against the sensitivity that it says.
func (b *bench) numbers(found sheet.Checked, recipe string) {
	b.t.Helper()
	ask := bowl()
	ask.Recipe = recipe
	now, err := b.maker.Solver.Solve(b.t.Context(), setup.Question{Common: ask})
	if err != nil {
		b.t.Fatal(err)
	}
	gap := func(s setup.Setup) setup.LengthSetting { return *s.Steps[0].Support.Lengths[shop.DatumWheelGap] }
	from, to := float64(gap(b.paper).Set), float64(gap(now).Set)
	if len(found.Moved) != 1 || found.Moved[0].From != from || found.Moved[0].To != to || found.Moved[0].Quantity != "wheel_gap" {
		b.t.Errorf("%+v, want from %v to %v", found.Moved, from, to)
	}
	// A straight line is within a twentieth over a few degrees.
	off := gap(now).PerMM * (from - to)
	if math.Abs(float64(found.Off.Value)-off) > 0.05*math.Abs(off) {
		b.t.Errorf("off by %v, about %v", found.Off.Value, unit.Angle(off))
	}
}

func TestWheelMeasuredSmaller(t *testing.T) {
	b := printed(t, bowl())
	b.measure("north-fine", shop.Measurement{Diameter: shop.Some(unit.Length(197))})
	found := b.check()
	b.want(found, true, sheet.SettingsMoved, sheet.WheelMeasured)
	b.says(found, "measures 197.0 mm, by the sheet 200.0 mm", "the wheel gap is ", "by the sheet 108.5 mm", "keener")
	if c := found.Changes[1]; c.Before.Value != 200 || c.After.Value != 197 || c.Supersedes {
		t.Errorf("%+v", c)
	}
	b.numbers(found, demo.Name+"/recipes/bowl-50")
	// So little that nothing moves.
	b = printed(t, bowl())
	b.measure("north-fine", shop.Measurement{Diameter: shop.Some(unit.Length(199.9))})
	found = b.check()
	b.want(found, false, sheet.WheelMeasured)
	b.says(found, "still hold")
}

func TestWheelDressed(t *testing.T) {
	b := printed(t, asked("bowl-50", "south", "bowl-gouge-12"))
	b.measure("south-white", shop.Measurement{Dressed: true})
	found := b.check()
	b.want(found, false, sheet.WheelDressed)
	b.says(found, "was dressed on 2026-12-31", "measure it")
}

func TestWheelReplaced(t *testing.T) {
	b := printed(t, bowl())
	mount := func(wheel, station string) {
		_, _, err := records.Mount(t.Context(), b.keeper, records.Write{}, demo.Name+"/wheels/"+wheel, 0, station)
		b.ok(nil, err)
	}
	mount("spare-coarse", demo.Name+"/stations/north")
	found := b.check()
	// As large as the old one, so that nothing moves; but it may be anything else.
	b.want(found, true, sheet.WheelReplaced)
	b.says(found, "north-fine was replaced by spare-coarse", "⌀ 200.0 mm then, ⌀ 200.0 mm now")
	if found.Changes[0].NowName != demo.Name+"/wheels/spare-coarse" {
		t.Errorf("%+v", found.Changes[0])
	}
	mount("spare-coarse", "")
	found = b.check()
	b.want(found, true, sheet.WheelReplaced)
	b.says(found, "not on the station any more, and no other is")
	mount("north-fine", demo.Name+"/stations/north")
	b.want(b.check(), false)

	// A sheet for a wheel by its name, which is not the one on the station, stays one for that wheel.
	b = printed(t, bowl(), func(q *setup.Question) { q.Rig.Wheel.Name = demo.Name + "/wheels/south-white" })
	b.want(b.check(), false)
	b.measure("south-white", shop.Measurement{Diameter: shop.Some(unit.Length(180))})
	b.want(b.check(), true, sheet.SettingsMoved, sheet.WheelMeasured)
}

func TestStationLocked(t *testing.T) {
	b := printed(t, bowl())
	b.ok(records.Lock(t.Context(), b.keeper, records.Write{}, demo.Name+"/stations/north", 0, shop.Locked, "the guard is loose"))
	b.called = []string{"guard", "is", "loose"}
	found := b.check()
	b.want(found, false, sheet.StationLocked)
	b.says(found, "Do not grind here", "the guard is loose")
	b.ok(records.Lock(t.Context(), b.keeper, records.Write{}, demo.Name+"/stations/north", 0, shop.InService, "tightened"))
	b.want(b.check(), false)
}

// What was found not fit for use stops whoever would use it, whatever else became of the sheet; that something was inspected is no change of it.
func TestFoundNotToBeUsed(t *testing.T) {
	for subject, says := range map[string]string{
		"stations/north": "Do not grind here: the station north was found not fit for use on", "wheels/north-fine": "Do not grind on the wheel north-fine:",
		"holders/swing": "Do not use the holder swing:",
	} {
		b := printed(t, bowl())
		b.ok(records.Create(t.Context(), b.keeper, records.Shops, records.Write{}, records.Draft[shop.Shop]{ID: "main"}))
		look := func(found shop.Finding) {
			b.now = b.now.Add(time.Hour)
			i := shop.Inspection{Subject: demo.Name + "/" + subject, Finding: found}
			b.ok(records.Create(t.Context(), b.keeper, records.Inspections, records.Write{}, records.Draft[shop.Inspection]{Parent: demo.Name, Value: i}))
		}
		look(shop.Attention)
		b.want(b.check(), false)
		look(shop.Unsafe)
		found := b.check()
		b.want(found, false, sheet.NotToBeUsed)
		b.says(found, says)
		look(shop.Sound)
		b.want(b.check(), false)
	}
}

func TestStationOrHolderEdited(t *testing.T) {
	b := printed(t, bowl())
	edit(b, records.Holders, "holders/swing", func(h *shop.Holder) { h.Arm.Leg = 80 })
	edit(b, records.Stations, "stations/north", func(s *shop.Station) { s.SpindleRPM = shop.Some(1500.0) })
	found := b.check()
	b.want(found, true, sheet.SettingsMoved, sheet.Edited, sheet.Edited)
	b.numbers(found, demo.Name+"/recipes/bowl-50")
}

func TestToolShorterOrGroundOtherwise(t *testing.T) {
	b := printed(t, bowl())
	edit(b, records.Tools, "tools/bowl-gouge-12", func(t *shop.Tool) { t.FreeBlade = shop.Some(unit.Length(120)) })
	found := b.check()
	b.want(found, false, sheet.ToolShorter)
	b.says(found, "free blade 120.0 mm, then 165.0 mm")
	edit(b, records.Tools, "tools/bowl-gouge-12", func(t *shop.Tool) { t.FreeBlade = shop.Some(unit.Length(60)) })
	found = b.check()
	b.want(found, true, sheet.NotSettable, sheet.ToolShorter)
	edit(b, records.Tools, "tools/bowl-gouge-12", func(t *shop.Tool) { t.FreeBlade, t.Recipe = shop.Some(unit.Length(165)), demo.Name+"/recipes/bowl-40" })
	found = b.check()
	b.want(found, true, sheet.ToolRecipe)
	b.says(found, "is ground to bowl-40 now")
}

func TestGoneSinceThen(t *testing.T) {
	for what, remove := range map[string]func(*bench) error{
		"recipe bowl-50": func(b *bench) error {
			for _, tool := range []string{"bowl-gouge-12"} {
				edit(b, records.Tools, "tools/"+tool, func(t *shop.Tool) { t.Recipe = "" })
			}
			_, err := records.Delete(b.t.Context(), b.keeper, records.Recipes, records.Write{}, demo.Name+"/recipes/bowl-50", 0)
			return err
		},
		"tool bowl-gouge-12": func(b *bench) error {
			_, err := records.Delete(b.t.Context(), b.keeper, records.Tools, records.Write{}, demo.Name+"/tools/bowl-gouge-12", 0)
			return err
		},
		"station north": func(b *bench) error {
			if _, _, err := records.Mount(b.t.Context(), b.keeper, records.Write{}, demo.Name+"/wheels/north-fine", 0, ""); err != nil {
				return err
			}
			_, err := records.Delete(b.t.Context(), b.keeper, records.Stations, records.Write{}, demo.Name+"/stations/north", 0)
			return err
		},
	} {
		b := printed(t, bowl())
		b.ok(nil, remove(b))
		found := b.check()
		if !found.Superseded || found.Changes[0].Kind != sheet.Gone {
			t.Errorf("%s: %+v", what, found)
		}
		b.says(found, "There is no "+what+" any more.")
	}
	b := printed(t, bowl()) // nothing of it was ever here
	b.held.Recipe, b.held.Station, b.held.Tool, b.held.Wheel = demo.Name+"/recipes/x/revisions/1", demo.Name+"/stations/x", demo.Name+"/tools/x", ""
	b.want(b.check(), true, sheet.Gone, sheet.Gone, sheet.Gone)
}

// A sheet of a revision that was not the published one stays one of that revision.
func TestSheetOfADraft(t *testing.T) {
	b := printed(t, bowl())
	edit(b, records.Recipes, "recipes/bowl-50", func(h *store.RecipeHead) { h.Newest.Grind.Bevels = []shop.Bevel{{Angle: 55 * unit.Degree}} })
	b.held.Recipe, b.held.AsOf = demo.Name+"/recipes/bowl-50/revisions/2", b.now
	b.now = b.now.Add(time.Hour)
	b.want(b.check(), false)
	b.ok(records.Publish(t.Context(), b.keeper, records.Write{}, demo.Name+"/recipes/bowl-50", 0, 2))
	b.want(b.check(), false)
}

// Where a sheet had settings of its own, they are not compared; another diameter is enough.
func TestSheetWithSettingsOfItsOwn(t *testing.T) {
	own := func(q *setup.Question) { q.Given.StickOut = shop.Some(unit.Length(40)) }
	b := printed(t, bowl(), own)
	b.want(b.check(), false)
	edit(b, records.Tools, "tools/bowl-gouge-12", func(t *shop.Tool) { t.DisplayName = "x" })
	b.says(b.check(), "has settings of its own, which cannot be compared")
	b.measure("north-fine", shop.Measurement{Diameter: shop.Some(unit.Length(199))})
	found := b.check()
	b.want(found, true, sheet.WheelMeasured, sheet.Renamed)
	if found.Off.Known || len(found.Moved) > 0 {
		t.Errorf("%+v", found)
	}
}

// Where the records of then are not what the sheet says, as after an older backup was brought back, the sheet counts.
func TestSheetThatRecordsDoNotKnow(t *testing.T) {
	b := printed(t, bowl())
	b.held.Diameter = 203
	found := b.check()
	b.want(found, true, sheet.WheelMeasured)
	b.says(found, "measures 200.0 mm, by the sheet 203.0 mm")
}

// In inches it is told in inches.
func TestCheckedInInches(t *testing.T) {
	b := printed(t, bowl())
	b.measure("north-fine", shop.Measurement{Diameter: shop.Some(unit.Length(197))})
	found, err := b.maker.Check(context.Background(), b.held, "", setup.Inches)
	if err != nil || strings.Contains(found.Text, " mm") || !strings.Contains(found.Text, "measures 7 3/4 in, by the sheet 7 7/8 in") {
		t.Error(found.Text, err)
	}
}
