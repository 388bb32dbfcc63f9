package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"shimwright/shim"
)

// lastLine prints all but the last line of a prompt, which an editor keeps for itself.
func (a *app) lastLine(prompt string) string {
	prompt = breakLines(shim.Visible(prompt), a.places)
	if last := strings.LastIndexByte(prompt, '\n'); last >= 0 {
		fmt.Fprintln(a.err, prompt[:last])
		prompt = prompt[last+1:]
	}
	return prompt
}

// typist returns a function that asks for a line, with arrow keys and history on a
// terminal, and one to call at the end. The error is io.EOF at the end of the
// input, errInterrupted for Ctrl-C.
func (a *app) typist(parent context.Context) (ask func(prompt string) (string, error), end func()) {
	ctx, done := interruptible(parent)
	edit := newEditor(a)
	end = func() { _ = done() }
	read := func(prompt string) (string, error) { return a.prompt(prompt) }
	if edit != nil {
		end = func() {
			_ = done()
			edit.restore()
		}
		read = func(prompt string) (string, error) {
			line, err := edit.line(a.lastLine(prompt))
			if errors.Is(err, errTypedInterrupt) {
				err = errInterrupted
			}
			return strings.TrimSpace(line), err
		}
	}
	type typed struct {
		line string
		err  error
	}
	return func(prompt string) (string, error) {
		came := make(chan typed, 1)
		go func() {
			line, err := read(prompt)
			came <- typed{line, err}
		}()
		select {
		case t := <-came:
			if t.err != nil && edit != nil {
				fmt.Fprintln(a.err)
			}
			return t.line, t.err
		case <-ctx.Done():
			fmt.Fprintln(a.err)
			return "", context.Cause(ctx)
		}
	}, end
}
