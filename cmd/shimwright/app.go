package main

import (
	"bufio"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"io"
	"os"
	"time"

	"golang.org/x/term"

	"shimwright/shim"
	"shimwright/shim/files"
)

// An app is where a command works: its streams and what it knows of its
// surroundings. Nothing else touches os.Stdin, os.Stdout, os.Stderr, the
// environment or the clock.
type app struct {
	in     io.Reader
	out    io.Writer
	err    io.Writer
	screen bool      // whether out is a terminal
	width  int       // places in a line of out, where it is a terminal; else 0
	color  bool      // whether out may have colours
	person bool      // whether standard input is a terminal, so that somebody can be asked
	live   bool      // whether err is a terminal, where a line can be overwritten
	places int       // in a line of err, where it is a terminal; else 0
	line   io.Writer // err for overwritten lines

	getenv func(name string) string // nil is the process's
	now    func() time.Time         // nil is the system's clock

	answer *keptAnswer // of a command that books

	inUsed bool          // whether standard input has been read already
	read   hash.Hash     // of what was read of it, which is part of what a command asks for; nil for nothing
	typed  *bufio.Reader // standard input, once a line of it was asked for
}

func newApp() *app {
	plain := os.Getenv("NO_COLOR") != "" // no-color.org
	return &app{
		in:    os.Stdin,
		out:   os.Stdout,
		err:   os.Stderr,
		color: !plain && os.Getenv("TERM") != "dumb" && term.IsTerminal(int(os.Stdout.Fd())) && ansi(os.Stdout),

		width:  placesOf(os.Stdout),
		places: placesOf(os.Stderr),
		screen: term.IsTerminal(int(os.Stdout.Fd())),
		person: term.IsTerminal(int(os.Stdin.Fd())),
		live:   term.IsTerminal(int(os.Stderr.Fd())),
	}
}

// begin makes the app ready for a call.
func (a *app) begin() {
	if a.getenv == nil {
		a.getenv = os.Getenv
	}
	if a.now == nil {
		a.now = time.Now
	}
	a.line, a.err = a.err, talkWriter{a.err, a.places}
}

// placesOf is the width of a terminal in characters, 0 for what is none.
func placesOf(f *os.File) int {
	width, _, err := term.GetSize(int(f.Fd()))
	if err != nil {
		return 0
	}
	return width
}

// open opens an input by name; "-" is standard input, which can be read once. It
// returns the name to use in messages.
func (a *app) open(name string) (string, io.ReadCloser, error) {
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			var path *os.PathError
			if errors.As(err, &path) {
				err = fmt.Errorf("%s: %w", name, path.Err)
			}
			return name, nil, shim.Fail(nil, "check the name and the folder; - reads standard input", "%w", err)
		}
		return name, boundedInput{files.Bound(name, f, mostInput), f}, nil
	}
	if a.inUsed {
		return name, nil, wrong("give - once and name the other files", "standard input can stand for one file only")
	}
	a.inUsed = true
	return "standard input", io.NopCloser(files.Bound("standard input", io.TeeReader(a.in, a.reading()), mostInput)), nil
}

// reading takes what is read of standard input.
func (a *app) reading() io.Writer {
	if a.read == nil {
		a.read = sha256.New()
	}
	return a.read
}

// mostInput limits any input, in MB: the JSON of 100,000 valves has 25.
const mostInput = 128

// boundedInput reads through the bound and closes the file.
type boundedInput struct {
	io.Reader
	io.Closer
}

// write prints the command's output in one piece, so that a failure leaves nothing
// half-written, and checks for write errors.
func (a *app) write(print func(w io.Writer) error) error {
	if a.answer != nil {
		return a.answer.write(a.out, print)
	}
	w := bufio.NewWriterSize(a.out, 1<<16)
	if err := print(w); err != nil {
		return err
	}
	return w.Flush()
}

// warn prints warnings; several in a row with the same hint print it once.
func (a *app) warn(warnings []files.Fault) {
	for i, w := range warnings {
		fmt.Fprintf(a.err, "warning: %s\n", w.Error())
		if w.Hint != "" && (i+1 == len(warnings) || warnings[i+1].Hint != w.Hint) {
			fmt.Fprintf(a.err, "  hint: %s\n", w.Hint)
		}
	}
}
