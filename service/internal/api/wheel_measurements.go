package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/records"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

var measurements = &resource[*arrisv1.WheelMeasurement, shop.Measurement]{
	kind: records.Measurements, field: "wheel_measurement", in: measurementIn, out: measurementOut,
	lists: withTimes(columns{
		"wheel":      {Column: store.ByWheel},
		"occur_time": {Column: store.ByOccurred},
	}),
}

// CreateWheelMeasurement keeps a new measurement.
func (s *Wheels) CreateWheelMeasurement(ctx context.Context, req *arrisv1.CreateWheelMeasurementRequest) (*arrisv1.WheelMeasurement, error) {
	return measurements.create(ctx, s.keep, req, req.GetParent(), req.GetWheelMeasurementId(), req.GetWheelMeasurement())
}

// BatchCreateWheelMeasurements keeps many new measurements, all or none.
func (s *Wheels) BatchCreateWheelMeasurements(ctx context.Context, req *arrisv1.BatchCreateWheelMeasurementsRequest) (*arrisv1.BatchCreateWheelMeasurementsResponse, error) {
	if err := underOne(ctx, req.GetParent(), req.GetRequests()); err != nil {
		return nil, err
	}
	list, err := measurements.createAll(ctx, s.keep, req, each(req.GetRequests(), func(c *arrisv1.CreateWheelMeasurementRequest) records.Draft[shop.Measurement] {
		return measurements.draft(req.GetParent(), c.GetWheelMeasurementId(), c.GetWheelMeasurement())
	}))
	return &arrisv1.BatchCreateWheelMeasurementsResponse{WheelMeasurements: list}, err
}

// GetWheelMeasurement reads a measurement.
func (s *Wheels) GetWheelMeasurement(ctx context.Context, req *arrisv1.GetWheelMeasurementRequest) (*arrisv1.WheelMeasurement, error) {
	return measurements.get(ctx, s.keep, req)
}

// ListWheelMeasurements reads measurements, page by page.
func (s *Wheels) ListWheelMeasurements(ctx context.Context, req *arrisv1.ListWheelMeasurementsRequest) (*arrisv1.ListWheelMeasurementsResponse, error) {
	page, next, err := measurements.list(ctx, s.keep, req)
	return &arrisv1.ListWheelMeasurementsResponse{WheelMeasurements: page, NextPageToken: next}, err
}
