package arris

import (
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"time"

	kongcompletion "github.com/jotaen/kong-completion"

	arrisv1 "arris.example/proto/arris/v1"
)

// commands is the command line as people type it.
type commands struct {
	Solve      solveCommand              `cmd:"" help:"Find the settings that grind an edge."`
	Predict    predictCommand            `cmd:"" help:"Tell what edge settings grind."`
	Transfer   transferCommand           `cmd:"" help:"Carry a set-up over to another wheel, station or holder."`
	Match      matchCommand              `cmd:"" help:"Tell which grind is on a tool, from measurements or ink."`
	Plan       planCommand               `cmd:"" help:"Plan a micro bevel, a land with relief, or facets."`
	Curve      curveCommand              `cmd:"" help:"Tell whether a grind clears the inside of a bowl."`
	Regrind    regrindCommand            `cmd:"" help:"Tell what changing a grind costs, at once or spread."`
	Edge       edgeCommand               `cmd:"" help:"Tell what is ground along the whole edge of a gouge."`
	Map        mapCommand                `cmd:"" help:"Map which settings grind the whole edge."`
	Furthest   furthestCommand           `cmd:"" help:"Tell how far back the wings of an edge may go."`
	Flute      fluteCommand              `cmd:"" help:"Fit a flute to what was measured on it."`
	Batch      batchCommand              `cmd:"" help:"Solve as many set-ups as a file has rows."`
	Sheets     sheetsCommand             `cmd:"" help:"Print a sheet for each of many set-ups."`
	Label      labelCommand              `cmd:"" help:"Draw labels for tools, stations, wheels and holders."`
	Scan       scanCommand               `cmd:"" help:"Tell what a code on a label or a sheet is of, and what changed since."`
	Station    stationCommands           `cmd:"" group:"What the shop remembers:" help:"Grinder positions: wheel, supports, speed."`
	Wheel      wheelCommands             `cmd:"" group:"What the shop remembers:" help:"Wheels, their measurements and their wear."`
	Holder     holderCommands            `cmd:"" group:"What the shop remembers:" help:"What grips tools."`
	Tool       toolCommands              `cmd:"" group:"What the shop remembers:" help:"Tools."`
	Recipe     recipeCommands            `cmd:"" group:"What the shop remembers:" help:"Grinds worth keeping, with their revisions."`
	Sharpening sharpeningCommands        `cmd:"" group:"What the shop remembers:" help:"The log of what was sharpened."`
	Inspection inspectionCommands        `cmd:"" group:"What the shop remembers:" help:"The log of what was inspected."`
	Gauge      gaugeCommands             `cmd:"" group:"What the shop remembers:" help:"Blocks and gauges on hand."`
	Operation  operationCommands         `cmd:"" group:"What the shop remembers:" help:"What a server prints after the command that asked for it."`
	Shop       shopCommands              `cmd:"" group:"What the shop remembers:" help:"Shops."`
	TLS        tlsCommands               `cmd:"" name:"tls" help:"Certificates for a server that tablets trust."`
	Version    versionCommand            `cmd:"" help:"Print the version."`
	Completion kongcompletion.Completion `cmd:"" help:"Print how to switch on completion in bash, zsh or fish."`
}

// source is where a request starts from.
type source struct {
	File string `short:"f" placeholder:"FILE" predictor:"file" group:"Request:" help:"A request in the API's JSON; - reads standard input. Flags win over it."`
	Shop string `placeholder:"NAME" env:"ARRIS_SHOP" group:"Request:" help:"The shop that names belong to. Default: the file's, or main."`
	AsOf moment `placeholder:"TIME" group:"Request:" help:"Count what was known then: 2026-11-20, or a time such as 2026-11-20T09:00:00Z. Default: now."`
}

// wanted is the grind that is meant: a recipe's, or bevels.
type wanted struct {
	Recipe string     `arg:"" optional:"" help:"A recipe, such as bowl-50; bowl-50/revisions/1 for another revision than the published one."`
	Grind  grindFlags `embed:"" group:"Edge wanted:"`
}

// question is what solve, predict and transfer ask with.
type question struct {
	Source source       `embed:""`
	Wanted wanted       `embed:""`
	Rig    rigFlags     `embed:"" group:"Where it is ground:"`
	Set    settingFlags `embed:"" group:"Settings:"`
	Doubts doubtFlags   `embed:"" prefix:"doubt-" group:"How well settings are made: by what instrument, or within ± (95 times in 100):"`
}

