package storetest

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// state is what the model knows of a record.
type state struct {
	display string
	version int64
	deleted bool
}

// model does a few hundred random changes of one to three steps, some of which fail, on the store and on a map, and compares everything.
func model(b *bench) {
	r := chance.New(b.T)
	truth := map[string]state{}
	undo := errors.New("undone")
	for step := range 300 {
		next := maps.Clone(truth)
		var refusal store.Kind
		fails := r.IntN(5) == 0
		plan := make([]func(store.Tx) error, 1+r.IntN(3))
		for i := range plan {
			var kind store.Kind
			plan[i], kind = move(r.IntN(4), tool("m"+strconv.Itoa(r.IntN(12)), fmt.Sprint(step, i)), int64(r.IntN(4)), next)
			if kind != 0 && refusal == 0 {
				refusal = kind
				plan = plan[:i+1]
				break
			}
		}
		err := b.change(func(tx store.Tx) error {
			for _, do := range plan {
				if err := do(tx); err != nil {
					return err
				}
			}
			if fails {
				return undo
			}
			return nil
		})
		switch {
		case refusal != 0:
			b.refused(err, refusal)
		case fails:
			if !errors.Is(err, undo) {
				b.Fatal(err)
			}
		default:
			b.ok(err)
			truth = next
		}
		b.same(truth)
	}
}

// move is one random step, which it makes on the model; kind is how it must be refused.
func move(what int, d store.Draft, version int64, truth map[string]state) (do func(store.Tx) error, kind store.Kind) {
	s, known := truth[d.Name]
	stale := known && version != 0 && version != s.version
	after := state{d.DisplayName, s.version + 1, false}
	switch what {
	case 0:
		do = func(tx store.Tx) error { _, err := tx.Create(d); return err }
		if known {
			return do, store.Taken
		}
	case 1:
		do = func(tx store.Tx) error { _, err := tx.Update(d, version); return err }
		kind = first(known, stale, s.deleted, store.Gone)
	case 2:
		do = func(tx store.Tx) error { _, err := tx.Delete(d.Name, version); return err }
		kind = first(known, stale, s.deleted, store.Gone)
		after.display, after.deleted = s.display, true
	case 3:
		do = func(tx store.Tx) error { _, err := tx.Undelete(d.Name, version); return err }
		kind = first(known, stale, !s.deleted, store.Taken)
		after.display = s.display
	}
	if kind == 0 {
		truth[d.Name] = after
	}
	return do, kind
}

func first(known, stale, wrong bool, kind store.Kind) store.Kind {
	switch {
	case !known:
		return store.NotFound
	case stale:
		return store.Stale
	case wrong:
		return kind
	}
	return 0
}

// same compares the store with the model.
func (b *bench) same(truth map[string]state) {
	b.Helper()
	page, _, err := b.Find(ctx, store.Query{Shop: main, Kind: "tools", Deleted: true})
	b.ok(err)
	var names []string
	for _, r := range page {
		names = append(names, r.Name)
		if got := (state{r.DisplayName, r.Version, !r.Deleted.IsZero()}); got != truth[r.Name] {
			b.Fatalf("%s is %v, want %v", r.Name, got, truth[r.Name])
		}
	}
	if want := slices.Sorted(maps.Keys(truth)); !slices.Equal(names, want) {
		b.Fatalf("has %v, want %v", names, want)
	}
}

