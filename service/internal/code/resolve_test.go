package code_test

import (
	"strings"
	"testing"
	"time"

	"arris.example/service/internal/code"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
	"arris.example/service/internal/store/sqlite"
)

// shopWith is the demonstration shop with a few more things that go by confusing names.
func shopWith(t *testing.T) store.Store {
	t.Helper()
	kept, err := sqlite.Memory(t.Context(), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { kept.Close() })
	if _, err := store.Seed(t.Context(), kept, demo.Name, store.Caller{}, demo.Records(time.Now())...); err != nil {
		t.Fatal(err)
	}
	_, err = kept.Change(t.Context(), demo.Name, store.Caller{}, func(tx store.Tx) error {
		for id, known := range map[string][]store.ExternalID{
			"loan-1": {{System: "inventory", Value: "T-0042"}}, "loan-2": {{System: "inventory", Value: "T-0043"}},
			"loan-3": {{System: "books", Value: "42"}}, "loan-4": {{System: "insurance", Value: "42"}},
			"loan-5": {{System: "labels", Value: "T.12.3"}}, "north": {{System: "inventory", Value: "loan-1"}}, "gone": nil,
		} {
			d, err := store.Pack(shop.Tool{Name: demo.Name + "/tools/" + id, DisplayName: "Loaned " + id})
			if err != nil {
				return err
			}
			d.ExternalIDs = known
			if _, err := tx.Create(d); err != nil {
				return err
			}
		}
		_, err := tx.Delete(demo.Name+"/tools/gone", 0)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return kept
}

func TestCodesAreResolved(t *testing.T) {
	kept := shopWith(t)
	for typed, want := range map[string]string{
		"https://grinding.example.org/l?shop=main&code=T.BOWL-GOUGE-12.3": "tools/bowl-gouge-12",
		"http://10.0.0.7:8480/arris/l?shop=main&code=t.bowl-gouge-12.3\r": "tools/bowl-gouge-12",
		"T.BOWL-GOUGE-12.3":           "tools/bowl-gouge-12",
		"s north g":                   "stations/north",
		"bowl-gouge-12":               "tools/bowl-gouge-12",
		"BOWL-GOUGE-12":               "tools/bowl-gouge-12",
		"shops/main/recipes/bowl-50":  "recipes/bowl-50",
		"shops/main/stations/north":   "stations/north",
		"swing":                       "holders/swing",
		"inventory:T-0042":            "tools/loan-1",
		"T-0042":                      "tools/loan-1",
		"T-0043\t":                    "tools/loan-2",
		"books:42":                    "tools/loan-3",
		"insurance:42":                "tools/loan-4",
		"T.12.3":                      "tools/loan-5", // another system's, though it looks like a short id with a mistake
		code.ShortID("/wheels/x-y-z"): "",
	} {
		found, err := code.Resolve(t.Context(), kept, demo.Name, typed)
		if want == "" {
			if f, ok := fault.As(err); !ok || f.Kind != fault.NotFound {
				t.Errorf("%q: %v", typed, err)
			}
			continue
		}
		if err != nil || found.Record.Name != demo.Name+"/"+want {
			t.Errorf("%q: %s, %v", typed, found.Record.Name, err)
		}
	}
}

func TestCodesThatAreRefused(t *testing.T) {
	kept := shopWith(t)
	for typed, want := range map[string]struct {
		kind fault.Kind
		says string
	}{
		"T.BOWL-GOUGE-12.4": {fault.BadRequest, `ends in "4" where T.BOWL-GOUGE-12 ends in 3`},
		"https://grinding.example.org/l?shop=main&code=T.BOWL-GOUGE-12.4":                         {fault.BadRequest, "ends in 3"},
		"https://grinding.example.org/l?shop=main&code=bowl":                                      {fault.BadRequest, "where a short id belongs"},
		"https://grinding.example.org/l?shop=other&code=S.NORTH.G":                                {fault.BadRequest, "shops/other"},
		"https://elsewhere.example.org/x":                                                         {fault.BadRequest, "no label or sheet of ours"},
		"https://grinding.example.org/s?shop=main&as_of_time=yesterday":                           {fault.BadRequest, `as_of_time is "yesterday"`},
		"https://grinding.example.org/s?shop=main&as_of_time=2026-11-28T14:54:33Z&diameter_mm=-1": {fault.BadRequest, `diameter_mm is "-1"`},
		"shops/other/tools/x":        {fault.BadRequest, "is not in shops/main"},
		"shops/main/sharpenings/x":   {fault.BadRequest, "is no tool, station"},
		"shops/main/tools/bowl-guge": {fault.NotFound, "nearest: shops/main/tools/"},
		"north":                      {fault.BadRequest, "T.NORTH."},                    // a station and a tool
		"loan-1":                     {fault.BadRequest, "say which by its short id"},   // one's id, another's inventory number
		"42":                         {fault.BadRequest, "T.LOAN-3.A, T.LOAN-4.8"},      // of two systems
		"gone":                       {fault.NotFound, `is called "gone"`},              // deleted
		"bowl-gauge-12":              {fault.NotFound, "T.BOWL-GOUGE-12.3"},             // names the nearest
		"🪵":                          {fault.NotFound, "there is no tool"},              // nothing to look for is in it
		"../../etc/passwd":           {fault.NotFound, "there is no tool"},              //
		"a/revisions/1":              {fault.NotFound, "there is no tool"},              //
		strings.Repeat("x", 2000):    {fault.NotFound, "there is no tool"},              //
		"javascript:alert(1)":        {fault.NotFound, "there is no tool"},              //
		"javascript://x/l?shop=main": {fault.BadRequest, "where a short id belongs"},    // an address is taken apart, never followed
		"nul\x00byte":                {fault.NotFound, "there is no tool"},              //
		"inventory:":                 {fault.NotFound, "there is no tool"},              //
		":":                          {fault.NotFound, "there is no tool"},              //
		"%zz":                        {fault.NotFound, "there is no tool"},              //
		"T.GONE.1":                   {fault.BadRequest, "T.GONE ends in "},             //
		code.ShortID("/tools/gone"):  {fault.NotFound, "no tool is called shops/main/"}, //
	} {
		_, err := code.Resolve(t.Context(), kept, demo.Name, typed)
		if f, ok := fault.As(err); !ok || f.Kind != want.kind || !strings.Contains(f.Message, want.says) {
			t.Errorf("%.80q: %v; want %q", typed, err, want.says)
		}
	}
}

// What a sheet's address holds is read as it was written.
func TestSheetAddressThereAndBack(t *testing.T) {
	kept := shopWith(t)
	at := time.Date(2026, 11, 28, 14, 54, 33, 250e6, time.UTC)
	for _, h := range []code.Held{
		{Shop: demo.Name, Recipe: demo.Name + "/recipes/bowl-50/revisions/3", Station: demo.Name + "/stations/north", Support: "pocket",
			Wheel: demo.Name + "/wheels/north-fine", Holder: demo.Name + "/holders/swing", Tool: demo.Name + "/tools/bowl-gouge-12", Diameter: 187.4, AsOf: at, Own: true},
		{Shop: demo.Name, Station: demo.Name + "/stations/north", AsOf: at.Truncate(time.Second)},
		{Shop: demo.Name, Recipe: demo.Name + "/recipes/recipe/revisions/12", Diameter: 200.125, AsOf: at},
	} {
		found, err := code.Resolve(t.Context(), kept, demo.Name, h.Address("https://grinding.example.org"))
		if err != nil || found.Sheet == nil || *found.Sheet != h {
			t.Errorf("%s: %+v, %v", h.Address(""), found.Sheet, err)
		}
	}
	h := code.Held{Shop: demo.Name, Recipe: demo.Name + "/recipes/bowl-50/revisions/3", Station: demo.Name + "/stations/north", Diameter: 200, AsOf: at.Truncate(time.Second)}
	const want = "https://x.example/s?shop=main&recipe=bowl-50/3&station=north&diameter_mm=200&as_of_time=2026-11-28T14:54:33Z"
	if got := h.Address("https://x.example"); got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
