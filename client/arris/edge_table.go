package arris

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"

	"arris.example/client/figure"
	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

var edgePointColumns = []column[*arrisv1.EdgePoint]{
	{"along_percent", func(p *arrisv1.EdgePoint) string { return number(p.GetAlongPercent()) }},
	{"along_flute_mm", func(p *arrisv1.EdgePoint) string { return number(p.GetAlongFluteMm()) }},
	{"side_mm", func(p *arrisv1.EdgePoint) string { return number(p.GetSideMm()) }},
	{"back_mm", func(p *arrisv1.EdgePoint) string { return number(p.GetBackMm()) }},
	{"up_mm", func(p *arrisv1.EdgePoint) string { return number(p.GetUpMm()) }},
	{"reached", func(p *arrisv1.EdgePoint) string { return yes(p.GetReached()) }},
	{"wedge_angle_deg", func(p *arrisv1.EdgePoint) string { return optional(p.WedgeAngleDeg) }},
	{"expanded_uncertainty_deg", func(p *arrisv1.EdgePoint) string { return optional(p.ExpandedUncertaintyDeg) }},
	{"monte_carlo", func(p *arrisv1.EdgePoint) string { return yes(p.GetMonteCarlo()) }},
	{"axis_angle_deg", func(p *arrisv1.EdgePoint) string { return optional(p.AxisAngleDeg) }},
	{"roll_deg", func(p *arrisv1.EdgePoint) string { return optional(p.RollDeg) }},
	{"yaw_deg", func(p *arrisv1.EdgePoint) string { return optional(p.YawDeg) }},
	{"pitch_deg", func(p *arrisv1.EdgePoint) string { return optional(p.PitchDeg) }},
	{"lean_deg", func(p *arrisv1.EdgePoint) string { return optional(p.LeanDeg) }},
	{"contact_angle_deg", func(p *arrisv1.EdgePoint) string { return optional(p.ContactAngleDeg) }},
	{"contact_height_mm", func(p *arrisv1.EdgePoint) string { return optional(p.ContactHeightMm) }},
	{"contact_aside_mm", func(p *arrisv1.EdgePoint) string { return optional(p.ContactAsideMm) }},
	{"margin_count", func(p *arrisv1.EdgePoint) string { return number(p.GetMarginCount()) }},
	{"ill_conditioned", func(p *arrisv1.EdgePoint) string { return yes(p.GetIllConditioned()) }},
	{"undercut", func(p *arrisv1.EdgePoint) string { return undercutWord(p.GetUndercut()) }},
	{"first_land_width_mm", func(p *arrisv1.EdgePoint) string {
		if len(p.GetLands()) == 0 {
			return ""
		}
		return optional(p.GetLands()[0].WidthMm)
	}},
}

func undercutWord(u arrisv1.Undercut) string {
	if u == arrisv1.Undercut_UNDERCUT_UNSPECIFIED {
		return ""
	}
	return strings.ToLower(strings.TrimPrefix(u.String(), "UNDERCUT_"))
}

// wholeEdge says what is ground along the whole edge: in a few numbers, at some of its places, as a plot, and what is wrong.
func (v *sheet) wholeEdge() {
	e := v.found.edge
	if e == nil {
		return
	}
	v.heading("Whole edge")
	v.paragraph(sentence(e.GetText()))
	v.edgeSummary(e.GetSummary())
	v.edgeFindings(e.GetFindings())
	if e.GetWedgePlot() != nil {
		v.edgePlot(e.GetWedgePlot())
	}
	v.edgePoints(e.GetPoints())
	v.edgeSteel(e.GetSteel())
}

