package arris

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/jedib0t/go-pretty/v6/table"
	"google.golang.org/protobuf/proto"

	"arris.example/client/arris/internal/fields"
	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

// The verbs that one kind of record has.

type lockCommand struct {
	namedChange
	Reason string `required:"" placeholder:"WORDS" group:"Request:" help:"Why; whoever stands before it reads this."`
}

type unlockCommand struct {
	namedChange
	Reason string `required:"" placeholder:"WORDS" group:"Request:" help:"What was put right."`
}

// Run locks a station.
func (c *lockCommand) Run(p *program) error {
	return p.change(stations, "LockStation", c.Name, c.recordFlags, c.changeFlags, map[string]any{"lock_reason": c.Reason})
}

// Run releases a station.
func (c *unlockCommand) Run(p *program) error {
	return p.change(stations, "UnlockStation", c.Name, c.recordFlags, c.changeFlags, map[string]any{"unlock_reason": c.Reason})
}

// sizeFlags are a measured size of a wheel.
type sizeFlags struct {
	Diameter length      `placeholder:"LENGTH" xor:"size" group:"What was measured:" help:"Across the wheel."`
	Around   length      `placeholder:"LENGTH" xor:"size" group:"What was measured:" help:"Of a strip or tape laid once around the rim."`
	Tape     length      `placeholder:"LENGTH" group:"What was measured:" help:"How thick that strip is. Default: 0mm."`
	Doubt    lengthDoubt `placeholder:"DOUBT" group:"What was measured:" help:"How well: 0.5mm, rule, calliper, block, calibrated. Default: calliper, around rule."`
	At       string      `placeholder:"TIME" group:"What was measured:" help:"When: 2026-11-20, or 2026-11-20T09:00:00Z. Default: now."`
	Notes    string      `placeholder:"WORDS" group:"What was measured:" help:"Whatever else is worth keeping."`
}

type measureCommand struct {
	namedChange
	sizeFlags
}

type dressCommand struct {
	namedChange
	sizeFlags
}

// Run logs a measurement.
func (c *measureCommand) Run(p *program) error {
	if c.Diameter.said == c.Around.said { // not both: the parser has seen to it
		return wrongUsage("nothing is said of its size: write --diameter 198.2mm, or --around 588.7mm for a strip laid around the rim")
	}
	return p.logWheel(c.Name, c.sizeFlags, false, c.changeFlags, c.recordFlags)
}

// Run logs a dressing.
func (c *dressCommand) Run(p *program) error {
	return p.logWheel(c.Name, c.sizeFlags, true, c.changeFlags, c.recordFlags)
}

// logWheel adds to a wheel's log, and tells people what the wheel is now.
func (p *program) logWheel(name string, s sizeFlags, dressed bool, c changeFlags, f recordFlags) error {
	return p.at(f, changes, func(d desk) error {
		entry, err := s.entry(dressed)
		if err != nil {
			return err
		}
		wheel := wheels.name(d.shop, name)
		kept, err := d.create(measurements, wheel, "", entry, c)
		if err = p.showRecord(wheel, f.Output, kept, err); err != nil || f.Output != "table" || c.Check {
			return err
		}
		now, err := d.get(wheels, name, moment{})
		if err != nil {
			return err
		}
		if err := p.print("\n", nil); err != nil {
			return err
		}
		return p.showList(wheels, d.shop, f.Output, []proto.Message{now})
	})
}

func (s sizeFlags) entry(dressed bool) (*arrisv1.WheelMeasurement, error) {
	entry := &arrisv1.WheelMeasurement{Dressed: dressed, Doubt: s.Doubt.doubt, Notes: s.Notes}
	switch {
	case s.Diameter.said:
		entry.Size = &arrisv1.WheelMeasurement_DiameterMm{DiameterMm: s.Diameter.mm}
	case s.Around.said:
		entry.Size = &arrisv1.WheelMeasurement_AroundMm{AroundMm: s.Around.mm}
	}
	s.Tape.over(&entry.TapeThicknessMm)
	if s.At == "" {
		return entry, nil
	}
	if err := (fields.Setter{}).Set(entry, "occur_time", s.At); err != nil {
		return nil, usageError{err}
	}
	return entry, nil
}

type wheelLogCommand struct {
	Name string `arg:"" help:"Which one."`
	listCommand
}

