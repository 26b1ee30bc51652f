package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/records"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

var tools = &resource[*arrisv1.Tool, shop.Tool]{
	kind: records.Tools, field: "tool", in: toolIn, out: toolOut,
	lists: withTimes(columns{
		"kind":   listed(store.ByClass, arrisv1.ToolKind(0).Descriptor(), nil),
		"state":  listed(store.ByState, arrisv1.ToolState(0).Descriptor(), nil),
		"recipe": {Column: store.ByRecipe},
	}),
}

// CreateTool keeps a new tool.
func (s *Tools) CreateTool(ctx context.Context, req *arrisv1.CreateToolRequest) (*arrisv1.Tool, error) {
	return tools.create(ctx, s.keep, req, req.GetParent(), req.GetToolId(), req.GetTool())
}

// BatchCreateTools keeps many new tools, all or none.
func (s *Tools) BatchCreateTools(ctx context.Context, req *arrisv1.BatchCreateToolsRequest) (*arrisv1.BatchCreateToolsResponse, error) {
	if err := underOne(ctx, req.GetParent(), req.GetRequests()); err != nil {
		return nil, err
	}
	list, err := tools.createAll(ctx, s.keep, req, each(req.GetRequests(), func(c *arrisv1.CreateToolRequest) records.Draft[shop.Tool] {
		return tools.draft(req.GetParent(), c.GetToolId(), c.GetTool())
	}))
	return &arrisv1.BatchCreateToolsResponse{Tools: list}, err
}

// GetTool reads a tool.
func (s *Tools) GetTool(ctx context.Context, req *arrisv1.GetToolRequest) (*arrisv1.Tool, error) {
	return tools.get(ctx, s.keep, req)
}

// ListTools reads tools, page by page.
func (s *Tools) ListTools(ctx context.Context, req *arrisv1.ListToolsRequest) (*arrisv1.ListToolsResponse, error) {
	page, next, err := tools.list(ctx, s.keep, req)
	return &arrisv1.ListToolsResponse{Tools: page, NextPageToken: next}, err
}

// UpdateTool changes a tool.
func (s *Tools) UpdateTool(ctx context.Context, req *arrisv1.UpdateToolRequest) (*arrisv1.Tool, error) {
	return tools.update(ctx, s.keep, req, req.GetAllowMissing(), req.GetTool())
}

// DeleteTool deletes a tool.
func (s *Tools) DeleteTool(ctx context.Context, req *arrisv1.DeleteToolRequest) (*arrisv1.Tool, error) {
	return tools.remove(ctx, s.keep, req)
}

// UndeleteTool brings a tool back.
func (s *Tools) UndeleteTool(ctx context.Context, req *arrisv1.UndeleteToolRequest) (*arrisv1.Tool, error) {
	return tools.bringBack(ctx, s.keep, req)
}
