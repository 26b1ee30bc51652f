package arris

import (
	"cmp"
	"context"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"google.golang.org/protobuf/proto"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

// Run maps.
func (c *mapCommand) Run(p *program) error {
	req, err := c.request(p.In)
	if err != nil {
		return err
	}
	return p.calculate(c.Out.whole(), func(ctx context.Context, grind arrisv1.GrindServiceClient) (proto.Message, error) {
		return grind.MapEdge(ctx, req)
	})
}

func (c *mapCommand) request(stdin io.Reader) (*arrisv1.MapEdgeRequest, error) {
	req := &arrisv1.MapEdgeRequest{}
	if err := c.Source.read(stdin, req); err != nil {
		return nil, err
	}
	c.Source.put(&req.Shop, &req.AsOfTime)
	c.Out.Format.put(&req.Wording)
	if c.Recipe != "" {
		req.Recipe = proto.String(fullName(req.Shop+"/recipes", c.Recipe))
	}
	if c.Gaps.axis != nil {
		req.WheelGap = c.Gaps.axis
	}
	if c.StickOuts.axis != nil {
		req.StickOut = c.StickOuts.axis
	}
	if c.Legs.axis != nil {
		req.Leg = c.Legs.axis
	}
	if err := c.Shape.put(&req.Edge, stdin); err != nil {
		return nil, err
	}
	return req, putSwungRig(c.Rig, c.Swung, &req.Rig, req.Shop)
}

var cellColumns = []column[*arrisv1.EdgeCell]{
	{"stick_out_mm", func(c *arrisv1.EdgeCell) string { return number(c.GetStickOutMm()) }},
	{"leg_angle_deg", func(c *arrisv1.EdgeCell) string { return number(c.GetLegAngleDeg()) }},
	{"wheel_gap_mm", func(c *arrisv1.EdgeCell) string { return number(c.GetWheelGapMm()) }},
	{"feasible", func(c *arrisv1.EdgeCell) string { return yes(c.GetTrouble() == "") }},
	{"trouble", func(c *arrisv1.EdgeCell) string { return harmless(c.GetTrouble()) }},
	{"nose_angle_deg", func(c *arrisv1.EdgeCell) string { return optional(c.NoseAngleDeg) }},
	{"wing_angle_deg", func(c *arrisv1.EdgeCell) string { return optional(c.WingAngleDeg) }},
}

// troubles are what keeps an edge from being ground: the letter of a map, and words.
var troubles = []struct{ code, letter, words string }{
	{"", "#", "the whole edge is ground"},
	{"NOSE_UNREACHED", "n", "the nose does not reach the wheel"},
	{"EDGE_ANGLE", "e", "the edge angle is beyond what the shop grinds"},
	{"UNREACHED", "w", "the wings do not reach the wheel"},
	{"ILL_CONDITIONED", "i", "the setting hardly decides the angle"},
	{"UNDERCUT_EDGE", "c", "the wheel cuts into the edge beside the place it grinds"},
	{"UNDERCUT_ARC", "f", "the wheel cuts into the face between edge and heel"},
	{"UNDERCUT_ELSEWHERE", "o", "the wheel cuts into another part of the edge"},
	{"LEAN_TOO_FAR", "l", "the tool would have to lean too far"},
	{"BEYOND_TRAVEL", "t", "the support does not go there"},
	{"STICK_OUT_TOO_LONG", "s", "the tool is not that long"},
	{"LEG_OUT_OF_RANGE", "r", "the leg does not go there"},
	{"OFF_WHEEL", "x", "the edge leaves the wheel's side"},
	{"WEDGE_TOO_KEEN", "k", "the wings get too keen"},
}

// unknownTrouble stands for what a newer server says.
const unknownTrouble = "?"

func troubleLetter(code string) string {
	for _, t := range troubles {
		if t.code == code {
			return t.letter
		}
	}
	return unknownTrouble
}

// troubleWords are a code in words; of an empty one those given, of one that is not known itself.
func troubleWords(code, none string) string {
	if code == "" {
		return none
	}
	for _, t := range troubles {
		if t.code == code {
			return t.words
		}
	}
	return code
}

// edgeMap shows a grid of gaps and stick-outs for every leg, the angles it spans, and why the rest does not work.
func (v *sheet) edgeMap(a *arrisv1.MapEdgeResponse) {
	v.heading("Map of settings")
	v.paragraph(sentence(a.GetText()))
	if a.LeastNoseAngleDeg != nil {
		v.grid(nil, []table.Row{
			{"nose", degreesText(a.LeastNoseAngleDeg) + " to " + degreesText(a.MostNoseAngleDeg), "wedge angle, over the settings that work"},
			{"wings", degreesText(a.LeastWingAngleDeg) + " to " + degreesText(a.MostWingAngleDeg), "at the keener end"},
		})
	}
	for _, deg := range legsOf(a.GetCells()) {
		v.heading("Leg " + unit.FormatFixed(deg, 1) + "°: stick-outs across, wheel gaps down")
		v.legMap(slices.DeleteFunc(slices.Clone(a.GetCells()), func(c *arrisv1.EdgeCell) bool { return c.GetLegAngleDeg() != deg }))
	}
	v.mapLegend(a.GetCells())
	v.based(a.GetBasis())
}

// legsOf are the legs of a map, ascending.
func legsOf(cells []*arrisv1.EdgeCell) []float64 {
	return valuesOf(cells, (*arrisv1.EdgeCell).GetLegAngleDeg)
}

func valuesOf(cells []*arrisv1.EdgeCell, of func(*arrisv1.EdgeCell) float64) []float64 {
	var list []float64
	for _, c := range cells {
		list = append(list, of(c))
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// legMap is the grid of one leg. More stick-outs than the screen is wide for go on below.
func (v *sheet) legMap(cells []*arrisv1.EdgeCell) {
	const numberWidth = 5
	sticks, gaps := valuesOf(cells, (*arrisv1.EdgeCell).GetStickOutMm), valuesOf(cells, (*arrisv1.EdgeCell).GetWheelGapMm)
	at := map[[2]float64]string{}
	for _, c := range cells {
		at[[2]float64{c.GetStickOutMm(), c.GetWheelGapMm()}] = troubleLetter(c.GetTrouble())
	}
	fit := max(1, (v.columns-indent-numberWidth-columnGap)/(numberWidth+columnGap))
	for some := range slices.Chunk(sticks, fit) {
		header := table.Row{"mm"}
		right := []int{1}
		for i, s := range some {
			header, right = append(header, gridNumber(s)), append(right, i+2)
		}
		var rows []table.Row
		for _, g := range gaps {
			row := table.Row{gridNumber(g)}
			for _, s := range some {
				row = append(row, at[[2]float64{s, g}])
			}
			rows = append(rows, row)
		}
		v.grid(header, rows, right...)
	}
}

// gridNumber is a length of a map's edges, to a tenth at most.
func gridNumber(mm float64) string { return strings.TrimSuffix(unit.FormatFixed(mm, 1), ".0") }

// mapLegend says what the letters of this map mean, and how often each is there.
func (v *sheet) mapLegend(cells []*arrisv1.EdgeCell) {
	counts, codes := map[string]int{}, map[string]bool{}
	for _, c := range cells {
		counts[troubleLetter(c.GetTrouble())]++
		codes[c.GetTrouble()] = true
	}
	v.heading("Means")
	var rows []table.Row
	for _, t := range troubles {
		if n := counts[t.letter]; n > 0 {
			rows = append(rows, table.Row{t.letter, strconv.Itoa(n), t.words})
		}
	}
	if n := counts[unknownTrouble]; n > 0 {
		var others []string
		for code := range codes {
			if troubleLetter(code) == unknownTrouble {
				others = append(others, code)
			}
		}
		slices.SortFunc(others, cmp.Compare)
		rows = append(rows, table.Row{unknownTrouble, strconv.Itoa(n), strings.Join(others, ", ")})
	}
	if len(rows) > 0 {
		v.grid(nil, rows, 2)
	}
}

// roundTo rounds to so many parts of one.
func roundTo(v, parts float64) float64 { return math.Round(v*parts) / parts }
