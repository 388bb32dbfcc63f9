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

// errInterrupted ends an interrupted command. Nothing is written.
var errInterrupted = errors.New("interrupted; nothing was written")

// quiet is how long work may take before its progress is shown, pause the time
// between two updates.
const (
	quiet = time.Second
	pause = 200 * time.Millisecond
)

// interruptible returns a context that Ctrl-C or SIGTERM ends. Done releases the
// signals and reports whether one arrived, however late: an interrupted command
// must not continue.
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

// progress shows the progress of long planning on a terminal. Wipe clears the line.
func (a *app) progress(q *plan.Request) (wipe func()) {
	q.Progress, wipe = a.shows("planning", "valves")
	return wipe
}

// shows shows the progress of long work on a terminal, how many of what are done. Wipe
// clears the line.
func (a *app) shows(doing, what string) (progress func(done, of int), wipe func()) {
	next := a.now().Add(quiet)
	shown := false
	progress = func(done, of int) {
		if a.live && a.now().After(next) {
			line := fmt.Sprintf("\r%s: %d of %d %s ", doing, done, of, what)
			if of == 0 {
				line = fmt.Sprintf("\r%s: %d %s ", doing, done, what)
			}
			fmt.Fprint(a.line, line)
			shown = true
			next = a.now().Add(pause)
		}
	}
	return progress, func() {
		if shown {
			fmt.Fprint(a.line, "\r\x1b[K")
		}
	}
}