// outcome is how a set-up is asked for and answered.
type outcome struct {
	Answer answerFlags `embed:"" group:"Answer:"`
	Call   callFlags   `embed:"" group:"Server:"`
}

// plainOutcome is how what is no set-up is asked for and answered.
type plainOutcome struct {
	Format formatFlags `embed:"" group:"Answer:"`
	Call   callFlags   `embed:"" group:"Server:"`
}

func (o plainOutcome) whole() outcome { return outcome{answerFlags{Format: o.Format}, o.Call} }

type grindFlags struct {
	Edge  angle   `placeholder:"ANGLE" xor:"grind" help:"One bevel with this edge angle."`
	Bevel []bevel `placeholder:"BEVEL" sep:"none" xor:"grind" help:"A bevel, once for each, from edge to heel: 50deg@3mm for a land 3 mm wide, 35deg for the last, reading:52.9deg for what a protractor shows, included:36deg (included-reading:) for both faces together; 35deg,wheel=150mm,leg=position:2 for one ground elsewhere (station, support, wheel, holder, stick-out, leg)."`
	Upper bevel   `placeholder:"BEVEL" help:"The bevel above the edge of a negative-rake tool."`
}

type rigFlags struct {
	Station     string  `placeholder:"NAME" help:"The station; its own wheel and supports count."`
	Support     string  `placeholder:"ID" help:"Which support of the station: bar, pocket, platform. Default: the only one that takes the holder."`
	Wheel       wheel   `placeholder:"WHEEL" help:"Another wheel: a name, a diameter such as 200mm or 8in, or flat."`
	Holder      string  `placeholder:"NAME" xor:"behind,below" help:"The holder, or none for a tool that lies on a platform. Default: the recipe's."`
	PivotBehind length  `placeholder:"LENGTH" xor:"behind" help:"Instead of a holder: how far the pivot lies behind the nose, along the tool."`
	PivotBelow  length  `placeholder:"LENGTH" xor:"below" help:"And how far below the reference line."`
	Tool        string  `placeholder:"NAME" help:"The tool, by name."`
	Kind        *string `placeholder:"KIND" enum:"bowl-gouge,spindle-gouge,spindle-roughing-gouge,hollowing-gouge,skew,parting-tool,scraper,negative-rake-scraper" help:"Instead of a name, the tool's kind: bowl-gouge, spindle-gouge, spindle-roughing-gouge, hollowing-gouge, skew, parting-tool, scraper, negative-rake-scraper."`
	Steel       length  `placeholder:"LENGTH" help:"Steel under a gouge's flute; the bevel reading needs it."`
	Thickness   length  `placeholder:"LENGTH" help:"Thickness of a flat blade."`
	EdgeToSide  angle   `placeholder:"ANGLE" help:"A skew's edge to its long side; 90deg is straight across."`
	FluteRadius length  `placeholder:"LENGTH" help:"Radius of a round flute."`
	EdgeBelow   length  `name:"edge-below-top" placeholder:"LENGTH" help:"A negative-rake tool's edge below its upper face."`
}

// settingFlags are everything a person sets; used for what is given and for where things stand.
type settingFlags struct {
	StickOut length `placeholder:"LENGTH" help:"Tool beyond the holder's face, to the nose; with the handle in a pocket, seat to nose."`
	Leg      leg    `placeholder:"LEG" help:"A swing holder's leg: an angle such as 30deg, or position:3 for a marked place."`
	Gap      length `placeholder:"LENGTH" xor:"support" help:"Wheel gap: to the near side of a bar, to a pocket's gauged surface or else the middle of its ball."`
	GapFar   length `placeholder:"LENGTH" xor:"support" help:"Wheel gap, to the far side of a bar."`
	Slide    length `placeholder:"LENGTH" xor:"support" help:"Reading of the slide."`
	Axle     length `placeholder:"LENGTH" xor:"support" help:"Axle to the centre of bar or ball."`
	Face     length `placeholder:"LENGTH" xor:"support" help:"Wheel's face at axle height to the support, level."`
	Height   length `placeholder:"LENGTH" xor:"support" help:"Top of the bar above the station's reference surface."`
	Tilt     angle  `placeholder:"ANGLE" xor:"support" help:"A platform's tilt; down towards you is negative."`
	Platform length `placeholder:"LENGTH" xor:"support" help:"A platform's surface from the axle, square to it."`
}