func (v *sheet) edgeSummary(s *arrisv1.EdgeSummary) {
	if s == nil {
		return
	}
	v.paragraph(sentence(s.GetText()))
	var rows []table.Row
	add := func(label string, deg *float64, note string) {
		if deg != nil {
			rows = append(rows, table.Row{label, v.styled(bold, degreesText(deg)), note})
		}
	}
	add("nose", s.NoseWedgeAngleDeg, "wedge angle: between ground face and flute")
	both := s.RightWedgeAngleDeg != nil && s.LeftWedgeAngleDeg != nil && math.Abs(s.GetSidesDifferDeg()) < shownAlike
	add("least", s.LeastWedgeAngleDeg, alongWords(s.GetLeastAtPercent(), both))
	add("most", s.MostWedgeAngleDeg, alongWords(s.GetMostAtPercent(), both))
	switch {
	case s.LeftWedgeAngleDeg == nil && s.RightWedgeAngleDeg == nil:
		rows = append(rows, table.Row{"wings' ends", "not reached", ""})
	case both:
		add("wings' ends", s.RightWedgeAngleDeg, "both sides alike")
	default:
		rows = append(rows,
			table.Row{"+side wing", v.styled(bold, reachedText(s.RightWedgeAngleDeg)), "at its end; " + plusSide},
			table.Row{"−side wing", v.styled(bold, reachedText(s.LeftWedgeAngleDeg)), "at its end"})
		differ := math.Abs(s.GetSidesDifferDeg())
		add("sides differ", &differ, "at most")
	}
	lean := s.GetMostLeanDeg()
	rows = append(rows, table.Row{"lean", degreesText(&lean), "of the tool at most, from where it stood at the nose"})
	if s.GetReachedPercent() < 100 {
		rows = append(rows, table.Row{"reached", unit.FormatFixed(s.GetReachedPercent(), 0) + " %", "of the edge"})
	}
	rows = append(rows, table.Row{"wing", v.lengthText(s.GetWingLengthMm(), 1), "from the nose to its end, along the flute's section"})
	v.grid(nil, rows)
}

const plusSide = "+side is on your left when you face the wheel"

// reachedText is an angle where the edge is reached.
func reachedText(deg *float64) string {
	if deg == nil {
		return "not reached"
	}
	return degreesText(deg)
}

// shownAlike is a difference that no table shows.
const shownAlike = 0.05

// alongWords say where on the edge something is, on both wings where those are alike.
func alongWords(percent float64, both bool) string {
	share := math.Abs(percent)
	if share < 0.5 {
		return "at the nose"
	}
	place := "at the end of "
	if share < 99.5 {
		place = unit.FormatFixed(share, 0) + " % along "
	}
	switch {
	case both:
		return place + "the wings"
	case percent < 0:
		return place + "the −side wing"
	}
	return place + "the +side wing"
}

func (v *sheet) edgeFindings(findings []*arrisv1.EdgeFinding) {
	if len(findings) == 0 {
		return
	}
	v.heading("Along the edge")
	var rows []table.Row
	told := map[string]bool{} // what helps in several places is told once
	for _, f := range findings {
		severity := severityWords[f.GetSeverity()]
		words := []string{sentence(f.GetText())}
		for _, way := range f.GetWays() {
			if text := wayText(way); !told[text] {
				told[text] = true
				words = append(words, "would work: "+text)
			}
		}
		rows = append(rows, table.Row{v.styled(severity.style, severity.word), strings.Join(words, "\n")})
	}
	v.grid(nil, rows)
}

// edgePlot draws the angles along the edge.
func (v *sheet) edgePlot(plot *arrisv1.EdgePlot) {
	var drawn strings.Builder
	options := figure.TerminalOptions{Columns: v.columns - indent, Rows: plotRows, ASCII: v.ascii}
	if figure.PlotTerminal(&drawn, plot, options) != nil {
		return // all of its numbers stand in the table as well
	}
	v.text.WriteByte('\n')
	for l := range strings.Lines(drawn.String()) {
		v.text.WriteString(strings.TrimRight(strings.Repeat(" ", indent)+l, " \n") + "\n")
	}
}

const plotRows = 12

// edgePoints are a few places along the edge.
func (v *sheet) edgePoints(points []*arrisv1.EdgePoint) {
	some := tellingPoints(points)
	if len(some) == 0 {
		return
	}
	v.heading("At some places")
	doubted := slices.ContainsFunc(some, func(p *arrisv1.EdgePoint) bool { return p.ExpandedUncertaintyDeg != nil })
	header, right := table.Row{"along", "wedge angle"}, []int{1, 2, 3, 4, 5}
	if doubted {
		header, right = append(header, "±"), append(right, 6)
	}
	header = append(header, "to the axis", "lean", "roll", "")
	var rows []table.Row
	for _, p := range some {
		row := table.Row{percentText(p.GetAlongPercent())}
		row = append(row, v.styled(bold, reachedText(p.WedgeAngleDeg)))
		if doubted {
			row = append(row, degreesText(p.ExpandedUncertaintyDeg))
		}
		rows = append(rows, append(row, degreesText(p.AxisAngleDeg), degreesText(p.LeanDeg), minus(degreesText(p.RollDeg)), pointNote(p)))
	}
	v.grid(header, rows, right...)
	v.paragraph("Along: % of the wing; " + plusSide + ". With -o csv all " + strconv.Itoa(len(points)) + " places.")
}

