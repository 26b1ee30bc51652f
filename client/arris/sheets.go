package arris

import (
	"context"
	"errors"
	"fmt"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	arrisv1 "arris.example/proto/arris/v1"
)

// Many sheets: rows are read, put in order, and printed. What is refused is told with its reason and leaves the others alone.

// mostOrdered is how many set-ups a call puts in order.
const mostOrdered = 1000

// Run prints sheets.
func (c *sheetsCommand) Run(p *program) error {
	if err := c.check(); err != nil {
		return err
	}
	return p.asking(c.Call, looks, func(conn grpc.ClientConnInterface) error {
		rows, err := c.read(p, conn)
		if err != nil {
			return err
		}
		if c.Background {
			return c.start(p, conn, rows)
		}
		log, err := c.journal(rows)
		if err != nil {
			return err
		}
		queue, err := c.queue(p, conn, atOnce(rows, log.AsOf))
		if err != nil {
			return err
		}
		if err := c.print(p, arrisv1.NewSheetServiceClient(conn), queue.items, log); err != nil {
			return err
		}
		return c.tell(p, queue, len(rows))
	})
}

// atOnce makes all rows of one moment, where they do not say theirs.
func atOnce(rows []batchRow, when time.Time) []batchRow {
	for _, row := range rows {
		if row.ask != nil && row.ask.AsOfTime == nil {
			row.ask.AsOfTime = timestamppb.New(when)
		}
	}
	return rows
}

// check refuses what makes no sense together.
func (c *sheetsCommand) check() error {
	listed := c.Recipes != "" || c.Tools != ""
	switch {
	case c.Background && (c.Out != "" || c.Dir != "" || c.DryRun):
		return wrongUsage("--background lets the server keep the sheets; say where to when you fetch them")
	case c.Background && c.Call.Server == "":
		return wrongUsage("--background needs a server that goes on after this command: say --server HOST:PORT")
	case c.RequestID != "" && !c.Background:
		return wrongUsage("--request-id is for --background; files are gone on with where they were stopped without it")
	case c.Out == "" && c.Dir == "" && !c.DryRun && !c.Background:
		return wrongUsage("say where to: --out FILE.pdf for one file, --dir FOLDER for a file of each sheet, --background for a server to keep them, or --dry-run")
	case c.File == "" && !listed:
		return wrongUsage("say of what: a file of rows, --recipes FILTER or --tools FILTER (all of them: all)")
	case c.File != "" && listed:
		return wrongUsage("a file's rows and --recipes or --tools are two lists; take one")
	case listed && len(c.Station) == 0:
		return wrongUsage("--recipes and --tools need a --station NAME, once for each")
	case !listed && len(c.Station) > 0:
		return wrongUsage("--station is for --recipes and --tools; rows name theirs in a column")
	case c.Out != "" && ending(c.Out) != ".pdf":
		return wrongUsage("--out is %q; it must end with .pdf", c.Out)
	}
	return nil
}

// queued are set-ups in the order to print, and how much is set anew between them.
type queued struct {
	items            []*arrisv1.BatchItem
	refused          int
	changes, asAsked int32
}

// queue solves all rows and puts those that have an answer in order.
func (c *sheetsCommand) queue(p *program, conn grpc.ClientConnInterface, rows []batchRow) (q queued, err error) {
	grind := arrisv1.NewGrindServiceClient(conn)
	for len(rows) > 0 {
		var asked map[string]batchRow
		var request *arrisv1.OrderSetupsRequest
		request, asked, rows = c.ordering(p, rows, &q)
		if len(request.GetItems()) == 0 {
			continue
		}
		ctx, cancel := context.WithTimeout(p.ctx, c.Call.Timeout)
		ordered, err := grind.OrderSetups(ctx, request)
		cancel()
		if err != nil {
			return q, err
		}
		for _, r := range ordered.GetRefused() {
			q.refused++
			p.tellRow(c.fileName(), asked[r.GetKey()], withoutCall(r).GetError())
			delete(asked, r.GetKey())
		}
		q.changes, q.asAsked = q.changes+ordered.GetChanges(), q.asAsked+ordered.GetChangesAsAsked()
		if c.Order == "few-changes" {
			for _, s := range ordered.GetSetups() {
				q.items = append(q.items, itemOf(asked[s.GetKey()]))
			}
			continue
		}
		q.changes = q.asAsked
		for _, item := range request.GetItems() {
			if _, ok := asked[item.GetKey()]; ok {
				q.items = append(q.items, item)
			}
		}
	}
	return q, nil
}

func itemOf(row batchRow) *arrisv1.BatchItem {
	return &arrisv1.BatchItem{Key: row.key, Request: row.ask}
}

// ordering is a request about as many rows as it takes; rows that cannot be asked are told of.
func (c *sheetsCommand) ordering(p *program, rows []batchRow, q *queued) (*arrisv1.OrderSetupsRequest, map[string]batchRow, []batchRow) {
	request, asked, bytes := &arrisv1.OrderSetupsRequest{Shop: fullName("shops", c.Rows.Shop)}, map[string]batchRow{}, 0
	for i, row := range rows {
		if row.ask == nil {
			q.refused++
			p.tellRow(c.fileName(), row, nil)
			continue
		}
		item := itemOf(row)
		if bytes += proto.Size(item); len(request.GetItems()) == mostOrdered || bytes > mostMessageBytes && len(request.GetItems()) > 0 {
			return request, asked, rows[i:]
		}
		request.Items, asked[row.key] = append(request.Items, item), row
	}
	return request, asked, nil
}