type doubtFlags struct {
	StickOut lengthDoubt `placeholder:"DOUBT" help:"Stick-out: 0.5mm, rule, calliper, block, calibrated. Default: calliper."`
	Support  lengthDoubt `placeholder:"DOUBT" help:"Wheel gap or other reading of the support, likewise. Default: rule; a slide's scale calliper."`
	Leg      angleDoubt  `placeholder:"DOUBT" help:"Leg: 1deg, scale, notch. Default: scale; a marked position notch."`
	Tilt     angleDoubt  `placeholder:"DOUBT" help:"Tilt, likewise. Default: scale."`
}

type formatFlags struct {
	Output   string  `short:"o" enum:"table,json,csv" default:"table" placeholder:"FORMAT" help:"table for people, json as the API has it, csv with one row a step."`
	Unit     *string `enum:"mm,inch,both" placeholder:"UNIT" help:"Unit of lengths in texts: mm, inch (fractions to 1/64) or both. Numbers in json and csv are always millimetres."`
	Language string  `placeholder:"TAG" help:"Language of the answer's texts and of paper: en, de or es, with a region where numbers are written as there (es-MX). The table's own words stay English."`
}

type answerFlags struct {
	Format formatFlags `embed:""`
	Mesh   string      `kong:"-"` // the file for the solid
	Budget bool        `help:"Take the uncertainty apart."`
	Whole  bool        `name:"whole-edge" help:"Tell what is ground along the whole edge of a swung tool, as arris edge does."`
	Proof  bool        `help:"Check the rounded numbers by another route."`
	Draw   bool        `help:"Draw the side view below the table."`
	SVG    string      `name:"svg" placeholder:"FILE" predictor:"file" help:"Write the side view to a file. A regular file of that name is replaced, whole or not at all; anything else is left alone."`
}

type callFlags struct {
	Server    string        `placeholder:"HOST:PORT" env:"ARRIS_SERVER" help:"Ask this server. Default: calculate here."`
	Store     string        `placeholder:"FILE" env:"ARRIS_STORE" predictor:"file" help:"Where the shop is kept when no server is asked: a file, postgres://…, or demo for the demonstration shop. Default: a file of your own, once there is one; until then the demonstration shop."`
	Plaintext bool          `help:"Do not encrypt. On this machine that is so without it; to others TLS is used."`
	TLSCA     string        `name:"tls-ca" placeholder:"FILE" env:"ARRIS_TLS_CA" predictor:"file" help:"Encrypt, on this machine too, and trust the authority of this certificate (PEM) in place of the system's. arris tls init makes one."`
	Timeout   time.Duration `default:"30s" placeholder:"TIME" help:"Give up after this long (default ${default})."`
}

// sheetFlags ask for paper.
type sheetFlags struct {
	File  string      `name:"sheet" placeholder:"FILE.pdf" predictor:"file" help:"Write a sheet to print and to set by: one number a step, each with its drawing. A regular file of that name is replaced, whole or not at all; anything else is left alone."`
	Gauge []gaugeFile `name:"gauge" placeholder:"[KIND:]FILE" sep:"none" predictor:"file" help:"Write cards at 1:1, once for each kind: the one that sets the wheel gap, or with a kind before the name stick-out:block.pdf, spacers:blocks.pdf with their cutting list, bevel:card.dxf to check what was ground, leg:wedge.pdf for a swing holder's leg. As .pdf or .svg to print, as .dxf to cut. Of several a PDF has all, and others have FILE-2 and so on."`
	Paper string      `name:"paper" enum:"a4,letter" default:"a4" placeholder:"SIZE" help:"Paper of all: a4 or letter (default ${default})."`
}

// gaugeFormats are what a gauge is written as, by the file's ending.
var gaugeFormats = map[string]arrisv1.GaugeFormat{
	".pdf": arrisv1.GaugeFormat_GAUGE_FORMAT_PDF, ".svg": arrisv1.GaugeFormat_GAUGE_FORMAT_SVG, ".dxf": arrisv1.GaugeFormat_GAUGE_FORMAT_DXF,
}

// ending is a file's, in small letters.
func ending(name string) string { return strings.ToLower(filepath.Ext(name)) }

// AfterApply refuses what sheets are not written as.
func (f sheetFlags) AfterApply() error {
	if f.File != "" && ending(f.File) != ".pdf" {
		return fmt.Errorf("--sheet %s: a sheet is written as PDF; give it a name that ends in .pdf", f.File)
	}
	return nil
}

// gaugeFile is a kind of gauge and the file it is written to.
type gaugeFile struct {
	kind arrisv1.GaugeKind
	file string
}

