// Package storetest holds every store to the promises of package store: one suite, a fresh store for each case.
package storetest

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// Opener opens the store of one case: Open may be called again after Close and finds what was kept.
type Opener struct {
	Open func(clock func() time.Time) (store.Store, error)
}

// main is the shop of the cases.
const main = "shops/main"

var ctx = context.Background()

// bench is a case's store with a clock that the case may set.
type bench struct {
	*testing.T
	store.Store
	now    time.Time
	ticks  sync.Mutex // two writers ask the clock at once
	opener Opener
}

func (b *bench) clock() time.Time {
	b.ticks.Lock()
	defer b.ticks.Unlock()
	b.now = b.now.Add(time.Millisecond)
	return b.now
}

// Run runs the suite.
func Run(t *testing.T, fresh func(testing.TB) Opener) {
	for name, run := range map[string]func(*bench){
		"names exact":            namesExact,
		"floats bit for bit":     floatsExact,
		"hostile texts":          hostileTexts,
		"one of two writers":     oneOfTwoWriters,
		"life and death":         lifeAndDeath,
		"append only":            appendOnly,
		"pages":                  pagesSurvive,
		"tokens bound":           tokensBound,
		"closed and reopened":    closedAndReopened,
		"external ids":           externalIDs,
		"request ids":            requestIDs,
		"clocks":                 clocks,
		"as of":                  asOf,
		"history":                historyComplete,
		"changes never late":     changesNeverLate,
		"search":                 search,
		"filter and order":       filterAndOrder,
		"failing change":         failingChange,
		"model":                  model,
		"reader":                 reader,
		"check finds no fault":   func(b *bench) { b.put(tool("a", "A")); b.ok(b.Check(ctx)) },
		"refuses what it cannot": refuses,
		"operations":             operationsKept,
		"operations started":     operationsStarted,
		"operations held":        operationsHeld,
	} {
		t.Run(name, func(t *testing.T) {
			b := &bench{T: t, now: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC), opener: fresh(t)}
			s, err := b.opener.Open(b.clock)
			if err != nil {
				t.Fatal(err)
			}
			b.Store = s
			defer func() { b.ok(b.Close()) }()
			run(b)
			if err := b.Check(ctx); err != nil && !store.Is(err, store.Closed) {
				t.Errorf("afterwards: %v", err)
			}
		})
	}
}

func (b *bench) ok(err error) {
	b.Helper()
	if err != nil {
		b.Fatal(err)
	}
}

// refused fails unless an error is of a kind and says something; refusal gives it as well.
func (b *bench) refused(err error, kind store.Kind) {
	b.Helper()
	_ = b.refusal(err, kind)
}

func (b *bench) refusal(err error, kind store.Kind) *store.Error {
	b.Helper()
	e, ok := store.As(err)
	if !ok || e.Kind != kind || e.Message == "" {
		b.Fatalf("got %v, want a refusal of kind %d", err, kind)
	}
	return e
}

func tool(id, display string) store.Draft {
	return store.Draft{Name: main + "/tools/" + id, DisplayName: display, Body: `{"Name":"` + id + `"}`}
}

func (b *bench) change(do func(store.Tx) error) error {
	_, err := b.Change(ctx, main, store.Caller{Person: "p1", Method: "Test"}, do)
	return err
}

func (b *bench) put(drafts ...store.Draft) {
	b.Helper()
	b.ok(b.change(func(tx store.Tx) error {
		for _, d := range drafts {
			if _, err := tx.Create(d); err != nil {
				return err
			}
		}
		return nil
	}))
}

func (b *bench) create(d store.Draft) error {
	return b.change(func(tx store.Tx) error { _, err := tx.Create(d); return err })
}

func (b *bench) update(d store.Draft, version int64) error {
	return b.change(func(tx store.Tx) error { _, err := tx.Update(d, version); return err })
}

