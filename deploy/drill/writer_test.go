//go:build unix

package drill_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/fieldmaskpb"

	arrisv1 "arris.example/proto/arris/v1"
)

const shop = "shops/main"

// callTime is how long a writer waits for an answer.
const callTime = 5 * time.Second

// A deed is one write: a request that stays the same however often it is sent, and what it leaves behind.
type deed struct {
	mark string // in every record that it writes, and nowhere else
	size int    // how many records that are
	over bool   // the next such deed of the writer writes over it
	ask  asking

	names []string // answered; nil: nobody knows whether it was done
}

// do sends a writer's last request and keeps the answer.
func (w *writer) do(conn grpc.ClientConnInterface) error {
	d := w.last()
	ctx, cancel := context.WithTimeout(context.Background(), callTime)
	defer cancel()
	names, err := d.ask(ctx, conn)
	if err == nil {
		w.mu.Lock()
		defer w.mu.Unlock()
		d.names = names
	}
	return err
}

// A writer writes one thing after the other. It has a tool and a recipe that nobody else changes.
type writer struct {
	id     string
	random *rand.Rand
	mu     sync.Mutex // others count while it writes
	deeds  []*deed
}

func newWriter(id string, random *rand.Rand) *writer { return &writer{id: id, random: random} }

func (w *writer) tool() string   { return shop + "/tools/" + w.id }
func (w *writer) recipe() string { return shop + "/recipes/" + w.id }

// last is what the writer did last, which may be open.
func (w *writer) last() *deed {
	if len(w.deeds) == 0 {
		return nil
	}
	return w.deeds[len(w.deeds)-1]
}

// write makes a new deed and does it. The first two make what the others change.
func (w *writer) write(conn grpc.ClientConnInterface) error {
	n := len(w.deeds)
	d := &deed{mark: fmt.Sprintf("%s wrote %d", w.id, n), size: 1}
	request := fmt.Sprintf("%s-%d", w.id, n)
	switch kind := w.random.IntN(4); {
	case n == 0:
		d.over, d.ask = true, w.makeTool(d.mark, request)
	case n == 1:
		d.ask = w.makeRecipe(d.mark, request)
	case kind == 0:
		d.over, d.ask = true, w.moveTool(d.mark, request)
	case kind == 1:
		d.ask = w.reviseRecipe(d.mark, request)
	case kind == 2:
		d.size = 3
		d.ask = buyTools(d.mark, request, d.size)
	default:
		d.ask = w.sharpen(d.mark, request)
	}
	w.mu.Lock()
	w.deeds = append(w.deeds, d)
	w.mu.Unlock()
	return w.do(conn)
}

type asking = func(context.Context, grpc.ClientConnInterface) (names []string, err error)

func (w *writer) makeTool(mark, request string) asking {
	return func(ctx context.Context, conn grpc.ClientConnInterface) ([]string, error) {
		t, err := arrisv1.NewToolServiceClient(conn).CreateTool(ctx, &arrisv1.CreateToolRequest{Parent: shop, ToolId: w.id, RequestId: request,
			Tool: &arrisv1.Tool{Kind: arrisv1.ToolKind_TOOL_KIND_BOWL_GOUGE, Location: mark}})
		return []string{t.GetName()}, err
	}
}

func (w *writer) moveTool(mark, request string) asking {
	return func(ctx context.Context, conn grpc.ClientConnInterface) ([]string, error) {
		t, err := arrisv1.NewToolServiceClient(conn).UpdateTool(ctx, &arrisv1.UpdateToolRequest{RequestId: request,
			Tool: &arrisv1.Tool{Name: w.tool(), Location: mark}, UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"location"}}})
		return []string{t.GetName()}, err
	}
}

