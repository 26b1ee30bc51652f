package arris

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
	"google.golang.org/protobuf/proto"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

// writeTable writes an answer for people: what to set, what it grinds, what to mind, what it rests on.
func (p *program) writeTable(out io.Writer, answer proto.Message, a answerFlags) error {
	v := sheet{screen: p.screen, unit: "mm"}
	if a.Format.Unit != nil {
		v.unit = *a.Format.Unit
	}
	v.answer(answer)
	if _, err := io.WriteString(out, v.text.String()); err != nil {
		return err
	}
	if !a.Draw {
		return nil
	}
	if _, err := io.WriteString(out, "\n"); err != nil {
		return err
	}
	return p.screen.writeDrawing(out, v.found)
}

func (v *sheet) answer(answer proto.Message) {
	switch a := answer.(type) {
	case *arrisv1.MatchGrindResponse:
		v.match(a)
	case *arrisv1.PlanBevelsResponse:
		v.plan(a)
	case *arrisv1.CheckCurveResponse:
		v.curve(a)
	case *arrisv1.PlanRegrindResponse:
		v.regrind(a)
	case *arrisv1.AnalyzeEdgeResponse:
		v.found = findingsOf(a)
		v.settings()
		v.wholeEdge()
		v.cautions(a.GetCautions())
		v.based(a.GetBasis())
	case *arrisv1.MapEdgeResponse:
		v.edgeMap(a)
	case *arrisv1.FindFurthestWingResponse:
		v.furthest(a)
	case *arrisv1.FitFluteResponse:
		v.flute(a)
	default:
		v.found = findingsOf(answer)
		v.settings()
		v.differences()
		v.result()
		v.doubt()
		v.proof()
		v.explanations()
		v.wholeEdge()
		v.cautions(v.found.cautions)
		v.based(v.found.basis)
	}
}

// sheet is the answer being written.
type sheet struct {
	screen
	found findings
	unit  string // of lengths that come without a text of their own: mm, inch, both
	text  strings.Builder
}

func (v *sheet) heading(words string) {
	if v.text.Len() > 0 {
		v.text.WriteByte('\n')
	}
	v.text.WriteString(v.styled(bold, words) + "\n")
}

// paragraph writes text that breaks at the screen's edge, indented.
func (v *sheet) paragraph(words string) {
	for _, l := range strings.Split(text.WrapSoft(words, v.columns-indent), "\n") {
		v.text.WriteString(strings.Repeat(" ", indent) + strings.TrimRight(l, " ") + "\n")
	}
}

// item is a paragraph of a list: what breaks stands under its words, not under the dash.
func (v *sheet) item(words string) {
	dash := "- "
	for _, l := range strings.Split(text.WrapSoft(words, v.columns-indent-len(dash)), "\n") {
		v.text.WriteString(strings.Repeat(" ", indent) + dash + strings.TrimRight(l, " ") + "\n")
		dash = "  "
	}
}

const (
	indent     = 2
	columnGap  = 2
	leastWidth = 16 // of the column that takes what is left
)

// grid writes rows in columns. The last column takes what the others leave, and breaks its lines there.
func (v *sheet) grid(header table.Row, rows []table.Row, right ...int) {
	t := table.NewWriter()
	style := table.StyleDefault
	style.Options = table.OptionsNoBordersAndSeparators
	style.Format.Header = text.FormatDefault
	style.Box.PaddingLeft, style.Box.PaddingRight = "", strings.Repeat(" ", columnGap)
	t.SetStyle(style)
	if header != nil {
		t.AppendHeader(header)
	}
	t.AppendRows(rows)
	columns := len(rows[0])
	left := v.columns - indent
	for c := range columns - 1 {
		widest := 0
		for _, row := range append(rows, header) {
			if c < len(row) {
				widest = max(widest, text.StringWidthWithoutEscSequences(fmt.Sprint(row[c])))
			}
		}
		left -= widest + columnGap
	}
	configs := []table.ColumnConfig{{Number: columns, WidthMax: max(left, leastWidth), WidthMaxEnforcer: wrapped}}
	for _, c := range right {
		configs = append(configs, table.ColumnConfig{Number: c, Align: text.AlignRight, AlignHeader: text.AlignRight})
	}
	t.SetColumnConfigs(configs)
	for _, l := range strings.Split(t.Render(), "\n") {
		v.text.WriteString(strings.TrimRight(strings.Repeat(" ", indent)+l, " ") + "\n")
	}
}

