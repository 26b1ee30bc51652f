package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/records"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

var holders = &resource[*arrisv1.Holder, shop.Holder]{
	kind: records.Holders, field: "holder", in: holderIn, out: holderOut,
	lists: withTimes(columns{"inspection_due_time": {Column: store.ByDue}, "inspect_finding": listed(store.ByFinding, arrisv1.InspectionFinding(0).Descriptor(), nil)}),
}

// CreateHolder keeps a new holder.
func (s *Tools) CreateHolder(ctx context.Context, req *arrisv1.CreateHolderRequest) (*arrisv1.Holder, error) {
	return holders.create(ctx, s.keep, req, req.GetParent(), req.GetHolderId(), req.GetHolder())
}

// GetHolder reads a holder.
func (s *Tools) GetHolder(ctx context.Context, req *arrisv1.GetHolderRequest) (*arrisv1.Holder, error) {
	return holders.get(ctx, s.keep, req)
}

// ListHolders reads holders, page by page.
func (s *Tools) ListHolders(ctx context.Context, req *arrisv1.ListHoldersRequest) (*arrisv1.ListHoldersResponse, error) {
	page, next, err := holders.list(ctx, s.keep, req)
	return &arrisv1.ListHoldersResponse{Holders: page, NextPageToken: next}, err
}

// UpdateHolder changes a holder.
func (s *Tools) UpdateHolder(ctx context.Context, req *arrisv1.UpdateHolderRequest) (*arrisv1.Holder, error) {
	return holders.update(ctx, s.keep, req, req.GetAllowMissing(), req.GetHolder())
}

// DeleteHolder deletes a holder.
func (s *Tools) DeleteHolder(ctx context.Context, req *arrisv1.DeleteHolderRequest) (*arrisv1.Holder, error) {
	return holders.remove(ctx, s.keep, req)
}

// UndeleteHolder brings a holder back.
func (s *Tools) UndeleteHolder(ctx context.Context, req *arrisv1.UndeleteHolderRequest) (*arrisv1.Holder, error) {
	return holders.bringBack(ctx, s.keep, req)
}
