package main

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/shim/files"
)

// A walk goes through the valves of one check and keeps in its file what is
// typed.
type walk struct {
	engine   *shim.Engine
	name     string // of the file
	check    files.Check
	last     []shim.Measurement // the last job's check, nil without one
	comments []byte             // of a file made by hand
	saved    []byte             // the file as it stands, nil where there is none

	steps     []step
	positions []crank.Position
	at        int    // in steps
	again     bool   // whether steps that are filled are visited too
	left      bool   // whether quit was typed
	typed     bool   // whether anything was written
	spare     string // input that came when all was asked
	asked     *question
	told      map[suspicion]bool

	say      io.Writer
	terminal bool
	shown    place // the last heading
	resume   string
}

// A step asks one thing of one valve.
type step struct {
	valve int // its place in the check
	place
}

// A place is where a step is taken, for the heading: a crank position, counted
// from 1 and 0 where it is not known, or the shims of a camshaft.
type place struct {
	shims    bool
	position int
	camshaft string
}

// load reads the file to go on with, or begins a new check.
func (w *walk) load() ([]files.Fault, error) {
	w.told = map[suspicion]bool{}
	if err := notShop(w.name); err != nil {
		return nil, err
	}
	sweep(w.name)
	info, err := os.Stat(w.name)
	if errors.Is(err, fs.ErrNotExist) {
		folder := filepath.Dir(w.name)
		if info, err := os.Stat(folder); err != nil || !info.IsDir() {
			return nil, hint(fmt.Errorf("%s: there is no folder %s", w.name, folder), "make the folder, or look at the name")
		}
		w.check = files.Check{Engine: w.engine.Name, Of: w.engine}
		for _, v := range w.engine.Valves() {
			w.check.Measurements = append(w.check.Measurements, shim.Measurement{Valve: v})
		}
		return nil, nil
	}
	if err == nil && !info.Mode().IsRegular() {
		return nil, hint(fmt.Errorf("%s is not a file", w.name), "give the name of a check file")
	}
	if err == nil && info.Size() > mostInput<<20 {
		return nil, hint(fmt.Errorf("%s is larger than a check of one engine can be", w.name), "is it the right file? Nothing was changed")
	}
	var content []byte
	if err == nil {
		content, err = os.ReadFile(w.name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", w.name, errors.Unwrap(err))
	}
	checks, warnings, err := w.parse(content)
	if err != nil {
		return nil, err
	}
	if len(checks) != 1 {
		return nil, hint(fmt.Errorf("%s holds %d checks of this engine", w.name, len(checks)), "measure goes on with a file of one check; nothing was changed")
	}
	checks[0].Measurements = whole(w.engine, checks[0].Measurements)
	w.check, w.saved, w.comments = checks[0], content, commentsOf(content)
	return warnings, nil
}

func (w *walk) parse(content []byte) ([]files.Check, []files.Fault, error) {
	return files.ReadCheck(w.name, bytes.NewReader(content), []*shim.Engine{w.engine},
		files.CheckOptions{AllowUnmeasured: true, AllowNoShims: true, AllowMissing: true})
}

// whole puts in the valves that a file made by hand leaves out, not measured.
func whole(e *shim.Engine, some []shim.Measurement) []shim.Measurement {
	valves := e.Valves()
	all := make([]shim.Measurement, len(valves))
	for at, v := range valves {
		all[at].Valve = v
	}
	for _, m := range some {
		if at, found := e.Find(m.Valve); found {
			all[at] = m
		}
	}
	return all
}

// commentsOf keeps the comments of a file made by hand, which a check does not
// hold. A spreadsheet puts quotes around them and separators behind.
func commentsOf(content []byte) []byte {
	var comments bytes.Buffer
	text := strings.TrimPrefix(string(content), "\ufeff")
	for _, line := range strings.FieldsFunc(text, func(r rune) bool { return r == '\n' || r == '\r' }) {
		if comment, quoted := strings.CutPrefix(line, `"#`); quoted {
			line = "#" + strings.TrimRight(comment, "\",;\t ")
		}
		if strings.HasPrefix(line, "#") {
			comments.WriteString(line + "\n")
		}
	}
	return comments.Bytes()
}

// plan lists the steps: the clearances by crank position, then the shims by
// camshaft. Only names the valves to do again; none is every valve that lacks
// something.
func (w *walk) plan(only map[int]bool, shims bool) {
	w.again = len(only) > 0
	wanted := func(valve int) bool { return !w.again || only[valve] }
	var clearances []step
	positions, err := crank.Plan(w.engine)
	for i, p := range positions {
		for _, v := range p.Valves {
			at, _ := w.engine.Find(v)
			clearances = append(clearances, step{at, place{position: i + 1}})
		}
	}
	w.positions = positions
	if err != nil { // no firing order
		for at := range w.check.Measurements {
			clearances = append(clearances, step{at, place{}})
		}
	}
	var sizes []step
	cams := w.engine.CamshaftList()
	for at, m := range w.check.Measurements {
		s := step{at, place{shims: true}}
		for _, cam := range cams {
			if w.engine.Access == shim.ByCamshaft && w.engine.Covers(cam, m.Valve) {
				s.camshaft = cam.Name
			}
		}
		sizes = append(sizes, s)
	}
	rank := func(s step) int {
		return slices.IndexFunc(cams, func(c shim.Camshaft) bool { return c.Name == s.camshaft })
	}
	slices.SortStableFunc(sizes, func(a, b step) int { return cmp.Compare(rank(a), rank(b)) })
	if shims {
		clearances = append(clearances, sizes...)
	}
	w.steps = slices.DeleteFunc(clearances, func(s step) bool { return !wanted(s.valve) })
	w.at = -1
	w.advance()
}

// filled tells whether the step has nothing to ask any more.
func (w *walk) filled(s step) bool {
	m := w.check.Measurements[s.valve]
	if s.shims {
		return m.Size() != 0
	}
	return m.Reading.Kind != shim.Unread
}

// advance goes to the next step that has something to ask.
func (w *walk) advance() {
	w.asked = nil
	for w.at++; w.at < len(w.steps) && !w.again && w.filled(w.steps[w.at]); w.at++ {
	}
}

// back goes to the step before, filled or not.
func (w *walk) back() {
	if w.at == 0 {
		w.tell("this is the first")
		return
	}
	w.at--
}

func (w *walk) done() bool { return w.left || w.at >= len(w.steps) }

// put writes one valve's measurement into the file. It is false, and nothing
// is changed, where the check as a whole could not be read again with it.
func (w *walk) put(valve int, m shim.Measurement) (bool, error) {
	before := w.check.Measurements[valve]
	w.check.Measurements[valve] = m
	content, err := w.content()
	if err == nil {
		_, _, err = w.parse(content)
	}
	var faults files.Faults
	if errors.As(err, &faults) {
		w.check.Measurements[valve] = before
		for _, f := range faults {
			w.refuse(f.Message, f.Hint)
		}
		return false, nil
	}
	if err == nil {
		err = w.unchanged()
	}
	if err == nil {
		err = save(w.name, content)
	}
	if err != nil {
		return false, err
	}
	w.saved, w.typed = content, true
	return true, nil
}

// content is the file as it has to be. Every row names the engine, so that
// the check of one twin is not taken for that of another.
func (w *walk) content() ([]byte, error) {
	var check, out bytes.Buffer
	if err := files.WriteCheck(&check, []files.Check{w.check}); err != nil {
		return nil, err
	}
	rows, err := csv.NewReader(&check).ReadAll()
	if err != nil {
		return nil, err
	}
	for i := range rows {
		cell := shim.SheetText(w.engine.Name)
		if i == 0 {
			cell = "engine"
		}
		rows[i] = append(rows[i], cell)
	}
	out.Write(w.comments)
	err = csv.NewWriter(&out).WriteAll(rows)
	return out.Bytes(), err
}

// unchanged is an error where somebody else wrote the file meanwhile.
func (w *walk) unchanged() error {
	content, err := os.ReadFile(w.name)
	if errors.Is(err, fs.ErrNotExist) && w.saved == nil {
		return nil
	}
	if err != nil || w.saved == nil || !bytes.Equal(content, w.saved) {
		return hint(fmt.Errorf("%s was changed by somebody else meanwhile; the last entry is not in it", w.name), "close it elsewhere, then go on: "+w.resume)
	}
	return nil
}