// wrapped breaks each line of a text at a width.
func wrapped(words string, width int) string {
	lines := strings.Split(words, "\n")
	for i, l := range lines {
		lines[i] = text.WrapSoft(l, width)
	}
	return strings.Join(lines, "\n")
}

// settings are the numbered steps, one thing to set each.
func (v *sheet) settings() {
	v.steps(v.title())
}

// steps are the settings under a heading of their own.
func (v *sheet) steps(heading string) {
	v.heading(heading)
	var rows []table.Row
	for i, s := range v.found.steps {
		var before *arrisv1.Step
		if i > 0 {
			before = v.found.steps[i-1]
		}
		for _, a := range v.actions(s, before) {
			rows = append(rows, table.Row{strconv.Itoa(len(rows)+1) + ".", a.what, v.styled(bold, a.to), a.note})
		}
	}
	if len(rows) > 0 {
		v.grid(nil, rows, 1)
	}
}

// title says what is set up, and where.
func (v *sheet) title() string {
	words := "Set up"
	if v.found.predicted {
		words = "Settings"
	}
	b := v.found.basis
	if recipe, _, named := strings.Cut(v.found.shortName(b.GetRecipeRevision()), "/"); named {
		words += ": " + recipe
	}
	if b.GetStation() != "" {
		words += " on " + v.found.shortName(b.GetStation())
	}
	return words
}

// action is one thing to do.
type action struct{ what, to, note string }

// actions are what a step sets, without what stays as in the step before.
func (v *sheet) actions(s, before *arrisv1.Step) []action {
	var list []action
	if turned := turnWords(s, before); turned != "" {
		list = append(list, action{what: turned})
	}
	if place := v.place(s); v.severalPlaces() && (before == nil || place != v.place(before)) {
		list = append(list, action{"at", "", place})
		before = nil // elsewhere nothing stands as it was
	}
	if to := s.GetStickOut().GetText(); to != "" && to != before.GetStickOut().GetText() {
		list = append(list, action{"stick-out", to, ""})
	}
	if to := s.GetLegAngle().GetText(); to != "" && to != before.GetLegAngle().GetText() {
		list = append(list, action{"leg", to, ""})
	}
	support := readings(s.GetSupport())
	if len(support) == 0 {
		return list
	}
	note := v.supportNote(s, support[1:])
	if before != nil && sameReading(support[0], before) {
		return append(list, action{support[0].label, support[0].text, "as it is" + prefixed("; ", v.bevelNote(s))})
	}
	return append(list, action{support[0].label, support[0].text, note})
}

// severalPlaces tells whether a step is ground elsewhere than the others.
func (v *sheet) severalPlaces() bool {
	return slices.ContainsFunc(v.found.steps, func(s *arrisv1.Step) bool { return s.GetBasis() != nil })
}

// place is where a step is ground.
func (v *sheet) place(s *arrisv1.Step) string {
	b := s.GetBasis()
	if b == nil {
		b = v.found.basis
	}
	var say []string
	for _, name := range []string{b.GetStation(), b.GetSupport(), b.GetHolder()} {
		if name != "" {
			say = append(say, v.found.shortName(name))
		}
	}
	return strings.Join(append(say, v.wheelText(b)), ", ")
}

func sameReading(r reading, before *arrisv1.Step) bool {
	all := readings(before.GetSupport())
	return len(all) > 0 && all[0] == r
}

func prefixed(prefix, words string) string {
	if words == "" {
		return ""
	}
	return prefix + words
}

func turnWords(s, before *arrisv1.Step) string {
	switch side := s.GetSide(); {
	case before != nil && side != before.GetSide():
		return "turn the tool over"
	case side == arrisv1.Side_SIDE_UPPER:
		return "lay the tool on its upper face"
	}
	return ""
}

