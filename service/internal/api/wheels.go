package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/records"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

var wheels = &resource[*arrisv1.Wheel, shop.Wheel]{
	kind: records.Wheels, field: "wheel", in: wheelIn, out: wheelOut,
	lists: withTimes(columns{
		"inspection_due_time": {Column: store.ByDue},
		"inspect_finding":     listed(store.ByFinding, arrisv1.InspectionFinding(0).Descriptor(), nil),
		"station":             {Column: store.ByStation},
		"abrasive":            listed(store.ByClass, arrisv1.AbrasiveKind(0).Descriptor(), nil),
	}),
}

// CreateWheel keeps a new wheel.
func (s *Wheels) CreateWheel(ctx context.Context, req *arrisv1.CreateWheelRequest) (*arrisv1.Wheel, error) {
	return wheels.create(ctx, s.keep, req, req.GetParent(), req.GetWheelId(), req.GetWheel())
}

// GetWheel reads a wheel.
func (s *Wheels) GetWheel(ctx context.Context, req *arrisv1.GetWheelRequest) (*arrisv1.Wheel, error) {
	return wheels.get(ctx, s.keep, req)
}

// ListWheels reads wheels, page by page.
func (s *Wheels) ListWheels(ctx context.Context, req *arrisv1.ListWheelsRequest) (*arrisv1.ListWheelsResponse, error) {
	page, next, err := wheels.list(ctx, s.keep, req)
	return &arrisv1.ListWheelsResponse{Wheels: page, NextPageToken: next}, err
}

// UpdateWheel changes a wheel.
func (s *Wheels) UpdateWheel(ctx context.Context, req *arrisv1.UpdateWheelRequest) (*arrisv1.Wheel, error) {
	return wheels.update(ctx, s.keep, req, req.GetAllowMissing(), req.GetWheel())
}

// DeleteWheel deletes a wheel.
func (s *Wheels) DeleteWheel(ctx context.Context, req *arrisv1.DeleteWheelRequest) (*arrisv1.Wheel, error) {
	return wheels.remove(ctx, s.keep, req)
}

// UndeleteWheel brings a wheel back.
func (s *Wheels) UndeleteWheel(ctx context.Context, req *arrisv1.UndeleteWheelRequest) (*arrisv1.Wheel, error) {
	return wheels.bringBack(ctx, s.keep, req)
}
