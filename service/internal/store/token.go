package store

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
)

// A place is where a page ended: the last record's order column and name. It survives inserts and deletes, because the next page begins
// after it and not after a count.
type place struct {
	Query string
	Text  string
	Time  int64
	Name  string
}

// print is a query's fingerprint: all that must not change between pages, so not its token and its limit.
func (q Query) print() string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%#v", [...]any{q.Shop, q.Kind, q.Parent, q.Filter.text(), q.Search, q.OrderBy, q.Down, q.Deleted, q.AsOf.UnixMicro()}))
	return base64.RawURLEncoding.EncodeToString(sum[:12])
}

func (f Filter) text() string {
	s := fmt.Sprintf("(%s %q %q", f.Op, f.Column, fmt.Sprint(f.Value))
	for _, of := range f.Of {
		s += of.text()
	}
	return s + ")"
}

// After is the token of the page that follows a record; rank is its place in a search.
func (q Query) After(last Record, rank int64) string {
	p := place{Query: q.print(), Name: last.Name, Time: rank}
	if q.Search == "" {
		switch value := last.Value(q.OrderBy).(type) {
		case string:
			p.Text = value
		case int64:
			p.Time = value
		}
	}
	text, err := json.Marshal(p)
	if err != nil {
		panic(err) // strings and numbers always marshal
	}
	return base64.RawURLEncoding.EncodeToString(text)
}

// From reads the query's token: the order column's value, string or microseconds, and the name after which to go on.
func (q Query) From() (value any, name string, err error) {
	var p place
	text, err := base64.RawURLEncoding.DecodeString(q.Token)
	if err == nil {
		err = json.Unmarshal(text, &p)
	}
	if err != nil {
		return nil, "", &Error{Kind: BadQuery, Message: "the page token is not one of ours: leave it empty for the first page", Cause: err}
	}
	if p.Query != q.print() {
		return nil, "", Errorf(BadQuery, "the page token belongs to another query: keep parent, filter, order and search the same, or leave it empty")
	}
	if q.Search != "" || q.OrderBy.IsTime() {
		return p.Time, p.Name, nil
	}
	return p.Text, p.Name, nil
}

// Value is a record's value of a column: a string, or microseconds.
func (r Record) Value(c Column) any {
	switch c {
	case ByDisplay:
		return r.DisplayName
	case ByClass:
		return r.Class
	case ByState:
		return r.State
	case ByStation:
		return r.Station
	case ByWheel:
		return r.Wheel
	case ByTool:
		return r.Tool
	case ByRecipe:
		return r.Recipe
	case ByHolder:
		return r.Holder
	case ByOccurred:
		return r.Occurred.UnixMicro()
	case ByDue:
		return DueMicros(r.Due)
	case ByFinding:
		return r.Finding
	case ByCreated:
		return r.Created.UnixMicro()
	case ByUpdated:
		return r.Updated.UnixMicro()
	case ByName:
	}
	return r.Name
}
