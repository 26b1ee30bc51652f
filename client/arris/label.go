package arris

import (
	"context"
	"fmt"
	"path"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	arrisv1 "arris.example/proto/arris/v1"
)

// labelCommand draws labels.
type labelCommand struct {
	Names    []string  `arg:"" help:"What to label: ids, short ids, or what another system calls it."`
	To       string    `required:"" placeholder:"FILE" predictor:"file" group:"Paper:" help:"The file to write: .pdf with all pages, or .svg, of which further pages go to FILE-2 and so on. A regular file of that name is replaced, whole or not at all."`
	Size     string    `enum:"62x29,89x28,50x30,a4,letter" default:"62x29" placeholder:"SIZE" group:"Paper:" help:"Millimetres: 62x29 (default), 89x28, 50x30; or a sheet of labels: a4 (3 by 8 of 70 x 37), letter (3 by 10 of 66.7 x 25.4)."`
	Start    *int32    `placeholder:"PLACE" group:"Paper:" help:"Of a sheet that was begun, the place that the first label goes to: 1 is the upper left one, counted to the right."`
	Unit     *string   `enum:"mm,inch,both" placeholder:"UNIT" group:"Paper:" help:"Unit of lengths: mm, inch or both."`
	Language string    `placeholder:"TAG" group:"Paper:" help:"Language of labels: en, de or es, with a region where numbers are written as there (es-MX)."`
	Shop     string    `placeholder:"NAME" env:"ARRIS_SHOP" group:"Request:" help:"The shop that names belong to. Default: main."`
	AsOf     moment    `placeholder:"TIME" group:"Request:" help:"As it was then: 2026-11-20, or 2026-11-20T09:00:00Z."`
	Call     callFlags `embed:"" group:"Server:"`
}

// labelSizes are the values of --size.
var labelSizes = map[string]arrisv1.LabelSize{
	"62x29": arrisv1.LabelSize_LABEL_SIZE_62_BY_29, "89x28": arrisv1.LabelSize_LABEL_SIZE_89_BY_28, "50x30": arrisv1.LabelSize_LABEL_SIZE_50_BY_30,
	"a4": arrisv1.LabelSize_LABEL_SIZE_A4_70_BY_37, "letter": arrisv1.LabelSize_LABEL_SIZE_LETTER_66_7_BY_25_4,
}

// labelFormats are what labels are written as, by the file's ending.
var labelFormats = map[string]arrisv1.LabelFormat{".pdf": arrisv1.LabelFormat_LABEL_FORMAT_PDF, ".svg": arrisv1.LabelFormat_LABEL_FORMAT_SVG}

// AfterApply refuses what labels are not written as.
func (c *labelCommand) AfterApply() error {
	if _, known := labelFormats[ending(c.To)]; !known {
		return fmt.Errorf("--to %s: labels are written as PDF or SVG; give it a name that ends in .pdf or .svg", c.To)
	}
	return nil
}

// Run writes labels.
func (c *labelCommand) Run(p *program) error {
	return p.asking(c.Call, looks, func(conn grpc.ClientConnInterface) error {
		ctx, cancel := context.WithTimeout(p.ctx, c.Call.Timeout)
		defer cancel()
		sheets := arrisv1.NewSheetServiceClient(conn)
		req := &arrisv1.RenderLabelRequest{Shop: recordFlags{Shop: c.Shop}.shop(), Size: labelSizes[c.Size], Format: labelFormats[ending(c.To)], Start: c.Start}
		formatFlags{Unit: c.Unit, Language: c.Language}.put(&req.Wording)
		if c.AsOf.said {
			req.AsOfTime = timestamppb.New(c.AsOf.time)
		}
		for _, name := range c.Names {
			found, err := sheets.ResolveCode(ctx, &arrisv1.ResolveCodeRequest{Shop: req.GetShop(), Code: labelled(req.GetShop(), name)})
			if err != nil {
				return err
			}
			if k := found.GetKind(); k == arrisv1.CodeKind_CODE_KIND_RECIPE || k == arrisv1.CodeKind_CODE_KIND_SHEET {
				return wrongUsage("%s is a %s; there are labels for tools, stations, wheels and holders", name, codeKindWords[k])
			}
			req.Names = append(req.Names, found.GetName())
		}
		return writePages(c.To, func(page *int32) ([]byte, error) {
			req.Page = page
			label, err := sheets.RenderLabel(ctx, req)
			return label.GetData(), err
		})
	})
}

