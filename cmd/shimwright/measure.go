package main

import (
	"bufio"
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strconv"
	"strings"
	"syscall"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"shimwright/shim"
	"shimwright/shim/walk"
)

type measureOptions struct {
	out   string
	last  string
	only  string
	shims *choice
	build bool

	warmth *warmth
}

func newMeasure(a *app) *cobra.Command {
	o := &measureOptions{}
	cmd := &cobra.Command{
		Use:   "measure ENGINE.toml --out CHECK.csv",
		Short: "Enter clearances and shims, valve by valve",
		Long: `measure takes you through the valves, crank position by crank position, and
writes what you type to the check file: first the clearances, then the installed
shims. It says at once whether a valve is ok, TIGHT or LOOSE, and points out
readings that look wrong. Every entry is saved before it asks for the next. Run it
again with the same file to continue where you stopped.

Type .15 or 0,15; two leaves as .15-.18 or .15 .18; <.05 if the thinnest leaf does
not go in, >.6 if the thickest is loose; a shim as 2.450, mic 2.447 or 2.450 mic
2.447. A bare 15 means hundredths (thousandths in inches) if you confirm it.
Commands: back, skip, list, quit, ?.

You may also pipe the figures in, one on each line, with the answer to a question
on the next line. A piped line that is not accepted ends it with status 1, so that
no figure lands at the wrong valve. Messages go to standard error. quit or the end
of the input ends with status 0 and lists what is missing. See docs/measuring.md.`,
		Example: `  shimwright measure engine.toml --out check.csv
  shimwright measure engine.toml --out check.csv --last march.csv
  shimwright measure engine.toml --out check.csv --shims later
  shimwright measure engine.toml --out check.csv --only in1a,ex2b`,
		Args:              exactly(1, "one engine file"),
		ValidArgsFunction: completeOnce(completeTOML),
		RunE:              func(cmd *cobra.Command, args []string) error { return runMeasure(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	flags.StringVarP(&o.out, "out", "o", "", "the check file (CSV) to start or continue")
	completesFlag(cmd, "out", completeCSV)
	flags.StringVar(&o.last, "last", "", "the check at the end of the last job (CSV), to compare with")
	completesFlag(cmd, "last", completeCSV)
	flags.StringVar(&o.only, "only", "", "measure these valves again, like in1a,ex2b")
	completesFlag(cmd, "only", completeValves)
	flags.BoolVar(&o.build, "build", false, "a fresh build: gaps over set-up shims, or without a shim, of several millimetres")
	o.warmth = addWarmth(cmd)
	o.shims = addChoice(cmd, "shims", "when to ask for the installed shims; later: when the cams are out", "now", "later")
	return cmd
}

func runMeasure(_ *cobra.Command, a *app, o *measureOptions, args []string) error {
	engine := args[0]
	if o.out == "" {
		return wrong("give the file to start or continue: --out CHECK.csv", "no check file given")
	}
	for _, name := range []string{engine, o.out, o.last} {
		if name == "-" {
			return wrong("give files by name instead of -", "measure reads the figures from standard input")
		}
	}
	e, err := a.readEngine(engine)
	if err != nil {
		return err
	}
	only, err := places(e, o.only)
	if err != nil {
		return err
	}
	state, at, err := o.warmth.read()
	if err != nil {
		return err
	}
	if o.build && o.last != "" {
		return wrong("leave one of them out", "--build and --last cannot be used together: after head work no earlier shim counts")
	}
	file := &checkFile{engine: e, state: state, build: o.build, name: o.out, resume: "shimwright measure " + argument(engine) + " --out " + argument(o.out)}
	if o.build {
		file.resume += " --build"
	}
	warnings, err := file.load(a.now())
	a.warn(warnings)
	if err != nil {
		return err
	}
	e = file.engine // in the state that it is measured in
	options := walk.Options{Temperature: at, Build: o.build, Only: only, Shims: o.shims.value == "now", Attended: a.person, Keep: file.keep}
	if o.last != "" {
		record, err := a.readLast(o.last, []*shim.Engine{e})
		if err != nil {
			return err
		}
		options.Last = record.of(&file.check)
		if options.Last == nil {
			return shim.Fail(nil, "give a file with only the last one", "%s has several checks of this engine", o.last)
		}
	}
	t := &measureTalk{Walk: walk.New(e, file.check.Measurements, options), file: file, say: a.err}
	t.before = pending(e, file, options)
	return t.run(a, engine)
}

// argument quotes a file's name for a shell.
func argument(name string) string {
	if strings.ContainsAny(name, " '()&;$") {
		return strconv.Quote(name)
	}
	return name
}

// places parses valve names to places in [shim.Engine.Valves].
func places(e *shim.Engine, names string) (map[int]bool, error) {
	only := map[int]bool{}
	for _, name := range strings.FieldsFunc(names, func(r rune) bool { return r == ',' || r == ' ' }) {
		v, err := parseValve(e, name)
		if err != nil {
			return nil, fmt.Errorf("--only: %w", err)
		}
		place, _ := e.Find(v)
		only[place] = true
	}
	return only, nil
}

// run asks until everything is typed, the input ends or quit is typed.
func (t *measureTalk) run(a *app, engine string) error {
	t.begin()
	interrupted := make(chan os.Signal, 1)
	signal.Notify(interrupted, os.Interrupt)
	defer signal.Stop(interrupted)
	lines, failed := make(chan string), make(chan error, 1)
	prompts := make(chan string, 1)
	edit := newEditor(a)
	if edit != nil {
		signal.Notify(interrupted, os.Interrupt, syscall.SIGTERM) // so that the terminal does not stay raw
		defer edit.restore()
	}
	go func() {
		defer close(failed)
		defer close(lines)
		if edit != nil {
			for prompt := range prompts {
				line, err := edit.line(prompt)
				if err != nil {
					if err != io.EOF {
						failed <- err
					}
					return
				}
				lines <- line
			}
			return
		}
		scanner := bufio.NewScanner(a.in)
		for scanner.Scan() {
			lines <- scanner.Text()
		}
		failed <- scanner.Err()
	}()
	for number := 1; !t.Done(); number++ {
		if prompt := t.prompt(); edit != nil {
			prompts <- a.lastLine(prompt)
		} else {
			fmt.Fprint(t.say, prompt)
		}
		select {
		case <-interrupted:
			t.tell("")
			t.summary(engine)
			return errors.New("interrupted")
		case text, more := <-lines:
			if !more {
				if t.Attended {
					t.tell("")
				}
				t.summary(engine)
				err := <-failed
				if errors.Is(err, errTypedInterrupt) {
					return err
				}
				return t.lost(err)
			}
			if err := t.line(text); errors.Is(err, walk.ErrOutOfStep) {
				return t.outOfStep(engine, number)
			} else if err != nil {
				return err
			}
		}
	}
	t.summary(engine)
	if !t.Attended && !t.Left() {
		spare := t.Spare()
		for text := range lines {
			if spare = cmp.Or(spare, strings.TrimSpace(text)); spare != "" {
				break
			}
		}
		if spare != "" {
			t.tell("warning: more figures than valves; check that every figure is at the right valve")
		}
	}
	return nil
}

// outOfStep ends a pipe whose next line could land at the wrong valve.
func (t *measureTalk) outOfStep(engine string, number int) error {
	asks := t.Asks().Now.Valve
	t.summary(engine)
	return shim.Fail(nil, "put it right and pipe it in again with the lines after it; what came before is saved: "+t.file.resume,
		"standard input, line %d: no figure for %s, so the lines after it were not read", number, asks)
}

// lost is the error of an input that failed before its end.
func (t *measureTalk) lost(err error) error {
	if err == nil {
		return nil
	}
	return shim.Fail(nil, "what you typed before is saved; to continue: "+t.file.resume, "standard input: %w", err)
}

// errTypedInterrupt is how an editor says that Ctrl-C was typed.
var errTypedInterrupt = errors.New("interrupted")

// An editor reads lines from a terminal with arrow keys and history. The terminal
// is raw only while a line is typed.
type editor struct {
	term  *term.Terminal
	keys  *keys
	raw   func() (restore func(), err error)
	reset func() // makes the terminal as it was; nil where it is
}

// keys passes the input on and notices Ctrl-C, which ends a line like the end of
// the input.
type keys struct {
	io.Reader
	interrupted bool
}

func (k *keys) Read(p []byte) (int, error) {
	n, err := k.Reader.Read(p)
	k.interrupted = k.interrupted || bytes.IndexByte(p[:n], 3) >= 0
	return n, err
}

// newEditor returns nil if input or output is not a terminal.
func newEditor(a *app) *editor {
	in, ok := a.in.(*os.File)
	if !ok || !a.live || !term.IsTerminal(int(in.Fd())) || a.getenv("TERM") == "dumb" {
		return nil
	}
	fd := int(in.Fd())
	e := editorOn(in, a.line, func() (func(), error) {
		before, err := term.MakeRaw(fd)
		return func() { _ = term.Restore(fd, before) }, err
	})
	_ = e.term.SetSize(a.places, 24) // only a failing write is an error
	return e
}

func editorOn(in io.Reader, out io.Writer, raw func() (func(), error)) *editor {
	k := &keys{Reader: in}
	return &editor{keys: k, raw: raw, term: term.NewTerminal(struct {
		io.Reader
		io.Writer
	}{k, out}, "")}
}

// line prompts for a line.
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

// restore resets the terminal.
func (e *editor) restore() {
	if e.reset != nil {
		e.reset()
	}
}
