package arris

const widestHelp = 100

const about = `Settings for grinding turning tools: from the edge wanted to the settings of wheel, support and holder, and back.

Without --server everything is calculated here, in this process. The shop is then the demonstration shop, shops/main, with
stations north, south and west and recipes such as bowl-50, until a store of your own is there. Lengths and angles need their
units: 58mm, 5.8cm, 2 9/32in, 2-9/32", 50deg, 50°. A number without a unit is refused.

Exit codes: 0 done; 1 something else went wrong; 2 flags, units, a file that cannot be read or written; 3 the request is
refused, it contradicts itself or lacks something; 4 it cannot be done as asked; 5 there is no such thing by that name; 6 the
server is away or did not answer in time; 130 interrupted.`

const exitCodeHelp = `
Errors go to standard error: the message with the API's reason in brackets, a line for each field, and what would work, as flags to
type. With -o json a refusal of the API is its google.rpc.Status in JSON; errors of the command line itself stay text.

Exit codes: 0 done; 1 something else; 2 flags, units, files; 3 request refused; 4 cannot be done; 5 no such name; 6 server away or
out of time; 130 interrupted.`

// Help explains solving, with examples.
func (*solveCommand) Help() string {
	return `Examples:

    arris solve bowl-50 --station north
    arris solve bowl-50 --station north --now-gap 104mm
    arris solve bowl-50 --station north --free support,leg --block 45mm --block 50mm
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

// Help shows what there is to print.
func (*versionCommand) Help() string {
	return `Examples:

    arris version
    arris version -o json
`
}