// supportNote says what the setting is for, how to get there, and what the other readings then show.
func (v *sheet) supportNote(s *arrisv1.Step, others []reading) string {
	var say []string
	if note := v.bevelNote(s); note != "" {
		say = append(say, note)
	}
	if to := measuredTo(s.GetSupport()); to != "" {
		say = append(say, to)
	}
	if move := s.GetSupport().GetMove().GetText(); move != "" {
		say = append(say, move)
	}
	var also []string
	for _, r := range others {
		also = append(also, r.label+" "+r.text)
	}
	if len(also) > 0 {
		say = append(say, "= "+strings.Join(also, "; "))
	}
	return strings.Join(say, "\n")
}

// measuredTo is where the distance or height ends that a support is set by.
func measuredTo(s *arrisv1.SupportSetting) string {
	switch s.GetSetBy() {
	case "wheel_gap":
		return s.GetWheelGap().GetMeasuredTo()
	case "face_distance":
		return s.GetFaceDistance().GetMeasuredTo()
	case "height":
		return s.GetHeight().GetMeasuredTo()
	}
	return ""
}

// bevelNote says which bevel a step grinds, where there are several.
func (v *sheet) bevelNote(s *arrisv1.Step) string {
	if v.bevels() == 1 {
		return ""
	}
	return "grinds bevel " + v.bevelName(s)
}

// bevels is how many bevels a side has.
func (v *sheet) bevels() int {
	most := 0
	for _, s := range v.found.steps {
		most = max(most, int(s.GetBevel())+1)
	}
	return most
}

// bevelName is a bevel counted from the edge.
func (v *sheet) bevelName(s *arrisv1.Step) string {
	return placeOf(int(s.GetBevel()), v.bevels())
}

// result is what the settings grind: always the edge angle and the bevel reading, each by its name.
func (v *sheet) result() {
	v.heading("Grinds")
	if len(v.found.steps) == 1 {
		v.oneResult(v.found.steps[0])
	} else if len(v.found.steps) > 1 {
		v.manyResults()
	}
	if v.found.touchFirst > 0 {
		v.paragraph(unit.FormatFixed(v.found.touchFirst, 1) + "° blunter on purpose, so that the wheel touches the edge before the heel.")
	}
}

func (v *sheet) oneResult(s *arrisv1.Step) {
	a := anglesOf(s)
	wanted := ""
	if w := s.GetWantedFrontAngleDeg(); w > 0 && !v.found.predicted {
		wanted = "wanted " + unit.FormatFixed(w, places(a)) + "°"
	}
	rows := []table.Row{{"edge angle", v.styled(bold, angleText(a.GetEdgeAngleDeg(), a)+" "+doubtText(a)), wanted}}
	rows = append(rows, table.Row{"bevel reading", v.styled(bold, readingText(a)), "what a protractor on the bevel shows"})
	if a.BevelWidthMm != nil {
		rows = append(rows, table.Row{"bevel width", v.lengthText(a.GetBevelWidthMm(), 1), v.hollowText(a)})
	}
	v.grid(nil, append(rows, v.jointRows(a)...))
}

// jointRows are both faces together, and along the blade of a skew.
func (v *sheet) jointRows(a *arrisv1.Angles) []table.Row {
	var rows []table.Row
	add := func(label string, value *float64, note string) {
		if value != nil {
			rows = append(rows, table.Row{label, angleText(*value, a), note})
		}
	}
	add("included edge angle", a.IncludedEdgeAngleDeg, "both faces together")
	add("included bevel reading", a.IncludedReadingDeg, "both faces together, as a protractor shows them")
	add("axial edge angle", a.AxialEdgeAngleDeg, "along the blade instead of square to the edge")
	add("edge angle at the corners", a.CornerEdgeAngleDeg, "")
	return rows
}

