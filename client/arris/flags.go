package arris

import (
	"time"

	kongcompletion "github.com/jotaen/kong-completion"
)

// commands is the command line as people type it.
type commands struct {
	Solve      solveCommand              `cmd:"" help:"Find the settings that grind an edge."`
	Predict    predictCommand            `cmd:"" help:"Tell what edge settings grind."`
	Version    versionCommand            `cmd:"" help:"Print the version."`
	Completion kongcompletion.Completion `cmd:"" help:"Print how to switch on completion in bash, zsh or fish."`
}

// question is what solve and predict both ask with.
type question struct {
	Recipe string       `arg:"" optional:"" help:"A recipe, such as bowl-50; bowl-50/revisions/1 for another revision than the published one."`
	File   string       `short:"f" placeholder:"FILE" predictor:"file" group:"Request:" help:"A request in the API's JSON; - reads standard input. Flags win over it."`
	Shop   string       `placeholder:"NAME" env:"ARRIS_SHOP" group:"Request:" help:"The shop that names belong to. Default: the file's, or main."`
	AsOf   moment       `placeholder:"TIME" group:"Request:" help:"Count what was known then: 2026-11-20, or a time such as 2026-11-20T09:00:00Z. Default: now."`
	Grind  grindFlags   `embed:"" group:"Edge wanted:"`
	Rig    rigFlags     `embed:"" group:"Where it is ground:"`
	Set    settingFlags `embed:"" group:"Settings:"`
	Doubts doubtFlags   `embed:"" prefix:"doubt-" group:"How well settings are made: by what instrument, or within ± (95 times in 100):"`
}

// outcome is how both are asked and answered.
type outcome struct {
	Answer answerFlags `embed:"" group:"Answer:"`
	Call   callFlags   `embed:"" group:"Server:"`
}

type grindFlags struct {
	Edge  angle   `placeholder:"ANGLE" xor:"grind" help:"One bevel with this edge angle."`
	Bevel []bevel `placeholder:"BEVEL" sep:"none" xor:"grind" help:"A bevel, once for each, from edge to heel: 50deg@3mm for a land 3 mm wide, 35deg for the last, reading:52.9deg for what a protractor shows, included:36deg (included-reading:) for both faces together."`
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

type answerFlags struct {
	Output string  `short:"o" enum:"table,json,csv" default:"table" placeholder:"FORMAT" help:"table for people, json as the API has it, csv with one row a step."`
	Unit   *string `enum:"mm,inch,both" placeholder:"UNIT" help:"Unit of lengths in texts: mm, inch (fractions to 1/64) or both. Numbers in json and csv are always millimetres."`
	Budget bool    `help:"Take the uncertainty apart."`
	Draw   bool    `help:"Draw the side view below the table."`
	SVG    string  `name:"svg" placeholder:"FILE" predictor:"file" help:"Write the side view to a file. A regular file of that name is replaced, whole or not at all; anything else is left alone."`
}

type callFlags struct {
	Server    string        `placeholder:"HOST:PORT" env:"ARRIS_SERVER" help:"Ask this server. Default: calculate here, with the demonstration shop."`
	Plaintext bool          `help:"Do not encrypt. On this machine that is so without it; to others TLS is used."`
	Timeout   time.Duration `default:"30s" placeholder:"TIME" help:"Give up after this long (default ${default})."`
}

type solveCommand struct {
	Ask       question     `embed:""`
	Free      []string     `enum:"support,stick-out,leg" placeholder:"WHAT" group:"What may be chosen:" help:"What may be chosen, with commas between: support, stick-out, leg. Default: support."`
	Step      length       `placeholder:"LENGTH" group:"What may be chosen:" help:"Lengths come in steps of this. Default: 0.1mm."`
	AngleStep angle        `placeholder:"ANGLE" group:"What may be chosen:" help:"Angles come in steps of this. Default: 0.5deg."`
	Block     []length     `placeholder:"LENGTH" sep:"none" group:"What may be chosen:" help:"A block on hand for stick-out and gap; once for each."`
	Touch     touchFirst   `name:"touch-first" placeholder:"ANGLE" group:"What may be chosen:" help:"Grind this much blunter, so that the wheel touches the edge before the heel; sized: as much as this set-up's repeatability asks for."`
	Now       settingFlags `embed:"" prefix:"now-" xorprefix:"now-" group:"Where the machine stands now: steps then say what to move:"`
	Out       outcome      `embed:""`
}

type predictCommand struct {
	Ask question `embed:""`
	Out outcome  `embed:""`
}

type versionCommand struct {
	Output string `short:"o" enum:"table,json" default:"table" placeholder:"FORMAT" help:"table or json."`
}