func (b *bench) get(name string) store.Record {
	b.Helper()
	r, err := b.Get(ctx, name, time.Time{})
	b.ok(err)
	return r
}

// ids are the ids that a query finds, over all pages.
func (b *bench) ids(q store.Query) []string {
	b.Helper()
	found := []string{}
	q.Shop = main
	if q.Kind == "" {
		q.Kind = "tools"
	}
	for {
		page, next, err := b.Find(ctx, q)
		b.ok(err)
		for _, r := range page {
			found = append(found, r.Name[strings.LastIndex(r.Name, "/")+1:])
		}
		if q.Token = next; next == "" {
			return found
		}
	}
}

func (b *bench) want(what string, got, want any) {
	b.Helper()
	if d := gocmp.Diff(want, got); d != "" {
		b.Errorf("%s (-want +got):\n%s", what, d)
	}
}

func namesExact(b *bench) {
	names := []string{"Zoe", "zoe", "Zoé", "Zoe\u0301", "ZOE"}
	for i, n := range names {
		b.put(tool("t"+strconv.Itoa(i), n))
	}
	for i, n := range names {
		b.want(n, b.ids(store.Query{Filter: store.Where(store.ByDisplay, n)}), []string{"t" + strconv.Itoa(i)})
	}
	_, err := b.Get(ctx, main+"/tools/T0", time.Time{})
	b.refused(err, store.NotFound)
}

func floatsExact(b *bench) {
	r := chance.New(b.T)
	values := []float64{0, math.Copysign(0, -1), math.SmallestNonzeroFloat64, -math.MaxFloat64, 0.1, 1.0 / 3, 2.2250738585072011e-308}
	for len(values) < 2000 {
		if v := math.Float64frombits(r.Uint64()); !math.IsNaN(v) && !math.IsInf(v, 0) {
			values = append(values, v)
		}
	}
	var points []shop.ShapePoint
	for _, v := range values {
		points = append(points, shop.ShapePoint{Place: unit.Length(v)})
	}
	d, err := store.Pack(shop.Tool{Name: main + "/tools/f", Edge: shop.Some(shop.EdgeShape{Points: points})})
	b.ok(err)
	b.put(d)
	got, err := store.Unpack[shop.Tool](b.get(main + "/tools/f"))
	b.ok(err)
	for i, v := range values {
		if g := float64(got.Edge.Value.Points[i].Place); math.Float64bits(g) != math.Float64bits(v) {
			b.Errorf("%x came back as %x", v, g)
		}
	}
	_, err = store.Pack(shop.Tool{Name: main + "/tools/n", OverallLength: shop.Some(unit.Length(math.NaN()))})
	b.refused(err, store.BadRecord)
}

func hostileTexts(b *bench) {
	texts := []string{"it's", `"quoted"`, "a/b\\c", "tab\tline\nbell\a\x7f", "🪵🔧 👩🏽‍🏭", "'; DROP TABLE records; --", "100% _like_", "$1 ? :x",
		"\u202eright to left", "\u2028", strings.Repeat("x", 1000)}
	for i, text := range texts {
		d := tool("h"+strconv.Itoa(i), text)
		d.Body = fmt.Sprintf("{%q:1}", text) + strings.Repeat("é", 10000)
		b.put(d)
		got := b.get(d.Name)
		b.want("display name", got.DisplayName, text)
		b.want("body", got.Body, d.Body)
		b.want("found", b.ids(store.Query{Filter: store.Where(store.ByDisplay, text)}), []string{"h" + strconv.Itoa(i)})
		b.ids(store.Query{Search: text})
	}
	for _, text := range []string{"zero\x00", "not \xff utf-8", strings.Repeat("x", 10000)} {
		b.refused(b.create(tool("bad", text)), store.BadRecord)
		_, err := b.Get(ctx, main+"/tools/"+text, time.Time{})
		b.refused(err, store.NotFound)
	}
	for _, name := range []string{"", "x", "shops", "shops/main/tools", "shops/main//x", "tools/x/y/z"} {
		b.refused(b.create(store.Draft{Name: name}), store.BadRecord)
	}
}