// gaugeKinds are the words before a gauge's file.
var gaugeKinds = map[string]arrisv1.GaugeKind{
	"wheel-gap": arrisv1.GaugeKind_GAUGE_KIND_WHEEL_GAP, "stick-out": arrisv1.GaugeKind_GAUGE_KIND_STICK_OUT, "spacers": arrisv1.GaugeKind_GAUGE_KIND_SPACERS,
	"bevel": arrisv1.GaugeKind_GAUGE_KIND_BEVEL, "leg": arrisv1.GaugeKind_GAUGE_KIND_LEG,
}

// UnmarshalText reads gauge.pdf, or bevel:card.dxf. A word that is no kind is told so, unless it is part of a path.
func (g *gaugeFile) UnmarshalText(text []byte) error {
	g.file = string(text)
	if word, file, cut := strings.Cut(g.file, ":"); cut {
		kind, known := gaugeKinds[word]
		switch {
		case known:
			g.kind, g.file = kind, file
		case len(word) > 1 && !strings.ContainsAny(word, `/\.`):
			return fmt.Errorf("%q is no kind of gauge: write %s, or only a file for the wheel gap", word, strings.Join(slices.Sorted(maps.Keys(gaugeKinds)), ", "))
		}
	}
	if _, known := gaugeFormats[ending(g.file)]; !known {
		return fmt.Errorf("%q: a gauge is written as PDF, SVG or DXF; give it a name that ends in .pdf, .svg or .dxf", text)
	}
	return nil
}

// choiceFlags say what solving may choose, and in what steps.
type choiceFlags struct {
	Free      []string   `enum:"support,stick-out,leg" placeholder:"WHAT" help:"What may be chosen, with commas between: support, stick-out, leg. Default: support."`
	Step      length     `placeholder:"LENGTH" help:"Lengths come in steps of this. Default: 0.1mm."`
	AngleStep angle      `placeholder:"ANGLE" help:"Angles come in steps of this. Default: 0.5deg."`
	Block     []length   `placeholder:"LENGTH" sep:"none" help:"A block on hand for stick-out and gap; once for each."`
	Touch     touchFirst `name:"touch-first" placeholder:"ANGLE" help:"Grind this much blunter, so that the wheel touches the edge before the heel; sized: as much as this set-up's repeatability asks for."`
}

type solveCommand struct {
	Ask    question     `embed:""`
	Swung  swungFlags   `embed:"" group:"A swung gouge:"`
	Shape  shapeFlags   `embed:"" group:"Its edge, seen from above:"`
	Wing   wingFlags    `embed:"" group:"What is wanted of the wings of a swung tool; with --free stick-out or leg they are solved for:"`
	Choice choiceFlags  `embed:"" group:"What may be chosen:"`
	Now    settingFlags `embed:"" prefix:"now-" xorprefix:"now-" group:"Where the machine stands now: steps then say what to move:"`
	Sheet  sheetFlags   `embed:"" group:"Paper:"`
	Out    outcome      `embed:""`
}

type predictCommand struct {
	Ask   question   `embed:""`
	Swung swungFlags `embed:"" group:"A swung gouge:"`
	Shape shapeFlags `embed:"" group:"Its edge, seen from above:"`
	Solid solidFlags `embed:"" group:"Its finished end:"`
	Out   outcome    `embed:""`
}

type transferCommand struct {
	Ask     question     `embed:""`
	Choice  choiceFlags  `embed:"" group:"What may be chosen:"`
	To      rigFlags     `embed:"" prefix:"to-" xorprefix:"to-" group:"Where it shall be ground instead; what is not said stays:"`
	Given   settingFlags `embed:"" prefix:"to-" xorprefix:"to-" group:"Settings there, in place of those here:"`
	Blunter angle        `placeholder:"ANGLE" group:"Settings there, in place of those here:" help:"Grind this much blunter there: the second of a coarse and a fine wheel then touches the edge first."`
	Out     outcome      `embed:""`
}