// Run lists a wheel's measurements and dressings, the oldest first.
func (c *wheelLogCommand) Run(p *program) error {
	return p.at(c.recordFlags, looks, func(d desk) error {
		values := c.values(wheels.name(d.shop, c.Name))
		if c.OrderBy == "" && c.Search == "" {
			values["order_by"] = "occur_time"
		}
		list, err := d.pages(measurements.service, "ListWheelMeasurements", values, c.Most)
		if err != nil {
			return err
		}
		return p.showList(measurements, d.shop, c.Output, list)
	})
}

type mountCommand struct {
	namedChange
	Station string `arg:"" optional:"" help:"On which station."`
	Off     bool   `group:"Request:" help:"Take it off, instead."`
}

// Run mounts a wheel, or takes it off.
func (c *mountCommand) Run(p *program) error {
	if (c.Station == "") != c.Off {
		return wrongUsage("say a station to mount it on, or --off to take it off")
	}
	return p.at(c.recordFlags, changes, func(d desk) error {
		values := c.values(map[string]any{"name": wheels.name(d.shop, c.Name)})
		if c.Station != "" {
			values["station"] = stations.name(d.shop, c.Station)
		}
		answer, err := d.call(wheels.service, "MountWheel", values)
		if err != nil || c.Output == "json" {
			return p.showRecord(d.shop, c.Output, answer, err)
		}
		mounted, _ := answer.(*arrisv1.MountWheelResponse) // of that method
		list := []proto.Message{mounted.GetWheel()}
		if mounted.GetReplaced() != nil {
			list = append(list, mounted.GetReplaced())
		}
		return p.showList(wheels, d.shop, c.Output, list)
	})
}

type forecastCommand struct {
	namedLook
	At   moment `placeholder:"TIME" group:"Request:" help:"The day to look forward to: 2026-12-31. Default: today, or that of --as-of."`
	AsOf moment `placeholder:"TIME" group:"Request:" help:"With what was known then. Default: now."`
}

// Run tells how a wheel wears.
func (c *forecastCommand) Run(p *program) error {
	return p.at(c.recordFlags, looks, func(d desk) error {
		answer, err := d.call(wheels.service, "ForecastWear", map[string]any{
			"name": wheels.name(d.shop, c.Name), "as_of_time": c.AsOf, "forecast_time": c.At,
		})
		if err != nil || c.Output == "json" {
			return p.showRecord(d.shop, c.Output, answer, err)
		}
		wear, _ := answer.(*arrisv1.ForecastWearResponse) // of that method
		if c.Output == "csv" {
			return p.showCSV(messages(wear.GetRecipes()))
		}
		return p.showForecast(d.shop, cleaned(wear))
	})
}

func messages[M proto.Message](list []M) []proto.Message {
	out := make([]proto.Message, len(list))
	for i, m := range list {
		out[i] = m
	}
	return out
}

// showForecast says what to do first, and then what is known of each recipe.
func (p *program) showForecast(shop string, wear *arrisv1.ForecastWearResponse) error {
	v := sheet{screen: p.screen}
	v.heading(shortName(shop, wear.GetWheel()))
	for _, text := range wear.GetTexts() {
		v.paragraph(text)
	}
	v.wornRecipes(shop, wear.GetRecipes())
	return p.print(v.text.String(), nil)
}

// wornRecipes are recipes in a line each, and what the columns are.
func (v *sheet) wornRecipes(shop string, worn []*arrisv1.RecipeWear) {
	if len(worn) == 0 {
		return
	}
	rows := []table.Row{{"recipe", "tolerance", "per mm", "off at", "about", "anew", "measure by"}}
	for _, r := range worn {
		limit := ""
		if r.LimitDiameterMm != nil {
			limit = unit.FormatFixed(math.Floor(r.GetLimitDiameterMm()*10)/10, 1) + " mm" // limits round to the safe side
		}
		rows = append(rows, table.Row{
			shortName(shop, r.GetRecipe()), number(r.GetToleranceDeg()) + "°", fmt.Sprintf("%+.2f°", r.GetDriftDegPerMm()), limit,
			dayText(fields.Get(r, "limit_time")), "±" + unit.FormatFixed(r.GetDoubtDeg(), 2) + "°", dayText(fields.Get(r, "measure_time")),
		})
	}
	rows = withoutEmpty(rows)
	v.heading("Recipes ground on it")
	v.grid(rows[0], rows[1:])
	v.paragraph("The support left where it is, the edge changes so much per millimetre of diameter lost, and is the tolerance off at that diameter, about that day. " +
		"Set anew by the diameter on record it may be so much off on the day looked forward to, and more than the tolerance unless the wheel is measured by the day in the last column.")
}

