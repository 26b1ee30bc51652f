package api

import (
	"context"

	"google.golang.org/protobuf/reflect/protoreflect"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/records"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

var stations = &resource[*arrisv1.Station, shop.Station]{
	kind: records.Stations, field: "station", in: stationIn, out: stationOut,
	lists: withTimes(columns{
		"inspection_due_time": {Column: store.ByDue},
		"inspect_finding":     listed(store.ByFinding, arrisv1.InspectionFinding(0).Descriptor(), nil),
		"state":               listed(store.ByState, arrisv1.StationState(0).Descriptor(), map[protoreflect.EnumNumber]string{0: store.StateInService, 1: store.StateInService, 2: store.StateLocked}),
	}),
}

// CreateStation keeps a new station.
func (s *Shops) CreateStation(ctx context.Context, req *arrisv1.CreateStationRequest) (*arrisv1.Station, error) {
	return stations.create(ctx, s.keep, req, req.GetParent(), req.GetStationId(), req.GetStation())
}

// GetStation reads a station.
func (s *Shops) GetStation(ctx context.Context, req *arrisv1.GetStationRequest) (*arrisv1.Station, error) {
	return stations.get(ctx, s.keep, req)
}

// ListStations reads stations, page by page.
func (s *Shops) ListStations(ctx context.Context, req *arrisv1.ListStationsRequest) (*arrisv1.ListStationsResponse, error) {
	page, next, err := stations.list(ctx, s.keep, req)
	return &arrisv1.ListStationsResponse{Stations: page, NextPageToken: next}, err
}

// UpdateStation changes a station.
func (s *Shops) UpdateStation(ctx context.Context, req *arrisv1.UpdateStationRequest) (*arrisv1.Station, error) {
	return stations.update(ctx, s.keep, req, req.GetAllowMissing(), req.GetStation())
}

// DeleteStation deletes a station.
func (s *Shops) DeleteStation(ctx context.Context, req *arrisv1.DeleteStationRequest) (*arrisv1.Station, error) {
	return stations.remove(ctx, s.keep, req)
}

// UndeleteStation brings a station back.
func (s *Shops) UndeleteStation(ctx context.Context, req *arrisv1.UndeleteStationRequest) (*arrisv1.Station, error) {
	return stations.bringBack(ctx, s.keep, req)
}
