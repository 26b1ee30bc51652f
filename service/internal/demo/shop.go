// Package demo is the demonstration shop: an invented workshop with three stations, whose every dimension is ours. It stands where
// a store will, and answers through the same interface.
package demo

import (
	"time"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// Name is the shop's name.
const Name = "shops/main"

func deg(d float64) unit.Angle { return unit.Degrees(d) }

func length(mm float64) shop.Maybe[unit.Length] { return shop.Some(unit.Length(mm)) }

func angle(d float64) shop.Maybe[unit.Angle] { return shop.Some(deg(d)) }

// calibrated is how well the holders and slides of this shop are known: measured on a surface plate.
var calibrated = length(0.05)

// pocket is a pocket on a horizontal slide below the axle; its scale reads the distance out from the axle.
func pocket(below, least, most unit.Length) shop.Support {
	return shop.Support{
		ID: "pocket", Kind: shop.Pocket,
		Slide: shop.Some(shop.Slide{
			Slide:  geometry.Slide{Origin: geometry.Point{Up: -below}},
			Travel: shop.LengthRange{Least: least, Most: most},
			Doubt:  calibrated,
		}),
		Adjuster: shop.Some(shop.Adjuster{Lead: 1.5, ClockwiseRaises: true}),
	}
}

// bar is a 12 mm bar on an upright slide in front of the wheel.
func bar(out unit.Length) shop.Support {
	return shop.Support{
		ID: "bar", Kind: shop.Bar, Near: 6, Far: 6, Top: 6, Reference: length(-140),
		Slide: shop.Some(shop.Slide{
			Slide:  geometry.Slide{Origin: geometry.Point{Out: out, Up: -20}, Direction: deg(90)},
			Travel: shop.LengthRange{Least: 0, Most: 150},
			Doubt:  calibrated,
		}),
		Adjuster: shop.Some(shop.Adjuster{Lead: 1.5, ClockwiseRaises: true, Backlash: 0.2}),
		Datum:    shop.DatumHeight,
	}
}

// platform is a table that tilts about a hinge close to the rim, so that its front edge stays close as well.
func platform(out unit.Length) shop.Support {
	return shop.Support{
		ID: "platform", Kind: shop.Platform,
		Table: shop.Table{
			Hinge: shop.Some(geometry.Point{Out: out, Up: -4}), Surface: 2, Front: length(0.5),
			Tilts: shop.AngleRange{Least: deg(-75), Most: deg(30)},
		},
	}
}

var stations = []shop.Station{
	{
		Name: Name + "/stations/north", DisplayName: "North, by the door", SpindleRPM: shop.Some(1425.0),
		Supports:      []shop.Support{pocket(110, 120, 260), bar(118), platform(101.2)},
		SmallestWheel: length(140), Guard: shop.Some(shop.AngleRange{Least: deg(-25), Most: deg(75)}),
		Inspecting: every(7),
	},
	{
		Name: Name + "/stations/south", DisplayName: "South, under the window", SpindleRPM: shop.Some(1425.0),
		Supports:      []shop.Support{pocket(110, 120, 260), bar(112), platform(94.9)},
		SmallestWheel: length(140), Guard: shop.Some(shop.AngleRange{Least: deg(-25), Most: deg(75)}),
		Inspecting: every(7),
	},
	{
		Name: Name + "/stations/west", DisplayName: "West, the small one with the long arm", SpindleRPM: shop.Some(2850.0),
		Supports:      []shop.Support{pocket(110, 100, 560), platform(76.2)},
		SmallestWheel: length(110), Guard: shop.Some(shop.AngleRange{Least: deg(-25), Most: deg(75)}),
		Inspecting: every(7),
	},
}

func every(days int) shop.Inspecting { return shop.Inspecting{Every: shop.Some(days)} }

// looks are the newest inspections, by how many days they are old: when a demonstration begins, one station is overdue and one is due soon.
var looks = []struct {
	of      string
	ago     int
	finding shop.Finding
	notes   string
}{
	{Name + "/stations/north", 2, shop.Sound, ""},
	{Name + "/stations/south", 5, shop.Attention, "The lamp flickers"},
	{Name + "/stations/west", 9, shop.Sound, ""},
	{Name + "/wheels/north-fine", 12, shop.Sound, "Flanges clean"},
	{Name + "/wheels/south-white", 5, shop.Sound, "Rings clear"},
	{Name + "/wheels/west-small", 9, shop.Sound, "Rings clear"},
}

func on(day int, month time.Month) time.Time {
	return time.Date(2026, month, day, 9, 0, 0, 0, time.UTC)
}

var wheels = []shop.Wheel{
	{
		Name: Name + "/wheels/north-fine", DisplayName: "Fine superabrasive", Diameter: 200, Doubt: length(0.5), Measured: on(2, time.November),
		NewDiameter: length(200), Smallest: length(196), Width: length(40), Abrasive: shop.Superabrasive, Grit: "B151",
		MarkedRPM: shop.Some(3450.0), Station: Name + "/stations/north",
		AllowedSteels: []shop.Steel{shop.HighSpeedSteel, shop.PowderSteel},
		Inspecting:    every(30),
	},
	{
		Name: Name + "/wheels/south-white", DisplayName: "White bonded", Diameter: 187.4, Doubt: length(0.5), Measured: on(20, time.November),
		NewDiameter: length(200), Smallest: length(150), Width: length(25), Abrasive: shop.Bonded, Grit: "F80",
		MarkedMPS: shop.Some(35.0), Station: Name + "/stations/south",
		Inspecting: every(30),
	},
	{
		Name: Name + "/wheels/west-small", DisplayName: "Small bonded", Diameter: 150, Doubt: length(0.5), Measured: on(20, time.November),
		NewDiameter: length(150), Smallest: length(115), Width: length(20), Abrasive: shop.Bonded, Grit: "F60",
		MarkedMPS: shop.Some(35.0), Station: Name + "/stations/west",
		Inspecting: every(30),
	},
	{
		Name: Name + "/wheels/spare-coarse", DisplayName: "Spare coarse bonded", Diameter: 200, Doubt: length(1), Measured: on(5, time.October),
		NewDiameter: length(200), Smallest: length(150), Width: length(25), Abrasive: shop.Bonded, Grit: "F46", MarkedMPS: shop.Some(35.0),
	},
	{
		Name: Name + "/wheels/flat-disc", DisplayName: "Coated flat disc", Flat: true, Diameter: 140, Measured: on(5, time.October),
		Abrasive: shop.Coated, Grit: "P120", MarkedMPS: shop.Some(30.0),
	},
}

var holders = []shop.Holder{
	{
		Name: Name + "/holders/swing", DisplayName: "Swing holder", Kind: shop.Swing, Doubt: calibrated, FaceDepth: length(14),
		Arm: geometry.SwingHolder{JointBehindFace: 22, JointBelowAxis: 9, Leg: 74},
		Positions: []shop.LegPosition{
			{ID: "1", Angle: deg(15)}, {ID: "2", Angle: deg(22.5)}, {ID: "3", Angle: deg(30)}, {ID: "4", Angle: deg(37.5)}, {ID: "5", Angle: deg(45)},
		},
		Leg: shop.AngleRange{Least: 0, Most: deg(90)},
	},
	{
		Name: Name + "/holders/bar-clamp", DisplayName: "Clamp for gouges", Kind: shop.Clamp, Behind: 14, Below: 16, Doubt: calibrated, FaceDepth: length(12),
	},
	{
		Name: Name + "/holders/blade-clamp", DisplayName: "Clamp for flat blades", Kind: shop.Clamp, Behind: 14, Below: 11, FromBed: true, Doubt: calibrated, FaceDepth: length(12),
	},
	{
		Name: Name + "/holders/butt-seat", DisplayName: "Handle in the pocket", Kind: shop.Butted, Below: -11, Doubt: calibrated,
	},
}

func record(kind, id string) string { return Name + "/" + kind + "/" + id }

func gouge(id, name string, kind shop.ToolKind, steelUnder, blade float64, recipe string) shop.Tool {
	return shop.Tool{
		Name: record("tools", id), DisplayName: name, Kind: kind, Steel: shop.HighSpeedSteel, SteelUnderFlute: length(steelUnder),
		FreeBlade: length(blade), SmallestGrip: length(35), Recipe: record("recipes", recipe),
	}
}

func blade(id, name string, kind shop.ToolKind, thick float64, recipe string) shop.Tool {
	return shop.Tool{
		Name: record("tools", id), DisplayName: name, Kind: kind, Steel: shop.HighSpeedSteel, Thickness: length(thick),
		FreeBlade: length(180), SmallestGrip: length(35), Recipe: record("recipes", recipe),
	}
}

func with(t shop.Tool, change func(*shop.Tool)) shop.Tool {
	change(&t)
	return t
}

// fluted gives a gouge its flute, the round bar it was milled from, and its edge.
func fluted(t shop.Tool, shape shop.FluteShape, radius, diameter unit.Length, edge shop.EdgeShape) shop.Tool {
	t.Flute = shop.Some(shop.Flute{Shape: shape, Radius: radius, Doubt: length(0.2)})
	t.Bar, t.Edge = shop.Some(shop.BarSection{Diameter: diameter}), shop.Some(edge)
	return t
}

// setBack is an edge whose wings run back from the nose to the flute's rim.
func setBack(mm unit.Length) shop.EdgeShape {
	return shop.EdgeShape{Plan: shop.SetbackPlan, Setback: mm, Exponent: 2}
}

var tools = []shop.Tool{
	fluted(gouge("bowl-gouge-12", "Bowl gouge, 12 mm flute", shop.BowlGouge, 8, 165, "bowl-50"), shop.ParabolaFlute, 4, 16, setBack(6)),
	fluted(gouge("bowl-gouge-10", "Bowl gouge, 10 mm flute", shop.BowlGouge, 7, 150, "bowl-40"), shop.ParabolaFlute, 3.4, 13.5, setBack(5.5)),
	fluted(gouge("bottom-gouge-12", "Bottom gouge", shop.BowlGouge, 8, 170, "bottom-65"), shop.RoundFlute, 5.5, 16, setBack(3.5)),
	fluted(gouge("spindle-gouge-10", "Spindle gouge, 10 mm", shop.SpindleGouge, 5, 150, "spindle-35"), shop.RoundFlute, 5.5, 10, setBack(4)),
	fluted(gouge("detail-gouge-6", "Detail gouge, 6 mm", shop.SpindleGouge, 3.5, 120, "detail-30"), shop.RoundFlute, 3.8, 6, setBack(2.5)),
	with(gouge("roughing-gouge-32", "Spindle roughing gouge, 32 mm", shop.RoughingGouge, 5, 130, "roughing-45"), func(t *shop.Tool) {
		t.FluteRadius, t.OverallLength = length(11), length(430)
	}),
	fluted(gouge("hollowing-gouge-10", "Hollowing gouge", shop.HollowingGouge, 7, 140, "hollowing-58"), shop.ParabolaFlute, 3.6, 13, setBack(3.5)),
	with(blade("skew-25", "Skew, 25 mm", shop.Skew, 8, "skew-36"), func(t *shop.Tool) { t.EdgeToSide = angle(70) }),
	with(blade("parting-tool-5", "Parting tool", shop.PartingTool, 19, "parting-50"), func(t *shop.Tool) { t.EdgeToSide = angle(90) }),
	blade("scraper-25", "Round-nosed scraper", shop.Scraper, 6, "scraper-75"),
	blade("scraper-38", "Heavy scraper", shop.Scraper, 10, "scraper-75"),
	with(blade("negative-rake-25", "Negative-rake scraper", shop.NegativeRakeScraper, 8, "negative-rake-60"), func(t *shop.Tool) { t.EdgeBelowTop = length(2) }),
}

// recipe is a published first revision. steelOf is the steel its kind of tool usually has, for readings where no tool is named.
func recipe(id, name string, kinds []shop.ToolKind, holder string, settings shop.Settings, steelOf float64, bevels ...shop.Bevel) shop.Recipe {
	r := shop.Recipe{
		Name: record("recipes", id), DisplayName: name, Revision: 1, Published: true, Tools: kinds, Settings: settings,
		Grind: shop.Grind{Bevels: bevels}, Steel: length(steelOf), Tolerance: angle(1),
	}
	if holder != "" {
		r.Holder = record("holders", holder)
	}
	return r
}

func edge(d float64) shop.Bevel { return shop.Bevel{Of: shop.FrontAngle, Angle: deg(d)} }

func land(d, width float64) shop.Bevel {
	return shop.Bevel{Of: shop.FrontAngle, Angle: deg(d), Width: length(width)}
}

func both(d float64) shop.Bevel { return shop.Bevel{Of: shop.IncludedFrontAngle, Angle: deg(d)} }

// swung is a swing holder's stick-out and leg.
func swung(stickOut, leg float64) shop.Settings {
	return shop.Settings{StickOut: length(stickOut), Leg: angle(leg)}
}

func clamped(stickOut float64) shop.Settings { return shop.Settings{StickOut: length(stickOut)} }

var (
	bowls    = []shop.ToolKind{shop.BowlGouge}
	spindles = []shop.ToolKind{shop.SpindleGouge}
)

var recipes = []shop.Recipe{
	recipe("bowl-50", "Bowl gouge, general", bowls, "swing", swung(45, 30), 8, edge(50)),
	recipe("bowl-50-relief", "Bowl gouge with a short land", bowls, "swing", swung(45, 30), 8, land(50, 3), edge(35)),
	recipe("bowl-40", "Bowl gouge, keen", bowls, "swing", swung(50, 22.5), 7, edge(40)),
	recipe("bottom-65", "Bottom gouge", bowls, "swing", swung(45, 37.5), 8, edge(65)),
	recipe("spindle-35", "Spindle gouge", spindles, "swing", swung(50, 15), 5, edge(35)),
	recipe("detail-30", "Detail gouge", spindles, "bar-clamp", clamped(62), 3.5, edge(30)),
	recipe("roughing-45", "Spindle roughing gouge", []shop.ToolKind{shop.RoughingGouge}, "butt-seat", shop.Settings{}, 5, edge(45)),
	recipe("hollowing-58", "Hollowing gouge in three facets", []shop.ToolKind{shop.HollowingGouge}, "swing", swung(40, 30), 7, land(58, 3), land(42, 3), edge(28)),
	recipe("skew-36", "Skew", []shop.ToolKind{shop.Skew}, "", shop.Settings{}, 8, both(36)),
	recipe("parting-50", "Parting tool", []shop.ToolKind{shop.PartingTool}, "", shop.Settings{}, 19, both(50)),
	recipe("scraper-75", "Scraper", []shop.ToolKind{shop.Scraper}, "", shop.Settings{}, 6, edge(75)),
	withUpper(recipe("negative-rake-60", "Negative-rake scraper", []shop.ToolKind{shop.NegativeRakeScraper}, "", shop.Settings{}, 8, edge(40)), edge(20)),
}

func withUpper(r shop.Recipe, upper shop.Bevel) shop.Recipe {
	r.Grind.Upper = shop.Some(upper)
	return r
}
