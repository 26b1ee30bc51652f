package store

import (
	"bytes"
	"encoding/json"
	"io"
	"strconv"

	"arris.example/service/internal/shop"
)

// RecipeHead is what a recipe's own name keeps: its published revision whole, so that solving by name is one read, and the number of the
// newest. Every revision is a record of its own below it, never updated.
type RecipeHead struct {
	Newest    int
	Published shop.Maybe[shop.Recipe]
}

// Pack writes a plain record as a draft: the body as JSON, whose shortest decimals give every float64 back bit for bit, and the columns
// that filters use.
func Pack(record any) (Draft, error) {
	var d Draft
	switch r := record.(type) {
	case shop.Station:
		d = Draft{Name: r.Name, DisplayName: r.DisplayName}
	case shop.Wheel:
		d = Draft{Name: r.Name, DisplayName: r.DisplayName, Class: strconv.Itoa(int(r.Abrasive)), Station: r.Station}
	case shop.Holder:
		d = Draft{Name: r.Name, DisplayName: r.DisplayName, Class: strconv.Itoa(int(r.Kind))}
	case shop.Tool:
		d = Draft{Name: r.Name, DisplayName: r.DisplayName, Class: strconv.Itoa(int(r.Kind)), Recipe: r.Recipe}
	case shop.Recipe:
		d = Draft{Name: r.RevisionName(), DisplayName: r.DisplayName, Recipe: r.Name, Holder: r.Holder}
	default:
		return d, Errorf(BadRecord, "a %T is not kept: give Pack a case for it", record)
	}
	err := d.fill(record)
	return d, err
}

// PackRecipe writes a recipe's head.
func PackRecipe(name, displayName string, head RecipeHead) (Draft, error) {
	d := Draft{Name: name, DisplayName: displayName, State: "draft"}
	if head.Published.Known {
		d.State, d.Holder = "published", head.Published.Value.Holder
	}
	err := d.fill(head)
	return d, err
}

func (d *Draft) fill(record any) error {
	body, err := json.Marshal(record)
	if err != nil {
		return &Error{Kind: BadRecord, Message: d.Name + " cannot be written", Cause: err}
	}
	d.Body = string(body)
	return nil
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