type matchCommand struct {
	Source       source       `embed:""`
	Chord        length       `placeholder:"LENGTH" group:"What was measured:" help:"The bevel, edge to heel, straight across its hollow."`
	Reading      angle        `placeholder:"ANGLE" group:"What was measured:" help:"What a protractor laid on the bevel shows."`
	DoubtChord   lengthDoubt  `placeholder:"DOUBT" group:"What was measured:" help:"How well the chord was: 0.5mm, rule, calliper, block, calibrated. Default: 0.3mm."`
	DoubtSteel   lengthDoubt  `placeholder:"DOUBT" group:"What was measured:" help:"How well the steel below the edge was, likewise. Default: 0.1mm."`
	DoubtReading angleDoubt   `placeholder:"DOUBT" group:"What was measured:" help:"How well the reading was: 1deg, scale, notch. Default: 1deg."`
	Mark         *string      `enum:"edge,middle,heel" placeholder:"WHERE" xor:"mark" group:"Where ink was rubbed off, with the settings below:" help:"edge, middle or heel."`
	MarkAt       length       `placeholder:"LENGTH" xor:"mark" group:"Where ink was rubbed off, with the settings below:" help:"Or how far behind the edge."`
	GroundBy     groundBy     `placeholder:"WHEEL" group:"Where ink was rubbed off, with the settings below:" help:"What ground the bevel: a wheel's diameter, or flat. Unless it was larger than the wheel here, ink tells a side only."`
	Set          settingFlags `embed:"" group:"How the machine stands:"`
	Doubts       doubtFlags   `embed:"" prefix:"doubt-" group:"How well settings are made: by what instrument, or within ± (95 times in 100):"`
	Rig          rigFlags     `embed:"" group:"The tool, and where it stands:"`
	Out          plainOutcome `embed:""`
}

type planCommand struct {
	Source source       `embed:""`
	Wanted wanted       `embed:""`
	Micro  microBevel   `placeholder:"ANGLE@WIDTH" xor:"kind" group:"What is wanted of the bevels:" help:"A short bevel in front, this much steeper: 3deg@0.5mm."`
	Land   length       `placeholder:"LENGTH" group:"What is wanted of the bevels:" help:"A land this wide at the edge's own angle; behind it what the flags below say."`
	Relief angle        `placeholder:"ANGLE" xor:"kind" group:"What is wanted of the bevels:" help:"A relief behind the land, with this angle in front."`
	Clears length       `placeholder:"LENGTH" xor:"kind" group:"What is wanted of the bevels:" help:"Or the steepest relief that clears the inside of a curve of this radius."`
	Facets *int32       `placeholder:"COUNT" xor:"kind" group:"What is wanted of the bevels:" help:"So many facets behind the land, turning evenly."`
	Last   angle        `placeholder:"ANGLE" group:"What is wanted of the bevels:" help:"The angle in front of the last facet."`
	Turns  []turn       `placeholder:"TURNS@WIDTH" sep:"none" xor:"kind" group:"What is wanted of the bevels:" help:"Bevels made by turning the adjuster from the edge's setting, clockwise positive; once for each, with its width but for the last: --turns=-3@3mm --turns=-6."`
	Soften length       `placeholder:"LENGTH" group:"What is wanted of the bevels:" help:"Round the heel with this radius as well."`
	Set    settingFlags `embed:"" group:"Settings of the edge, in place of the recipe's; for --turns where its support stands:"`
	Rig    rigFlags     `embed:"" group:"Where it is ground:"`
	Behind rigFlags     `embed:"" prefix:"behind-" xorprefix:"behind-" group:"Where the bevels behind the first are ground, when elsewhere:"`
	Out    plainOutcome `embed:""`
}

type curveCommand struct {
	Source  source       `embed:""`
	Wanted  wanted       `embed:""`
	Radius  length       `placeholder:"LENGTH" xor:"curve" group:"Inside of the bowl:" help:"Its radius, where it is tightest."`
	Profile string       `placeholder:"FILE" predictor:"file" xor:"curve" group:"Inside of the bowl:" help:"Or its section, from the rim to the bottom's middle: a CSV file with the columns radius_mm and depth_mm (or _cm, _in)."`
	Decimal decimalMark  `default:"." placeholder:"MARK" group:"Inside of the bowl:" help:"The decimal mark of that file: . with commas between cells, or , with semicolons."`
	Lift    angle        `placeholder:"ANGLE" group:"Inside of the bowl:" help:"How far the land may lift the edge off the wood. Default: 3deg."`
	Rig     rigFlags     `embed:"" group:"Where it was ground:"`
	Out     plainOutcome `embed:""`
}

