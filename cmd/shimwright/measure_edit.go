package main

import (
	"bytes"
	"errors"
	"io"
	"os"

	"golang.org/x/term"
)

// errTypedInterrupt is how an editor says that Ctrl-C was typed.
var errTypedInterrupt = errors.New("interrupted")

// An editor reads lines from a terminal: arrow keys move in the line and bring
// earlier ones back. The terminal is raw only while a line is typed.
type editor struct {
	term  *term.Terminal
	keys  *keys
	raw   func() (restore func(), err error)
	reset func() // makes the terminal as it was; nil where it is
}

// keys passes on what is typed and notices Ctrl-C, which ends a line as the end
// of the input does.
type keys struct {
	io.Reader
	interrupted bool
}

func (k *keys) Read(p []byte) (int, error) {
	n, err := k.Reader.Read(p)
	k.interrupted = k.interrupted || bytes.IndexByte(p[:n], 3) >= 0
	return n, err
}

// newEditor is nil where the input or the talk is no terminal.
func newEditor(b *bench) *editor {
	in, ok := b.in.(*os.File)
	if !ok || !b.live || !term.IsTerminal(int(in.Fd())) || b.getenv("TERM") == "dumb" {
		return nil
	}
	fd := int(in.Fd())
	e := editorOn(in, b.line, func() (func(), error) {
		before, err := term.MakeRaw(fd)
		return func() { _ = term.Restore(fd, before) }, err
	})
	_ = e.term.SetSize(b.places, 24) // only a failing write is an error
	return e
}

func editorOn(in io.Reader, out io.Writer, raw func() (func(), error)) *editor {
	k := &keys{Reader: in}
	return &editor{keys: k, raw: raw, term: term.NewTerminal(struct {
		io.Reader
		io.Writer
	}{k, out}, "")}
}

// line reads one line behind the prompt.
func (e *editor) line(prompt string) (string, error) {
	restore, err := e.raw()
	if err != nil {
		return "", err
	}
	e.reset = restore
	defer e.restore()
	e.term.SetPrompt(prompt)
	line, err := e.term.ReadLine()
	if errors.Is(err, term.ErrPasteIndicator) {
		err = nil // a pasted line is one like another
	}
	if err != nil && e.keys.interrupted {
		return "", errTypedInterrupt
	}
	return line, err
}

// restore makes the terminal as it was.
func (e *editor) restore() {
	if e.reset != nil {
		e.reset()
	}
}
