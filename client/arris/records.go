package arris

import (
	"context"
	"maps"
	"strconv"
	"strings"
	"time"
	"unicode"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/types/known/fieldmaskpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"arris.example/client/arris/internal/fields"
	arrisv1 "arris.example/proto/arris/v1"
)

// recordFlags are where records are, and how they are shown.
type recordFlags struct {
	Shop   string    `placeholder:"NAME" env:"ARRIS_SHOP" group:"Request:" help:"The shop that names belong to. Default: main."`
	Output string    `short:"o" enum:"table,json,csv" default:"table" placeholder:"FORMAT" group:"Answer:" help:"table for people, json as the API has it, csv with the fields' paths as columns."`
	Call   callFlags `embed:"" group:"Server:"`
}

// changeFlags are how a change is asked for.
type changeFlags struct {
	Check     bool   `group:"Request:" help:"Check everything and answer as if it were done; keep nothing."`
	RequestID string `name:"request-id" placeholder:"ID" group:"Request:" help:"Done once, however often it is asked with the same id."`
}

// namedChange is a change of one record, namedLook a look at one.
type (
	namedChange struct {
		Name string `arg:"" help:"Which one."`
		changeFlags
		recordFlags
	}
	namedLook struct {
		Name string `arg:"" help:"Which one."`
		recordFlags
	}
)

type listCommand struct {
	Filter  string `placeholder:"FILTER" group:"Request:" help:"Those for which it holds, such as 'state = RECIPE_STATE_DRAFT' or 'kind = TOOL_KIND_SKEW AND create_time > \"2026-11-01T00:00:00Z\"', as the API has it."`
	Search  string `placeholder:"WORDS" group:"Request:" help:"Those whose names hold the words, or nearly."`
	OrderBy string `name:"order-by" placeholder:"FIELDS" group:"Request:" help:"In this order, such as 'update_time desc'."`
	Deleted bool   `group:"Request:" help:"The deleted ones as well."`
	Most    int    `placeholder:"COUNT" group:"Request:" help:"So many at most. Default: all."`
	AsOf    moment `placeholder:"TIME" group:"Request:" help:"As they were then: 2026-11-20, or 2026-11-20T09:00:00Z."`
	recordFlags
}

type showCommand struct {
	namedLook
	AsOf moment `placeholder:"TIME" group:"Request:" help:"As it was then: 2026-11-20, or 2026-11-20T09:00:00Z."`
}

// pairs are fields as they are typed.
type pairs struct {
	Fields []string `arg:"" optional:"" sep:"none" placeholder:"FIELD=VALUE" help:"Fields by their paths, as show tells them: grit=F100, clamp.bar_below_mm=12.5mm. Nothing after the = takes a field away."`
	File   string   `short:"f" placeholder:"FILE" predictor:"file" group:"Request:" help:"The record in the API's JSON; - reads standard input. Fields win over it."`
}

type createCommand struct {
	Name string `arg:"" help:"What it is called in names: small letters, digits and hyphens."`
	pairs
	changeFlags
	recordFlags
}

type addCommand struct {
	pairs
	ID string `name:"id" placeholder:"NAME" group:"Request:" help:"What the entry is called. Default: made up."`
	changeFlags
	recordFlags
}

type setCommand struct {
	namedChange
	pairs
}

type deleteCommand struct {
	namedChange
}

type undeleteCommand struct {
	namedChange
}

// desk is where records of a shop are asked for.
type desk struct {
	program *program
	ctx     context.Context
	conn    grpc.ClientConnInterface
	shop    string
	// patience is how long an answer may take
	patience time.Duration
}

// at does something at a desk, and shows what comes of it.
func (p *program) at(f recordFlags, does use, do func(desk) error) error {
	p.json = f.Output == "json"
	p.speech = inFields
	return p.asking(f.Call, does, func(conn grpc.ClientConnInterface) error {
		d, end := desk{p, p.ctx, conn, f.shop(), f.Call.Timeout}.within(f.Call.Timeout)
		defer end()
		return do(d)
	})
}

// within is a desk where answers have so much time.
func (d desk) within(limit time.Duration) (desk, context.CancelFunc) {
	ctx, cancel := context.WithTimeout(d.ctx, limit)
	d.ctx = ctx
	return d, cancel
}

// inFields is for records, which are asked for by their fields.
var inFields = speech{func(path string) string { return path }, wayText}

func (f recordFlags) shop() string {
	if f.Shop == "" {
		return usualShop
	}
	return fullName(shops.collection, f.Shop)
}

// name is a record's in full.
func (n noun) name(shop, short string) string {
	if n.collection == shops.collection {
		return fullName(n.collection, short)
	}
	return fullName(shop+"/"+n.collection, short)
}

// record makes an empty one.
func (n noun) record() proto.Message { return newMessage("arris.v1." + n.message) }