func oneOfTwoWriters(b *bench) {
	b.put(tool("x", "0"))
	for round := int64(1); round <= 10; round++ {
		var group sync.WaitGroup
		results := make([]error, 8)
		for i := range results {
			group.Go(func() { results[i] = b.update(tool("x", fmt.Sprint(round, i)), round) })
		}
		group.Wait()
		won := 0
		for i, err := range results {
			if err == nil {
				won++
				b.want("the winner's", b.get(main+"/tools/x").DisplayName, fmt.Sprint(round, i))
				continue
			}
			if e := b.refusal(err, store.Stale); e.Now.Version != round+1 {
				b.Errorf("the loser is shown version %d, want %d", e.Now.Version, round+1)
			}
		}
		if won != 1 {
			b.Fatalf("%d writers won round %d", won, round)
		}
	}
}

func lifeAndDeath(b *bench) {
	b.put(tool("x", "X"))
	name, uid := main+"/tools/x", b.get(main+"/tools/x").UID
	remove := func(version int64) error {
		return b.change(func(tx store.Tx) error { _, err := tx.Delete(name, version); return err })
	}
	revive := func() error { return b.change(func(tx store.Tx) error { _, err := tx.Undelete(name, 0); return err }) }
	b.refused(revive(), store.Taken)
	b.refused(remove(7), store.Stale)
	b.ok(remove(1))
	if b.get(name).Deleted.IsZero() {
		b.Error("it does not say that it is deleted")
	}
	b.want("listed", b.ids(store.Query{}), []string{})
	b.want("listed with the deleted", b.ids(store.Query{Deleted: true}), []string{"x"})
	b.refused(remove(0), store.Gone)
	b.refused(b.update(tool("x", "Y"), 0), store.Gone)
	b.refused(b.create(tool("x", "Z")), store.Taken)
	b.ok(revive())
	r := b.get(name)
	b.want("revived", []any{r.UID, r.Version, r.DisplayName, r.Deleted.IsZero()}, []any{uid, int64(3), "X", true})
	b.refused(b.create(tool("x", "Z")), store.Taken)
	b.refused(b.update(tool("never", ""), 0), store.NotFound)
	b.ok(b.change(func(tx store.Tx) error {
		wrote, err := tx.Update(tool("x", "told"), 3)
		kept, getErr := tx.Get(name)
		b.want("what Update says it wrote", wrote, kept)
		return errors.Join(err, getErr)
	}))
}

func appendOnly(b *bench) {
	for _, kind := range store.AppendOnly {
		d := store.Draft{Name: main + "/" + kind + "/a", Body: "{}"}
		b.put(d)
		b.refused(b.update(d, 1), store.AppendOnlyKind)
		b.refused(b.change(func(tx store.Tx) error { _, err := tx.Delete(d.Name, 1); return err }), store.AppendOnlyKind)
		b.want("version", b.get(d.Name).Version, int64(1))
	}
}

func pagesSurvive(b *bench) {
	for i := range 30 {
		b.put(tool(fmt.Sprintf("t%02d", i*2), fmt.Sprint(i%3)))
	}
	for _, q := range []store.Query{{}, {Down: true}, {OrderBy: store.ByDisplay}, {OrderBy: store.ByCreated, Down: true}} {
		q.Shop, q.Kind, q.Limit = main, "tools", 7
		all := b.ids(q)
		first, next, err := b.Find(ctx, q)
		b.ok(err)
		// What is read is deleted, also the record that the token stands on; something is added before and behind.
		for _, r := range first {
			b.ok(b.change(func(tx store.Tx) error { _, err := tx.Delete(r.Name, 0); return err }))
		}
		q.Token = next
		b.want("the rest", b.ids(q), all[7:])
		for _, r := range first {
			b.ok(b.change(func(tx store.Tx) error { _, err := tx.Undelete(r.Name, 0); return err }))
		}
	}
	_, next, err := b.Find(ctx, store.Query{Shop: main, Kind: "tools", Limit: 10})
	b.ok(err)
	b.put(tool("t00a", ""), tool("t19", ""))
	rest := b.ids(store.Query{Limit: 10, Token: next})
	b.want("from t19 on", rest[:2], []string{"t19", "t20"})
	b.want("how many", len(rest), 21)
}

