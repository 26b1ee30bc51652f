package api

import (
	"context"
	"errors"
	"regexp"
	"strings"

	"go.einride.tech/aip/fieldmask"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/fieldmaskpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/records"
	"arris.example/service/internal/rpc"
	"arris.example/service/internal/store"
)

// message is a record as the schema has it.
type message interface {
	proto.Message
	GetName() string
	GetEtag() string
	GetExternalIds() []*arrisv1.ExternalId
}

// resource is how a kind of record crosses the border, and what its lists may ask for. The standard methods (AIP-131 to 135, 164, 231) are
// written once, here.
type resource[M message, T any] struct {
	kind  *records.Kind[T]
	field string // in requests: "wheel_measurement"
	in    func(M) T
	out   func(T) M
	edit  func(T) M // what an update starts from, where that is not out
	lists columns
}

// asking, writing and listing are what requests of the standard methods have.
type (
	writing interface {
		proto.Message
		GetRequestId() string
		GetValidateOnly() bool
	}
	getting interface {
		GetName() string
		GetAsOfTime() *timestamppb.Timestamp
	}
	listing interface {
		GetParent() string
		GetPageSize() int32
		GetPageToken() string
		GetFilter() string
		GetOrderBy() string
		GetShowDeleted() bool
		GetSearch() string
		GetAsOfTime() *timestamppb.Timestamp
	}
	updating interface {
		writing
		GetUpdateMask() *fieldmaskpb.FieldMask
	}
	deleting interface {
		writing
		GetName() string
		GetEtag() string
	}
)

// create keeps a new record.
func (r *resource[M, T]) create(ctx context.Context, k records.Keeper, req writing, parent, id string, m M) (none M, err error) {
	list, err := records.Create(ctx, k, r.kind, writeIn(ctx, req), r.draft(parent, id, m))
	if err != nil {
		return none, r.refused(err)
	}
	return r.show(list[0]), nil
}

func (r *resource[M, T]) draft(parent, id string, m M) records.Draft[T] {
	return records.Draft[T]{Parent: parent, ID: id, Value: r.in(m), ExternalIDs: externalIDsIn(m.GetExternalIds())}
}

// createAll keeps many new records, all or none.
func (r *resource[M, T]) createAll(ctx context.Context, k records.Keeper, req writing, drafts []records.Draft[T]) ([]M, error) {
	list, err := records.Create(ctx, k, r.kind, writeIn(ctx, req), drafts...)
	if err != nil {
		return nil, r.refused(err)
	}
	return each(list, r.show), nil
}

// get reads a record.
func (r *resource[M, T]) get(ctx context.Context, k records.Keeper, req getting) (none M, err error) {
	i, err := records.Get(ctx, k, r.kind, req.GetName(), timeIn(req.GetAsOfTime()))
	if err != nil {
		return none, r.refused(err)
	}
	return r.show(i), nil
}

// list reads a page.
func (r *resource[M, T]) list(ctx context.Context, k records.Keeper, req listing) ([]M, string, error) {
	if req.GetSearch() != "" && (req.GetOrderBy() != "" || req.GetAsOfTime() != nil) {
		return nil, "", fault.Field("search", fault.Contradiction, "finds the best first among what is kept now; leave order_by and as_of_time empty")
	}
	q := store.Query{
		Shop: store.ShopOf(req.GetParent() + "/" + r.kind.Collection), Parent: req.GetParent(), Search: strings.ReplaceAll(req.GetSearch(), "\x00", " "),
		Deleted: req.GetShowDeleted(), AsOf: timeIn(req.GetAsOfTime()), Limit: int(req.GetPageSize()), Token: req.GetPageToken(),
	}
	var err error
	if q.Filter, err = r.lists.filterIn(req.GetFilter()); err != nil {
		return nil, "", err
	}
	if q.OrderBy, q.Down, err = r.lists.orderIn(req.GetOrderBy()); err != nil {
		return nil, "", err
	}
	page, next, err := records.List(ctx, k, r.kind, q)
	if err != nil {
		return nil, "", r.refused(err)
	}
	return each(page, r.show), next, nil
}