// tell says what was printed.
func (c *sheetsCommand) tell(p *program, q queued, rows int) error {
	verb := "printed"
	if c.DryRun {
		verb = "can be printed; nothing was"
	}
	between := ""
	if len(q.items) > 1 {
		between = fmt.Sprintf("; from the first to the last %d settings change", q.changes)
		if q.changes < q.asAsked {
			between += fmt.Sprintf(" instead of %d", q.asAsked)
		}
	}
	if _, err := fmt.Fprintf(p.Out, "%d of %d sheets %s%s\n", len(q.items), rows, verb, between); err != nil {
		return err
	}
	if q.refused > 0 {
		_, _ = fmt.Fprintf(p.Err, "%s: %d of %d rows refused\n", c.fileName(), q.refused, rows)
		return errSome
	}
	return nil
}

func (c *sheetsCommand) fileName() string {
	if c.File == "" {
		return "the shop"
	}
	return fileName(c.File)
}

// read reads all rows, from a file or from what the shop has.
func (c *sheetsCommand) read(p *program, conn grpc.ClientConnInterface) (rows []batchRow, err error) {
	if c.File == "" {
		return c.listed(p, conn)
	}
	file, err := opened(c.File, p.In)
	if err != nil {
		return nil, err
	}
	defer func() { _ = file.Close() }() // only read
	from, err := c.Rows.rows(c.File, file)
	if err != nil {
		return nil, err
	}
	p.speech = from.speech()
	rows, err = allOf(p.ctx, from)
	if err == nil && len(rows) == 0 {
		err = wrongUsage("%s: has no rows", c.fileName())
	}
	return rows, err
}

// allOf reads rows to their end.
func allOf(ctx context.Context, from *checkedRows) (rows []batchRow, err error) {
	to := make(chan batchRow, mostItems)
	go func() {
		defer close(to)
		err = readAll(ctx, from, to)
	}()
	for row := range to {
		rows = append(rows, row)
	}
	return rows, errors.Join(err, ctx.Err())
}

// listed are rows for what the shop has.
func (c *sheetsCommand) listed(p *program, conn grpc.ClientConnInterface) (rows []batchRow, err error) {
	ctx, cancel := context.WithTimeout(p.ctx, c.Call.Timeout)
	defer cancel()
	shop := fullName("shops", c.Rows.Shop)
	filter := c.Recipes + c.Tools
	if filter == "all" {
		filter = ""
	}
	var names []string
	if c.Tools != "" {
		names, err = toolNames(ctx, arrisv1.NewToolServiceClient(conn), shop, filter)
	} else {
		names, err = recipeNames(ctx, arrisv1.NewRecipeServiceClient(conn), shop, filter)
	}
	if err != nil {
		return nil, err
	}
	if len(names) == 0 {
		return nil, wrongUsage("there is nothing of that kind in %s: see arris recipe list, arris tool list", shop)
	}
	for _, station := range c.Station {
		for _, name := range names {
			row := batchRow{key: lastOf(name) + "/" + lastOf(station), keyed: true, ask: &arrisv1.SolveSetupRequest{
				Shop: shop, Rig: &arrisv1.Rig{StationSource: &arrisv1.Rig_Station{Station: fullName(shop+"/stations", station)}},
			}}
			if c.Rows.AsOf.said {
				row.ask.AsOfTime = timestamppb.New(c.Rows.AsOf.time)
			}
			if c.Tools != "" {
				row.ask.Rig.ToolSource = &arrisv1.Rig_Tool{Tool: name}
			} else {
				row.ask.GrindSource = &arrisv1.SolveSetupRequest_Recipe{Recipe: name}
			}
			c.Rows.format().put(&row.ask.Wording)
			rows = append(rows, row)
		}
	}
	return rows, nil
}

func toolNames(ctx context.Context, tools arrisv1.ToolServiceClient, shop, filter string) (names []string, err error) {
	return pages(func(token string) (string, error) {
		list, err := tools.ListTools(ctx, &arrisv1.ListToolsRequest{Parent: shop, Filter: filter, PageSize: mostOrdered, PageToken: token})
		for _, t := range list.GetTools() {
			names = append(names, t.GetName())
		}
		return list.GetNextPageToken(), err
	}, &names)
}

func recipeNames(ctx context.Context, recipes arrisv1.RecipeServiceClient, shop, filter string) (names []string, err error) {
	return pages(func(token string) (string, error) {
		list, err := recipes.ListRecipes(ctx, &arrisv1.ListRecipesRequest{Parent: shop, Filter: filter, PageSize: mostOrdered, PageToken: token})
		for _, r := range list.GetRecipes() {
			names = append(names, r.GetName())
		}
		return list.GetNextPageToken(), err
	}, &names)
}

// pages asks for one page after the other.
func pages(ask func(token string) (next string, err error), names *[]string) ([]string, error) {
	for token, more := "", true; more; {
		next, err := ask(token)
		if err != nil {
			return nil, err
		}
		token, more = next, next != ""
	}
	return *names, nil
}