func (v *sheet) manyResults() {
	header := table.Row{"", "edge angle", "±", "bevel reading", "width"}
	if v.bevels() > 1 {
		header[0], header[1] = "bevel", "angle in front"
	}
	var rows []table.Row
	for _, s := range v.found.steps {
		a := anglesOf(s)
		width := ""
		if a.BevelWidthMm != nil {
			width = v.lengthText(a.GetBevelWidthMm(), 1)
		}
		rows = append(rows, table.Row{v.stepName(s), v.styled(bold, angleText(a.GetEdgeAngleDeg(), a)), doubtText(a), readingText(a), width})
	}
	v.grid(header, rows, 2, 3, 4)
	last := anglesOf(v.found.steps[len(v.found.steps)-1])
	if joint := v.jointRows(last); len(joint) > 0 {
		v.grid(nil, joint)
	}
	if v.bevels() > 1 {
		v.paragraph("The angle in front is the wheel's at the bevel's own front end: of bevel 1 the edge angle. The bevel reading is what a protractor on that bevel shows.")
	} else {
		v.paragraph("The bevel reading is what a protractor on the bevel shows.")
	}
}

func (v *sheet) stepName(s *arrisv1.Step) string {
	side := v.sideName(s.GetSide())
	switch {
	case v.bevels() == 1:
		return side
	case side == "":
		return v.bevelName(s)
	}
	return v.bevelName(s) + ", " + side
}

// sideName is a side for people, who call those of a negative-rake tool by where they lie.
func (v *sheet) sideName(side arrisv1.Side) string {
	negativeRake := slices.ContainsFunc(v.found.steps, func(s *arrisv1.Step) bool { return s.GetSide() == arrisv1.Side_SIDE_UPPER })
	switch {
	case side == arrisv1.Side_SIDE_UPPER:
		return "above the edge"
	case negativeRake:
		return "below the edge"
	case side == arrisv1.Side_SIDE_UNSPECIFIED:
		return ""
	}
	return sideWord(side) + " side"
}

// places are the decimals that mean something beside a doubt.
func places(a *arrisv1.Angles) int {
	if a.GetExpandedUncertaintyDeg() < 0.1 {
		return 2
	}
	return 1
}

func angleText(deg float64, a *arrisv1.Angles) string { return unit.FormatFixed(deg, places(a)) + "°" }

func doubtText(a *arrisv1.Angles) string {
	return "±" + unit.FormatFixed(a.GetExpandedUncertaintyDeg(), places(a)) + "°"
}

func readingText(a *arrisv1.Angles) string {
	if a.BevelReadingDeg == nil {
		return "not known"
	}
	return angleText(a.GetBevelReadingDeg(), a)
}

// lengthText is a length of the answer that comes without a text of its own.
func (v *sheet) lengthText(mm float64, decimals int) string {
	metric := unit.FormatFixed(mm, decimals) + " mm"
	f, err := unit.InchFraction(unit.Length(mm), 64)
	switch {
	case err != nil || v.unit == "mm":
		return metric
	case v.unit == "inch":
		return f.String()
	}
	return metric + " (" + f.String() + ")"
}

// setText is a length that somebody sets: of inches what is beyond a 64th as well, as the answer's own texts have it.
func (v *sheet) setText(mm float64, decimals int) string {
	if f, err := unit.InchFraction(unit.Length(mm), 64); err == nil && v.unit == "inch" {
		return f.Exact()
	}
	return v.lengthText(mm, decimals)
}

func (v *sheet) hollowText(a *arrisv1.Angles) string {
	if a.HollowDepthMm == nil {
		return ""
	}
	return "hollow " + v.smallText(a.HollowDepthMm) + " deep"
}

// smallText is a length too small for fractions of an inch, nothing where there is none.
func (v *sheet) smallText(mm *float64) string {
	switch {
	case mm == nil:
		return ""
	case v.unit == "inch":
		return unit.FormatFixed(unit.Length(*mm).Inches(), 3) + " in"
	}
	return unit.FormatFixed(*mm, 2) + " mm"
}

// doubt says which measurement is worth improving, and with the budget where all of it comes from.
func (v *sheet) doubt() {
	if len(v.found.steps) == 0 {
		return
	}
	last := v.found.steps[len(v.found.steps)-1] // the edge is ground last
	v.doubtOf(last.GetImprove())
	if len(last.GetErrorBudget()) == 0 {
		return
	}
	v.heading("Where ± comes from")
	for _, s := range v.found.steps {
		switch {
		case v.bevels() > 1:
			v.paragraph("bevel " + v.stepName(s) + ":")
		case len(v.found.steps) > 1:
			v.paragraph(v.stepName(s) + ":")
		}
		v.budget(s.GetErrorBudget())
	}
}

