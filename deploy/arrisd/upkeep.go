package main

import (
	"context"
	"fmt"
	"io"
	"slices"

	"github.com/alecthomas/kong"

	"arris.example/service"
)

// upkeepCommands look after a store; everything else serves.
type upkeepCommands struct {
	Backup struct {
		Store string `arg:"" help:"The shop's file; a server may have it open." placeholder:"FILE"`
		To    string `arg:"" help:"The backup, which must not be there yet."`
	} `cmd:"" help:"Write a shop's file, as it is at one moment, to a new file."`
	Restore struct {
		From  string `arg:"" help:"The backup; it is checked first."`
		Store string `arg:"" help:"The shop's file. It stays beside the restored one, as FILE.before-restore." placeholder:"FILE"`
	} `cmd:"" help:"Put a backup in a shop's place. Stop its server first."`
	Check struct {
		Store string `arg:"" help:"The shop's file, or postgres://USER@HOST/DATABASE." placeholder:"FILE"`
	} `cmd:"" help:"Read a whole store, and fail where it is damaged or contradicts itself."`
}

func isUpkeep(word string) bool { return slices.Contains([]string{"backup", "restore", "check"}, word) }

// upkeep runs one of the commands and returns the exit code.
func upkeep(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	var c upkeepCommands
	done := false
	parser, err := kong.New(&c, kong.Name("arrisd"), kong.Description("Look after a store."), kong.Writers(stdout, stdout), kong.Exit(func(int) { done = true }))
	if err == nil {
		var parsed *kong.Context
		if parsed, err = parser.Parse(args); err == nil && !done {
			return report(stdout, stderr, c.run(ctx, parsed.Selected().Name), c.done(parsed.Selected().Name))
		}
	}
	if done {
		return 0
	}
	_, _ = fmt.Fprintf(stderr, "arrisd: %v\nTry arrisd %s --help.\n", err, args[0])
	return exitUsage
}

func (c *upkeepCommands) run(ctx context.Context, name string) error {
	switch name {
	case "backup":
		return service.Backup(ctx, c.Backup.Store, c.Backup.To)
	case "restore":
		return service.Restore(ctx, c.Restore.From, c.Restore.Store, "arrisd restore")
	}
	return service.Check(ctx, c.Check.Store)
}

// done is what was done, in words.
func (c *upkeepCommands) done(name string) string {
	switch name {
	case "backup":
		return c.Backup.Store + " is backed up in " + c.Backup.To
	case "restore":
		return c.Restore.Store + " is as " + c.Restore.From + " has it"
	}
	return c.Check.Store + " is sound"
}

func report(stdout, stderr io.Writer, err error, done string) int {
	if err != nil {
		_, _ = fmt.Fprintf(stderr, "arrisd: %v\n", err)
		return exitRuntime
	}
	_, _ = fmt.Fprintln(stdout, done)
	return 0
}
