package arris

import (
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	arrisv1 "arris.example/proto/arris/v1"
)

const usualShop = "shops/main"

// mostRequestBytes is more than any request needs; a server takes about as much.
const mostRequestBytes = 1 << 20

// usageError is what is wrong with the command line or with a file it names, and not with what it asks.
type usageError struct{ error }

func wrongUsage(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// asked is what the requests for set-ups and predictions hold, by reference, so that one rule puts flags into either.
type asked struct {
	shop     *string
	rig      **arrisv1.Rig
	settings **arrisv1.Settings
	doubts   **arrisv1.SettingDoubts
	wording  **arrisv1.Wording
	asOf     **timestamppb.Timestamp
	include  *[]arrisv1.Part
	recipe   func(name string)
	grind    func(*arrisv1.Grind)
}

// request is the file's request, or an empty one, with the flags on top.
func (c *solveCommand) request(stdin io.Reader) (*arrisv1.SolveSetupRequest, error) {
	req := &arrisv1.SolveSetupRequest{}
	if err := c.Ask.Source.read(stdin, req); err != nil {
		return nil, err
	}
	if err := c.put(req); err != nil {
		return nil, err
	}
	if err := c.Wing.put(req.GetGrind()); err != nil {
		return nil, err
	}
	return req, putSwungTool(c.Swung, c.Shape, &req.Rig, stdin)
}

func (c *solveCommand) put(req *arrisv1.SolveSetupRequest) error {
	c.Choice.put(req)
	c.Now.put(&req.Now)
	return c.Ask.putSolve(c.Out.Answer, req)
}

func (q *question) putSolve(answer answerFlags, req *arrisv1.SolveSetupRequest) error {
	return q.put(answer, asked{
		shop: &req.Shop, rig: &req.Rig, settings: &req.Given, doubts: &req.Doubts, wording: &req.Wording, asOf: &req.AsOfTime,
		include: &req.Include,
		recipe:  func(name string) { req.GrindSource = &arrisv1.SolveSetupRequest_Recipe{Recipe: name} },
		grind:   func(g *arrisv1.Grind) { req.GrindSource = &arrisv1.SolveSetupRequest_Grind{Grind: g} },
	})
}

func (c *predictCommand) request(stdin io.Reader) (*arrisv1.PredictGrindRequest, error) {
	req := &arrisv1.PredictGrindRequest{}
	if err := c.Ask.Source.read(stdin, req); err != nil {
		return nil, err
	}
	err := c.Ask.put(c.Out.Answer, asked{
		shop: &req.Shop, rig: &req.Rig, settings: &req.Settings, doubts: &req.Doubts, wording: &req.Wording, asOf: &req.AsOfTime,
		include: &req.Include,
		recipe:  func(name string) { req.GrindSource = &arrisv1.PredictGrindRequest_Recipe{Recipe: name} },
		grind:   func(g *arrisv1.Grind) { req.GrindSource = &arrisv1.PredictGrindRequest_Grind{Grind: g} },
	})
	if err != nil {
		return nil, err
	}
	overCount(c.Solid.Triangles, &req.MeshTriangles)
	if c.Solid.Mesh != "" && !slices.Contains(req.Include, arrisv1.Part_PART_MESH) {
		req.Include = append(req.Include, arrisv1.Part_PART_MESH)
	}
	return req, putSwungTool(c.Swung, c.Shape, &req.Rig, stdin)
}

// read fills a request from the file, if one is named.
func (s *source) read(stdin io.Reader, req proto.Message) error {
	if s.File == "" {
		return nil
	}
	from, err := opened(s.File, stdin)
	if err != nil {
		return err
	}
	defer func() { _ = from.Close() }() // only read
	text, err := io.ReadAll(io.LimitReader(from, mostRequestBytes+1))
	switch {
	case err != nil:
		return usageError{err}
	case len(text) > mostRequestBytes:
		return wrongUsage("%s: has more than %d bytes; a request is smaller", fileName(s.File), mostRequestBytes)
	case !utf8.Valid(text):
		return wrongUsage("%s: is not UTF-8; JSON is", fileName(s.File))
	}
	if err := protojson.Unmarshal(text, req); err != nil {
		return wrongUsage("%s: %s", fileName(s.File), jsonTrouble(err, req))
	}
	return nil
}

// opened is a file to read, - being standard input.
func opened(name string, stdin io.Reader) (io.ReadCloser, error) {
	if name == "-" {
		return io.NopCloser(stdin), nil
	}
	file, err := os.Open(name)
	if err != nil {
		return nil, usageError{err}
	}
	return file, nil
}

func fileName(name string) string {
	if name == "-" {
		return "standard input"
	}
	return name
}

var unknownField = regexp.MustCompile(`unknown field "([^"]*)"`)

// jsonTrouble says what is wrong with JSON, and for a field that is not known which ones come near.
func jsonTrouble(err error, req proto.Message) string {
	text := strings.TrimSpace(strings.TrimPrefix(strings.ReplaceAll(err.Error(), "\u00a0", " "), "proto:"))
	if found := unknownField.FindStringSubmatch(text); found != nil {
		text += "; nearest known: " + strings.Join(nearestFields(found[1], req.ProtoReflect().Descriptor()), ", ")
	}
	return text
}

// nearestFields are the three field names most like a wrong one, among all that a request may hold.
func nearestFields(wrong string, of protoreflect.MessageDescriptor) []string {
	var known []string
	collectFields(of, map[protoreflect.FullName]bool{}, func(name string) {
		if name != wrong { // it is known elsewhere
			known = append(known, name)
		}
	})
	return nearest(wrong, known)
}

func collectFields(of protoreflect.MessageDescriptor, seen map[protoreflect.FullName]bool, found func(string)) {
	if seen[of.FullName()] {
		return
	}
	seen[of.FullName()] = true
	for i := range of.Fields().Len() {
		field := of.Fields().Get(i)
		found(field.JSONName())
		if field.Message() != nil && field.Message().ParentFile().Package() == of.ParentFile().Package() {
			collectFields(field.Message(), seen, found)
		}
	}
}

// put puts the flags that were said into the request.
func (q *question) put(answer answerFlags, to asked) error {
	q.Source.put(to.shop, to.asOf)
	if err := q.Wanted.put(*to.shop, to.recipe, to.grind); err != nil {
		return err
	}
	if err := q.Rig.put(to.rig, *to.shop); err != nil {
		return err
	}
	q.Set.put(to.settings)
	q.Doubts.put(to.doubts)
	answer.Format.put(to.wording)
	answer.putParts(to.include)
	return nil
}

func (s *source) put(shop *string, asOf **timestamppb.Timestamp) {
	switch {
	case s.Shop != "":
		*shop = fullName("shops", s.Shop)
	case *shop == "":
		*shop = usualShop
	}
	if s.AsOf.said {
		*asOf = timestamppb.New(s.AsOf.time)
	}
}

func (f formatFlags) put(wording **arrisv1.Wording) {
	if f.Unit != nil {
		made(wording).LengthUnit = lengthUnits[*f.Unit]
	}
	if f.Language != "" {
		made(wording).LanguageCode = f.Language
	}
}

func (a answerFlags) putParts(include *[]arrisv1.Part) {
	for part, said := range map[arrisv1.Part]bool{
		arrisv1.Part_PART_ERROR_BUDGET: a.Budget, arrisv1.Part_PART_PROOF: a.Proof, arrisv1.Part_PART_FIGURE: a.Draw || a.SVG != "",
		arrisv1.Part_PART_EDGE: a.Whole,
	} {
		if said && !slices.Contains(*include, part) {
			*include = append(*include, part)
		}
	}
	slices.Sort(*include)
}

var lengthUnits = map[string]arrisv1.LengthUnit{
	"mm":   arrisv1.LengthUnit_LENGTH_UNIT_MM,
	"inch": arrisv1.LengthUnit_LENGTH_UNIT_INCH,
	"both": arrisv1.LengthUnit_LENGTH_UNIT_BOTH,
}

// made is the message a field points to, which is made where there is none.
func made[T any](field **T) *T {
	if *field == nil {
		*field = new(T)
	}
	return *field
}

// fullName is a name in full: what is not one already lies in the collection.
func fullName(collection, name string) string {
	if strings.HasPrefix(name, "shops/") {
		return name
	}
	return collection + "/" + name
}

// put puts the recipe or the bevels in; with neither what the request has stays.
func (w wanted) put(shop string, recipe func(string), grind func(*arrisv1.Grind)) error {
	bevels, err := w.Grind.bevels(shop)
	if err != nil {
		return err
	}
	if w.Recipe != "" && (len(bevels) > 0 || w.Grind.Upper.wanted != nil) {
		return wrongUsage("the recipe %s and bevels by --edge, --bevel or --upper: say one or the other", w.Recipe)
	}
	if len(bevels) == 0 && w.Grind.Upper.wanted != nil {
		return wrongUsage("--upper is the bevel above the edge: say the one below it by --edge or --bevel")
	}
	if w.Recipe != "" {
		recipe(fullName(shop+"/recipes", w.Recipe))
	}
	if len(bevels) > 0 {
		grind(&arrisv1.Grind{Bevels: bevels, UpperBevel: w.Grind.Upper.wanted})
	}
	return nil
}

func (g grindFlags) bevels(shop string) ([]*arrisv1.Bevel, error) {
	if g.Edge.said {
		return []*arrisv1.Bevel{{Angle: &arrisv1.Bevel_FrontAngleDeg{FrontAngleDeg: g.Edge.deg}}}, nil
	}
	return bevelsOf(g.Bevel, shop)
}

// bevelsOf are bevels as they were typed, with the places they are ground at if those are their own.
func bevelsOf(said []bevel, shop string) ([]*arrisv1.Bevel, error) {
	var list []*arrisv1.Bevel
	for _, b := range said {
		if err := b.rig.put(&b.wanted.Rig, shop); err != nil {
			return nil, err
		}
		b.given.put(&b.wanted.Given)
		list = append(list, b.wanted)
	}
	return list, nil
}

func (r rigFlags) put(field **arrisv1.Rig, shop string) error {
	if r.Station != "" {
		made(field).StationSource = &arrisv1.Rig_Station{Station: fullName(shop+"/stations", r.Station)}
	}
	if r.Support != "" {
		made(field).Support = r.Support
	}
	r.putWheel(field, shop)
	r.putHolder(field, shop)
	return r.putTool(field, shop)
}

// putHolder puts the holder in. Half a pivot goes on top of a pivot that the file has.
func (r rigFlags) putHolder(field **arrisv1.Rig, shop string) {
	switch {
	case r.PivotBehind.said || r.PivotBelow.said:
		pivot := made(field).GetInlineHolder().GetPivot()
		if pivot == nil {
			pivot = &arrisv1.BarePivot{}
			holder := &arrisv1.Holder{Kind: &arrisv1.Holder_Pivot{Pivot: pivot}}
			(*field).HolderSource = &arrisv1.Rig_InlineHolder{InlineHolder: holder}
		}
		r.PivotBehind.over(&pivot.BehindMm)
		r.PivotBelow.over(&pivot.BelowMm)
	case r.Holder == "none":
		holder := &arrisv1.Holder{Kind: &arrisv1.Holder_None{None: &arrisv1.NoHolder{}}}
		made(field).HolderSource = &arrisv1.Rig_InlineHolder{InlineHolder: holder}
	case r.Holder != "":
		made(field).HolderSource = &arrisv1.Rig_Holder{Holder: fullName(shop+"/holders", r.Holder)}
	}
}

func (r rigFlags) putWheel(field **arrisv1.Rig, shop string) {
	switch w := r.Wheel; {
	case w.name != "":
		made(field).WheelSource = &arrisv1.Rig_Wheel{Wheel: fullName(shop+"/wheels", w.name)}
	case w.flat:
		flat := &arrisv1.Wheel{Shape: &arrisv1.Wheel_Flat{Flat: &arrisv1.FlatAbrasive{}}}
		made(field).WheelSource = &arrisv1.Rig_InlineWheel{InlineWheel: flat}
	case w.diameter.said:
		round := &arrisv1.Wheel{Shape: &arrisv1.Wheel_DiameterMm{DiameterMm: w.diameter.mm}}
		made(field).WheelSource = &arrisv1.Rig_InlineWheel{InlineWheel: round}
	}
}

// putTool puts the tool in. What is described goes on top of a tool that the file describes; a named tool is not described as
// well, for which would count?
func (r rigFlags) putTool(field **arrisv1.Rig, shop string) error {
	described := r.Kind != nil || r.Steel.said || r.Thickness.said || r.EdgeToSide.said || r.FluteRadius.said || r.EdgeBelow.said
	switch {
	case described && r.Tool != "":
		return wrongUsage("--tool names a tool, and --kind, --steel, --thickness and the like describe one: say one or the other")
	case r.Tool != "":
		made(field).ToolSource = &arrisv1.Rig_Tool{Tool: fullName(shop+"/tools", r.Tool)}
	case described:
		tool := made(field).GetInlineTool()
		if tool == nil {
			tool = &arrisv1.Tool{}
			(*field).ToolSource = &arrisv1.Rig_InlineTool{InlineTool: tool}
		}
		if r.Kind != nil {
			tool.Kind = toolKind(*r.Kind)
		}
		r.Steel.over(&tool.SteelUnderFluteMm)
		r.Thickness.over(&tool.BladeThicknessMm)
		r.EdgeToSide.over(&tool.EdgeToSideDeg)
		r.FluteRadius.over(&tool.FluteRadiusMm)
		r.EdgeBelow.over(&tool.EdgeBelowTopMm)
	}
	return nil
}

func toolKind(word string) arrisv1.ToolKind {
	return arrisv1.ToolKind(arrisv1.ToolKind_value["TOOL_KIND_"+enumWord(word)])
}

// put puts the settings that were said in place of those there.
func (s settingFlags) put(field **arrisv1.Settings) {
	if s.StickOut.said {
		s.StickOut.over(&made(field).StickOutMm)
	}
	switch {
	case s.Leg.position != "":
		made(field).Leg = &arrisv1.Settings_LegPosition{LegPosition: s.Leg.position}
	case s.Leg.angle.said:
		made(field).Leg = &arrisv1.Settings_LegAngleDeg{LegAngleDeg: s.Leg.angle.deg}
	}
	switch {
	case s.Gap.said:
		made(field).Support = &arrisv1.Settings_WheelGapMm{WheelGapMm: s.Gap.mm}
	case s.GapFar.said:
		made(field).Support = &arrisv1.Settings_WheelGapFarMm{WheelGapFarMm: s.GapFar.mm}
	case s.Slide.said:
		made(field).Support = &arrisv1.Settings_SlideMm{SlideMm: s.Slide.mm}
	case s.Axle.said:
		made(field).Support = &arrisv1.Settings_PivotToAxleMm{PivotToAxleMm: s.Axle.mm}
	case s.Face.said:
		made(field).Support = &arrisv1.Settings_FaceDistanceMm{FaceDistanceMm: s.Face.mm}
	case s.Height.said:
		made(field).Support = &arrisv1.Settings_HeightMm{HeightMm: s.Height.mm}
	case s.Tilt.said:
		made(field).Support = &arrisv1.Settings_PlatformTiltDeg{PlatformTiltDeg: s.Tilt.deg}
	case s.Platform.said:
		made(field).Support = &arrisv1.Settings_PlatformToAxleMm{PlatformToAxleMm: s.Platform.mm}
	}
}

func (d doubtFlags) put(field **arrisv1.SettingDoubts) {
	if d.StickOut.doubt != nil {
		made(field).StickOut = d.StickOut.doubt
	}
	if d.Support.doubt != nil {
		made(field).Support = d.Support.doubt
	}
	if d.Leg.doubt != nil {
		made(field).Leg = d.Leg.doubt
	}
	if d.Tilt.doubt != nil {
		made(field).Tilt = d.Tilt.doubt
	}
}

// put puts what may be chosen into a request.
func (c *choiceFlags) put(req *arrisv1.SolveSetupRequest) {
	if len(c.Free) > 0 {
		req.Free = nil
		for _, word := range c.Free {
			req.Free = append(req.Free, freeSetting(word))
		}
	}
	if c.Step.said {
		c.Step.over(&made(&req.Rounding).LengthStepMm)
	}
	if c.AngleStep.said {
		c.AngleStep.over(&made(&req.Rounding).AngleStepDeg)
	}
	if len(c.Block) > 0 {
		made(&req.Rounding).BlocksMm = nil
		for _, block := range c.Block {
			req.Rounding.BlocksMm = append(req.Rounding.BlocksMm, block.mm)
		}
	}
	switch {
	case c.Touch.sized:
		req.TouchFirst = &arrisv1.SolveSetupRequest_TouchFirstSized{TouchFirstSized: true}
	case c.Touch.offset.said:
		req.TouchFirst = &arrisv1.SolveSetupRequest_TouchFirstDeg{TouchFirstDeg: c.Touch.offset.deg}
	}
}

// freeSetting is what a word frees: stick-out is FREE_SETTING_STICK_OUT.
func freeSetting(word string) arrisv1.FreeSetting {
	return arrisv1.FreeSetting(arrisv1.FreeSetting_value["FREE_SETTING_"+enumWord(word)])
}

// enumWord is a word as the API's lists spell it, without their prefix.
func enumWord(word string) string { return strings.ToUpper(strings.ReplaceAll(word, "-", "_")) }
