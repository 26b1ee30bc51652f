package arris

import (
	"github.com/alecthomas/kong"
)

// The records of a shop, by noun and verb. What every kind has is written once, in records.go, and finds its methods by the schema's names;
// what one kind has is in record_verbs.go.

// noun is a kind of record.
type noun struct {
	word       string   // what people type: wheel
	service    string   // of the API: WheelService
	message    string   // Wheel
	collection string   // in names: wheels
	parent     string   // a noun in whose records these lie: wheels
	made       []string // fields that the service makes, besides those that every record has
	columns    []recordColumn
}

// recordColumn is a column of a list: the first of its fields that is said.
type recordColumn struct {
	head   string
	fields []string
}

func col(head string, fields ...string) recordColumn { return recordColumn{head, fields} }

// What is inspected says what was found, and with an interval until when.
var (
	inspectedMade = []string{"inspect_time", "inspection_due_time", "inspect_finding"}
	inspectBy     = col("inspect by", "inspection_due_time")
	inspectFound  = col("found", "inspect_finding")
)

var (
	shops    = noun{word: "shop", service: "ShopService", message: "Shop", collection: "shops", columns: []recordColumn{col("name", "display_name"), col("time zone", "time_zone")}}
	stations = noun{
		word: "station", service: "ShopService", message: "Station", collection: "stations", made: append([]string{"state", "state_reason", "state_time"}, inspectedMade...),
		columns: []recordColumn{
			col("name", "display_name"), col("state", "state"), col("speed rpm", "spindle_speed_rpm"), col("first support", "supports[0].support_id"),
			inspectBy, inspectFound, col("why", "state_reason"),
		},
	}
	gauges = noun{
		word: "gauge", service: "ShopService", message: "Gauge", collection: "gauges",
		columns: []recordColumn{col("length", "length_mm"), col("where", "location"), col("name", "display_name")},
	}
	inspections = noun{
		word: "inspection", service: "ShopService", message: "Inspection", collection: "inspections",
		columns: []recordColumn{col("when", "occur_time"), col("of", "subject"), col("finding", "finding"), col("notes", "notes")},
	}
	wheels = noun{
		word: "wheel", service: "WheelService", message: "Wheel", collection: "wheels", made: append([]string{"dress_time", "station"}, inspectedMade...),
		columns: []recordColumn{
			col("size", "diameter_mm", "flat", "flat.speed_diameter_mm"), col("measured", "measure_time"), col("dressed since", "dress_time"), col("on", "station"), col("abrasive", "abrasive"),
			col("grit", "grit"), inspectBy, inspectFound, col("name", "display_name"),
		},
	}
	measurements = noun{
		word: "measurement", service: "WheelService", message: "WheelMeasurement", collection: "measurements", parent: "wheels",
		columns: []recordColumn{col("when", "occur_time"), col("diameter", "diameter_mm"), col("around", "around_mm"), col("dressed", "dressed"), col("notes", "notes")},
	}
	holders = noun{
		word: "holder", service: "ToolService", message: "Holder", collection: "holders", made: inspectedMade,
		columns: []recordColumn{col("leg length", "swing.leg_length_mm"), col("bar behind face", "clamp.bar_behind_face_mm"), inspectBy, inspectFound, col("name", "display_name")},
	}
	tools = noun{
		word: "tool", service: "ToolService", message: "Tool", collection: "tools",
		columns: []recordColumn{
			col("kind", "kind"), col("steel", "steel"), col("recipe", "recipe"), col("where", "location"), col("state", "state"), col("name", "display_name"),
		},
	}
	recipes = noun{
		word: "recipe", service: "RecipeService", message: "Recipe", collection: "recipes",
		made: []string{"revision", "state", "newest_revision", "published_revision"},
		columns: []recordColumn{
			col("state", "state"), col("revision", "revision"), col("newest", "newest_revision"), col("holder", "holder"), col("for", "tools"),
			col("name", "display_name"),
		},
	}
	revisions = noun{
		word: "revision", message: "Recipe",
		columns: []recordColumn{
			col("state", "state"), col("kept", "update_time"), col("stick-out", "settings.stick_out_mm"), col("edge", "grind.bevels[0].front_angle_deg"), col("notes", "notes"),
		},
	}
	sharpenings = noun{
		word: "sharpening", service: "SharpeningService", message: "Sharpening", collection: "sharpenings", made: []string{"engine_version"},
		columns: []recordColumn{
			col("when", "occur_time"), col("kind", "kind"), col("tool", "tool"), col("recipe", "recipe"), col("wheel", "wheel"), col("notes", "notes"),
		},
	}
)

