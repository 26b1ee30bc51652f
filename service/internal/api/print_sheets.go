package api

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/queue"
	"arris.example/service/internal/records"
	"arris.example/service/internal/rpc"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/store"
)

// mostToPrint is how many sheets an operation prints, mostOrdered of how many at once the order is looked for: the work grows with their square.
const (
	mostToPrint = 10_000
	mostOrdered = mostInBatch
)

// PrintSheets starts printing many sheets.
func (o *Operations) PrintSheets(ctx context.Context, req *arrisv1.PrintSheetsRequest) (*arrisv1.Operation, error) {
	if o.queue == nil {
		return nil, &fault.Fault{Kind: fault.Impossible, Reason: nothingGoesOn, Message: "nothing is printed here after its call: ask a server that keeps a shop " +
			"(arrisd --store FILE, or --demo), or RenderSheets for up to 500 sheets at once"}
	}
	if _, err := o.store.Get(ctx, req.GetShop(), time.Time{}); err != nil {
		return nil, records.FaultOfStore(err)
	}
	method, _ := grpc.Method(ctx)
	operation := store.Operation{Person: rpc.Person(ctx), RequestID: req.GetRequestId(), Hash: hashOf(method, req), AsOf: timeIn(req.GetAsOfTime())}
	if operation.AsOf.IsZero() {
		operation.AsOf = time.Now().UTC().Truncate(time.Microsecond)
	}
	// What a filter selects may be another by now: an operation that was begun is what it was.
	if started, before, err := o.kept.StartedOperation(ctx, req.GetShop(), operation.RequestID, operation.Hash); before || err != nil {
		return operationShown(started, err)
	}
	asked, err := o.asked(ctx, req, operation.AsOf)
	if err != nil {
		return nil, err
	}
	body, err := proto.Marshal(asked)
	if err != nil {
		return nil, err
	}
	operation.Name, operation.Items = req.GetShop()+"/operations/"+records.NewID("operation"), len(asked.GetItems())
	started, err := o.kept.StartOperation(ctx, operation, body)
	o.queue.Kick()
	return operationShown(started, err)
}

// asked is a request with each item written out, and of what time it is.
func (o *Operations) asked(ctx context.Context, req *arrisv1.PrintSheetsRequest, asOf time.Time) (*arrisv1.PrintSheetsRequest, error) {
	list := req.GetItems()
	if chosen := req.GetSelection(); chosen != nil {
		if len(list) > 0 {
			return nil, fault.Field("selection", fault.Contradiction, "is said beside %d items; send one or the other", len(list))
		}
		var err error
		if list, err = o.selected(ctx, req.GetShop(), chosen, asOf); err != nil {
			return nil, err
		}
	}
	in := items{shop: req.GetShop(), wording: req.GetWording(), list: list, detail: arrisv1.AnswerDetail_ANSWER_DETAIL_FULL, most: mostToPrint}
	if _, err := in.speech(); err != nil {
		return nil, err
	}
	if err := in.check(); err != nil {
		return nil, err
	}
	for _, item := range list {
		if ask := item.GetRequest(); ask != nil && ask.GetAsOfTime() == nil {
			ask.AsOfTime = timestamppb.New(asOf)
		}
	}
	return &arrisv1.PrintSheetsRequest{Shop: req.GetShop(), Wording: req.GetWording(), Items: list, PaperSize: req.GetPaperSize(), Order: req.GetOrder()}, nil
}

// selected are items for each of some tools or recipes on each of some stations.
func (o *Operations) selected(ctx context.Context, shopName string, chosen *arrisv1.SheetSelection, asOf time.Time) (list []*arrisv1.BatchItem, err error) {
	var names []string
	ask := func(name string) *arrisv1.SolveSetupRequest {
		return &arrisv1.SolveSetupRequest{Shop: shopName, GrindSource: &arrisv1.SolveSetupRequest_Recipe{Recipe: name}, Rig: &arrisv1.Rig{}}
	}
	q := store.Query{Shop: shopName, AsOf: asOf, Limit: store.MaxPage}
	switch of := chosen.GetOf().(type) {
	case *arrisv1.SheetSelection_RecipeFilter:
		q.Kind = records.Recipes.Collection
		q.Filter, err = recipes.lists.filterIn(of.RecipeFilter)
		err = inField("selection.recipe_filter", err)
	case *arrisv1.SheetSelection_ToolFilter:
		q.Kind = records.Tools.Collection
		q.Filter, err = tools.lists.filterIn(of.ToolFilter)
		err = inField("selection.tool_filter", err)
		ask = func(name string) *arrisv1.SolveSetupRequest {
			return &arrisv1.SolveSetupRequest{Shop: shopName, Rig: &arrisv1.Rig{ToolSource: &arrisv1.Rig_Tool{Tool: name}}}
		}
	}
	if err == nil {
		names, err = o.names(ctx, q)
	}
	if err != nil {
		return nil, err
	}
	if len(names) == 0 {
		return nil, fault.Field("selection", fault.OutOfRange, "finds no %s in %s; list them with the same filter", q.Kind, shopName)
	}
	if n := len(names) * len(chosen.GetStations()); n > mostToPrint {
		return nil, &fault.Fault{Kind: fault.TooMuch, Reason: setup.TooCostly,
			Message: fmt.Sprintf("%d %s on %d stations are %d sheets, more than the %d of one operation; filter them, or take fewer stations", len(names), q.Kind, len(chosen.GetStations()), n, mostToPrint)}
	}
	for _, station := range chosen.GetStations() {
		for _, name := range names {
			request := ask(name)
			request.Rig.StationSource, request.Wording = &arrisv1.Rig_Station{Station: station}, chosen.GetWording()
			list = append(list, &arrisv1.BatchItem{Key: lastOf(name) + " on " + lastOf(station), Request: request})
		}
	}
	return list, nil
}

