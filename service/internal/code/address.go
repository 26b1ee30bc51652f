package code

import (
	"fmt"
	"math"
	"net/url"
	"path"
	"strconv"
	"strings"
	"time"

	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/store"
)

// The last parts of the paths that codes lead to.
const (
	labelPath = "l"
	sheetPath = "s"
)

// LabelAddress is what a label's code leads to: the server's public address with the shop and the short id.
func LabelAddress(public, name string) string {
	return fmt.Sprintf("%s/%s?shop=%s&code=%s", public, labelPath, lastOf(store.ShopOf(name)), ShortID(name))
}

// Held is what the code on a sheet holds: enough to tell later what changed, without the sheet being kept. Names are full.
type Held struct {
	Shop     string
	Recipe   string // the revision
	Station  string
	Support  string // its id, where the question named it
	Wheel    string
	Holder   string // where the question named it
	Tool     string
	Diameter unit.Length // believed; 0: flat, or not kept
	AsOf     time.Time
	Own      bool // the question said more than is held here
}

// Revision is the recipe's id and its number, `bowl-50/3`.
func (h Held) Revision() string {
	base, number, _ := strings.Cut(h.Recipe, "/revisions/")
	return strings.TrimSuffix(lastOf(base)+"/"+number, "/")
}

// diameterStep is what a diameter is held to.
const diameterStep = 0.001

// Address is what a sheet's code leads to: the server's public address with what it holds by the names of the API's CheckSheetRequest. Ids
// and times need no escapes in a query.
func (h Held) Address(public string) string {
	diameter, own := "", ""
	if h.Diameter > 0 {
		diameter = strconv.FormatFloat(math.Round(float64(h.Diameter)/diameterStep)*diameterStep, 'f', 3, 64)
		diameter = strings.TrimSuffix(strings.TrimRight(diameter, "0"), ".")
	}
	if h.Own {
		own = "true"
	}
	var query []string
	for _, of := range [][2]string{
		{"shop", lastOf(h.Shop)}, {"recipe", h.Revision()}, {"station", lastOf(h.Station)}, {"support", h.Support}, {"wheel", lastOf(h.Wheel)},
		{"holder", lastOf(h.Holder)}, {"tool", lastOf(h.Tool)}, {"diameter_mm", diameter}, {"as_of_time", h.AsOf.UTC().Format(time.RFC3339Nano)},
		{"own_settings", own},
	} {
		if of[1] != "" {
			query = append(query, of[0]+"="+of[1])
		}
	}
	return public + "/" + sheetPath + "?" + strings.Join(query, "&")
}

// heldIn reads what a sheet's address holds.
func heldIn(query url.Values) (h Held, err error) {
	shop := "shops/" + query.Get("shop")
	full := func(collection string) string {
		if id := query.Get(strings.TrimSuffix(collection, "s")); id != "" {
			return shop + "/" + collection + "/" + id
		}
		return ""
	}
	h = Held{
		Shop: shop, Recipe: strings.Replace(full("recipes"), "/recipes/"+query.Get("recipe"), "/recipes/"+strings.Replace(query.Get("recipe"), "/", "/revisions/", 1), 1),
		Station: full("stations"), Support: query.Get("support"), Wheel: full("wheels"), Holder: full("holders"), Tool: full("tools"), Own: query.Get("own_settings") == "true",
	}
	if h.AsOf, err = time.Parse(time.RFC3339Nano, query.Get("as_of_time")); err != nil {
		return h, fault.Field("code", fault.BadForm, "is a sheet's address whose as_of_time is %.40q; it must be a time such as 2026-11-28T14:54:33Z", query.Get("as_of_time"))
	}
	if text := query.Get("diameter_mm"); text != "" {
		d, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(d) || d <= 0 || d > 2000 {
			return h, fault.Field("code", fault.BadForm, "is a sheet's address whose diameter_mm is %.40q; it must be above 0 and at most 2000", text)
		}
		h.Diameter = unit.Length(d)
	}
	return h, nil
}

// lastOf is the id that a name ends in; of no name it is nothing.
func lastOf(name string) string {
	if name == "" {
		return ""
	}
	return path.Base(name)
}
