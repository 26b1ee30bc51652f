package service_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/metadata"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	"arris.example/service"
	"arris.example/service/internal/store"
	"arris.example/service/internal/store/sqlite"
)

// personal is a connection whose calls are a person's.
type personal struct {
	grpc.ClientConnInterface
	person string
}

func (p personal) Invoke(ctx context.Context, method string, in, out any, options ...grpc.CallOption) error {
	return p.ClientConnInterface.Invoke(metadata.AppendToOutgoingContext(ctx, "x-arris-person", p.person), method, in, out, options...)
}

// more are the changes that are not standard methods of the kinds in kept: their service, method and request.
var more = [][3]string{
	{"ToolService", "BatchCreateTools", `{"parent":"shops/main","requests":[{"tool":{}}]}`},
	{"RecipeService", "BatchCreateRecipes", `{"parent":"shops/main","requests":[{"recipe":{"grind":{"bevels":[{"frontAngleDeg":42}]}}}]}`},
	{"RecipeService", "PublishRecipe", `{"name":"shops/main/recipes/bench","revision":2}`},
	{"RecipeService", "RollBackRecipe", `{"name":"shops/main/recipes/bench","revision":1}`},
	{"SharpeningService", "CreateSharpening", `{"parent":"shops/main","sharpening":{"kind":"SHARPENING_KIND_HONE","tool":"shops/main/tools/bowl-gouge-12"}}`},
	{"SharpeningService", "BatchCreateSharpenings", `{"parent":"shops/main","requests":[{"sharpening":{"kind":"SHARPENING_KIND_HONE"}}]}`},
	{"ShopService", "CreateInspection", `{"parent":"shops/main","inspection":{"subject":"shops/main/stations/north","finding":"INSPECTION_FINDING_SOUND"}}`},
	{"ShopService", "LockStation", `{"name":"shops/main/stations/north","lockReason":"the guard is loose"}`},
	{"ShopService", "UnlockStation", `{"name":"shops/main/stations/north","unlockReason":"tightened"}`},
	{"ShopService", "CreateShop", `{"shopId":"annexe","shop":{"displayName":"Annexe"}}`},
	{"ShopService", "UpdateShop", `{"shop":{"name":"shops/main","displayName":"Main"}}`},
	{"WheelService", "CreateWheelMeasurement", `{"parent":"shops/main/wheels/north-fine","wheelMeasurement":{"diameterMm":199.5}}`},
	{"WheelService", "MountWheel", `{"name":"shops/main/wheels/spare-coarse","station":"shops/main/stations/north"}`},
	{"WheelService", "BatchCreateWheelMeasurements", `{"parent":"shops/main/wheels/north-fine","requests":[{"wheelMeasurement":{"diameterMm":199.4}}]}`},
}

// Every method that changes something leaves a line in the audit for every record it wrote: who called, what, and when. There are no other
// lines, so nothing is changed unseen, and a refused call leaves none.
func TestEveryChangeIsInTheAudit(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	a := askerOf(t, service.Config{Demo: true, Store: path})
	audit, err := sqlite.Open(t.Context(), sqlite.Options{Path: path, ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer audit.Close()
	last := map[string]int64{}
	// since are the lines that came since the last look.
	since := func() (lines []store.Change) {
		t.Helper()
		for _, shop := range []string{"", "shops/main"} { // a shop's own record is kept in none
			for {
				page, err := audit.Changes(t.Context(), shop, last[shop], store.MaxPage)
				if err != nil {
					t.Fatal(err)
				}
				if len(page) == 0 {
					break
				}
				last[shop] = page[len(page)-1].Seq
				lines = append(lines, page...)
			}
		}
		return lines
	}
	since()
	tried := map[string]bool{}
	change := func(service, method, format string, args ...any) {
		t.Helper()
		person := fmt.Sprintf("p-%d", len(tried))
		tried[method] = true
		before := time.Now().Truncate(time.Microsecond)
		asker{t, personal{a.conn, person}}.ask(service, method, format, args...)
		lines := since()
		if len(lines) == 0 {
			t.Errorf("%s left nothing", method)
		}
		for _, line := range lines {
			want := store.Caller{Person: person, Method: "/arris.v1." + service + "/" + method, RequestID: line.Caller.RequestID}
			if line.Caller != want || line.Updated.Before(before) || line.Updated.After(time.Now()) {
				t.Errorf("%s left %s by %+v at %v", method, line.Name, line.Caller, line.Updated)
			}
		}
	}
	for _, k := range kept {
		name := "shops/main/" + k.collection + "/bench"
		change(k.service, "Create"+k.one, `{"parent":"shops/main","%sId":"bench","%s":%s,"requestId":"%s"}`, k.field, k.field, k.fresh, k.field)
		change(k.service, "Update"+k.one, `{"%s":%s}`, k.field, strings.Replace(k.change, "{", `{"name":"`+name+`",`, 1))
		change(k.service, "Delete"+k.one, `{"name":"%s"}`, name)
		change(k.service, "Undelete"+k.one, `{"name":"%s"}`, name)
		a.refuse(codes.FailedPrecondition, "NOT_DELETED", k.service, "Undelete"+k.one, `{"name":"%s"}`, name)
		a.ask(k.service, "Create"+k.one, `{"parent":"shops/main","%s":%s,"validateOnly":true}`, k.field, k.fresh)
		if lines := since(); len(lines) > 0 {
			t.Errorf("a refused call and a dry run left %v", lines)
		}
	}
	for _, m := range more {
		change(m[0], m[1], "%s", m[2])
	}
	if missed := slices.DeleteFunc(changing(), func(m string) bool { return tried[m] }); len(missed) > 0 {
		t.Errorf("not tried: %v", missed)
	}
}

// changing are the methods that change something: their requests may be only checked.
func changing() (methods []string) {
	protoregistry.GlobalFiles.RangeFilesByPackage("arris.v1", func(file protoreflect.FileDescriptor) bool {
		for i := range file.Services().Len() {
			all := file.Services().Get(i).Methods()
			for j := range all.Len() {
				if m := all.Get(j); m.Input().Fields().ByName("validate_only") != nil {
					methods = append(methods, string(m.Name()))
				}
			}
		}
		return true
	})
	return methods
}