// newMessage makes a message of the schema; all of them are linked in.
func newMessage(name string) proto.Message {
	kind, err := protoregistry.GlobalTypes.FindMessageByName(protoreflect.FullName(name))
	if err != nil {
		panic(err) // a noun's own mistake, which every test of it finds
	}
	return kind.New().Interface()
}

// call calls a method; the request's fields are set by their names.
func (d desk) call(service, method string, values map[string]any) (proto.Message, error) {
	files, err := protoregistry.GlobalFiles.FindDescriptorByName(protoreflect.FullName("arris.v1." + service + "." + method))
	if err != nil {
		return nil, err
	}
	m, _ := files.(protoreflect.MethodDescriptor) // of a method's name
	req, answer := newMessage(string(m.Input().FullName())), newMessage(string(m.Output().FullName()))
	for name, v := range values {
		put(req.ProtoReflect(), name, v)
	}
	return answer, d.conn.Invoke(d.ctx, "/arris.v1."+service+"/"+method, req, answer)
}

// put sets a field of a request, unless the value says nothing or the request has no such field.
func put(req protoreflect.Message, name string, v any) {
	f := req.Descriptor().Fields().ByName(protoreflect.Name(name))
	if f == nil {
		return
	}
	switch v := v.(type) {
	case proto.Message:
		req.Set(f, protoreflect.ValueOfMessage(v.ProtoReflect()))
	case moment:
		if v.said {
			req.Set(f, protoreflect.ValueOfMessage(timestamppb.New(v.time).ProtoReflect()))
		}
	case *int32:
		if v != nil {
			req.Set(f, protoreflect.ValueOfInt32(*v))
		}
	default:
		req.Set(f, protoreflect.ValueOf(v))
	}
}

func (c changeFlags) values(more map[string]any) map[string]any {
	more["validate_only"], more["request_id"] = c.Check, c.RequestID
	return more
}

// show shows a record that was changed, or would be.
func (c changeFlags) show(d desk, format string, record proto.Message, err error) error {
	if err = d.program.showRecord(d.shop, format, record, err); err != nil || !c.Check || format != "table" {
		return err
	}
	return d.program.print("checked; nothing was kept\n", nil)
}

func (d desk) get(n noun, name string, asOf moment) (proto.Message, error) {
	method := "Get" + n.message
	if n.word == recipes.word && strings.Contains(name, revisionsPart) {
		method += "Revision"
	}
	return d.call(n.service, method, map[string]any{"name": n.name(d.shop, name), "as_of_time": asOf})
}

// revisionsPart is in the names of revisions: bowl-50/revisions/2.
const revisionsPart = "/revisions/"

// latest is a record as a change begins with it: a recipe's newest revision, where others get the published one.
func (d desk) latest(n noun, name string) (proto.Message, error) {
	record, err := d.get(n, name, moment{})
	recipe, ok := record.(*arrisv1.Recipe)
	if err != nil || !ok || recipe.GetRevision() == recipe.GetNewestRevision() {
		return record, err
	}
	newest, err := d.get(n, recipe.GetName()+revisionsPart+strconv.Itoa(int(recipe.GetNewestRevision())), moment{})
	if newest, ok := newest.(*arrisv1.Recipe); ok {
		newest.Name = recipe.GetName()
	}
	return newest, err
}

// create keeps a new record.
func (d desk) create(n noun, parent, id string, record proto.Message, c changeFlags) (proto.Message, error) {
	return d.call(n.service, "Create"+n.message, c.values(map[string]any{
		"parent": parent, snake(n.message) + "_id": id, snake(n.message): record,
	}))
}

// update puts some fields of a record in place of what is kept.
func (d desk) update(n noun, record proto.Message, paths []string, c changeFlags) (proto.Message, error) {
	kept, err := d.call(n.service, "Update"+n.message, c.values(map[string]any{
		snake(n.message): record, "update_mask": &fieldmaskpb.FieldMask{Paths: paths},
	}))
	if err != nil || c.Check {
		return kept, err
	}
	return d.latest(n, fields.Get(kept, "name"))
}

// snake is a message's name as fields are named: wheel_measurement.
func snake(name string) string {
	var out strings.Builder
	for i, r := range name {
		if unicode.IsUpper(r) && i > 0 {
			out.WriteByte('_')
		}
		out.WriteRune(unicode.ToLower(r))
	}
	return out.String()
}

// over puts what was typed in place of a record's fields.
func (f pairs) over(d desk, record proto.Message) error {
	if err := (&source{File: f.File}).read(d.program.In, record); err != nil {
		return err
	}
	for _, pair := range f.Fields {
		path, value, ok := strings.Cut(pair, "=")
		if !ok {
			return wrongUsage("%q is no field and value: write them as grit=F100", pair)
		}
		if err := (fields.Setter{Shop: d.shop}).Set(record, path, value); err != nil {
			return usageError{err}
		}
	}
	return nil
}

