package rpc

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"

	"arris.example/service/internal/fault"
)

// panicked is a panic caught in a method, with the stack for the log.
type panicked struct {
	value any
	stack []byte
}

func (p *panicked) Error() string { return fmt.Sprintf("panic: %v", p.value) }

// recovered does the work and turns a panic into an error, so that one bad call does not end the others.
func recovered(ctx context.Context, work func(context.Context) error) (err error) {
	defer func() {
		if value := recover(); value != nil {
			err = &panicked{value: value, stack: debug.Stack()}
		}
	}()
	return work(ctx)
}

// causeAttrs is what the log says of a fault of ours and the caller is not told.
func causeAttrs(f *fault.Fault) []slog.Attr {
	attrs := []slog.Attr{slog.String("error", f.Error())}
	var p *panicked
	if errors.As(f, &p) {
		attrs = append(attrs, slog.String("stack", string(p.stack)))
	}
	return attrs
}