// makeRecipe and reviseRecipe write two records at once, a recipe's head and a revision below it, and answer with the revision.
func (w *writer) makeRecipe(mark, request string) asking {
	return func(ctx context.Context, conn grpc.ClientConnInterface) ([]string, error) {
		r, err := arrisv1.NewRecipeServiceClient(conn).CreateRecipe(ctx, &arrisv1.CreateRecipeRequest{Parent: shop, RecipeId: w.id, RequestId: request,
			Recipe: &arrisv1.Recipe{Notes: mark, Grind: &arrisv1.Grind{Bevels: []*arrisv1.Bevel{{Angle: &arrisv1.Bevel_FrontAngleDeg{FrontAngleDeg: 42}}}}}})
		return []string{revisionName(r)}, err
	}
}

func (w *writer) reviseRecipe(mark, request string) asking {
	return func(ctx context.Context, conn grpc.ClientConnInterface) ([]string, error) {
		r, err := arrisv1.NewRecipeServiceClient(conn).UpdateRecipe(ctx, &arrisv1.UpdateRecipeRequest{RequestId: request,
			Recipe: &arrisv1.Recipe{Name: w.recipe(), Notes: mark}, UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"notes"}}})
		return []string{revisionName(r)}, err
	}
}

func revisionName(r *arrisv1.Recipe) string {
	recipe, _, _ := strings.Cut(r.GetName(), "/revisions/")
	return fmt.Sprintf("%s/revisions/%d", recipe, r.GetRevision())
}

// buyTools makes several tools, all or none, whose ids the server makes.
func buyTools(mark, request string, count int) asking {
	batch := &arrisv1.BatchCreateToolsRequest{Parent: shop, RequestId: request}
	for range count {
		batch.Requests = append(batch.Requests, &arrisv1.CreateToolRequest{Tool: &arrisv1.Tool{Kind: arrisv1.ToolKind_TOOL_KIND_SKEW, Location: mark}})
	}
	return func(ctx context.Context, conn grpc.ClientConnInterface) (names []string, err error) {
		answer, err := arrisv1.NewToolServiceClient(conn).BatchCreateTools(ctx, batch)
		for _, t := range answer.GetTools() {
			names = append(names, t.GetName())
		}
		slices.Sort(names)
		return names, err
	}
}

func (w *writer) sharpen(mark, request string) asking {
	return func(ctx context.Context, conn grpc.ClientConnInterface) ([]string, error) {
		s, err := arrisv1.NewSharpeningServiceClient(conn).CreateSharpening(ctx, &arrisv1.CreateSharpeningRequest{Parent: shop, RequestId: request,
			Sharpening: &arrisv1.Sharpening{Kind: arrisv1.SharpeningKind_SHARPENING_KIND_TOUCH_UP, Tool: w.tool(), Notes: mark}})
		return []string{s.GetName()}, err
	}
}

// crew are writers that write at the same time.
type crew []*writer

func newCrew(size int, random *rand.Rand) crew {
	var c crew
	for i := range size {
		c = append(c, newWriter(fmt.Sprintf("writer-%d", i), rand.New(rand.NewPCG(random.Uint64(), random.Uint64()))))
	}
	return c
}

// write lets all write until their server refuses or is gone, and gives how each ended.
func (c crew) write(conn grpc.ClientConnInterface) (wait func() []error) {
	var writing sync.WaitGroup
	ends := make([]error, len(c))
	for i, w := range c {
		writing.Go(func() {
			for ends[i] == nil {
				ends[i] = w.write(conn)
			}
		})
	}
	return func() []error {
		writing.Wait()
		return ends
	}
}

// settle asks again for what nobody knows of.
func (c crew) settle(conn grpc.ClientConnInterface) error {
	for _, w := range c {
		if d := w.last(); d != nil && d.names == nil {
			if err := w.do(conn); err != nil {
				return fmt.Errorf("asking again for %q: %w", d.mark, err)
			}
		}
	}
	return nil
}

// count are the deeds that were answered, and those that are open.
func (c crew) count() (done, open int) {
	for _, w := range c {
		w.mu.Lock()
		for _, d := range w.deeds {
			if d.names != nil {
				done++
			} else {
				open++
			}
		}
		w.mu.Unlock()
	}
	return done, open
}