func percentText(v float64) string {
	if math.Abs(v) < 0.5 {
		return "nose"
	}
	return minus(unit.FormatFixed(v, 0)) + " %"
}

// minus is a number with the sign that the plot has.
func minus(text string) string { return strings.Replace(text, "-", "−", 1) }

// pointNote is what to mind at a place.
func pointNote(p *arrisv1.EdgePoint) string {
	var say []string
	if p.GetReached() && p.GetIllConditioned() {
		say = append(say, "ill-conditioned")
	}
	switch p.GetUndercut() {
	case arrisv1.Undercut_UNDERCUT_EDGE:
		say = append(say, "cuts beside it")
	case arrisv1.Undercut_UNDERCUT_ARC:
		say = append(say, "cuts the face behind it")
	case arrisv1.Undercut_UNDERCUT_ELSEWHERE:
		say = append(say, "cuts the edge elsewhere")
	}
	if p.GetMonteCarlo() {
		say = append(say, "± by trials")
	}
	return strings.Join(say, "; ")
}

// tellingPoints are the nose, the ends and the quarters between, and where the angle is least or most or where reaching ends.
func tellingPoints(points []*arrisv1.EdgePoint) []*arrisv1.EdgePoint {
	if len(points) == 0 {
		return nil
	}
	chosen := map[int]bool{}
	for _, percent := range []float64{-100, -75, -50, -25, 0, 25, 50, 75, 100} {
		chosen[nearestPoint(points, percent)] = true
	}
	least, most := -1, -1
	for i, p := range points {
		if i > 0 && p.GetReached() != points[i-1].GetReached() && len(chosen) < mostPlaces {
			chosen[i-1], chosen[i] = true, true
		}
		if p.WedgeAngleDeg == nil {
			continue
		}
		if least < 0 || p.GetWedgeAngleDeg() < points[least].GetWedgeAngleDeg() {
			least = i
		}
		if most < 0 || p.GetWedgeAngleDeg() > points[most].GetWedgeAngleDeg() {
			most = i
		}
	}
	for _, i := range []int{least, most} {
		if i >= 0 && !alike(points, i) {
			chosen[i] = true
		}
	}
	var some []*arrisv1.EdgePoint
	for i, p := range points {
		if chosen[i] {
			some = append(some, p)
		}
	}
	return some
}

// mostPlaces keeps a table short whatever happens along the edge.
const mostPlaces = 12

// alike tells whether a table shows the same angle at the nose or an end, so that this place says nothing new.
func alike(points []*arrisv1.EdgePoint, at int) bool {
	for _, i := range []int{0, len(points) / 2, len(points) - 1} {
		if points[i].WedgeAngleDeg != nil && math.Abs(points[i].GetWedgeAngleDeg()-points[at].GetWedgeAngleDeg()) < shownAlike {
			return true
		}
	}
	return false
}

func nearestPoint(points []*arrisv1.EdgePoint, percent float64) int {
	best := 0
	for i, p := range points {
		if cmp.Less(math.Abs(p.GetAlongPercent()-percent), math.Abs(points[best].GetAlongPercent()-percent)) {
			best = i
		}
	}
	return best
}

func (v *sheet) edgeSteel(s *arrisv1.EdgeSteel) {
	if s == nil {
		return
	}
	v.heading("Steel")
	v.paragraph(sentence(s.GetText()))
	var rows []table.Row
	if s.RemovedMm3 != nil {
		removed := unit.FormatFixed(s.GetRemovedMm3(), 0) + " mm³"
		if s.RemovedG != nil {
			removed += ", " + unit.FormatFixed(s.GetRemovedG(), 1) + " g"
		}
		rows = append(rows, table.Row{"removed", removed, "from the bar cut square at the nose"})
	}
	if s.SharpeningsLeft != nil {
		rows = append(rows, table.Row{"lasts", strconv.Itoa(int(s.GetSharpeningsLeft())) + " sharpenings", ""})
	}
	if len(rows) > 0 {
		v.grid(nil, rows)
	}
}
