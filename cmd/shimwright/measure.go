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
}

func newMeasure(a *app) *cobra.Command {
	o := &measureOptions{}
	cmd := &cobra.Command{
		Use:   "measure ENGINE.toml --out CHECK.csv",
		Short: "Type in clearances and shims, valve by valve",
		Long: `measure goes through the engine's valves, crank position by crank position, and
writes the check file from what you type: first the clearances, then the
installed shims. It says at once whether a valve is ok, TIGHT or LOOSE, and
names readings that look wrong. Every entry is on the disk before the next is
asked for. Called again on the same file, it goes on where it stopped.

Type .15 or 0,15; two leaves as .15-.18 or .15 .18; <.05 where the thinnest
leaf does not go, >.6 where the thickest falls through; a shim as 2.450, mic
2.447 or 2.450 mic 2.447. A bare 15 is taken as hundredths (of an inch engine,
thousandths) once you say yes. Words: back, skip, list, quit, ?.

Figures may come through a pipe, one a line, with the answer to a question on
the next line. All talk goes to standard error. quit or the end of the input
ends with status 0 and says what is missing. docs/measuring.md says more.`,
		Example: `  shimwright measure engine.toml --out check.csv
  shimwright measure engine.toml --out check.csv --last march.csv
  shimwright measure engine.toml --out check.csv --shims later
  shimwright measure engine.toml --out check.csv --only in1a,ex2b`,
		Args:              exactly(1, "one engine file"),
		ValidArgsFunction: completeOnce(completeTOML),
		RunE:              func(cmd *cobra.Command, args []string) error { return runMeasure(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	flags.StringVarP(&o.out, "out", "o", "", "the check file (CSV) to begin or to go on with")
	completesFlag(cmd, "out", completeCSV)
	flags.StringVar(&o.last, "last", "", "the check that the last job ended with (CSV), to compare with")
	completesFlag(cmd, "last", completeCSV)
	flags.StringVar(&o.only, "only", "", "measure these valves again, like in1a,ex2b")
	completesFlag(cmd, "only", completeValves)
	o.shims = addChoice(cmd, "shims", "whether to ask for the installed shims, or to leave them for when the cams are out", "now", "later")
	return cmd
}

func runMeasure(_ *cobra.Command, a *app, o *measureOptions, args []string) error {
	engine := args[0]
	if o.out == "" {
		return wrong("name the one to begin or to go on with: --out CHECK.csv", "no check file is given")
	}
	for _, name := range []string{engine, o.out, o.last} {
		if name == "-" {
			return wrong("give files by name; - does not go with measure", "standard input is where the figures are typed")
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
	file := &checkFile{engine: e, name: o.out, resume: "shimwright measure " + argument(engine) + " --out " + argument(o.out)}
	warnings, err := file.load(a.now())
	a.warn(warnings)
	if err != nil {
		return err
	}
	options := walk.Options{Only: only, Shims: o.shims.value == "now", Attended: a.person, Keep: file.keep}
	if o.last != "" {
		record, err := a.readLast(o.last, []*shim.Engine{e})
		if err != nil {
			return err
		}
		options.Last = record.of(&file.check)
		if options.Last == nil {
			return shim.Fail(nil, "give a file with the last one alone", "%s holds several checks of this engine", o.last)
		}
	}
	t := &measureTalk{Walk: walk.New(e, file.check.Measurements, options), file: file, say: a.err}
	return t.run(a, engine)
}

// argument is a file's name as it is typed to a shell.
func argument(name string) string {
	if strings.ContainsAny(name, " '()&;$") {
		return strconv.Quote(name)
	}
	return name
}

// places reads valve names as places in [shim.Engine.Valves].
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
		signal.Notify(interrupted, os.Interrupt, syscall.SIGTERM) // lest the terminal stays raw
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
	for !t.Done() {
		if prompt := t.prompt(); edit != nil {
			prompt = breakLines(shim.Visible(prompt), a.places)
			if last := strings.LastIndexByte(prompt, '\n'); last >= 0 {
				t.tell("%s", prompt[:last])
				prompt = prompt[last+1:]
			}
			prompts <- prompt
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
			if err := t.line(text); err != nil {
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
			t.tell("warning: there was more input than valves; see that every figure stands at its valve")
		}
	}
	return nil
}

// lost is the error of an input that ended in another way than by its end.
func (t *measureTalk) lost(err error) error {
	if err == nil {
		return nil
	}
	return shim.Fail(nil, "what was typed before is saved; go on: "+t.file.resume, "standard input: %w", err)
}

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
