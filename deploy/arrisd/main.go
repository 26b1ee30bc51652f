// Command arrisd is the server: gRPC, REST, the API's page, metrics and probes in one program.
//
// Settings come from flags, then the environment (ARRIS_…), then the config file, then the defaults. It listens on loopback unless
// told otherwise, and ends on SIGINT or SIGTERM after the calls under way, with exit code 0. Exit code 2 means that it was called
// wrongly, 1 that it could not run.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	"time"
)

const (
	exitRuntime = 1
	exitUsage   = 2
)

func main() {
	start := time.Now()
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second signal ends it at once
	tuneMemory()
	os.Exit(run(ctx, start, os.Args[1:], os.Stdout, os.Stderr))
}

// tuneMemory lets the heap grow to a few times of what is in use before it is cleaned. A call's garbage is small and short-lived and
// next to nothing is kept, so that cleaning less often costs a few megabytes and saves a fifth of the work. GOGC overrules it.
func tuneMemory() {
	const percent = 400
	if _, said := os.LookupEnv("GOGC"); !said {
		debug.SetGCPercent(percent)
	}
}

// run is the program without the process: it ends when ctx does, and returns the exit code.
func run(ctx context.Context, start time.Time, args []string, stdout, stderr io.Writer) int {
	if len(args) > 0 && isUpkeep(args[0]) {
		return upkeep(ctx, args, stdout, stderr)
	}
	settings, done, err := readSettings(args, stdout)
	switch {
	case err != nil:
		_, _ = fmt.Fprintf(stderr, "arrisd: %v\nTry arrisd --help.\n", err)
		return exitUsage
	case done:
		return 0
	}
	if settings.Version {
		_, _ = fmt.Fprintln(stdout, "arrisd", version())
		return 0
	}
	if err = settings.place(); err == nil {
		err = serve(ctx, start, settings, stdout, newLogger(settings, stderr))
	}
	if err != nil {
		_, _ = fmt.Fprintf(stderr, "arrisd: %v\n", err)
		return exitRuntime
	}
	return 0
}

// version is what the build knows of itself.
func version() string {
	if info, ok := debug.ReadBuildInfo(); ok {
		return info.Main.Version + " " + info.GoVersion
	}
	return "unknown"
}