func (v *sheet) doubtOf(improve *arrisv1.Improvement) {
	if improve.GetText() != "" {
		v.heading("Measure better")
		v.paragraph(sentence(improve.GetText()))
	}
}

func (v *sheet) budget(items []*arrisv1.BudgetItem) {
	for _, item := range items {
		v.item(item.GetText())
	}
}

func sentence(words string) string {
	if words == "" || strings.ContainsAny(words[len(words)-1:], ".!?") {
		return words
	}
	return words + "."
}

// proof is the forward check of each step by another route.
func (v *sheet) proof() {
	if len(v.found.proof) == 0 {
		return
	}
	v.heading("Checked by another route")
	for _, p := range v.found.proof {
		v.paragraph("- step " + strconv.Itoa(int(p.GetStep())+1) + ": " + unit.FormatFixed(p.GetEdgeAngleDeg(), 4) + "°, " +
			unit.FormatFixed(math.Abs(p.GetDifferenceDeg()), 4) + "° off. " + strings.Join(p.GetLines(), "; "))
	}
}

func (v *sheet) explanations() {
	if len(v.found.explanations) == 0 {
		return
	}
	v.heading("What explains it")
	for _, e := range v.found.explanations {
		v.item(e.GetText())
	}
}

var severityWords = map[arrisv1.Severity]struct{ word, style string }{
	arrisv1.Severity_SEVERITY_NOTE:    {"note", ""},
	arrisv1.Severity_SEVERITY_WARNING: {"warning", yellow},
	arrisv1.Severity_SEVERITY_STOP:    {"STOP", red},
}

func (v *sheet) cautions(cautions []*arrisv1.Caution) {
	if len(cautions) == 0 {
		return
	}
	v.heading("Cautions")
	worstFirst := slices.Clone(cautions)
	slices.SortStableFunc(worstFirst, func(a, b *arrisv1.Caution) int { return cmp.Compare(b.GetSeverity(), a.GetSeverity()) })
	var rows []table.Row
	for _, c := range worstFirst {
		severity := severityWords[c.GetSeverity()]
		words := c.GetText()
		if source := c.GetSource(); source != "" {
			words += " (" + v.found.shortName(source) + ")"
		}
		rows = append(rows, table.Row{v.styled(severity.style, severity.word), words})
	}
	v.grid(nil, rows)
}

// based says what was believed, and since when.
func (v *sheet) based(b *arrisv1.Basis) {
	if b == nil {
		return
	}
	var say []string
	add := func(what, name string) {
		if name != "" {
			say = append(say, what+" "+v.found.shortName(name))
		}
	}
	add("recipe", strings.Replace(b.GetRecipeRevision(), "/revisions/", ", revision ", 1))
	add("station", b.GetStation())
	add("support", b.GetSupport())
	say = append(say, v.wheelText(b))
	add("holder", b.GetHolder())
	add("tool", b.GetTool())
	if b.GetStaleByDeg() != 0 {
		say = append(say, "diameter stale, ±"+unit.FormatFixed(math.Abs(b.GetStaleByDeg()), 1)+"°")
	}
	add("engine", b.GetEngineVersion())
	v.heading("Based on")
	v.paragraph(strings.Join(say, "; "))
}

func (v *sheet) wheelText(b *arrisv1.Basis) string {
	words := strings.TrimSpace("wheel " + v.found.shortName(b.GetWheel()))
	if b.GetWheelDiameterMm() == 0 {
		return words + ", flat"
	}
	words += ", diameter " + v.lengthText(b.GetWheelDiameterMm(), 1)
	if b.WheelMeasureTime == nil {
		return words + ", no date of measurement"
	}
	return words + " measured " + b.GetWheelMeasureTime().AsTime().Format("2006-01-02")
}

// shortName is a name without the shop and the collection, which the word before it says.
func (f findings) shortName(name string) string {
	parts := strings.SplitN(name, "/", 4)
	if len(parts) == 4 && parts[0] == "shops" {
		return parts[3]
	}
	return name
}
