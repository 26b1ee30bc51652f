package rpc

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"

	statuspb "google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/protobuf/proto"

	"arris.example/service/internal/fault"
)

// Item does one of many things a call asks for as the chain does a call: the item is held to its declared rules, a panic is caught, the
// outcome counted, and a refusal becomes the status that is the item's answer; nil when it has one. Items of a call may be done at the
// same time.
func Item(ctx context.Context, item proto.Message, work func() (Calculation, error)) *statuspb.Status {
	parent, ok := ctx.Value(callKey{}).(*call)
	if !ok { // outside a call there is no chain; only tests come here
		_, err := work()
		return refusedItem(&call{}, faultOf(err))
	}
	own := &call{id: parent.id}
	refused := faultOf(recovered(ctx, func(context.Context) error {
		if err := parent.chain.rules.check(item); err != nil {
			return err
		}
		about, err := work()
		own.noted, own.about = true, about
		return err
	}))
	parent.chain.metrics.observeItem(own, refused)
	if refused != nil && refused.Kind == fault.Internal {
		parent.chain.log.LogAttrs(ctx, slog.LevelError, "item", append(causeAttrs(refused), slog.String("request_id", parent.id))...)
	}
	return refusedItem(parent, refused)
}

// Job does work that goes on after the call that asked for it as the chain does a call: its items are held to their rules and counted, and
// a panic is caught. The id stands where a call's request id does.
func (i *Interceptors) Job(ctx context.Context, id string, work func(context.Context) error) error {
	err := recovered(context.WithValue(ctx, callKey{}, &call{id: id, chain: i}), work)
	var p *panicked
	if errors.As(err, &p) {
		i.log.LogAttrs(ctx, slog.LevelError, "job", append(causeAttrs(faultOf(err)), slog.String("request_id", id))...)
	}
	return err
}

// Status is what is told of an error to whoever asks for a job.
func Status(err error, id string) *statuspb.Status { return statusOf(faultOf(err), id).Proto() }

func refusedItem(c *call, refused *fault.Fault) *statuspb.Status {
	if refused == nil {
		return nil
	}
	return statusOf(refused, c.id).Proto()
}

// Check holds a message to its declared rules within a call, as the chain does a request: what is only whole once it is merged with what is
// kept. The fields of a refusal are below the field named.
func Check(ctx context.Context, field string, message proto.Message) error {
	return refusalOf(wrongBelow(ctx, field, message))
}

// CheckEach is Check for the messages of a list, which are only whole once they have what the list says for all.
func CheckEach[M proto.Message](ctx context.Context, field string, messages []M) error {
	var wrong []fault.Violation
	for i, m := range messages {
		wrong = append(wrong, wrongBelow(ctx, fmt.Sprintf("%s[%d]", field, i), m)...)
	}
	return refusalOf(wrong)
}

func refusalOf(wrong []fault.Violation) error {
	if len(wrong) == 0 {
		return nil
	}
	return invalid(wrong)
}

// wrongBelow is what is wrong with a message in a field.
func wrongBelow(ctx context.Context, field string, message proto.Message) []fault.Violation {
	own, ok := ctx.Value(callKey{}).(*call)
	if !ok { // outside a call there is no chain; only tests come here
		return nil
	}
	refused, ok := fault.As(own.chain.rules.check(message))
	if !ok {
		return nil
	}
	below := slices.Clone(refused.Violations)
	for i := range below {
		below[i].Field = strings.TrimSuffix(field+"."+below[i].Field, ".")
	}
	return below
}
