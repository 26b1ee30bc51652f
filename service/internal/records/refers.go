package records

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"arris.example/service/internal/fault"
	"arris.example/service/internal/store"
)

// there tells that a record is kept and not deleted.
func there(tx store.Tx, name string) error {
	r, err := tx.Get(name)
	switch {
	case store.Is(err, store.NotFound):
		return &fault.Fault{Kind: fault.Impossible, Reason: ReferenceMissing, Message: fmt.Sprintf("there is no %s; keep it first", name)}
	case err != nil:
		return err
	case !r.Deleted.IsZero():
		return &fault.Fault{Kind: fault.Impossible, Reason: Deleted, Message: fmt.Sprintf("%s is deleted; bring it back first", name)}
	}
	return nil
}

// refersWell tells that all a record refers to is there, in its own shop.
func (k *Kind[T]) refersWell(tx store.Tx, value T) error {
	if k.Refers == nil {
		return nil
	}
	own := store.ShopOf(*k.Name(&value))
	for _, name := range k.Refers(value) {
		if name == "" {
			continue
		}
		if store.ShopOf(name) != own {
			return &fault.Fault{Kind: fault.Impossible, Reason: ReferenceMissing,
				Message: fmt.Sprintf("%s is not of %s: a record refers to its own shop's alone", name, own)}
		}
		if err := there(tx, name); err != nil {
			return err
		}
	}
	return nil
}

// mostUsers are named where a record is still used.
const mostUsers = 3

// unused tells that nothing refers to a record, and that it is in use nowhere.
func (k *Kind[T]) unused(tx store.Tx, name string) error {
	if k.UsedAt != nil {
		v, err := read[T](tx, name)
		if err != nil {
			return err
		}
		if at := k.UsedAt(v); at != "" {
			return &fault.Fault{Kind: fault.Impossible, Reason: StillUsed, Message: fmt.Sprintf("%s is on %s; take it off first", name, at)}
		}
	}
	for _, collection := range slices.Sorted(maps.Keys(k.UsedBy)) {
		q := store.Query{Shop: store.ShopOf(name), Kind: collection, Filter: store.Where(k.UsedBy[collection], name), Limit: mostUsers}
		users, _, err := tx.Find(q)
		if err != nil {
			return err
		}
		if len(users) == 0 {
			continue
		}
		names := make([]string, len(users))
		for i, u := range users {
			names[i] = u.Name
		}
		return &fault.Fault{Kind: fault.Impossible, Reason: StillUsed,
			Message: fmt.Sprintf("%s is still used by %s; change them first", name, strings.Join(names, ", "))}
	}
	return nil
}
