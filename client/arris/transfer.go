package arris

import (
	"context"
	"io"
	"strconv"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"google.golang.org/protobuf/proto"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

// Run carries a set-up over.
func (c *transferCommand) Run(p *program) error {
	req, err := c.request(p.In)
	if err != nil {
		return err
	}
	p.speech = speech{transferFields, (*arrisv1.Way).GetText} // here or there: words fit both
	return p.calculate(c.Out, func(ctx context.Context, grind arrisv1.GrindServiceClient) (proto.Message, error) {
		return grind.TransferSetup(ctx, req)
	})
}

func (c *transferCommand) request(stdin io.Reader) (*arrisv1.TransferSetupRequest, error) {
	req := &arrisv1.TransferSetupRequest{}
	if err := c.Ask.Source.read(stdin, req); err != nil {
		return nil, err
	}
	from := made(&req.From)
	c.Choice.put(from)
	if err := c.Ask.putSolve(c.Out.Answer, from); err != nil {
		return nil, err
	}
	c.Given.put(&req.Given)
	c.Blunter.over(&req.BlunterDeg)
	return req, c.To.put(&req.To, from.Shop)
}

// transferFields tells the fields there by their flags, which begin with --to-; those here are those of solve.
func transferFields(path string) string {
	if here, ok := strings.CutPrefix(path, "from."); ok {
		return fieldText(here)
	}
	there, isRig := strings.CutPrefix(path, "to.")
	if isRig {
		there = "rig." + there
	}
	switch flag := flagOf(there); {
	case flag == "":
		return path
	case isRig || strings.HasPrefix(path, "given."):
		return strings.Replace(flag, "--", "--to-", 1) + " (" + path + ")"
	}
	return fieldText(path)
}

var differenceColumns = []column[*arrisv1.Difference]{
	{"step", func(d *arrisv1.Difference) string { return strconv.Itoa(int(d.GetStep()) + 1) }},
	{"quantity", func(d *arrisv1.Difference) string { return harmless(d.GetQuantity()) }},
	{"unit", func(d *arrisv1.Difference) string { return harmless(d.GetUnit()) }},
	{"from", func(d *arrisv1.Difference) string { return number(d.GetFrom()) }},
	{"to", func(d *arrisv1.Difference) string { return number(d.GetTo()) }},
	{"text", func(d *arrisv1.Difference) string { return harmless(d.GetText()) }},
}

// differences are the settings here beside those there.
func (v *sheet) differences() {
	if len(v.found.differences) == 0 {
		return
	}
	v.heading("Against the set-up here")
	var rows []table.Row
	for _, d := range v.found.differences {
		name, known := labels[d.GetQuantity()]
		if !known {
			name = strings.ReplaceAll(d.GetQuantity(), "_", " ")
		}
		if len(v.found.steps) > 1 {
			name = "step " + strconv.Itoa(int(d.GetStep())+1) + ", " + name
		}
		rows = append(rows, table.Row{name, v.quantityText(d.GetFrom(), d.GetUnit()), v.quantityText(d.GetTo(), d.GetUnit()), v.changeText(d)})
	}
	v.grid(table.Row{"", "here", "there", "change"}, rows, 2, 3)
}

func (v *sheet) quantityText(value float64, in string) string {
	if in == "deg" {
		return unit.FormatFixed(value, 1) + "°"
	}
	return v.setText(value, 1)
}

func (v *sheet) changeText(d *arrisv1.Difference) string {
	switch change := d.GetTo() - d.GetFrom(); {
	case change > 0:
		return "+" + v.quantityText(change, d.GetUnit())
	case change < 0:
		return "−" + v.quantityText(-change, d.GetUnit())
	}
	return "the same"
}
