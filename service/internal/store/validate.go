package store

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// How many bytes a text column, a name and a body have at most; the first two are what an index takes on every store.
const (
	longest     = 1000
	longestName = 500
	longestBody = 4 << 20
)

// Validate refuses a draft that a store cannot keep exactly: text that is no UTF-8 or has a zero byte, names that are no path.
func (d Draft) Validate() error {
	if !wellNamed(d.Name) || len(d.Name) > longestName {
		return Errorf(BadRecord, "the name %.80q is not like shops/main/tools/my-gouge, up to %d letters", d.Name, longestName)
	}
	for field, text := range map[string]string{
		"name": d.Name, "display name": d.DisplayName, "class": d.Class, "state": d.State, "station": d.Station,
		"wheel": d.Wheel, "tool": d.Tool, "recipe": d.Recipe, "holder": d.Holder, "finding": d.Finding,
	} {
		if err := plain(field, text, longest); err != nil {
			return err
		}
	}
	for _, id := range d.ExternalIDs {
		if id.System == "" || id.Value == "" {
			return Errorf(BadRecord, "an external id needs a system and a value, it has %q and %q", id.System, id.Value)
		}
		if err := plain("external id", id.System+id.Value, longestName); err != nil {
			return err
		}
	}
	return plain("body", d.Body, longestBody)
}

func plain(field, text string, most int) error {
	switch {
	case len(text) > most:
		return Errorf(BadRecord, "the %s has %d bytes; at most %d are kept", field, len(text), most)
	case !utf8.ValidString(text):
		return Errorf(BadRecord, "the %s %.80q is not UTF-8", field, text)
	case strings.ContainsRune(text, 0):
		return Errorf(BadRecord, "the %s %.80q has a zero character, which is not kept", field, text)
	}
	return nil
}

// Validate refuses a query that no store answers; stores call it before they read.
func (q Query) Validate() error {
	switch {
	case q.Limit < 0 || q.Limit > MaxPage:
		return Errorf(BadQuery, "a page has 1 to %d records, not %d", MaxPage, q.Limit)
	case q.OrderBy != "" && !slices.Contains(Columns, q.OrderBy):
		return Errorf(BadQuery, "records are not ordered by %q; use one of %v", q.OrderBy, Columns)
	case q.Search != "" && (q.OrderBy != "" || q.Down || !q.AsOf.IsZero()):
		return Errorf(BadQuery, "a search is ordered best first and looks at what is now: leave order and time empty")
	}
	for _, text := range []string{q.Shop, q.Kind, q.Parent, q.Search} {
		if plain("query", text, longest) != nil {
			return Errorf(BadQuery, "the query has the text %.80q, which no record has", text)
		}
	}
	return q.Filter.validate(0)
}

// deepest is how far filters nest.
const deepest = 20

func (f Filter) validate(depth int) error {
	if depth > deepest {
		return Errorf(BadQuery, "the filter nests deeper than %d", deepest)
	}
	switch f.Op {
	case "":
		return nil
	case "not", "and", "or":
		if len(f.Of) == 0 || len(f.Of) > 100 || f.Op == "not" && len(f.Of) != 1 {
			return Errorf(BadQuery, "a filter's %q has %d parts", f.Op, len(f.Of))
		}
		for _, of := range f.Of {
			if err := of.validate(depth + 1); err != nil {
				return err
			}
		}
		return nil
	case "=", "!=", "<", "<=", ">", ">=":
	default:
		return Errorf(BadQuery, "a filter has no operator %q", f.Op)
	}
	if f.Column == ByExternalID && f.Op != "=" && f.Op != "!=" {
		return Errorf(BadQuery, "%s is compared by = and != alone, not by %s", f.Column, f.Op)
	}
	if f.Column != ByExternalID && !slices.Contains(Columns, f.Column) {
		return Errorf(BadQuery, "records are not filtered by %q; use %s or one of %v", f.Column, ByExternalID, Columns)
	}
	return f.comparable()
}

func (f Filter) comparable() error {
	if f.Column.IsTime() {
		if _, err := Micros(f.Value); err != nil {
			return err
		}
		return nil
	}
	text, ok := f.Value.(string)
	if !ok {
		return Errorf(BadQuery, "%s compares with text, not with %v", f.Column, f.Value)
	}
	if plain("filter", text, longest) != nil {
		return Errorf(BadQuery, "the filter has the text %.80q, which no record has", text)
	}
	return nil
}
