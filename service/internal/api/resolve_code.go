package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/code"
	"arris.example/service/internal/rpc"
	"arris.example/service/internal/store"
)

// codeKinds are what codes are of, by collection.
var codeKinds = map[string]arrisv1.CodeKind{
	"tools": arrisv1.CodeKind_CODE_KIND_TOOL, "stations": arrisv1.CodeKind_CODE_KIND_STATION, "wheels": arrisv1.CodeKind_CODE_KIND_WHEEL,
	"holders": arrisv1.CodeKind_CODE_KIND_HOLDER, "recipes": arrisv1.CodeKind_CODE_KIND_RECIPE,
}

// ResolveCode tells what a scanned or typed code is of.
func (s *Sheets) ResolveCode(ctx context.Context, req *arrisv1.ResolveCodeRequest) (*arrisv1.ResolveCodeResponse, error) {
	found, err := code.Resolve(ctx, s.store, req.GetShop(), req.GetCode())
	if err != nil {
		return nil, refused(err)
	}
	if found.Sheet != nil {
		held := heldOut(*found.Sheet)
		return &arrisv1.ResolveCodeResponse{Kind: arrisv1.CodeKind_CODE_KIND_SHEET, Name: found.Sheet.Recipe, Sheet: held}, rpc.Check(ctx, "code", held)
	}
	r := found.Record
	return &arrisv1.ResolveCodeResponse{
		Kind: codeKinds[store.KindOf(r.Name)], Name: r.Name, DisplayName: r.DisplayName, ShortId: code.ShortID(r.Name),
	}, nil
}
