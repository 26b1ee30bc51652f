//go:build unix

package drill_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	arrisv1 "arris.example/proto/arris/v1"
)

// found are the names of the records that a server has, by the mark that is in them.
type found map[string][]string

// survey reads everything that a crew may have written.
func (c crew) survey(conn grpc.ClientConnInterface) (found, error) {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	all := found{}
	note := func(mark, name string) {
		if strings.HasPrefix(mark, "writer-") {
			all[mark] = append(all[mark], name)
		}
	}
	err := errors.Join(
		pages(func(token string) (string, error) {
			page, err := arrisv1.NewToolServiceClient(conn).ListTools(ctx, &arrisv1.ListToolsRequest{Parent: shop, PageSize: 1000, PageToken: token})
			for _, t := range page.GetTools() {
				note(t.GetLocation(), t.GetName())
			}
			return page.GetNextPageToken(), err
		}),
		pages(func(token string) (string, error) {
			page, err := arrisv1.NewSharpeningServiceClient(conn).ListSharpenings(ctx, &arrisv1.ListSharpeningsRequest{Parent: shop, PageSize: 1000, PageToken: token})
			for _, s := range page.GetSharpenings() {
				note(s.GetNotes(), s.GetName())
			}
			return page.GetNextPageToken(), err
		}),
	)
	for _, w := range c {
		if err != nil || len(w.deeds) < 2 {
			continue
		}
		err = pages(func(token string) (string, error) {
			page, err := arrisv1.NewRecipeServiceClient(conn).ListRecipeRevisions(ctx,
				&arrisv1.ListRecipeRevisionsRequest{Parent: w.recipe(), PageSize: 1000, PageToken: token})
			for _, r := range page.GetRecipes() {
				note(r.GetNotes(), revisionName(r))
			}
			return page.GetNextPageToken(), err
		})
		if status.Code(err) == codes.NotFound { // it was not made yet
			err = nil
		}
	}
	for _, names := range all {
		slices.Sort(names)
	}
	return all, err
}

// pages reads all pages.
func pages(read func(token string) (next string, err error)) error {
	for token := ""; ; {
		next, err := read(token)
		if err != nil || next == "" {
			return err
		}
		token = next
	}
}

// audit compares what a server has with what was answered: every write that was answered is there once, as it was answered; of others
// there is everything or nothing; and there is nothing else.
func (c crew) audit(has found) (faults []string) {
	known := map[string]bool{}
	for _, w := range c {
		standing := w.standing(has)
		for _, d := range w.deeds {
			known[d.mark] = true
			if f := d.audit(has[d.mark], d.over && d != standing); f != "" {
				faults = append(faults, f)
			}
		}
	}
	for mark, names := range has {
		if !known[mark] {
			faults = append(faults, fmt.Sprintf("%q is in %v and was never asked for", mark, names))
		}
	}
	return faults
}

// standing is the last deed that wrote over the others: the last that was answered, or an open one behind it that turns out to be done.
func (w *writer) standing(has found) (d *deed) {
	for _, next := range w.deeds {
		if next.over && (next.names != nil || len(has[next.mark]) > 0) {
			d = next
		}
	}
	return d
}

func (d *deed) audit(names []string, overwritten bool) string {
	switch {
	case overwritten && len(names) > 0:
		return fmt.Sprintf("%q is in %v, though something else was written over it", d.mark, names)
	case overwritten:
		return ""
	case d.names != nil && !slices.Equal(names, d.names):
		return fmt.Sprintf("%q was answered with %v and is in %v", d.mark, d.names, names)
	case d.names == nil && len(names) != 0 && len(names) != d.size:
		return fmt.Sprintf("%q is half written: in %v of %d records", d.mark, names, d.size)
	}
	return ""
}
