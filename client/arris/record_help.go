package arris

const recordHelp = `
Names are those of the shop: north is shops/main/stations/north. Fields are called as show tells them; numbers are in the unit of the
field's name unless they bring one: 12.5, 12.5mm, 1/2in. Entries of lists have their place in brackets, from 0: supports[0].slide.least_mm.
` + exitCodeHelp

// Help shows how stations are kept.
func (*stationCommands) Help() string {
	return `Examples:

    arris station list
    arris station create north spindle_speed_rpm=1425 \
        supports[0].support_id=pocket 'supports[0].pocket={}' \
        supports[0].slide.origin_out_mm=0 supports[0].slide.origin_up_mm=-110 \
        supports[0].slide.direction_deg=0 \
        supports[0].slide.least_mm=120 supports[0].slide.most_mm=260
    arris station set north spindle_speed_rpm=1725
    arris station lock north --reason "guard is loose"
    arris station unlock north --reason "guard tightened, run by hand"
` + recordHelp
}

// Help shows how wheels are kept.
func (*wheelCommands) Help() string {
	return `Examples:

    arris wheel create north-fine diameter_mm=200 abrasive=superabrasive \
        grit=B151 marked_speed_rpm=3450 smallest_diameter_mm=196
    arris wheel mount north-fine north
    arris wheel measure north-fine --diameter 198.2mm
    arris wheel measure north-fine --around 588.7mm --at 2026-11-20
    arris wheel dress south-white
    arris wheel log north-fine
    arris wheel forecast north-fine --at 2026-12-31

A wheel that was dressed and not measured since makes answers say how far off they may be.
` + recordHelp
}

// Help shows how holders are kept.
func (*holderCommands) Help() string {
	return `Examples:

    arris holder create swing swing.joint_behind_face_mm=22 \
        swing.joint_below_axis_mm=9 swing.leg_length_mm=74
    arris holder set swing swing.leg_length_mm=73.6 doubt.half_width_mm=0.05
    arris holder show swing
` + recordHelp
}

// Help shows how tools are kept.
func (*toolCommands) Help() string {
	return `Examples:

    arris tool create bowl-gouge-12 kind=bowl-gouge steel=high-speed \
        steel_under_flute_mm=8 recipe=bowl-50 external_ids.inventory=T-0042
    arris tool set bowl-gouge-12 location="rack 2"
    arris tool list --filter 'kind = TOOL_KIND_BOWL_GOUGE'
    arris tool list -o csv > tools.csv
    arris tool import tools.csv --check
` + recordHelp
}

// Help explains imports.
func (*importCommand) Help() string {
	return `Examples:

    arris tool list -o csv > tools.csv
    arris tool import tools.csv --check
    arris tool import tools.csv --decimal ,

    id,kind,steel,steel_under_flute_mm,recipe,external_ids.inventory
    bowl-gouge-12,bowl-gouge,high-speed,8,bowl-50,T-0042

An import has a column id and columns called as fields. What is not there is made, what differs is changed, what is alike is left
alone; empty cells say nothing. A row is kept whole or not at all, and one that is refused stops no other: its line and reason are
told, and the command exits with 7.
` + recordHelp
}

// Help shows how recipes are kept.
func (*recipeCommands) Help() string {
	return `Examples:

    arris recipe create bowl-50 grind.bevels[0].front_angle_deg=50 holder=swing \
        settings.stick_out_mm=45 settings.leg_angle_deg=30 tolerance_deg=1
    arris recipe publish bowl-50
    arris recipe set bowl-50 settings.stick_out_mm=46
    arris recipe diff bowl-50
    arris recipe revisions bowl-50
    arris recipe show bowl-50/revisions/1
    arris recipe rollback bowl-50 1

A change is a draft, another revision, until it is published; the name alone means the published one.
` + recordHelp
}

// Help shows how sharpenings are logged.
func (*sharpeningCommands) Help() string {
	return `Examples:

    arris sharpening add kind=regrind tool=bowl-gouge-12 recipe=bowl-50 \
        station=north grinding_minutes=4
    arris sharpening add kind=regrind tool=bowl-gouge-10 corrects=s-4k2 \\
        notes="was the 10 mm one"
    arris sharpening list --order-by 'occur_time desc' --most 10

The log is never changed: a correction is another entry that names the first.
` + recordHelp
}

// Help shows how inspections are logged.
func (*inspectionCommands) Help() string {
	return `Examples:

    arris inspection add subject=wheels/north-fine finding=sound \
        notes="ring test, flanges clean"
    arris inspection list --order-by 'occur_time desc'
    arris station set north inspection_interval_days=7
    arris station list --order-by inspection_due_time
    arris wheel list --filter 'inspection_due_time < "2026-12-01T00:00:00Z"'
    arris station list --filter 'inspect_finding = INSPECTION_FINDING_UNSAFE'

Stations, wheels and holders say what was found last, and with an interval
until when they are to be inspected again.
` + recordHelp
}

// Help shows how gauges are kept.
func (*gaugeCommands) Help() string {
	return `Examples:

    arris gauge create block-45 length_mm=45 location="drawer 1"
    arris gauge list
` + recordHelp
}

// Help shows how shops are kept.
func (*shopCommands) Help() string {
	return `Examples:

    arris shop list
    arris shop create annex display_name="The annex" time_zone=Europe/Berlin
    arris station list --shop annex
` + recordHelp
}
