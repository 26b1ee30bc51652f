package arris

const widestHelp = 100

const about = `Settings for grinding turning tools: from the edge wanted to the settings of wheel, support and holder, and back.

Without --server everything is calculated here, in this process. The shop is then the demonstration shop, shops/main, with
stations north, south and west and recipes such as bowl-50, until you keep something: from then on it is a file of your own, or
the one that --store names. Lengths and angles need their
units: 58mm, 5.8cm, 2 9/32in, 2-9/32", 50deg, 50°. A number without a unit is refused.

Exit codes: 0 done; 1 something else went wrong; 2 flags, units, a file that cannot be read or written; 3 the request is
refused, it contradicts itself or lacks something; 4 it cannot be done as asked; 5 there is no such thing by that name; 6 the
server is away or did not answer in time; 7 of a batch or an import some rows are refused, the others answered; 8 somebody
else changed it meanwhile; 9 there is one already; 130 interrupted.`

const exitCodeHelp = `
Errors go to standard error: the message with the API's reason in brackets, a line for each field, and what would work, as flags to
type. With -o json a refusal of the API is its google.rpc.Status in JSON; errors of the command line itself stay text.

Exit codes: 0 done; 1 something else; 2 flags, units, files; 3 request refused; 4 cannot be done; 5 no such name; 6 server away or
out of time; 7 some rows refused; 8 changed by somebody else; 9 exists already; 130 interrupted.`

// Help explains solving, with examples.
func (*solveCommand) Help() string {
	return `Examples:

    arris solve bowl-50 --station north
    arris solve bowl-50 --station north --now-gap 104mm
    arris solve bowl-50 --station north --free support,leg --block 45mm \
        --block 108.5mm
    arris solve --tool skew-25 --station north --unit inch --draw
    arris solve --edge 50deg --stick-out 45mm --leg 30deg \
        --wheel 200mm --holder swing --steel 8mm --svg set-up.svg
    arris solve --bevel 50deg@3mm --bevel 35deg --pivot-behind 131mm \
        --pivot-below 46mm --wheel 8in --steel 8mm
    arris solve -f request.json --touch-first sized -o json

Names are those of the shop: bowl-50 is shops/main/recipes/bowl-50. A request file is the JSON that the API takes; what flags
say counts instead of what it says.
` + exitCodeHelp
}

// Help explains predicting, with examples.
func (*predictCommand) Help() string {
	return `Examples:

    arris predict bowl-50 --station north --gap 108.5mm
    arris predict bowl-50 --station north --slide 177.1mm --leg 25deg
    arris predict --wheel 180mm --pivot-behind 131.1mm --pivot-below 46mm \
        --gap 108.5mm --steel 8mm
    arris predict -f request.json --gap "4 1/4in" -o csv

With a recipe the answer says what explains a difference from it; its settings count where none are said.
` + exitCodeHelp
}

// Help explains carrying over, with examples.
func (*transferCommand) Help() string {
	return `Examples:

    arris transfer bowl-50 --station north --to-station west
    arris transfer bowl-50 --station north --to-wheel spare-coarse
    arris transfer bowl-50 --station north --to-station south --blunter 0.5deg
    arris transfer bowl-50 --station north --to-stick-out 40mm -o csv
    arris transfer -f request.json --to-holder swing --to-leg position:2

The set-up is solved here and there, and what moves is told. A station there brings its own wheel and supports.
` + exitCodeHelp
}

// Help explains matching, with examples.
func (*matchCommand) Help() string {
	return `Examples:

    arris match --chord 9.4mm --steel 8mm --wheel 200mm
    arris match --reading 53deg --tool bowl-gouge-12 --wheel 187.4mm
    arris match --chord 9.4mm --reading 53deg --steel 8mm --wheel flat
    arris match --mark heel --gap 104mm --stick-out 45mm --leg 30deg \
        --station north --holder swing
    arris match -f trials.json --mark-at 2mm --gap 106.5mm --ground-by 250mm

Measured: two of chord, reading and steel tell the edge; --wheel is what ground the bevel. Ink: mark the bevel, turn the wheel by hand,
and say where the ink went; a trial by flags comes after those of the file, as the latest, with the settings of the one before where none are said. The
answer says what to try next.
` + exitCodeHelp
}