// Run lists.
func (c *listCommand) Run(p *program, n noun) error {
	return p.at(c.recordFlags, looks, func(d desk) error {
		list, err := d.pages(n.service, "List"+n.message+"s", c.values(d.shop), c.Most)
		if err != nil {
			return err
		}
		return p.showList(n, d.shop, c.Output, list)
	})
}

func (c *listCommand) values(parent string) map[string]any {
	return map[string]any{
		"parent": parent, "filter": c.Filter, "search": c.Search, "order_by": c.OrderBy, "show_deleted": c.Deleted, "as_of_time": c.AsOf,
	}
}

// pages reads a list until there is no more of it, or enough.
func (d desk) pages(service, method string, values map[string]any, most int) ([]proto.Message, error) {
	const page = 1000
	values["page_size"] = int32(page)
	var list []proto.Message
	for {
		answer, err := d.call(service, method, values)
		if err != nil {
			return nil, err
		}
		m := answer.ProtoReflect()
		found := m.Get(m.Descriptor().Fields().ByNumber(1)).List()
		for i := range found.Len() {
			list = append(list, found.Get(i).Message().Interface())
		}
		if most > 0 && len(list) >= most {
			return list[:most], nil
		}
		next := m.Get(m.Descriptor().Fields().ByName("next_page_token")).String()
		if next == "" {
			return list, nil
		}
		values["page_token"] = next
	}
}

// Run shows one.
func (c *showCommand) Run(p *program, n noun) error {
	return p.at(c.recordFlags, looks, func(d desk) error {
		record, err := d.get(n, c.Name, c.AsOf)
		return p.showRecord(d.shop, c.Output, record, err)
	})
}

// making is what something new does with a shop.
func making(check bool) use {
	if check {
		return tries
	}
	return makes
}

// Run keeps a new record.
func (c *createCommand) Run(p *program, n noun) error {
	return p.at(c.recordFlags, making(c.Check), func(d desk) error {
		record := n.record()
		if err := c.over(d, record); err != nil {
			return err
		}
		kept, err := d.create(n, d.shop, c.Name, record, c.changeFlags)
		return c.show(d, c.Output, kept, err)
	})
}

// Run adds an entry to a log.
func (c *addCommand) Run(p *program, n noun) error {
	return p.at(c.recordFlags, making(c.Check), func(d desk) error {
		record := n.record()
		if err := c.over(d, record); err != nil {
			return err
		}
		kept, err := d.create(n, d.shop, c.ID, record, c.changeFlags)
		return c.show(d, c.Output, kept, err)
	})
}

// Run changes fields. What was read is what is changed: somebody else's change in between is a conflict, not lost.
func (c *setCommand) Run(p *program, n noun) error {
	if len(c.Fields) == 0 && c.File == "" {
		return wrongUsage("nothing is said to change: write fields as arris %s show tells them, such as display_name=Large", n.word)
	}
	return p.at(c.recordFlags, changes, func(d desk) error {
		old, err := d.latest(n, c.Name)
		if err != nil {
			return err
		}
		changed := proto.Clone(old)
		if err := c.over(d, changed); err != nil {
			return err
		}
		paths := changedPaths(old, changed)
		if len(paths) == 0 {
			return p.showRecord(d.shop, c.Output, old, nil)
		}
		kept, err := d.update(n, changed, paths, c.changeFlags)
		return c.show(d, c.Output, kept, err)
	})
}

// changedPaths are the fields of a record that differ, as a mask has them.
func changedPaths(old, changed proto.Message) []string {
	before, after := old.ProtoReflect(), changed.ProtoReflect()
	var paths []string
	list := before.Descriptor().Fields()
	for i := range list.Len() {
		f := list.Get(i)
		if before.Has(f) != after.Has(f) || before.Has(f) && !before.Get(f).Equal(after.Get(f)) {
			paths = append(paths, string(f.Name()))
		}
	}
	return paths
}

// Run deletes.
func (c *deleteCommand) Run(p *program, n noun) error {
	return p.change(n, "Delete"+n.message, c.Name, c.recordFlags, c.changeFlags, nil)
}

// Run brings a deleted record back.
func (c *undeleteCommand) Run(p *program, n noun) error {
	return p.change(n, "Undelete"+n.message, c.Name, c.recordFlags, c.changeFlags, nil)
}

// change calls a method on a record by its name.
func (p *program) change(n noun, method, name string, f recordFlags, c changeFlags, more map[string]any) error {
	return p.at(f, changes, func(d desk) error {
		values := c.values(map[string]any{"name": n.name(d.shop, name)})
		maps.Copy(values, more)
		kept, err := d.call(n.service, method, values)
		return c.show(d, f.Output, kept, err)
	})
}