func tokensBound(b *bench) {
	b.put(tool("a", "1"), tool("b", "2"), tool("c", "3"))
	q := store.Query{Shop: main, Kind: "tools", Limit: 1, Filter: store.Where(store.ByClass, "")}
	_, next, err := b.Find(ctx, q)
	b.ok(err)
	for what, other := range map[string]func(*store.Query){
		"filter":  func(q *store.Query) { q.Filter = store.Where(store.ByState, "") },
		"value":   func(q *store.Query) { q.Filter = store.Where(store.ByClass, "1") },
		"order":   func(q *store.Query) { q.OrderBy = store.ByDisplay },
		"way":     func(q *store.Query) { q.Down = true },
		"kind":    func(q *store.Query) { q.Kind = "wheels" },
		"shop":    func(q *store.Query) { q.Shop = "shops/other" },
		"parent":  func(q *store.Query) { q.Parent = main },
		"deleted": func(q *store.Query) { q.Deleted = true },
		"as of":   func(q *store.Query) { q.AsOf = b.now },
		"garbage": func(q *store.Query) { q.Token = "garbage!" },
	} {
		p := q
		p.Token = next
		other(&p)
		if _, _, err := b.Find(ctx, p); !store.Is(err, store.BadQuery) {
			b.Errorf("another %s: got %v", what, err)
		}
	}
	q.Token, q.Limit = next, 2
	page, _, err := b.Find(ctx, q)
	b.ok(err)
	b.want("another page size is no other query", len(page), 2)
}

func closedAndReopened(b *bench) {
	b.put(tool("a", "A"))
	before := b.get(main + "/tools/a")
	b.ok(b.Close())
	_, err := b.Get(ctx, main+"/tools/a", time.Time{})
	b.refused(err, store.Closed)
	_, _, err = b.Find(ctx, store.Query{Shop: main, Kind: "tools"})
	b.refused(err, store.Closed)
	b.refused(b.create(tool("b", "")), store.Closed)
	b.refused(b.Check(ctx), store.Closed)
	_, err = b.History(ctx, main+"/tools/a")
	b.refused(err, store.Closed)
	b.ok(b.Close())
	b.Store, err = b.opener.Open(b.clock)
	b.ok(err)
	b.want("after reopening", b.get(main+"/tools/a"), before)
}

func externalIDs(b *bench) {
	id := store.ExternalID{System: "inventory", Value: "T-0001"}
	a := tool("a", "")
	a.ExternalIDs = []store.ExternalID{id, {System: "another", Value: "T-0001"}}
	b.put(a)
	clash := tool("b", "")
	clash.ExternalIDs = []store.ExternalID{id}
	e := b.refusal(b.create(clash), store.ClashingID)
	b.want("whose it is", e.Now.Name, a.Name)
	called := func(op string, id store.ExternalID) store.Filter {
		return store.Filter{Op: op, Column: store.ByExternalID, Value: id.String()}
	}
	odd := store.ExternalID{System: "another", Value: "a:b 'c'"}
	b.ok(b.update(store.Draft{Name: a.Name, ExternalIDs: append(a.ExternalIDs, odd), Body: "{}"}, 0))
	b.put(tool("x", ""))
	for _, known := range append(a.ExternalIDs, odd) {
		b.want("called so", b.ids(store.Query{Filter: called("=", known)}), []string{"a"})
		b.want("not called so", b.ids(store.Query{Filter: called("!=", known)}), []string{"x"})
	}
	for _, unknown := range []store.ExternalID{{System: "inventory", Value: "T-0002"}, {System: "third", Value: "T-0001"}, {}} {
		b.want("nobody is called so", b.ids(store.Query{Filter: called("=", unknown)}), []string{})
		b.want("all are not", b.ids(store.Query{Filter: called("!=", unknown)}), []string{"a", "x"})
	}
	b.ok(b.change(func(tx store.Tx) error { _, err := tx.Delete(a.Name, 0); return err }))
	b.refused(b.create(clash), store.ClashingID)
	b.ok(b.change(func(tx store.Tx) error { _, err := tx.Undelete(a.Name, 0); return err }))
	a.ExternalIDs = nil
	b.ok(b.update(a, 0))
	b.ok(b.create(clash))
	b.want("called so now", b.ids(store.Query{Filter: called("=", id)}), []string{"b"})
	page, _, err := b.Find(ctx, store.Query{Shop: "shops/other", Kind: "tools", Filter: called("=", id)})
	b.ok(err)
	b.want("in another shop", len(page), 0)
}

