package arris

import (
	"time"

	kongcompletion "github.com/jotaen/kong-completion"
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
	Batch      batchCommand              `cmd:"" help:"Solve as many set-ups as a file has rows."`
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
	Gap      length `placeholder:"LENGTH" xor:"support" help:"Wheel gap, to the near side of the support."`
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
	Output string  `short:"o" enum:"table,json,csv" default:"table" placeholder:"FORMAT" help:"table for people, json as the API has it, csv with one row a step."`
	Unit   *string `enum:"mm,inch,both" placeholder:"UNIT" help:"Unit of lengths in texts: mm, inch (fractions to 1/64) or both. Numbers in json and csv are always millimetres."`
}

type answerFlags struct {
	Format formatFlags `embed:""`
	Budget bool        `help:"Take the uncertainty apart."`
	Proof  bool        `help:"Check the rounded numbers by another route."`
	Draw   bool        `help:"Draw the side view below the table."`
	SVG    string      `name:"svg" placeholder:"FILE" predictor:"file" help:"Write the side view to a file. A regular file of that name is replaced, whole or not at all; anything else is left alone."`
}

type callFlags struct {
	Server    string        `placeholder:"HOST:PORT" env:"ARRIS_SERVER" help:"Ask this server. Default: calculate here, with the demonstration shop."`
	Plaintext bool          `help:"Do not encrypt. On this machine that is so without it; to others TLS is used."`
	Timeout   time.Duration `default:"30s" placeholder:"TIME" help:"Give up after this long (default ${default})."`
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
	Choice choiceFlags  `embed:"" group:"What may be chosen:"`
	Now    settingFlags `embed:"" prefix:"now-" xorprefix:"now-" group:"Where the machine stands now: steps then say what to move:"`
	Out    outcome      `embed:""`
}

type predictCommand struct {
	Ask question `embed:""`
	Out outcome  `embed:""`
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

type batchCommand struct {
	File    string      `arg:"" predictor:"file" help:"Rows of CSV, or lines of JSON; - reads standard input."`
	Shop    string      `placeholder:"NAME" default:"main" env:"ARRIS_SHOP" group:"Rows:" help:"The shop that names belong to (default ${default})."`
	AsOf    moment      `placeholder:"TIME" group:"Rows:" help:"Count what was known then, where a row says nothing of it: 2026-11-20, or 2026-11-20T09:00:00Z. Default: now."`
	Decimal decimalMark `default:"." placeholder:"MARK" group:"Rows:" help:"The decimal mark of CSV: . with commas between cells, or , with semicolons (default ${default})."`
	DryRun  bool        `group:"Rows:" help:"Read and check every row, and ask nothing."`
	Output  string      `short:"o" enum:"table,json,csv" default:"table" placeholder:"FORMAT" group:"Answer:" help:"table for people, json with one line a row, csv with one row a step."`
	Unit    *string     `enum:"mm,inch,both" placeholder:"UNIT" group:"Answer:" help:"Unit of lengths in texts, where a row says nothing of it: mm, inch or both. Numbers in json and csv are always millimetres."`
	Summary bool        `group:"Answer:" help:"Numbers only: no texts, and no cautions short of a warning."`
	Call    callFlags   `embed:"" group:"Server:"`
}

type versionCommand struct {
	Output string `short:"o" enum:"table,json" default:"table" placeholder:"FORMAT" help:"table or json."`
}
