package api

import (
	"context"

	statuspb "google.golang.org/genproto/googleapis/rpc/status"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
)

// OrderSetups puts many set-ups into an order in which few settings change from one to the next.
func (g *Grind) OrderSetups(ctx context.Context, req *arrisv1.OrderSetupsRequest) (*arrisv1.OrderSetupsResponse, error) {
	in := items{shop: req.GetShop(), list: req.GetItems(), detail: arrisv1.AnswerDetail_ANSWER_DETAIL_SUMMARY, most: mostInBatch}
	if err := in.check(); err != nil {
		return nil, err
	}
	out := &arrisv1.OrderSetupsResponse{}
	of, found, err := in.solved(ctx, g.solver, func(item *arrisv1.BatchItem, refusal *statuspb.Status) {
		out.Refused = append(out.Refused, &arrisv1.BatchResult{Key: item.GetKey(), Outcome: &arrisv1.BatchResult_Error{Error: refusal}})
	})
	if err != nil {
		return nil, err
	}
	out.ChangesAsAsked = int32(setup.Changes(found)) //nolint:gosec // at most six for each of a thousand
	for _, q := range setup.Queue(found) {
		next := &arrisv1.OrderedSetup{Key: in.list[of[q.Index]].GetKey()}
		for _, c := range q.Changing {
			next.Changing = append(next.Changing, changingOut[c])
		}
		out.Setups = append(out.Setups, next)
		out.Changes += int32(len(q.Changing)) //nolint:gosec // likewise
	}
	return out, nil
}

// solved are the set-ups of the items that have one, and which items those are; the others are told of, in order.
func (in items) solved(ctx context.Context, solver setup.Solver, tell func(*arrisv1.BatchItem, *statuspb.Status)) (of []int, found []setup.Setup, err error) {
	all, refusals := make([]setup.Setup, len(in.list)), make([]*statuspb.Status, len(in.list))
	if err := in.each(ctx, func(i int) { all[i], refusals[i] = in.solve(ctx, solver, in.list[i]) }); err != nil {
		return nil, nil, err
	}
	for i := range all {
		if refusals[i] != nil {
			tell(in.list[i], refusals[i])
			continue
		}
		of, found = append(of, i), append(found, all[i])
	}
	return of, found, nil
}

var changingOut = map[setup.Changing]arrisv1.Changing{
	setup.ChangeStation:  arrisv1.Changing_CHANGING_STATION,
	setup.ChangeWheel:    arrisv1.Changing_CHANGING_WHEEL,
	setup.ChangeHolder:   arrisv1.Changing_CHANGING_HOLDER,
	setup.ChangeLeg:      arrisv1.Changing_CHANGING_LEG,
	setup.ChangeStickOut: arrisv1.Changing_CHANGING_STICK_OUT,
	setup.ChangeSupport:  arrisv1.Changing_CHANGING_SUPPORT,
}
