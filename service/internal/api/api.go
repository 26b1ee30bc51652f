// Package api is the border between the schema and the rules: every method is convert in, call a rule, convert out. Wire types stop
// here.
package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/rpc"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// Grind is the GrindService.
type Grind struct {
	arrisv1.UnimplementedGrindServiceServer
	solver setup.Solver
	turns  Turns
}

// NewGrind makes the GrindService on a shop's records.
func NewGrind(records store.Reader, costly Turns) *Grind {
	return &Grind{solver: setup.Solver{Records: records}, turns: costly}
}

// note tells log and metrics what a call is about, as far as the request says.
func note(ctx context.Context, c setup.Common) {
	about := rpc.Calculation{Support: rpc.AnySupport}
	if c.Rig.Tool.Inline != nil {
		about.Tool = arrisv1.ToolKind(c.Rig.Tool.Inline.Kind)
	}
	rpc.Note(ctx, about)
}

// noteBasis corrects it with what was found behind the names.
func noteBasis(ctx context.Context, b setup.Basis) { rpc.Note(ctx, aboutBasis(b)) }

func aboutBasis(b setup.Basis) rpc.Calculation {
	return rpc.Calculation{Tool: arrisv1.ToolKind(b.ToolKind), Support: supportLabel[b.SupportKind]}
}

var supportLabel = map[shop.SupportKind]rpc.Support{
	shop.AnySupport: rpc.AnySupport, shop.Bar: rpc.Bar, shop.Pocket: rpc.Pocket, shop.Platform: rpc.Platform,
}

// refused puts a rule's own detail into the schema's words.
func refused(err error) error {
	f, ok := fault.As(err)
	if !ok {
		return err
	}
	if detail, ok := f.Detail.(*setup.Refusal); ok {
		copied := *f
		copied.Detail = refusalOut(detail)
		return &copied
	}
	return f
}