// withoutEmpty are rows without the columns that have a header and nothing below it.
func withoutEmpty(rows []table.Row) []table.Row {
	kept := make([]table.Row, len(rows))
	for c := range rows[0] {
		if !slices.ContainsFunc(rows[1:], func(r table.Row) bool { return r[c] != "" }) {
			continue
		}
		for i, r := range rows {
			kept[i] = append(kept[i], r[c])
		}
	}
	return kept
}

type publishCommand struct {
	namedChange
	Revision *int32 `placeholder:"NUMBER" group:"Request:" help:"Which revision. Default: the newest."`
}

// Run publishes.
func (c *publishCommand) Run(p *program) error {
	return p.change(recipes, "PublishRecipe", c.Name, c.recordFlags, c.changeFlags, map[string]any{"revision": c.Revision})
}

type rollbackCommand struct {
	namedChange
	Revision int32 `arg:"" help:"The revision that counts again."`
}

// Run rolls back.
func (c *rollbackCommand) Run(p *program) error {
	return p.change(recipes, "RollBackRecipe", c.Name, c.recordFlags, c.changeFlags, map[string]any{"revision": &c.Revision})
}

type revisionsCommand struct {
	namedLook
	Most int `placeholder:"COUNT" group:"Request:" help:"So many at most. Default: all."`
}

// Run lists a recipe's revisions.
func (c *revisionsCommand) Run(p *program) error {
	return p.at(c.recordFlags, looks, func(d desk) error {
		list, err := d.pages(recipes.service, "ListRecipeRevisions", map[string]any{"parent": recipes.name(d.shop, c.Name)}, c.Most)
		if err != nil {
			return err
		}
		return p.showList(revisions, d.shop, c.Output, list)
	})
}

type diffCommand struct {
	namedLook
	From *int32 `arg:"" optional:"" help:"From this revision. Default: the published one."`
	To   *int32 `arg:"" optional:"" help:"To this one. Default: the newest."`
}

// Run compares two revisions.
func (c *diffCommand) Run(p *program) error {
	return p.at(c.recordFlags, looks, func(d desk) error {
		answer, err := d.call(recipes.service, "CompareRecipeRevisions", map[string]any{
			"name": recipes.name(d.shop, c.Name), "from_revision": c.From, "to_revision": c.To,
		})
		if err != nil || c.Output == "json" {
			return p.showRecord(d.shop, c.Output, answer, err)
		}
		differ, _ := answer.(*arrisv1.CompareRecipeRevisionsResponse) // of that method
		return p.showDifferences(c.Output, cleaned(differ))
	})
}

var changeColumns = []column[*arrisv1.FieldChange]{
	{"field", (*arrisv1.FieldChange).GetField},
	{"before", func(c *arrisv1.FieldChange) string { return cell(c.GetBefore()) }},
	{"after", func(c *arrisv1.FieldChange) string { return cell(c.GetAfter()) }},
}

func (p *program) showDifferences(format string, d *arrisv1.CompareRecipeRevisionsResponse) error {
	if format == "csv" {
		var out bytes.Buffer
		w := newCSV(&out)
		writeRows(w, "", changeColumns, d.GetDifferences())
		w.Flush()
		return p.print(out.String(), w.Error())
	}
	from, to := "revision "+strconv.Itoa(int(d.GetFromRevision())), "revision "+strconv.Itoa(int(d.GetToRevision()))
	if len(d.GetDifferences()) == 0 {
		return p.print(from+" and "+to+" say the same\n", nil)
	}
	v := sheet{screen: p.screen}
	var rows []table.Row
	for _, c := range d.GetDifferences() {
		rows = append(rows, table.Row{c.GetField(), saidText(c.GetBefore()), saidText(c.GetAfter())})
	}
	v.grid(table.Row{"field", from, to}, rows)
	return p.print(v.text.String(), nil)
}
