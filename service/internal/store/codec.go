package store

import (
	"bytes"
	"encoding/json"
	"io"
	"slices"
	"strconv"
	"strings"

	"arris.example/service/internal/shop"
)

// RecipeHead is what a recipe's own name keeps: its published and its newest revision whole, so that solving by name and showing a recipe
// are one read. Every revision is a record of its own below it, never updated.
type RecipeHead struct {
	Newest     shop.Recipe
	Published  shop.Maybe[shop.Recipe]
	Superseded []int // revisions that were published once and are not
}

// Publish makes a revision the published one.
func (h *RecipeHead) Publish(r shop.Recipe) {
	h.Superseded = slices.DeleteFunc(slices.Clone(h.Superseded), func(n int) bool { return n == r.Revision })
	if was := h.Published; was.Known && was.Value.Revision != r.Revision {
		h.Superseded = append(h.Superseded, was.Value.Revision)
	}
	r.Published = true
	h.Published = shop.Some(r)
}

// The states of a recipe and of a station in the state column.
const (
	StateDraft     = "draft"
	StatePublished = "published"
	StateLocked    = "locked"
	StateInService = "in_service"
)

// Pack writes a plain record as a draft: the body as JSON, whose shortest decimals give every float64 back bit for bit, and the columns
// that filters use.
func Pack(record any) (Draft, error) {
	d, ok := columns(record)
	if !ok {
		return d, Errorf(BadRecord, "a %T is not kept: give Pack a case for it", record)
	}
	body, err := json.Marshal(record)
	if err != nil {
		return d, &Error{Kind: BadRecord, Message: d.Name + " cannot be written", Cause: err}
	}
	d.Body = string(body)
	return d, nil
}

// columns are a draft without its body; false for what is not kept.
func columns(record any) (Draft, bool) {
	switch r := record.(type) {
	case shop.Shop:
		return Draft{Name: r.Name, DisplayName: r.DisplayName}, true
	case shop.Station:
		return Draft{Name: r.Name, DisplayName: r.DisplayName, State: stationState(r.State), Due: r.Inspecting.Due, Finding: number(r.Inspecting.Finding)}, true
	case shop.Wheel:
		return Draft{Name: r.Name, DisplayName: r.DisplayName, Class: number(r.Abrasive), Station: r.Station, Due: r.Inspecting.Due, Finding: number(r.Inspecting.Finding)}, true
	case shop.Measurement:
		return Draft{Name: r.Name, Wheel: ParentOf(r.Name), Occurred: r.Occurred}, true
	case shop.Holder:
		return Draft{Name: r.Name, DisplayName: r.DisplayName, Class: number(r.Kind), Due: r.Inspecting.Due, Finding: number(r.Inspecting.Finding)}, true
	case shop.Tool:
		return Draft{Name: r.Name, DisplayName: r.DisplayName, Class: number(r.Kind), State: number(r.State), Recipe: r.Recipe}, true
	case RecipeHead:
		return recipeColumns(r), true
	case shop.Recipe:
		return Draft{Name: r.RevisionName(), DisplayName: r.DisplayName, Recipe: r.Name, Holder: r.Holder}, true
	case shop.Sharpening:
		recipe, _, _ := strings.Cut(r.Recipe, "/revisions/")
		return Draft{Name: r.Name, Class: number(r.Kind), Station: r.Station, Wheel: r.Wheel, Tool: r.Tool, Recipe: recipe, Occurred: r.Occurred}, true
	case shop.Inspection:
		return inspectionColumns(r), true
	case shop.Gauge:
		return Draft{Name: r.Name, DisplayName: r.DisplayName}, true
	}
	return Draft{}, false
}

func number[T ~int](v T) string { return strconv.Itoa(int(v)) }

func stationState(s shop.StationState) string {
	if s == shop.Locked {
		return StateLocked
	}
	return StateInService
}

// recipeColumns are those of the published revision, of a draft where none is published.
func recipeColumns(h RecipeHead) Draft {
	r := h.Published.Or(h.Newest)
	d := Draft{Name: h.Newest.Name, DisplayName: r.DisplayName, Holder: r.Holder, State: StateDraft}
	if h.Published.Known {
		d.State = StatePublished
	}
	return d
}

func inspectionColumns(i shop.Inspection) Draft {
	d := Draft{Name: i.Name, Class: number(i.Finding), Occurred: i.Occurred}
	switch KindOf(i.Subject) {
	case "stations":
		d.Station = i.Subject
	case "wheels":
		d.Wheel = i.Subject
	case "holders":
		d.Holder = i.Subject
	case "tools":
		d.Tool = i.Subject
	}
	return d
}

// Unpack reads a record's body. A field that this program does not know was written by a newer one and is refused, lest it be lost.
func Unpack[T any](r Record) (T, error) {
	var v T
	decoder := json.NewDecoder(bytes.NewReader([]byte(r.Body)))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&v); err != nil {
		if !json.Valid([]byte(r.Body)) {
			return v, &Error{Kind: Damaged, Message: r.Name + " cannot be read: restore a backup", Cause: err}
		}
		return v, &Error{Kind: Newer, Message: r.Name + " has data that this version does not know: use the newer one that wrote it", Cause: err}
	}
	if _, err := decoder.Token(); err != io.EOF {
		return v, Errorf(Damaged, "%s has more after its end", r.Name)
	}
	return v, nil
}