type regrindCommand struct {
	Source      source       `embed:""`
	Wanted      wanted       `embed:""`
	Today       []bevel      `placeholder:"BEVEL" sep:"none" group:"From and how:" help:"What is on the tool: a bevel, once for each, from edge to heel."`
	Loss        length       `placeholder:"LENGTH" group:"From and how:" help:"Steel that a usual sharpening takes off the nose. Default: 0.1mm."`
	Sharpenings *int32       `placeholder:"COUNT" group:"From and how:" help:"Spread over so many. Default: as many as cost no more than usual."`
	Tolerance   angle        `placeholder:"ANGLE" group:"From and how:" help:"Change of the edge angle after which the tool is seated again. Default: the recipe's tolerance, or 1deg."`
	Set         settingFlags `embed:"" group:"Settings of the new grind:"`
	Rig         rigFlags     `embed:"" group:"Where it is ground:"`
	Out         plainOutcome `embed:""`
}

// swungFlags are what counts on the wings only.
type swungFlags struct {
	Flute        fluteValue `placeholder:"FLUTE" help:"The flute's section: parabola:4mm, round:5.5mm, vee:2mm@40deg, by its radius at the floor and a vee's walls from the horizontal; or flat."`
	Bar          barValue   `placeholder:"SIZE" help:"The bar: 16mm for a round one, 32mmx9mm for a flat one, width first."`
	PivotAside   length     `placeholder:"LENGTH" help:"Pivot to the side of the tool's plane; on your left is positive when you face the wheel."`
	ToolRoll     angle      `placeholder:"ANGLE" help:"The tool rolled in its holder, flute to your left positive."`
	ContactAside length     `placeholder:"LENGTH" help:"Contact beyond the pivot's plane along the axle, to your left positive."`
}

// shapeFlags are an edge's plan.
type shapeFlags struct {
	Setback    length      `placeholder:"LENGTH" xor:"plan" help:"How far the wings' ends lie behind the nose."`
	Exponent   *float64    `placeholder:"NUMBER" help:"With --setback: how flat the nose is. Default: 2."`
	Across     bool        `xor:"plan" help:"The edge goes straight across."`
	Swept      length      `placeholder:"LENGTH" xor:"plan" help:"Long wings that straighten as they run back: how far their ends lie behind the nose. With --nose-radius."`
	NoseRadius length      `placeholder:"LENGTH" help:"With --swept: radius of the nose in the unrolled flute."`
	EvenSwing  bool        `xor:"plan" help:"The edge that a sphere about the pivot cuts, to compare with."`
	EdgePoints string      `placeholder:"FILE" predictor:"file" xor:"plan" help:"Or as it was measured, from one wing's end to the other's: a CSV file with the columns back_mm and side_mm or along_mm (or _cm, _in)."`
	EdgeDoubt  lengthDoubt `placeholder:"DOUBT" help:"How well those points were measured, so much is smoothed: 0.5mm, rule, calliper, block, calibrated. Default: calliper."`
	HalfWidth  length      `placeholder:"LENGTH" xor:"wing-end" help:"Half the width between the wings' ends. Default: at the flute's rim."`
	WingLength length      `placeholder:"LENGTH" xor:"wing-end" help:"Or how far along the flute's section from its floor they end."`
	Decimal    decimalMark `default:"." placeholder:"MARK" help:"The decimal mark of a file of points: . with commas between cells, or , with semicolons."`
}

// wingFlags are a wedge angle wanted on the wings.
type wingFlags struct {
	Wing          angle    `placeholder:"ANGLE" help:"The wedge angle there, between ground face and flute."`
	WingAt        *float64 `placeholder:"PERCENT" help:"Where: 100 is the end of the +side wing, on your left when you face the wheel, -100 the other. Default: 100."`
	WingTolerance angle    `placeholder:"ANGLE" help:"How far off it may be. Default: 2deg."`
}

type edgeCommand struct {
	Source source          `embed:""`
	Wanted wanted          `embed:""`
	Shape  shapeFlags      `embed:"" group:"Edge seen from above, in place of the tool's:"`
	Swung  swungFlags      `embed:"" group:"A swung gouge:"`
	Rig    rigFlags        `embed:"" group:"Where it is ground:"`
	Set    settingFlags    `embed:"" group:"What is set; without a place of the support the grind is solved:"`
	Free   []string        `enum:"support,stick-out,leg" placeholder:"WHAT" group:"What may be chosen:" help:"When solving, what may be chosen, with commas between: support, stick-out, leg. Default: support."`
	Wing   wingFlags       `embed:"" group:"What is wanted of the wings; with --free stick-out or leg they are solved for:"`
	Doubts doubtFlags      `embed:"" prefix:"doubt-" group:"How well settings are made: by what instrument, or within ± (95 times in 100):"`
	Answer edgeAnswerFlags `embed:"" group:"Answer:"`
	Call   callFlags       `embed:"" group:"Server:"`
}