func requestIDs(b *bench) {
	ask := func(id, hash string) (store.Done, error) {
		return b.Change(ctx, main, store.Caller{Person: "p", Method: "M", RequestID: id, Hash: hash}, func(tx store.Tx) error {
			_, err := tx.Create(tool("made-"+hash, ""))
			return err
		})
	}
	first, err := ask("r1", "h1")
	b.ok(err)
	b.ok(b.update(tool("made-h1", "later"), 0))
	again, err := ask("r1", "h1")
	b.ok(err)
	b.want("replayed", again, store.Done{Wrote: first.Wrote, Replayed: true})
	answer, err := b.At(ctx, again.Wrote[0])
	b.ok(err)
	b.want("the former answer", answer.DisplayName, "")
	_, err = ask("r1", "h2")
	b.refused(err, store.RequestReused)
	// A request that failed did nothing and may be sent again.
	if _, err = ask("r2", "h1"); !store.Is(err, store.Taken) {
		b.Error(err)
	}
	_, err = ask("r2", "h3")
	b.ok(err)
	var group sync.WaitGroup
	results := make([]error, 8)
	for i := range results {
		group.Go(func() { _, results[i] = ask("r3", "h4") })
	}
	group.Wait()
	b.ok(errors.Join(results...))
	b.want("one record", len(b.ids(store.Query{Filter: store.Where(store.ByName, main+"/tools/made-h4")})), 1)
}

func clocks(b *bench) {
	b.now = time.Unix(0, 0)
	b.put(tool("old", ""))
	b.now = time.Unix(-100, 0)
	b.ok(b.update(tool("old", "back"), 1))
	b.ok(b.update(tool("old", "back again"), 2))
	d := tool("older", "")
	d.Occurred = time.Date(1066, 10, 14, 9, 0, 0, 123456789, time.UTC)
	b.put(d)
	b.want("occurred", b.get(d.Name).Occurred, d.Occurred.Truncate(time.Microsecond))
	h, err := b.History(ctx, main+"/tools/old")
	b.ok(err)
	for i := 1; i < len(h); i++ {
		if !h[i].Updated.After(h[i-1].Updated) {
			b.Errorf("version %d at %v is not after %v", i+1, h[i].Updated, h[i-1].Updated)
		}
		r, err := b.Get(ctx, h[i].Name, h[i].Updated)
		b.ok(err)
		b.want("then", r, h[i].Record)
	}
}