// update changes a record.
func (r *resource[M, T]) update(ctx context.Context, k records.Keeper, req updating, allowMissing bool, m M) (none M, err error) {
	if !m.ProtoReflect().IsValid() {
		return none, fault.Field(r.field, fault.Missing, "say the %s with its name and what is to change", r.kind.Noun)
	}
	if err := r.wellNamed(m.GetName()); err != nil {
		return none, err
	}
	mask, err := maskIn(req.GetUpdateMask(), m.ProtoReflect().Descriptor())
	if err != nil {
		return none, err
	}
	edit := records.Edit[T]{Name: m.GetName(), Version: versionIn(m.GetEtag()), Change: r.change(ctx, mask, m)}
	if allowMissing {
		edit.Missing = func() (records.Draft[T], error) {
			return r.draft(store.ParentOf(m.GetName()), lastOf(m.GetName()), m), rpc.Check(ctx, r.field, m)
		}
	}
	i, err := records.Update(ctx, k, r.kind, writeIn(ctx, req), edit)
	return r.shown(i, err)
}

// nameForm is what names of shops and of what is kept right below them look like; the ids are those that may be chosen.
var nameForm = regexp.MustCompile(`^shops/[a-z]([a-z0-9-]{0,61}[a-z0-9])?(/([a-z]+)/[a-z]([a-z0-9-]{0,61}[a-z0-9])?)?$`)

// wellNamed tells that a name is one of this kind: it may become a new record's, and never reaches one of another kind.
func (r *resource[M, T]) wellNamed(name string) error {
	own := records.Shops.Collection
	if parts := nameForm.FindStringSubmatch(name); parts == nil {
		own = ""
	} else if parts[3] != "" {
		own = parts[3]
	}
	if own == r.kind.Collection {
		return nil
	}
	example := "shops/main/" + r.kind.Collection + "/my-" + r.kind.Noun
	if r.kind.Collection == records.Shops.Collection {
		example = "shops/main"
	}
	return fault.Field(r.field+".name", fault.BadForm, "is %.80q; it must be like %s, with small letters, digits and hyphens", name, example)
}

// change makes the wanted record of the present one: what the mask names is taken from the request, and the whole is checked.
func (r *resource[M, T]) change(ctx context.Context, mask *fieldmaskpb.FieldMask, asked M) func(store.Tx, records.Item[T]) (T, []store.ExternalID, error) {
	return func(_ store.Tx, i records.Item[T]) (none T, _ []store.ExternalID, err error) {
		wanted := r.start(i)
		fieldmask.Update(mask, wanted, proto.CloneOf(asked))
		if err := rpc.Check(ctx, r.field, wanted); err != nil {
			return none, nil, err
		}
		return r.in(wanted), externalIDsIn(wanted.GetExternalIds()), nil
	}
}

// start is what an update starts from.
func (r *resource[M, T]) start(i records.Item[T]) M {
	out := r.out
	if r.edit != nil {
		out = r.edit
	}
	m := out(i.Value)
	stamp(m, i.Record)
	return m
}

// remove deletes a record, or with back brings it back.
func (r *resource[M, T]) remove(ctx context.Context, k records.Keeper, req deleting) (M, error) {
	return r.shown(records.Delete(ctx, k, r.kind, writeIn(ctx, req), req.GetName(), versionIn(req.GetEtag())))
}

func (r *resource[M, T]) bringBack(ctx context.Context, k records.Keeper, req deleting) (M, error) {
	return r.shown(records.Undelete(ctx, k, r.kind, writeIn(ctx, req), req.GetName(), versionIn(req.GetEtag())))
}

// show is a record for the caller.
func (r *resource[M, T]) show(i records.Item[T]) M {
	m := r.out(i.Value)
	stamp(m, i.Record)
	return m
}

func (r *resource[M, T]) shown(i records.Item[T], err error) (none M, _ error) {
	if err != nil {
		return none, r.refused(err)
	}
	return r.show(i), nil
}

// refused tells a refusal; of a conflict with what differs, field by field.
func (r *resource[M, T]) refused(err error) error {
	var conflict *records.Conflict[T]
	if errors.As(err, &conflict) {
		return conflictFault(conflict.Now.Record, differences(r.start(conflict.Now), r.start(conflict.Wanted)))
	}
	if stale, ok := store.As(err); ok && stale.Kind == store.Stale && stale.Now.Name != "" {
		return conflictFault(stale.Now, nil)
	}
	return refused(err)
}
