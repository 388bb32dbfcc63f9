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

// interruptible gives a context that Ctrl-C or SIGTERM ends. Done lets go of the
// signals and says whether one of them came, however late: a command that was
// broken off must not go on as if it had not been.
func interruptible(parent context.Context) (ctx context.Context, done func() error) {
	ctx, cancel := context.WithCancelCause(parent)
	came, over, gone := make(chan os.Signal, 1), make(chan struct{}), make(chan struct{})
	signal.Notify(came, os.Interrupt, syscall.SIGTERM)
	go func() {
		defer close(gone)
		select {
		case <-came:
			cancel(errInterrupted)
		case <-over:
		}
	}()
	return ctx, func() error {
		signal.Stop(came) // none comes after this
		close(over)
		<-gone
		select {
		case <-came:
			cancel(errInterrupted)
		default:
		}
		err := context.Cause(ctx)
		cancel(nil)
		return err
	}
}

// progress shows on a terminal how far long planning is. What it gives wipes the
// line.
func (a *app) progress(q *plan.Request) (wipe func()) {
	next := a.now().Add(quiet)
	shown := false
	q.Progress = func(done, of int) {
		if a.live && a.now().After(next) {
			fmt.Fprintf(a.line, "\rplanning: %d of %d valves ", done, of)
			shown = true
			next = a.now().Add(pause)
		}
	}
	return func() {
		if shown {
			fmt.Fprint(a.line, "\r\x1b[K")
		}
	}
}
