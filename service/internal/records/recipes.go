package records

import (
	"context"
	"fmt"
	"reflect"
	"strconv"
	"time"

	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// revised keeps what is new in a recipe as a revision of its own.
func revised(tx store.Tx, now, was *store.RecipeHead) error {
	next := 1
	if was != nil {
		if sameRecipe(now.Newest, was.Newest) {
			return nil
		}
		next = was.Newest.Revision + 1
	}
	now.Newest.Revision, now.Newest.Published = next, false
	d, err := store.Pack(now.Newest)
	if err != nil {
		return err
	}
	_, err = tx.Create(d)
	return err
}

// sameRecipe tells whether two revisions say the same, whatever their numbers.
func sameRecipe(a, b shop.Recipe) bool {
	a.Revision, a.Published = b.Revision, b.Published
	return reflect.DeepEqual(a, b)
}

// Publish makes a revision the one that the recipe's name means; 0 is the newest.
func Publish(ctx context.Context, k Keeper, w Write, name string, version int64, revision int) (Item[store.RecipeHead], error) {
	return Update(ctx, k, Recipes, w, Edit[store.RecipeHead]{Name: name, Version: version, Ours: true, Change: func(tx store.Tx, i Item[store.RecipeHead]) (store.RecipeHead, []store.ExternalID, error) {
		r, err := revisionIn(tx, i.Value, revision)
		if err != nil {
			return i.Value, nil, err
		}
		i.Value.Publish(r)
		return i.Value, i.ExternalIDs, nil
	}})
}

// RollBack saves an older revision again as the newest, and publishes it.
func RollBack(ctx context.Context, k Keeper, w Write, name string, version int64, revision int) (Item[store.RecipeHead], error) {
	return Update(ctx, k, Recipes, w, Edit[store.RecipeHead]{Name: name, Version: version, Ours: true, Change: func(tx store.Tx, i Item[store.RecipeHead]) (store.RecipeHead, []store.ExternalID, error) {
		r, err := revisionIn(tx, i.Value, revision)
		if err != nil {
			return i.Value, nil, err
		}
		if !sameRecipe(r, i.Value.Newest) {
			r.Revision = i.Value.Newest.Revision + 1 // as `revised` will number it
		}
		i.Value.Newest = r
		i.Value.Publish(r)
		return i.Value, i.ExternalIDs, nil
	}})
}

// revisionIn reads a recipe's revision within a change; 0 is the newest.
func revisionIn(tx store.Tx, h store.RecipeHead, number int) (shop.Recipe, error) {
	if number == 0 || number == h.Newest.Revision {
		return h.Newest, nil
	}
	r, err := read[shop.Recipe](tx, revisionName(h, number))
	return r, noRevision(err, h, number)
}

// revision reads a recipe's revision; 0 is the newest.
func (k Keeper) revision(ctx context.Context, h store.RecipeHead, number int) (shop.Recipe, error) {
	if number == 0 || number == h.Newest.Revision {
		return h.Newest, nil
	}
	i, err := Revision(ctx, k, revisionName(h, number))
	return i.Value, noRevision(err, h, number)
}

func revisionName(h store.RecipeHead, number int) string {
	return h.Newest.Name + "/revisions/" + strconv.Itoa(number)
}

// noRevision says so where a number is beyond the newest.
func noRevision(err error, h store.RecipeHead, number int) error {
	if err == nil || number <= h.Newest.Revision {
		return err
	}
	return &fault.Fault{Kind: fault.NotFound, Reason: fault.NoSuchThing,
		Message: fmt.Sprintf("%s has no revision %d; its newest is %d", h.Newest.Name, number, h.Newest.Revision)}
}

// Revision reads one revision by its name.
func Revision(ctx context.Context, k Keeper, name string) (Item[shop.Recipe], error) {
	r, err := k.Store.Get(ctx, name, time.Time{})
	if err != nil {
		return Item[shop.Recipe]{}, k.faultOf(ctx, err, "revision", name, time.Time{})
	}
	return item[shop.Recipe](r)
}

// Revisions reads a page of a recipe's revisions, the newest first.
func Revisions(ctx context.Context, k Keeper, recipe string, limit int, token string) ([]Item[shop.Recipe], string, error) {
	q := store.Query{Shop: store.ShopOf(recipe), Kind: "revisions", Parent: recipe, OrderBy: store.ByCreated, Down: true, Limit: limit, Token: token}
	found, next, err := k.Store.Find(ctx, q)
	if err != nil {
		return nil, "", FaultOfStore(err)
	}
	page, err := items[shop.Recipe](found)
	return page, next, err
}

// Compared are two revisions of a recipe: 0 is the published one first, and the newest second. Without a published one the first is the one
// before the newest.
func Compared(ctx context.Context, k Keeper, name string, from, to int) (before, after shop.Recipe, err error) {
	i, err := Get(ctx, k, Recipes, name, time.Time{})
	if err != nil {
		return before, after, err
	}
	if from == 0 {
		from = max(1, i.Value.Newest.Revision-1)
		if i.Value.Published.Known {
			from = i.Value.Published.Value.Revision
		}
	}
	if before, err = k.revision(ctx, i.Value, from); err != nil {
		return before, after, err
	}
	after, err = k.revision(ctx, i.Value, to)
	return before, after, err
}
