package api

import (
	"context"
	"path"
	"strings"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/code"
	"arris.example/service/internal/sheet"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// CheckSheet tells what changed since a sheet was made.
func (s *Sheets) CheckSheet(ctx context.Context, req *arrisv1.CheckSheetRequest) (*arrisv1.CheckSheetResponse, error) {
	if _, err := s.store.Get(ctx, req.GetShop(), time.Time{}); err != nil { // or all would seem to be gone
		if store.Is(err, store.NotFound) {
			return nil, store.Unknown(ctx, s.store, "shop", req.GetShop(), time.Time{})
		}
		return nil, store.Away("read the shop", err)
	}
	found, err := s.maker.Check(ctx, heldIn(req), req.GetWording().GetLanguageCode(), unitIn(req.GetWording().GetLengthUnit()))
	if err != nil {
		return nil, refused(err)
	}
	out := &arrisv1.CheckSheetResponse{
		Superseded: found.Superseded, Text: found.Text, Changes: each(found.Changes, sheetChangeOut), Settings: each(found.Moved, differenceOut),
	}
	if found.Off.Known {
		out.OffDeg = proto.Float64(found.Off.Value.Degrees())
	}
	return out, nil
}

func sheetChangeOut(c sheet.Change) *arrisv1.SheetChange {
	return &arrisv1.SheetChange{
		Kind: arrisv1.SheetChangeKind(c.Kind), Name: c.Name, NowName: c.NowName, BeforeMm: optMM(c.Before), AfterMm: optMM(c.After),
		Supersedes: c.Supersedes, Text: c.Text,
	}
}

// heldIn is what a sheet's code holds, with full names.
func heldIn(req *arrisv1.CheckSheetRequest) code.Held {
	full := func(collection, id string) string {
		if id == "" {
			return ""
		}
		return req.GetShop() + "/" + collection + "/" + id
	}
	return code.Held{
		Shop: req.GetShop(), Recipe: full("recipes", strings.Replace(req.GetRecipe(), "/", "/revisions/", 1)),
		Station: full("stations", req.GetStation()), Support: req.GetSupport(), Wheel: full("wheels", req.GetWheel()),
		Holder: full("holders", req.GetHolder()), Tool: full("tools", req.GetTool()), Diameter: unit.Length(req.GetDiameterMm()),
		AsOf: timeIn(req.GetAsOfTime()), Own: req.GetOwnSettings(),
	}
}

// heldOut is the other way.
func heldOut(h code.Held) *arrisv1.CheckSheetRequest {
	id := func(name string) string {
		if name == "" {
			return ""
		}
		return path.Base(name)
	}
	out := &arrisv1.CheckSheetRequest{
		Shop: h.Shop, Recipe: h.Revision(), Station: id(h.Station), Support: h.Support, Wheel: id(h.Wheel), Holder: id(h.Holder), Tool: id(h.Tool),
		AsOfTime: timestamppb.New(h.AsOf), OwnSettings: h.Own,
	}
	out.DiameterMm = optMM(shop.Maybe[unit.Length]{Value: h.Diameter, Known: h.Diameter > 0})
	return out
}