type edgeAnswerFlags struct {
	Format      formatFlags `embed:""`
	Points      *int32      `placeholder:"COUNT" help:"Points along the edge, 5 to 513; csv and json have all of them. Default: 65."`
	Uncertainty bool        `help:"Tell how well the wedge angle is known."`
	Steel       bool        `name:"removed" help:"Tell what it costs in steel, and how long the tool lasts."`
	Sharpening  length      `placeholder:"LENGTH" help:"For that, what a sharpening takes off along the tool. Default: 0.1mm."`
	Draw        bool        `help:"Draw both views below the table."`
	NoPlot      bool        `help:"Leave out the plot of the wedge angle."`
	SVG         string      `name:"svg" placeholder:"FILE" predictor:"file" help:"Write views and plot to a file, on one page. A regular file of that name is replaced, whole or not at all; anything else is left alone."`
	Solid       solidFlags  `embed:""`
}

type solidFlags struct {
	Mesh      string `placeholder:"FILE" predictor:"file" help:"Write the finished end as a solid to a file, in binary glTF (.glb); replaced likewise."`
	Triangles *int32 `placeholder:"COUNT" help:"Of that solid, at most. Default: 20000."`
}

type mapCommand struct {
	Source    source       `embed:""`
	Recipe    string       `arg:"" optional:"" help:"A recipe, such as bowl-50, whose settings count where none are said."`
	Gaps      lengthAxis   `placeholder:"LENGTHS" group:"What is tried:" help:"Wheel gaps, pivot to wheel: 90mm:120mm:7 for seven from 90 to 120 mm, or 100mm,105mm,110mm."`
	StickOuts lengthAxis   `placeholder:"LENGTHS" group:"What is tried:" help:"Stick-outs, likewise. Default: the recipe's."`
	Legs      angleAxis    `placeholder:"ANGLES" group:"What is tried:" help:"Angles of the leg: 15deg:45deg:4, or 20deg,30deg. Default: the recipe's."`
	Shape     shapeFlags   `embed:"" group:"Edge seen from above, in place of the tool's:"`
	Swung     swungFlags   `embed:"" group:"A swung gouge:"`
	Rig       rigFlags     `embed:"" group:"Where it is ground:"`
	Out       plainOutcome `embed:""`
}

type furthestCommand struct {
	Source source       `embed:""`
	Wanted wanted       `embed:""`
	Least  angle        `name:"least-wedge" placeholder:"ANGLE" group:"How keen it may get:" help:"No place of the edge keener than this. Default: what the shop grinds at least."`
	Shape  shapeFlags   `embed:"" group:"Edge seen from above: where its wings end and how flat the nose is count, in place of the tool's:"`
	Swung  swungFlags   `embed:"" group:"A swung gouge:"`
	Rig    rigFlags     `embed:"" group:"Where it is ground:"`
	Set    settingFlags `embed:"" group:"What is set; without a place of the support the grind is solved:"`
	Out    plainOutcome `embed:""`
}

type fluteCommand struct {
	File       string      `short:"f" placeholder:"FILE" predictor:"file" group:"What was measured; the more the better:" help:"A request in the API's JSON; - reads standard input. Flags win over it."`
	Shape      *string     `enum:"parabola,round,vee" placeholder:"SHAPE" group:"What was measured; the more the better:" help:"Try this shape only: parabola, round or vee."`
	Mouth      fluteMouth  `placeholder:"WIDTH@DEPTH" group:"What was measured; the more the better:" help:"The flute's width anywhere up its walls, and the floor's depth below there: 12mm@4.5mm."`
	Pin        []flutePin  `placeholder:"DIAMETER@HEIGHT" sep:"none" group:"What was measured; the more the better:" help:"A pin laid along the flute, and how far its lowest point stays above the floor: 10mm@0.8mm; once for each."`
	Points     string      `placeholder:"FILE" predictor:"file" group:"What was measured; the more the better:" help:"Points off a photograph of the squared end, from wall to wall: a CSV file with the columns side_mm and up_mm (or _cm, _in)."`
	Decimal    decimalMark `default:"." placeholder:"MARK" group:"What was measured; the more the better:" help:"The decimal mark of that file: . with commas between cells, or , with semicolons."`
	Doubt      lengthDoubt `placeholder:"DOUBT" group:"How well:" help:"How well mouth and pins were measured: 0.5mm, rule, calliper, block, calibrated. Default: calliper."`
	PointDoubt lengthDoubt `placeholder:"DOUBT" group:"How well:" help:"How far a point may lie off the flute, likewise. Default: 0.2mm."`
	ScaleDoubt *float64    `placeholder:"PERCENT" group:"How well:" help:"How far off the photograph's scale may be, a number of per cent."`
	TurnDoubt  angle       `placeholder:"ANGLE" group:"How well:" help:"How far the photograph may be turned. Default: 10deg."`
	Format     formatFlags `embed:"" group:"Answer:"`
	Call       callFlags   `embed:"" group:"Server:"`
}