// reader solves by name: seeded records, revisions, mounted wheels, what counted then, and names that do not exist.
func reader(b *bench) {
	recipe := shop.Recipe{Name: main + "/recipes/bowl-50", DisplayName: "Bowl, 50°", Revision: 1, Published: true, Tolerance: shop.Some(unit.Degrees(0.5))}
	seed := []any{
		shop.Station{Name: main + "/stations/north", SpindleRPM: shop.Some(1425.0)},
		shop.Wheel{Name: main + "/wheels/n", Diameter: 200, Station: main + "/stations/north"},
		shop.Holder{Name: main + "/holders/swing", Kind: shop.Swing},
		shop.Tool{Name: main + "/tools/gouge", Kind: shop.BowlGouge},
		shop.Gauge{Name: main + "/gauges/b", Length: 20}, shop.Gauge{Name: main + "/gauges/a", Length: 30},
		recipe,
	}
	for _, want := range []bool{true, false} {
		seeded, err := store.Seed(ctx, b.Store, main, store.Caller{Person: "seed"}, seed...)
		b.ok(err)
		b.want("seeded", seeded, want)
	}
	n, then := store.Named{Store: b.Store}, b.now
	var _ store.Reader = n
	draft := recipe
	draft.Revision, draft.Published, draft.Notes = 2, false, "a try"
	revision, err := store.Pack(draft)
	b.ok(err)
	b.put(revision)
	wheel, err := store.Pack(shop.Wheel{Name: main + "/wheels/n", Diameter: 190, Station: main + "/stations/north"})
	b.ok(err)
	b.ok(b.update(wheel, 1))

	now := time.Time{}
	blocks, err := n.Gauges(ctx, main, now)
	b.ok(err)
	b.want("the blocks", blocks, []shop.Gauge{{Name: main + "/gauges/a", Length: 30}, {Name: main + "/gauges/b", Length: 20}})
	b.ok(b.change(func(tx store.Tx) error { _, err := tx.Delete(main+"/gauges/a", 1); return err }))
	blocks, err = n.Gauges(ctx, main, now)
	b.ok(err)
	b.want("the blocks that are left", blocks, []shop.Gauge{{Name: main + "/gauges/b", Length: 20}})
	got, err := n.Recipe(ctx, recipe.Name, now)
	b.ok(err)
	b.want("the published", got, recipe)
	got, err = n.Recipe(ctx, draft.RevisionName(), now)
	b.ok(err)
	b.want("the draft", got, draft)
	_, err = n.Recipe(ctx, draft.RevisionName(), then)
	b.unknown(err, "its newest is 1")
	for at, want := range map[time.Time]unit.Length{now: 190, then: 200} {
		w, err := n.MountedWheel(ctx, main+"/stations/north", at)
		b.ok(err)
		b.want("diameter", w.Diameter, want)
	}
	all, err := n.Recipes(ctx, main, now)
	b.ok(err)
	b.want("recipes", all, []shop.Recipe{recipe})
	station, err := n.Station(ctx, main+"/stations/north", now)
	b.ok(err)
	b.want("station", station, seed[0])
	holder, err := n.Holder(ctx, main+"/holders/swing", now)
	b.ok(err)
	b.want("holder", holder, seed[2])
	_, err = n.Tool(ctx, main+"/tools/guoge", now)
	b.unknown(err, main+"/tools/gouge")
	_, err = n.Tool(ctx, main+"/stations/north", now)
	b.unknown(err, "")
	_, err = n.MountedWheel(ctx, main+"/stations/south", now)
	b.unknown(err, "south")
	b.ok(b.change(func(tx store.Tx) error { _, err := tx.Delete(main+"/tools/gouge", 0); return err }))
	_, err = n.Tool(ctx, main+"/tools/gouge", now)
	b.unknown(err, "")
	b.ok(b.Close())
	_, err = n.Tool(ctx, main+"/tools/gouge", now)
	if f, ok := fault.As(err); !ok || f.Kind != fault.Unavailable || f.Reason != store.StoreUnavailable {
		b.Errorf("a closed store: %v", err)
	}
}

// unknown fails unless an error says that there is no such thing, and names another.
func (b *bench) unknown(err error, nearest string) {
	b.Helper()
	f, ok := fault.As(err)
	if !ok || f.Kind != fault.NotFound || !strings.Contains(f.Message, nearest) {
		b.Errorf("got %v, want NotFound that names %q", err, nearest)
	}
}