// labelled is a name in full where it says its collection: tools/skew-25.
func labelled(shop, name string) string {
	for _, n := range []noun{tools, stations, wheels, holders} {
		if path.Dir(name) == n.collection {
			return shop + "/" + name
		}
	}
	return name
}

// scanCommand tells what a code is of.
type scanCommand struct {
	Code     string    `arg:"" help:"What a scanner typed, or what stands on a label: an address, a short id, an id, or what another system calls it."`
	Output   string    `short:"o" enum:"table,json" default:"table" placeholder:"FORMAT" group:"Answer:" help:"table for people, json as the API has it."`
	Unit     *string   `enum:"mm,inch,both" placeholder:"UNIT" group:"Answer:" help:"Unit of lengths in texts: mm, inch or both."`
	Language string    `placeholder:"TAG" group:"Answer:" help:"Language in which it is told what changed since a sheet was made: en, de or es. The table's own words stay English."`
	Shop     string    `placeholder:"NAME" env:"ARRIS_SHOP" group:"Request:" help:"The shop that it belongs to. Default: main."`
	Call     callFlags `embed:"" group:"Server:"`
}

// codeKindWords are what codes are of, in words.
var codeKindWords = map[arrisv1.CodeKind]string{
	arrisv1.CodeKind_CODE_KIND_TOOL: "tool", arrisv1.CodeKind_CODE_KIND_STATION: "station", arrisv1.CodeKind_CODE_KIND_WHEEL: "wheel",
	arrisv1.CodeKind_CODE_KIND_HOLDER: "holder", arrisv1.CodeKind_CODE_KIND_RECIPE: "recipe", arrisv1.CodeKind_CODE_KIND_SHEET: "sheet",
}

// Run tells what a code is of, and of a sheet what changed since.
func (c *scanCommand) Run(p *program) error {
	p.json = c.Output == "json"
	return p.asking(c.Call, looks, func(conn grpc.ClientConnInterface) error {
		ctx, cancel := context.WithTimeout(p.ctx, c.Call.Timeout)
		defer cancel()
		sheets := arrisv1.NewSheetServiceClient(conn)
		found, err := sheets.ResolveCode(ctx, &arrisv1.ResolveCodeRequest{Shop: recordFlags{Shop: c.Shop}.shop(), Code: c.Code})
		if err != nil {
			return err
		}
		if found.GetSheet() == nil {
			return p.showFound(c.Output, found)
		}
		formatFlags{Unit: c.Unit, Language: c.Language}.put(&found.Sheet.Wording)
		checked, err := sheets.CheckSheet(ctx, found.GetSheet())
		if err != nil {
			return err
		}
		return p.showChecked(c.Output, checked)
	})
}

func (p *program) showFound(format string, found *arrisv1.ResolveCodeResponse) error {
	if format == "json" {
		text, err := jsonText(found)
		return p.print(string(text), err)
	}
	found = cleaned(found)
	v := sheet{screen: p.screen}
	v.heading(codeKindWords[found.GetKind()] + " " + path.Base(found.GetName()))
	v.grid(nil, []table.Row{{"name", found.GetDisplayName()}, {"short id", found.GetShortId()}})
	return p.print(v.text.String(), nil)
}

func (p *program) showChecked(format string, checked *arrisv1.CheckSheetResponse) error {
	if format == "json" {
		text, err := jsonText(checked)
		return p.print(string(text), err)
	}
	checked = cleaned(checked)
	v := sheet{screen: p.screen}
	switch {
	case checked.GetSuperseded():
		v.heading("The sheet is superseded")
	case len(checked.GetChanges()) > 0:
		v.heading("The sheet still holds")
	default:
		v.heading(strings.TrimSuffix(checked.GetText(), "."))
	}
	for _, c := range checked.GetChanges() {
		v.item(c.GetText())
	}
	return p.print(v.text.String(), nil)
}
