package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"time"

	"shimwright/shim/plan"
)

// errInterrupted ends a command that somebody broke off. Nothing is written.
var errInterrupted = errors.New("interrupted; nothing was written")

// quiet is how long work may take before its progress is shown, and pause how
// long between two looks.
const (
	quiet = time.Second
	pause = 200 * time.Millisecond
)

// watch lets Ctrl-C end a plan that is being made, and shows on a terminal how
// far long work is. The function that it gives ends both; it may be called twice.
func (b *bench) watch(q *plan.Request) (stop func()) {
	ctx, release := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	next := time.Now().Add(quiet)
	shown := false
	q.Watch = func(done, of int) error {
		if ctx.Err() != nil {
			return errInterrupted
		}
		if b.live && time.Now().After(next) {
			fmt.Fprintf(b.err, "\rplanning: %d of %d valves ", done, of)
			shown = true
			next = time.Now().Add(pause)
		}
		return nil
	}
	return func() {
		release()
		if shown {
			fmt.Fprint(b.err, "\r\x1b[K")
			shown = false
		}
	}
}