// Help explains planning, with examples.
func (*planCommand) Help() string {
	return `Examples:

    arris plan bowl-50 --micro 3deg@0.5mm --station north
    arris plan bowl-50 --land 3mm --relief 35deg --station north
    arris plan bowl-50 --land 3mm --clears 60mm --station north --soften 1.5mm
    arris plan --edge 58deg --facets 3 --land 3mm --last 28deg --wheel 150mm \
        --holder swing --steel 7mm
    arris plan bowl-50 --land 3mm --turns=-3@3mm --turns=-6 --station north
    arris plan bowl-50 --land 3mm --relief 35deg --station north \
        --behind-station south -o json

The answer's bevels are flags of arris solve; as JSON its grind goes into a request of solve as it is.
` + exitCodeHelp
}

// Help explains checking a curve, with examples.
func (*curveCommand) Help() string {
	return `Examples:

    arris curve bowl-50 --radius 60mm --station north
    arris curve bowl-50-relief --radius "2 1/2in" --wheel 200mm
    arris curve --bevel 50deg@3mm --bevel 35deg --steel 8mm --wheel 200mm \
        --profile bowl.csv

A profile is a CSV file with a header and a row for each point:

    radius_mm,depth_mm
    120,0
    110,32
    0,74
` + exitCodeHelp
}

// Help explains regrinding, with examples.
func (*regrindCommand) Help() string {
	return `Examples:

    arris regrind --today 40deg --edge 50deg --steel 8mm --wheel 200mm
    arris regrind bowl-50 --today 40deg --station north --loss 0.2mm
    arris regrind bowl-50-relief --today 55deg --sharpenings 12 --station north

Going blunter costs length: spread over sharpenings it costs what they would have taken anyway.
` + exitCodeHelp
}

// Help explains whole edges, with examples.
func (*edgeCommand) Help() string {
	return `Examples:

    arris edge bowl-50 --station north --tool bowl-gouge-12
    arris edge bowl-50 --station north --tool bowl-gouge-12 --setback 9mm \
        --uncertainty --removed --svg edge.svg
    arris edge --edge 50deg --wheel 200mm --holder swing --stick-out 45mm \
        --leg 30deg --gap 108.5mm --kind bowl-gouge --steel 8mm \
        --flute parabola:4mm --bar 16mm --swept 12mm --nose-radius 4mm
    arris edge bowl-50 --station north --tool bowl-gouge-12 \
        --edge-points edge.csv -o csv
    arris edge --edge 50deg --wing 58deg --free support,leg --station north \
        --holder swing --stick-out 45mm --tool bowl-gouge-12

With a place of the support (--gap, --slide, …) the settings are taken as they are; without one the grind is solved first, and the edge
is that of the rounded answer. The +side of an edge is on your left when you face the wheel.

A measured edge is a CSV file with a header and a row for each point, from one wing's end to the other's:

    side_mm,back_mm
    -6,5.4
    -3,1.6
    0,0
    3,1.5
    6,5.3
` + exitCodeHelp
}

// Help explains maps, with examples.
func (*mapCommand) Help() string {
	return `Examples:

    arris map bowl-50 --station north --tool bowl-gouge-12 \
        --gaps 95mm:120mm:6 --stick-outs 35mm:60mm:6 --legs 25deg,30deg,35deg
    arris map bowl-50 --station north --tool bowl-gouge-12 --setback 12mm \
        --gaps 100mm,105mm,110mm -o csv

FROM:TO:COUNT is so many values from one to the other, both among them; a list has commas between. Nothing is solved: every combination
is tried, at most 20,000 of them. The table has a grid for each leg; a letter says why a setting does not grind the whole edge, and
the list below it what the letters mean.
` + exitCodeHelp
}

