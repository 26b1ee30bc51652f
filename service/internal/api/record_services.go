package api

import (
	"context"
	"fmt"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/records"
	"arris.example/service/internal/rpc"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// The record services: each keeps some kinds of record in one store.
type (
	// Shops is the ShopService.
	Shops struct {
		arrisv1.UnimplementedShopServiceServer
		keep records.Keeper
	}
	// Wheels is the WheelService.
	Wheels struct {
		arrisv1.UnimplementedWheelServiceServer
		keep   records.Keeper
		solver setup.Solver
	}
	// Tools is the ToolService.
	Tools struct {
		arrisv1.UnimplementedToolServiceServer
		keep records.Keeper
	}
	// Recipes is the RecipeService.
	Recipes struct {
		arrisv1.UnimplementedRecipeServiceServer
		keep records.Keeper
	}
	// Sharpenings is the SharpeningService.
	Sharpenings struct {
		arrisv1.UnimplementedSharpeningServiceServer
		keep records.Keeper
	}
)

// NewShops makes the ShopService on a store; the others likewise.
func NewShops(k records.Keeper) *Shops { return &Shops{keep: k} }

// NewWheels makes the WheelService.
func NewWheels(k records.Keeper) *Wheels {
	return &Wheels{keep: k, solver: setup.Solver{Records: store.Named{Store: k.Store}}}
}

// NewTools makes the ToolService.
func NewTools(k records.Keeper) *Tools { return &Tools{keep: k} }

// NewRecipes makes the RecipeService.
func NewRecipes(k records.Keeper) *Recipes { return &Recipes{keep: k} }

// NewSharpenings makes the SharpeningService.
func NewSharpenings(k records.Keeper) *Sharpenings { return &Sharpenings{keep: k} }

// underOne gives the requests of a batch its parent where they say none, and holds them to their rules.
func underOne[R interface {
	proto.Message
	GetParent() string
}](ctx context.Context, parent string, requests []R) error {
	for i, r := range requests {
		switch r.GetParent() {
		case parent:
		case "":
			m := r.ProtoReflect()
			m.Set(m.Descriptor().Fields().ByName("parent"), protoreflect.ValueOfString(parent))
		default:
			return fault.Field(fmt.Sprintf("requests[%d].parent", i), fault.Contradiction, "is %q; leave it empty, or say the batch's own %q", r.GetParent(), parent)
		}
	}
	return rpc.CheckEach(ctx, "requests", requests)
}

var shops = &resource[*arrisv1.Shop, shop.Shop]{kind: records.Shops, field: "shop", in: shopIn, out: shopOut, lists: withTimes(nil)}

// CreateShop keeps a new shop.
func (s *Shops) CreateShop(ctx context.Context, req *arrisv1.CreateShopRequest) (*arrisv1.Shop, error) {
	return shops.create(ctx, s.keep, req, "", req.GetShopId(), req.GetShop())
}

// GetShop reads a shop.
func (s *Shops) GetShop(ctx context.Context, req *arrisv1.GetShopRequest) (*arrisv1.Shop, error) {
	return shops.get(ctx, s.keep, req)
}

// ListShops reads the shops kept here.
func (s *Shops) ListShops(ctx context.Context, req *arrisv1.ListShopsRequest) (*arrisv1.ListShopsResponse, error) {
	page, next, err := records.List(ctx, s.keep, records.Shops, store.Query{Limit: int(req.GetPageSize()), Token: req.GetPageToken()})
	if err != nil {
		return nil, shops.refused(err)
	}
	return &arrisv1.ListShopsResponse{Shops: each(page, shops.show), NextPageToken: next}, nil
}

// UpdateShop changes a shop.
func (s *Shops) UpdateShop(ctx context.Context, req *arrisv1.UpdateShopRequest) (*arrisv1.Shop, error) {
	return shops.update(ctx, s.keep, req, false, req.GetShop())
}

// LockStation takes a station out of service.
func (s *Shops) LockStation(ctx context.Context, req *arrisv1.LockStationRequest) (*arrisv1.Station, error) {
	return stations.shown(records.Lock(ctx, s.keep, writeIn(ctx, req), req.GetName(), 0, shop.Locked, req.GetLockReason()))
}

// UnlockStation puts a station back into service.
func (s *Shops) UnlockStation(ctx context.Context, req *arrisv1.UnlockStationRequest) (*arrisv1.Station, error) {
	return stations.shown(records.Lock(ctx, s.keep, writeIn(ctx, req), req.GetName(), versionIn(req.GetEtag()), shop.InService, req.GetUnlockReason()))
}

// MountWheel puts a wheel on a station.
func (s *Wheels) MountWheel(ctx context.Context, req *arrisv1.MountWheelRequest) (*arrisv1.MountWheelResponse, error) {
	wheel, off, err := records.Mount(ctx, s.keep, writeIn(ctx, req), req.GetName(), versionIn(req.GetEtag()), req.GetStation())
	if err != nil {
		return nil, wheels.refused(err)
	}
	out := &arrisv1.MountWheelResponse{Wheel: wheels.show(wheel)}
	if off.Known {
		out.Replaced = wheels.show(off.Value)
	}
	return out, nil
}

// PublishRecipe makes a revision the one that the recipe's name means.
func (s *Recipes) PublishRecipe(ctx context.Context, req *arrisv1.PublishRecipeRequest) (*arrisv1.Recipe, error) {
	return recipes.shown(records.Publish(ctx, s.keep, writeIn(ctx, req), req.GetName(), versionIn(req.GetEtag()), int(req.GetRevision())))
}

// RollBackRecipe saves an older revision again as the newest, and publishes it.
func (s *Recipes) RollBackRecipe(ctx context.Context, req *arrisv1.RollBackRecipeRequest) (*arrisv1.Recipe, error) {
	return recipes.shown(records.RollBack(ctx, s.keep, writeIn(ctx, req), req.GetName(), versionIn(req.GetEtag()), int(req.GetRevision())))
}

// GetRecipeRevision reads one revision.
func (s *Recipes) GetRecipeRevision(ctx context.Context, req *arrisv1.GetRecipeRevisionRequest) (*arrisv1.Recipe, error) {
	i, err := records.Revision(ctx, s.keep, req.GetName())
	if err != nil {
		return nil, refused(err)
	}
	h, err := records.Get(ctx, s.keep, records.Recipes, store.ParentOf(req.GetName()), timeIn(nil))
	if err != nil {
		return nil, refused(err)
	}
	return revisionShown(h)(i), nil
}

// revisionShown shows revisions of a recipe, with the recipe's own etag: that is what a change is held against.
func revisionShown(h records.Item[store.RecipeHead]) func(records.Item[shop.Recipe]) *arrisv1.Recipe {
	return func(i records.Item[shop.Recipe]) *arrisv1.Recipe {
		out := revisionOf(h.Value, i.Value)
		stamp(out, i.Record)
		out.Etag = etagOf(h.Record)
		return out
	}
}

// ListRecipeRevisions reads a recipe's revisions, the newest first.
func (s *Recipes) ListRecipeRevisions(ctx context.Context, req *arrisv1.ListRecipeRevisionsRequest) (*arrisv1.ListRecipeRevisionsResponse, error) {
	h, err := records.Get(ctx, s.keep, records.Recipes, req.GetParent(), timeIn(nil))
	if err != nil {
		return nil, refused(err)
	}
	page, next, err := records.Revisions(ctx, s.keep, req.GetParent(), int(req.GetPageSize()), req.GetPageToken())
	if err != nil {
		return nil, refused(err)
	}
	return &arrisv1.ListRecipeRevisionsResponse{Recipes: each(page, revisionShown(h)), NextPageToken: next}, nil
}

// CompareRecipeRevisions tells what differs between two revisions.
func (s *Recipes) CompareRecipeRevisions(ctx context.Context, req *arrisv1.CompareRecipeRevisionsRequest) (*arrisv1.CompareRecipeRevisionsResponse, error) {
	from, to, err := records.Compared(ctx, s.keep, req.GetName(), int(req.GetFromRevision()), int(req.GetToRevision()))
	if err != nil {
		return nil, refused(err)
	}
	before, after := revisionOf(store.RecipeHead{}, from), revisionOf(store.RecipeHead{}, to)
	return &arrisv1.CompareRecipeRevisionsResponse{FromRevision: before.GetRevision(), ToRevision: after.GetRevision(), Differences: differences(before, after)}, nil
}
