package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"shimwright/shim"
)

// errDeclined ends a command whose question was answered with no.
var errDeclined = shim.Fail(nil, "nothing was changed", "not confirmed")

// lines is standard input, line by line.
func (b *bench) lines() *bufio.Reader {
	if b.typed == nil {
		b.inUsed = true
		b.typed = bufio.NewReader(b.in)
	}
	return b.typed
}

// prompt asks a person for a line, on standard error. The error is io.EOF
// where the input ends.
func (b *bench) prompt(question string) (string, error) {
	fmt.Fprint(b.err, question)
	line, err := b.lines().ReadString('\n')
	if err != nil && line == "" {
		if question != "" {
			fmt.Fprintln(b.err)
		}
		return "", err
	}
	return strings.TrimSpace(line), nil
}

// doubt tells of something that looks like a slip and does not stand in the way.
func (b *bench) doubt(message, way string) {
	fmt.Fprintf(b.err, "warning: %s\n  hint: %s\n", message, way)
}

// A doubtful thing looks like a typing mistake and may be meant all the same.
type doubtful struct{ message, way string }

// confirm shows what is doubtful and asks whether it is meant. Nothing doubtful
// is no question.
func (b *bench) confirm(list []doubtful, yes bool) error {
	for _, d := range list {
		b.doubt(d.message, d.way)
	}
	if len(list) == 0 {
		return nil
	}
	if !yes && !b.person {
		return wrong("mend it, or add --yes if it is right", "this has to be confirmed, and there is no terminal to ask at")
	}
	return b.agree("Book it all the same?", yes)
}

// agree asks a person whether to go on, unless the call says yes already.
// Where nobody can be asked, the call has to say it, and the question shows to what.
func (b *bench) agree(question string, yes bool) error {
	if yes {
		return nil
	}
	if !b.person {
		fmt.Fprintln(b.err, question)
		return wrong("look with --dry-run, then add --yes", "this has to be confirmed, and there is no terminal to ask at")
	}
	answer, err := b.prompt(question + " [y/N] ")
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	switch strings.ToLower(answer) {
	case "y", "yes":
		return nil
	}
	return errDeclined
}
