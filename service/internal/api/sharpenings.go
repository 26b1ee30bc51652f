package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/records"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

var sharpenings = &resource[*arrisv1.Sharpening, shop.Sharpening]{
	kind: records.Sharpenings, field: "sharpening", in: sharpeningIn, out: sharpeningOut,
	lists: withTimes(columns{
		"kind":       listed(store.ByClass, arrisv1.SharpeningKind(0).Descriptor(), nil),
		"station":    {Column: store.ByStation},
		"wheel":      {Column: store.ByWheel},
		"tool":       {Column: store.ByTool},
		"recipe":     {Column: store.ByRecipe},
		"occur_time": {Column: store.ByOccurred},
	}),
}

// CreateSharpening keeps a new sharpening.
func (s *Sharpenings) CreateSharpening(ctx context.Context, req *arrisv1.CreateSharpeningRequest) (*arrisv1.Sharpening, error) {
	return sharpenings.create(ctx, s.keep, req, req.GetParent(), req.GetSharpeningId(), req.GetSharpening())
}

// BatchCreateSharpenings keeps many new sharpenings, all or none.
func (s *Sharpenings) BatchCreateSharpenings(ctx context.Context, req *arrisv1.BatchCreateSharpeningsRequest) (*arrisv1.BatchCreateSharpeningsResponse, error) {
	if err := underOne(ctx, req.GetParent(), req.GetRequests()); err != nil {
		return nil, err
	}
	list, err := sharpenings.createAll(ctx, s.keep, req, each(req.GetRequests(), func(c *arrisv1.CreateSharpeningRequest) records.Draft[shop.Sharpening] {
		return sharpenings.draft(req.GetParent(), c.GetSharpeningId(), c.GetSharpening())
	}))
	return &arrisv1.BatchCreateSharpeningsResponse{Sharpenings: list}, err
}

// GetSharpening reads a sharpening.
func (s *Sharpenings) GetSharpening(ctx context.Context, req *arrisv1.GetSharpeningRequest) (*arrisv1.Sharpening, error) {
	return sharpenings.get(ctx, s.keep, req)
}

// ListSharpenings reads sharpenings, page by page.
func (s *Sharpenings) ListSharpenings(ctx context.Context, req *arrisv1.ListSharpeningsRequest) (*arrisv1.ListSharpeningsResponse, error) {
	page, next, err := sharpenings.list(ctx, s.keep, req)
	return &arrisv1.ListSharpeningsResponse{Sharpenings: page, NextPageToken: next}, err
}