// keptVerbs are what can be done with every record that changes.
type keptVerbs struct {
	readVerbs
	Create   createCommand   `cmd:"" help:"Keep a new one."`
	Set      setCommand      `cmd:"" help:"Change some of its fields."`
	Edit     editCommand     `cmd:"" help:"Change it in your editor."`
	Delete   deleteCommand   `cmd:"" help:"Delete it; it can be brought back."`
	Undelete undeleteCommand `cmd:"" help:"Bring it back."`
	Import   importCommand   `cmd:"" help:"Keep what a CSV file has, new and changed."`
}

// readVerbs are what can be done with every record.
type readVerbs struct {
	List listCommand `cmd:"" help:"List what there is."`
	Show showCommand `cmd:"" help:"Show one whole."`
}

// logVerbs are those of a log, where entries are added and never changed.
type logVerbs struct {
	readVerbs
	Add addCommand `cmd:"" help:"Add an entry."`
}

type shopCommands struct {
	readVerbs
	Create createCommand `cmd:"" help:"Open a new one."`
	Set    setCommand    `cmd:"" help:"Change some of its fields."`
	Edit   editCommand   `cmd:"" help:"Change it in your editor."`
}

type stationCommands struct {
	keptVerbs
	Lock   lockCommand   `cmd:"" help:"Stop all work on it, with a reason."`
	Unlock unlockCommand `cmd:"" help:"Release it again, with a reason."`
}

type wheelCommands struct {
	keptVerbs
	Measure  measureCommand  `cmd:"" help:"Log a measured diameter."`
	Dress    dressCommand    `cmd:"" help:"Log that it was dressed, and measured if it was."`
	Log      wheelLogCommand `cmd:"" help:"List its measurements and dressings."`
	Mount    mountCommand    `cmd:"" help:"Put it on a station, or take it off."`
	Forecast forecastCommand `cmd:"" help:"Tell how it wears, and what to measure when."`
}

type recipeCommands struct {
	keptVerbs
	Publish   publishCommand   `cmd:"" help:"Make a revision the one its name means."`
	Rollback  rollbackCommand  `cmd:"" help:"Publish an earlier revision again, as a new one."`
	Revisions revisionsCommand `cmd:"" help:"List its revisions."`
	Diff      diffCommand      `cmd:"" help:"Compare two revisions field by field."`
}

type (
	gaugeCommands      struct{ keptVerbs }
	holderCommands     struct{ keptVerbs }
	toolCommands       struct{ keptVerbs }
	sharpeningCommands struct{ logVerbs }
	inspectionCommands struct{ logVerbs }
)

// Each noun gives itself to its verbs.

// AfterApply names the noun.
func (shopCommands) AfterApply(k *kong.Context) error { k.Bind(shops); return nil }

// AfterApply names the noun.
func (stationCommands) AfterApply(k *kong.Context) error { k.Bind(stations); return nil }

// AfterApply names the noun.
func (wheelCommands) AfterApply(k *kong.Context) error { k.Bind(wheels); return nil }

// AfterApply names the noun.
func (holderCommands) AfterApply(k *kong.Context) error { k.Bind(holders); return nil }

// AfterApply names the noun.
func (toolCommands) AfterApply(k *kong.Context) error { k.Bind(tools); return nil }

// AfterApply names the noun.
func (recipeCommands) AfterApply(k *kong.Context) error { k.Bind(recipes); return nil }

// AfterApply names the noun.
func (sharpeningCommands) AfterApply(k *kong.Context) error { k.Bind(sharpenings); return nil }

// AfterApply names the noun.
func (gaugeCommands) AfterApply(k *kong.Context) error { k.Bind(gauges); return nil }

// AfterApply names the noun.
func (inspectionCommands) AfterApply(k *kong.Context) error { k.Bind(inspections); return nil }