func asOf(b *bench) {
	b.put(tool("x", "one"))
	t1 := b.now
	b.ok(b.update(tool("x", "two"), 1))
	b.put(tool("y", "late"))
	t2 := b.now
	b.ok(b.change(func(tx store.Tx) error { _, err := tx.Delete(main+"/tools/x", 0); return err }))
	t3 := b.now
	for _, c := range []struct {
		at   time.Time
		x    string
		list []string
	}{{t1, "one", []string{"x"}}, {t2, "two", []string{"x", "y"}}, {t3, "two", []string{"y"}}} {
		r, err := b.Get(ctx, main+"/tools/x", c.at)
		b.ok(err)
		b.want("x", r.DisplayName, c.x)
		b.want("deleted", !r.Deleted.IsZero(), c.at.Equal(t3))
		b.want("list", b.ids(store.Query{AsOf: c.at, Limit: 1}), c.list)
	}
	_, err := b.Get(ctx, main+"/tools/x", t1.Add(-time.Hour))
	b.refused(err, store.NotFound)
	b.want("filtered then", b.ids(store.Query{AsOf: t1, Filter: store.Where(store.ByDisplay, "two")}), []string{})
}

func historyComplete(b *bench) {
	for i := range 5 {
		caller := store.Caller{Person: "p" + strconv.Itoa(i), Method: "M" + strconv.Itoa(i), RequestID: "q" + strconv.Itoa(i), Hash: "h"}
		_, err := b.Change(ctx, main, caller, func(tx store.Tx) error {
			var err error
			switch i {
			case 0:
				_, err = tx.Create(tool("x", "0"))
			case 3:
				_, err = tx.Delete(main+"/tools/x", 0)
			case 4:
				_, err = tx.Undelete(main+"/tools/x", 0)
			default:
				_, err = tx.Update(tool("x", strconv.Itoa(i)), int64(i))
			}
			return err
		})
		b.ok(err)
	}
	h, err := b.History(ctx, main+"/tools/x")
	b.ok(err)
	b.want("versions", len(h), 5)
	for i, c := range h {
		b.want("who", c.Caller, store.Caller{Person: "p" + strconv.Itoa(i), Method: "M" + strconv.Itoa(i), RequestID: "q" + strconv.Itoa(i)})
		b.want("what", []any{c.DisplayName, c.Version, c.Deleted.IsZero()}, []any{strconv.Itoa(min(i, 2)), int64(i + 1), i != 3})
	}
	var seen []int64
	for after := int64(0); ; after = seen[len(seen)-1] {
		page, err := b.Changes(ctx, main, after, 2)
		b.ok(err)
		if len(page) == 0 {
			break
		}
		for _, c := range page {
			seen = append(seen, c.Seq)
		}
	}
	b.want("all changes in order", len(seen) == 5 && slices.IsSorted(seen), true)
	_, err = b.History(ctx, main+"/tools/none")
	b.refused(err, store.NotFound)
}

// changesNeverLate follows the changes while several write, where the store allows it through a second opening as well: whoever goes on
// after the last change that was seen sees every one.
func changesNeverLate(b *bench) {
	stores := []store.Store{b.Store}
	if another, err := b.opener.Open(b.clock); err == nil {
		defer func() { b.ok(another.Close()) }()
		stores = append(stores, another)
	} else {
		b.refused(err, store.Locked)
	}
	const writers, each = 6, 30
	var writing, reading sync.WaitGroup
	errs := make([]error, writers)
	for w := range writers {
		writing.Go(func() {
			for i := range each {
				_, err := stores[w%len(stores)].Change(ctx, main, store.Caller{}, func(tx store.Tx) error {
					for part := range 1 + (w+i)%3 {
						if _, err := tx.Create(tool(fmt.Sprintf("w%d-%d-%d", w, i, part), "")); err != nil {
							return err
						}
						time.Sleep(time.Duration((w*i)%4) * 300 * time.Microsecond) // the others overtake
					}
					return nil
				})
				errs[w] = errors.Join(errs[w], err)
			}
		})
	}
	var seen []int64
	var lost error
	follow := func() {
		for {
			var after int64
			if len(seen) > 0 {
				after = seen[len(seen)-1]
			}
			page, err := b.Changes(ctx, main, after, 7)
			if err != nil || len(page) == 0 {
				lost = errors.Join(lost, err)
				return
			}
			for _, c := range page {
				seen = append(seen, c.Seq)
			}
		}
	}
	done := make(chan struct{})
	reading.Go(func() {
		for {
			select {
			case <-done:
				follow()
				return
			default:
				follow()
			}
		}
	})
	writing.Wait()
	close(done)
	reading.Wait()
	b.ok(errors.Join(append(errs, lost)...))
	all, err := b.Changes(ctx, main, 0, store.MaxPage)
	b.ok(err)
	var want []int64
	for _, c := range all {
		want = append(want, c.Seq)
	}
	b.want("followed", seen, want)
}

