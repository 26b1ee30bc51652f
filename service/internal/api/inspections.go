package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/records"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

var inspections = &resource[*arrisv1.Inspection, shop.Inspection]{
	kind: records.Inspections, field: "inspection", in: inspectionIn, out: inspectionOut,
	lists: withTimes(columns{
		"station":    {Column: store.ByStation},
		"wheel":      {Column: store.ByWheel},
		"holder":     {Column: store.ByHolder},
		"tool":       {Column: store.ByTool},
		"occur_time": {Column: store.ByOccurred},
		"finding":    listed(store.ByClass, arrisv1.InspectionFinding(0).Descriptor(), nil),
	}),
}

// CreateInspection keeps a new inspection.
func (s *Shops) CreateInspection(ctx context.Context, req *arrisv1.CreateInspectionRequest) (*arrisv1.Inspection, error) {
	return inspections.create(ctx, s.keep, req, req.GetParent(), req.GetInspectionId(), req.GetInspection())
}

// GetInspection reads an inspection.
func (s *Shops) GetInspection(ctx context.Context, req *arrisv1.GetInspectionRequest) (*arrisv1.Inspection, error) {
	return inspections.get(ctx, s.keep, req)
}

// ListInspections reads inspections, page by page.
func (s *Shops) ListInspections(ctx context.Context, req *arrisv1.ListInspectionsRequest) (*arrisv1.ListInspectionsResponse, error) {
	page, next, err := inspections.list(ctx, s.keep, req)
	return &arrisv1.ListInspectionsResponse{Inspections: page, NextPageToken: next}, err
}
