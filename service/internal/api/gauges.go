package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/records"
	"arris.example/service/internal/shop"
)

var gauges = &resource[*arrisv1.Gauge, shop.Gauge]{
	kind: records.Gauges, field: "gauge", in: gaugeIn, out: gaugeOut,
	lists: withTimes(nil),
}

// CreateGauge keeps a new gauge.
func (s *Shops) CreateGauge(ctx context.Context, req *arrisv1.CreateGaugeRequest) (*arrisv1.Gauge, error) {
	return gauges.create(ctx, s.keep, req, req.GetParent(), req.GetGaugeId(), req.GetGauge())
}

// GetGauge reads a gauge.
func (s *Shops) GetGauge(ctx context.Context, req *arrisv1.GetGaugeRequest) (*arrisv1.Gauge, error) {
	return gauges.get(ctx, s.keep, req)
}

// ListGauges reads gauges, page by page.
func (s *Shops) ListGauges(ctx context.Context, req *arrisv1.ListGaugesRequest) (*arrisv1.ListGaugesResponse, error) {
	page, next, err := gauges.list(ctx, s.keep, req)
	return &arrisv1.ListGaugesResponse{Gauges: page, NextPageToken: next}, err
}

// UpdateGauge changes a gauge.
func (s *Shops) UpdateGauge(ctx context.Context, req *arrisv1.UpdateGaugeRequest) (*arrisv1.Gauge, error) {
	return gauges.update(ctx, s.keep, req, req.GetAllowMissing(), req.GetGauge())
}

// DeleteGauge deletes a gauge.
func (s *Shops) DeleteGauge(ctx context.Context, req *arrisv1.DeleteGaugeRequest) (*arrisv1.Gauge, error) {
	return gauges.remove(ctx, s.keep, req)
}

// UndeleteGauge brings a gauge back.
func (s *Shops) UndeleteGauge(ctx context.Context, req *arrisv1.UndeleteGaugeRequest) (*arrisv1.Gauge, error) {
	return gauges.bringBack(ctx, s.keep, req)
}