func search(b *bench) {
	b.put(tool("a", "Große Röhre 16 mm"), tool("b", "Bowl gouge, long grind"), tool("c", "Skew"), tool("d", "Bowl gouge"))
	for query, want := range map[string][]string{
		"bowl gouge": {"b", "d"},
		"BOWL GUOGE": {"b", "d"},
		"bol gouge":  {"b", "d"},
		"grosse":     {"a"}, // the sharp s is a letter of its own
		"rohre":      {"a"},
		"RÖHRE":      {"a"},
		"skwe":       {"c"},
		"chisel":     {},
		"":           {"a", "b", "c", "d"},
		"!?":         {},
	} {
		b.want(query, b.ids(store.Query{Search: query, Limit: 1}), want)
	}
	b.ok(b.update(tool("c", "Renamed"), 0))
	b.want("the old name", b.ids(store.Query{Search: "skew"}), []string{})
	b.want("the new name", b.ids(store.Query{Search: "renamd"}), []string{"c"})
	b.want("narrowed", b.ids(store.Query{Search: "bowl", Filter: store.Where(store.ByDisplay, "Bowl gouge")}), []string{"d"})
}

// filterAndOrder compares every column, operator and direction with the same done on the records by hand.
func filterAndOrder(b *bench) {
	r := chance.New(b.T)
	pick := func() string { return []string{"", "a", "B", "b", "é", "~"}[r.IntN(6)] }
	var all []store.Record
	for i := range 40 {
		d := store.Draft{Name: fmt.Sprintf("%s/tools/t%02d", main, r.Perm(99)[0]*40+i), DisplayName: pick(), Class: pick(), State: pick(), Station: pick(),
			Wheel: pick(), Tool: pick(), Recipe: pick(), Holder: pick(), Finding: pick(), Body: "{}"}
		if i%2 == 0 {
			d.Occurred = b.now.Add(time.Duration(r.IntN(5)) * time.Hour)
		}
		if i%3 == 0 { // the others are never due
			d.Due = b.now.Add(time.Duration(r.IntN(5)) * time.Hour)
		}
		b.put(d)
		all = append(all, b.get(d.Name))
		b.want("due", all[i].Due, d.Due)
	}
	for _, column := range store.Columns {
		for _, down := range []bool{false, true} {
			for _, op := range []string{"=", "!=", "<", "<=", ">", ">="} {
				pivot := all[r.IntN(len(all))].Value(column)
				value := pivot
				if us, ok := pivot.(int64); ok {
					value = store.FromMicros(us)
				}
				q := store.Query{OrderBy: column, Down: down, Limit: 7, Filter: store.Filter{Op: op, Column: column, Value: value}}
				b.want(fmt.Sprintf("%s %s %v, down %v", column, op, value, down), b.ids(q), byHand(all, column, op, pivot, down))
			}
		}
	}
	a, z := store.Where(store.ByClass, "a"), store.Filter{Op: "not", Of: []store.Filter{store.Where(store.ByState, "b")}}
	var want []string
	for _, rec := range sorted(all, store.ByName, false) {
		if rec.Class == "a" || rec.State != "b" {
			want = append(want, rec.Name[len(main)+7:])
		}
	}
	b.want("or, not", b.ids(store.Query{Filter: store.Filter{Op: "or", Of: []store.Filter{a, z}}}), want)
}