// inField is what is wrong with one field, told by where it stands in this request.
func inField(path string, err error) error {
	f, ok := fault.As(err)
	if !ok || len(f.Violations) != 1 {
		return err
	}
	return fault.Field(path, f.Violations[0].Reason, "%s", f.Violations[0].Text)
}

// names are those of all records that a query finds, up to more than can be printed.
func (o *Operations) names(ctx context.Context, q store.Query) (names []string, err error) {
	for len(names) <= mostToPrint {
		var page []store.Record
		if page, q.Token, err = o.store.Find(ctx, q); err != nil {
			return nil, records.FaultOfStore(err)
		}
		for _, r := range page {
			names = append(names, r.Name)
		}
		if q.Token == "" {
			break
		}
	}
	return names, nil
}

// step prints an operation's next volume.
func (o *Operations) step(ctx context.Context, op store.Operation, tell func(int)) (made store.Made, err error) {
	err = o.chain.Job(ctx, op.Name, func(ctx context.Context) error {
		made, err = o.print(ctx, op, tell)
		return err
	})
	if f, ok := fault.As(err); ok && f.Kind != fault.Unavailable {
		return made, queue.NewFinal(err, packed(rpc.Status(err, op.Name)))
	}
	return made, err
}

// print makes what is to be made of the items after those done: up to a volume. After the last ones it makes nothing.
func (o *Operations) print(ctx context.Context, op store.Operation, tell func(int)) (made store.Made, err error) {
	if op.Done == op.Items {
		return made, o.whole(ctx, op)
	}
	asked, err := o.inOrder(ctx, op)
	if err != nil {
		return made, err
	}
	next := asked.GetItems()[op.Done:min(op.Done+mostInVolume, op.Items)]
	in := items{shop: asked.GetShop(), wording: asked.GetWording(), list: next, detail: arrisv1.AnswerDetail_ANSWER_DETAIL_FULL, most: mostInVolume}
	order, err := o.sheets.order(ctx, in, arrisv1.SheetOrder_SHEET_ORDER_UNSPECIFIED)
	if err != nil {
		return made, err
	}
	out := &chunks{send: func(data []byte) error { made.Pieces = append(made.Pieces, data); return nil }}
	printed, refused, err := o.sheets.volume(ctx, out, in, order, paperSizes[asked.GetPaperSize()], tell)
	if err = cmp.Or(err, passing(refused)); err == nil {
		err = out.flush()
	}
	made.Items, made.Printed, made.Refused = len(next), printed, each(refused, func(r *arrisv1.BatchResult) []byte { return packed(r) })
	return made, err
}

// passing is an error where an item was refused for what passes, such as a store that is away: that is nobody's answer.
func passing(refused []*arrisv1.BatchResult) error {
	for _, r := range refused {
		if code := codes.Code(r.GetError().GetCode()); code == codes.Unavailable || code == codes.Canceled { //nolint:gosec // a code
			return fmt.Errorf("%q: %s", r.GetKey(), r.GetError().GetMessage())
		}
	}
	return nil
}

// whole fails where nothing could be printed.
func (o *Operations) whole(ctx context.Context, op store.Operation) error {
	if len(op.Volumes) > 0 {
		return nil
	}
	refused, err := o.refused(ctx, op.Name, 0, reasonsTold)
	if err != nil {
		return err
	}
	return noSheets(op.Items, refused)
}

// inOrder is what was asked, in the order to print, which is kept before the first volume so that each sheet is in one volume whoever goes
// on with it.
func (o *Operations) inOrder(ctx context.Context, op store.Operation) (*arrisv1.PrintSheetsRequest, error) {
	body, err := o.kept.OperationRequest(ctx, op.Name)
	if err != nil {
		return nil, err
	}
	asked := &arrisv1.PrintSheetsRequest{}
	if err := proto.Unmarshal(body, asked); err != nil || asked.GetOrder() == arrisv1.SheetOrder_SHEET_ORDER_UNSPECIFIED {
		return asked, err
	}
	var ordered []*arrisv1.BatchItem
	for rest := asked.GetItems(); len(rest) > 0; {
		n := min(mostOrdered, len(rest))
		in := items{shop: asked.GetShop(), list: rest[:n], detail: arrisv1.AnswerDetail_ANSWER_DETAIL_SUMMARY, most: n}
		order, err := o.sheets.order(ctx, in, asked.GetOrder())
		if err != nil {
			return nil, err
		}
		for _, i := range order {
			ordered = append(ordered, rest[i])
		}
		rest = rest[n:]
	}
	asked.Items, asked.Order = ordered, arrisv1.SheetOrder_SHEET_ORDER_UNSPECIFIED
	if body, err = proto.Marshal(asked); err != nil {
		return nil, err
	}
	return asked, o.kept.RewriteRequest(ctx, op, body)
}

// packed is a message as it is kept.
func packed(m proto.Message) []byte {
	text, err := proto.Marshal(m)
	if err != nil { // what was just made can be written
		return nil
	}
	return text
}