// Help explains the furthest wing, with examples.
func (*furthestCommand) Help() string {
	return `Examples:

    arris furthest bowl-50 --station north --tool bowl-gouge-12
    arris furthest bowl-50 --station north --tool bowl-gouge-12 --gap 104mm \
        --least-wedge 45deg
    arris furthest bowl-50 --station north --tool bowl-gouge-12 --setback 6mm \
        --exponent 3 -o json

The answer is the largest setback at which all of the edge is ground, and what comes first beyond it.
` + exitCodeHelp
}

// Help explains fitting a flute, with examples.
func (*fluteCommand) Help() string {
	return `Examples:

    arris flute --mouth 12mm@4.5mm --pin 10mm@0.8mm
    arris flute --pin 6mm@0.1mm --pin 8mm@0.3mm --pin 10mm@0.8mm
    arris flute --shape round --points flute.csv --point-doubt 0.1mm

Measure the width across the flute's mouth and the depth of its floor below there; lay pins (drill shanks do) along it and measure how far
their lowest points stay above the floor; or mark points on a photograph of the squared end, from wall to wall:

    side_mm,up_mm
    -6,4.4
    0,0
    6,4.5

What fits is typed as --flute of arris edge.
` + exitCodeHelp
}

// Help explains batches, with examples.
func (*batchCommand) Help() string {
	return `Examples:

    arris batch set-ups.csv
    arris batch set-ups.csv --dry-run
    arris batch set-ups.csv --decimal , -o csv > settings.csv
    arris batch requests.ndjson --summary -o json --server shop.example:8081
    other-program | arris batch - -o json

CSV (RFC 4180, UTF-8) has a header. Its columns are called as the flags of arris solve, with _ for -, and end with their unit, _mm,
_cm, _in or _deg; without that ending cells bring their own:

    key,recipe,station,stick_out_mm,leg_deg
    a-17,bowl-50,north,45,30
    a-18,bowl-50,west,45.5,27.5

    recipe, edge_deg or bevels (50deg@3mm 35deg); upper; station, support,
    wheel (a name, 200mm or flat), wheel_mm, holder, tool, kind, steel_mm,
    thickness_mm, edge_to_side_deg, flute_radius_mm, edge_below_top_mm,
    pivot_behind_mm, pivot_below_mm; stick_out_mm, leg_deg, leg_position,
    gap_mm, gap_far_mm, slide_mm, axle_mm, face_mm, height_mm, tilt_deg,
    platform_mm, and these with now_ before them; free, blocks, step_mm,
    angle_step_deg, touch_first_deg

The API's names do as well: edge_angle_deg, leg_angle_deg, wheel_gap_mm. Empty cells say nothing, and empty rows are passed over.

Lines of JSON are each a request as the API takes it, or {"key": "a-17", "request": {…}}.

A row's key comes back with its answer and is there once; where rows have none, their lines are their keys. Answers keep the order of
the rows. A row that is refused or cannot be read has a reason in place of a set-up, and its line, column and reason are told on
standard error; the others are answered, and the command exits with 7. A header that is wrong, or a file without rows, is 2, and
nothing is asked. --timeout is how long an answer may take, not the whole. On a terminal progress is shown meanwhile.
` + exitCodeHelp
}

// Help explains the files, with examples.
func (*tlsInitCommand) Help() string {
	return `Examples:

    arris tls init --host shop.local --host 192.168.1.20
    arris tls init certificates --host grinder.example

A camera, and a page that works offline, need a server whose certificate the tablet trusts. This makes an authority of your own and a
certificate that it vouches for, in four files, and tells how to use them. Nothing is replaced. The authority's key can vouch for the hosts
said and for those of a local network (names in .local, .internal, .home.arpa; private addresses), and for no others.
`
}

// Help explains renewing, with examples.
func (*tlsRenewCommand) Help() string {
	return `Examples:

    arris tls renew
    arris tls renew certificates --host grinder.example --host 192.168.1.21

A server's certificate lasts 397 days, because browsers refuse longer ones. The new one has the key of the one before; where server.key was
taken away, another is made. Tablets go on trusting it, and a running arrisd takes it up by itself.
`
}

// Help shows what there is to print.
func (*versionCommand) Help() string {
	return `Examples:

    arris version
    arris version -o json
`
}