func compare(a, b any) int {
	switch a := a.(type) {
	case string:
		return strings.Compare(a, b.(string)) //nolint:errcheck // both are of one column
	case int64:
		return cmp.Compare(a, b.(int64)) //nolint:errcheck // both are of one column
	}
	panic("no such value")
}

func sorted(all []store.Record, column store.Column, down bool) []store.Record {
	return slices.SortedFunc(slices.Values(all), func(a, b store.Record) int {
		c := compare(a.Value(column), b.Value(column))
		if c == 0 {
			c = strings.Compare(a.Name, b.Name)
		}
		if down {
			return -c
		}
		return c
	})
}

func byHand(all []store.Record, column store.Column, op string, pivot any, down bool) []string {
	found := []string{}
	for _, r := range sorted(all, column, down) {
		c := compare(r.Value(column), pivot)
		if map[string]bool{"=": c == 0, "!=": c != 0, "<": c < 0, "<=": c <= 0, ">": c > 0, ">=": c >= 0}[op] {
			found = append(found, r.Name[len(main)+7:])
		}
	}
	return found
}

func failingChange(b *bench) {
	b.put(tool("x", "before"))
	mine := errors.New("the caller's own")
	err := b.change(func(tx store.Tx) error {
		if _, err := tx.Create(tool("y", "")); err != nil {
			return err
		}
		if _, err := tx.Update(tool("x", "after"), 1); err != nil {
			return err
		}
		if r, err := tx.Get(main + "/tools/x"); err != nil || r.DisplayName != "after" {
			b.Errorf("does not read its own write: %v %v", r, err)
		}
		return mine
	})
	if !errors.Is(err, mine) {
		b.Fatal(err)
	}
	b.want("x", b.get(main+"/tools/x").DisplayName, "before")
	b.want("list", b.ids(store.Query{Deleted: true}), []string{"x"})
	h, err := b.History(ctx, main+"/tools/x")
	b.ok(err)
	b.want("history", len(h), 1)
	func() {
		defer func() { b.want("what was thrown", recover(), any("in the middle")) }()
		b.ok(b.change(func(tx store.Tx) error {
			_, err := tx.Create(tool("z", ""))
			b.ok(err)
			panic("in the middle")
		}))
	}()
	_, err = b.Get(ctx, main+"/tools/z", time.Time{})
	b.refused(err, store.NotFound)
	gone, cancel := context.WithCancel(ctx)
	_, err = b.Change(gone, main, store.Caller{}, func(tx store.Tx) error {
		_, err := tx.Create(tool("w", ""))
		cancel()
		return err
	})
	if err == nil {
		b.Error("a change whose caller went away says it is kept")
	}
	_, err = b.Get(ctx, main+"/tools/w", time.Time{})
	b.refused(err, store.NotFound)
}

func refuses(b *bench) {
	for _, q := range []store.Query{
		{Limit: -1}, {Limit: store.MaxPage + 1}, {OrderBy: "body"}, {OrderBy: "1; DROP TABLE records"}, {Search: "x", OrderBy: store.ByName},
		{Filter: store.Filter{Op: "LIKE", Column: store.ByName, Value: ""}}, {Filter: store.Where("uid", "")}, {Filter: store.Where(store.ByName, 3)},
		{OrderBy: store.ByExternalID}, {Filter: store.Filter{Op: "<", Column: store.ByExternalID, Value: "a:b"}}, {Filter: store.Where(store.ByExternalID, 3)},
		{Filter: store.Where(store.ByCreated, "today")}, {Filter: store.Filter{Op: "and"}}, {Filter: store.Where(store.ByName, "\x00")},
	} {
		q.Shop, q.Kind = main, "tools"
		_, _, err := b.Find(ctx, q)
		b.refused(err, store.BadQuery)
	}
	d := tool("x", "")
	d.Name = "shops/other/tools/x"
	b.refused(b.create(d), store.BadRecord)
}