// rowFlags say which rows are asked.
type rowFlags struct {
	Shop     string      `placeholder:"NAME" default:"main" env:"ARRIS_SHOP" group:"Rows:" help:"The shop that names belong to (default ${default})."`
	AsOf     moment      `placeholder:"TIME" group:"Rows:" help:"Count what was known then, where a row says nothing of it: 2026-11-20, or 2026-11-20T09:00:00Z. Default: now."`
	Decimal  decimalMark `default:"." placeholder:"MARK" group:"Rows:" help:"The decimal mark of CSV: . with commas between cells, or , with semicolons (default ${default})."`
	Unit     *string     `enum:"mm,inch,both" placeholder:"UNIT" group:"Answer:" help:"Unit of lengths in texts, where a row says nothing of it: mm, inch or both. Numbers in json and csv are always millimetres."`
	Language string      `placeholder:"TAG" group:"Answer:" help:"Language of texts, where a row says nothing of it: en, de or es."`
}

// format is how texts are worded where a row does not say it.
func (f rowFlags) format() formatFlags { return formatFlags{Unit: f.Unit, Language: f.Language} }

type batchCommand struct {
	File    string    `arg:"" predictor:"file" help:"Rows of CSV, or lines of JSON; - reads standard input."`
	Rows    rowFlags  `embed:""`
	DryRun  bool      `group:"Rows:" help:"Read and check every row, and ask nothing."`
	Output  string    `short:"o" enum:"table,json,csv" default:"table" placeholder:"FORMAT" group:"Answer:" help:"table for people, json with one line a row, csv with one row a step."`
	Summary bool      `group:"Answer:" help:"Numbers only: no texts, and no cautions short of a warning."`
	Call    callFlags `embed:"" group:"Server:"`
}

type sheetsCommand struct {
	File       string    `arg:"" optional:"" predictor:"file" help:"Rows of CSV, or lines of JSON, as of arris batch; - reads standard input."`
	Recipes    string    `placeholder:"FILTER" xor:"of" group:"Rows:" help:"Instead of rows, the recipes for which it holds, such as 'display_name = \"Bowl*\"', or all; each on every --station."`
	Tools      string    `placeholder:"FILTER" xor:"of" group:"Rows:" help:"Instead of rows, the tools for which it holds, or all, each with its recipe; on every --station."`
	Station    []string  `placeholder:"NAME" group:"Rows:" help:"A station for --recipes or --tools; once for each."`
	Rows       rowFlags  `embed:""`
	Out        string    `placeholder:"FILE.pdf" xor:"where" predictor:"file" group:"Paper:" help:"Write one file with a bookmark for each sheet; of more than 500 sheets FILE-1.pdf, FILE-2.pdf and so on."`
	Dir        string    `placeholder:"FOLDER" xor:"where" predictor:"file" group:"Paper:" help:"Write a file for each sheet, numbered in their order, into a folder, which is made."`
	Paper      string    `enum:"a4,letter" default:"a4" placeholder:"SIZE" group:"Paper:" help:"a4 or letter (default ${default})."`
	Order      string    `enum:"few-changes,rows" default:"few-changes" placeholder:"ORDER" group:"Paper:" help:"few-changes, so that little has to be set anew from one sheet to the next, or rows, as they stand (default ${default})."`
	DryRun     bool      `group:"Paper:" help:"Solve every row and say what would be printed; write nothing."`
	Background bool      `group:"Paper:" help:"Let the --server print and keep them, and end at once: see arris operation."`
	RequestID  string    `name:"request-id" placeholder:"ID" group:"Paper:" help:"With --background: started once, however often it is asked with the same id."`
	Call       callFlags `embed:"" group:"Server:"`
}

type versionCommand struct {
	Output string `short:"o" enum:"table,json" default:"table" placeholder:"FORMAT" help:"table or json."`
}
