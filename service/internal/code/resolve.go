package code

import (
	"context"
	"fmt"
	"net/url"
	"path"
	"regexp"
	"slices"
	"strings"
	"time"

	"arris.example/service/internal/fault"
	"arris.example/service/internal/store"
)

// Found is what a code is of: a record, or a sheet.
type Found struct {
	Record store.Record
	Sheet  *Held
}

// Resolve tells what a code is of: an address from a label or a sheet, a short id, a full name, an id, or what another system calls it, with
// or without the system.
func Resolve(ctx context.Context, s store.Store, shop, code string) (Found, error) {
	r := resolver{ctx, s, shop}
	code = strings.TrimSpace(strings.Map(func(c rune) rune { // scanners end what they type as they please
		if c < ' ' {
			return ' '
		}
		return c
	}, code))
	if u, err := url.Parse(code); err == nil && u.Host != "" {
		return r.address(u)
	}
	if strings.HasPrefix(code, "shops/") {
		return r.named(code)
	}
	collection, id, is, wrong := readShortID(code)
	if is && wrong == nil {
		return r.named(shop + "/" + collection + "/" + id)
	}
	// Something else may be called what looks like a short id.
	found, alike, err := r.called(code)
	switch {
	case err != nil:
		return Found{}, err
	case len(found) == 1:
		return Found{Record: found[0]}, nil
	case len(found) > 1:
		return Found{}, fault.Field("code", fault.Contradiction, "%.80q is what several are called: %s; say which by its short id or its name", code, shorts(found))
	case wrong != nil:
		return Found{}, wrong
	}
	return Found{}, noSuch(code, alike)
}

type resolver struct {
	ctx  context.Context
	s    store.Store
	shop string
}

// address is what a scanned address is of, wherever it leads: a server may have moved since a label was printed.
func (r resolver) address(u *url.URL) (Found, error) {
	at := path.Base(u.Path)
	if at != labelPath && at != sheetPath {
		return Found{}, fault.Field("code", fault.BadForm, "is the address %.80q, which no label or sheet of ours has: theirs end in /l?… or /s?…", u.String())
	}
	query := u.Query()
	if of := "shops/" + query.Get("shop"); of != r.shop {
		return Found{}, fault.Field("code", fault.Contradiction, "is of %.80s, and %s was asked", of, r.shop)
	}
	if at == sheetPath {
		held, err := heldIn(query)
		return Found{Sheet: &held}, err
	}
	collection, id, is, err := readShortID(query.Get("code"))
	if !is {
		return Found{}, fault.Field("code", fault.BadForm, "is a label's address with %.80q where a short id belongs", query.Get("code"))
	}
	if err != nil {
		return Found{}, err
	}
	return r.named(r.shop + "/" + collection + "/" + id)
}

// named is the record of a full name.
func (r resolver) named(name string) (Found, error) {
	if !strings.HasPrefix(name, r.shop+"/") {
		return Found{}, fault.Field("code", fault.Contradiction, "%.200s is not in %s", name, r.shop)
	}
	if ShortID(name) == "" {
		return Found{}, fault.Field("code", fault.UnknownValue, "%.200s is no tool, station, wheel, holder or recipe", name)
	}
	record, there, err := r.get(name)
	if err == nil && !there {
		err = store.Unknown(r.ctx, r.s, strings.TrimSuffix(store.KindOf(name), "s"), name, time.Time{})
	}
	return Found{Record: record}, err
}

// get reads a record that is kept and not deleted.
func (r resolver) get(name string) (record store.Record, there bool, err error) {
	record, err = r.s.Get(r.ctx, name, time.Time{})
	switch {
	case store.Is(err, store.NotFound):
		return record, false, nil
	case err != nil:
		return record, false, store.Away("read "+name, err)
	}
	return record, record.Deleted.IsZero(), nil
}

// idForm is what ids look like.
var idForm = regexp.MustCompile(`^[a-z]([a-z0-9-]{0,61}[a-z0-9])?$`)

// called are the records with an id, or which another system calls so; and some that are called alike.
func (r resolver) called(code string) (found, alike []store.Record, err error) {
	for _, c := range collections {
		if id := strings.ToLower(code); idForm.MatchString(id) {
			record, there, err := r.get(r.shop + "/" + c.name + "/" + id)
			if err != nil {
				return nil, nil, err
			}
			if there {
				found = append(found, record)
			}
		}
		others, near, err := r.byOthers(c.name, code)
		if err != nil {
			return nil, nil, err
		}
		alike = append(alike, near...)
		for _, o := range others {
			if !slices.ContainsFunc(found, func(f store.Record) bool { return f.Name == o.Name }) {
				found = append(found, o)
			}
		}
	}
	return found, alike, nil
}

// byOthers are the records of a collection that another system calls so, its name with the system's before it or alone.
func (r resolver) byOthers(collection, code string) (found, alike []store.Record, err error) {
	if strings.Contains(code, ":") {
		found, _, err = r.s.Find(r.ctx, store.Query{Shop: r.shop, Kind: collection, Filter: store.Where(store.ByExternalID, code)})
	}
	if err == nil {
		alike, _, err = r.s.Find(r.ctx, store.Query{Shop: r.shop, Kind: collection, Search: code})
	}
	if store.Is(err, store.BadQuery) { // nothing to look for is in it
		return found, nil, nil
	}
	if err != nil {
		return nil, nil, store.Away("look for "+code, err)
	}
	for _, a := range alike {
		if slices.ContainsFunc(a.ExternalIDs, func(id store.ExternalID) bool { return id.Value == code }) {
			found = append(found, a)
		}
	}
	return found, alike[:min(2, len(alike))], nil
}

func noSuch(code string, alike []store.Record) error {
	text := fmt.Sprintf("there is no tool, station, wheel, holder or recipe that is called %.80q", code)
	if len(alike) > 0 {
		text += "; nearest: " + shorts(alike[:min(3, len(alike))])
	}
	return &fault.Fault{Kind: fault.NotFound, Reason: fault.NoSuchThing, Message: text}
}

// shorts are the short ids of records.
func shorts(all []store.Record) string {
	list := make([]string, len(all))
	for i, r := range all {
		list[i] = ShortID(r.Name)
	}
	return strings.Join(list, ", ")
}
