package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/walk"
)

// A checkFile is the file of one check, which a walk continues.
type checkFile struct {
	engine   *shim.Engine
	state    *shim.State // as the call says; nil is what the file or the engine says
	build    bool        // a fresh build
	name     string
	check    files.Check
	comments []byte // of a file made by hand
	saved    []byte // the file as it stands, nil where there is none
	wrote    bool   // whether anything was
	resume   string // the call that continues it
}

// load reads the file to continue, or starts a new check.
func (f *checkFile) load(now time.Time) ([]files.Fault, error) {
	if err := notShop(f.name); err != nil {
		return nil, err
	}
	sweep(f.name, now)
	info, err := os.Stat(f.name)
	if errors.Is(err, fs.ErrNotExist) {
		folder := filepath.Dir(f.name)
		if info, err := os.Stat(folder); err != nil || !info.IsDir() {
			return nil, shim.Fail(nil, "make the folder, or check the name", "%s: there is no folder %s", f.name, folder)
		}
		if f.state != nil {
			if f.engine, err = f.engine.In(*f.state); err != nil {
				return nil, err
			}
		}
		f.check = files.Check{Engine: f.engine.Name, Of: f.engine, Stated: f.state != nil || f.engine.State != shim.Cold || f.engine.BothStates()}
		return nil, nil
	}
	if err == nil && !info.Mode().IsRegular() {
		return nil, shim.Fail(nil, "give the name of a check file", "%s is not a file", f.name)
	}
	if err == nil && info.Size() > mostInput<<20 {
		return nil, shim.Fail(nil, "check the name; nothing was changed", "%s is too large for a check of one engine", f.name)
	}
	var content []byte
	if err == nil {
		content, err = os.ReadFile(f.name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", f.name, errors.Unwrap(err))
	}
	wanted := f.state
	f.state = nil // the file says its own, and one without is of the engine file's
	checks, warnings, err := f.parse(content)
	f.state = wanted
	if err != nil {
		return nil, err
	}
	if len(checks) != 1 {
		return nil, shim.Fail(nil, "give a file with one check; nothing was changed", "%s has %d checks of this engine", f.name, len(checks))
	}
	f.check, f.saved, f.comments = checks[0], content, commentsOf(content)
	f.engine = f.check.Of
	if wanted != nil && *wanted != f.engine.State {
		return nil, shim.Fail(nil, "begin another check with another --out; nothing was changed", "%s is a check of a %s engine", f.name, f.engine.State)
	}
	f.check.Stated = f.check.Stated || f.engine.BothStates()
	return warnings, nil
}

func (f *checkFile) parse(content []byte) ([]files.Check, []files.Fault, error) {
	return files.ReadCheck(f.name, bytes.NewReader(content), []*shim.Engine{f.engine},
		files.CheckOptions{AllowUnmeasured: true, AllowNoShims: true, AllowMissing: true, Build: f.build, State: f.state})
}

// commentsOf returns the comments of a file made by hand. A spreadsheet puts quotes
// around them and separators after them.
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

// keep writes the measurements to the file. If the file could not be read back with
// them, it returns a refusal and changes nothing.
func (f *checkFile) keep(all []shim.Measurement) error {
	check := f.check
	check.Measurements = all
	content, err := f.content(check)
	if err == nil {
		_, _, err = f.parse(content)
	}
	var faults files.Faults
	if errors.As(err, &faults) {
		refusal := &walk.Refusal{}
		for _, f := range faults {
			refusal.Faults = append(refusal.Faults, walk.Refused(f.Hinted))
		}
		return refusal
	}
	if err == nil {
		err = f.unchanged()
	}
	if err == nil {
		err = save(f.name, content)
	}
	if err == nil {
		f.check, f.saved, f.wrote = check, content, true
	}
	return err
}

// content returns the file's new content. Every row names the engine, so that the
// checks of two models are not mixed up.
func (f *checkFile) content(c files.Check) ([]byte, error) {
	var check, out bytes.Buffer
	if err := files.WriteCheck(&check, []files.Check{c}); err != nil {
		return nil, err
	}
	rows, err := csv.NewReader(&check).ReadAll()
	if err != nil {
		return nil, err
	}
	for i := range rows {
		cell := shim.SheetText(f.engine.Name)
		if i == 0 {
			cell = "engine"
		}
		rows[i] = append(rows[i], cell)
	}
	out.Write(f.comments)
	err = csv.NewWriter(&out).WriteAll(rows)
	return out.Bytes(), err
}

// unchanged returns an error if somebody else changed the file meanwhile.
func (f *checkFile) unchanged() error {
	content, err := os.ReadFile(f.name)
	if errors.Is(err, fs.ErrNotExist) && f.saved == nil {
		return nil
	}
	if err != nil || f.saved == nil || !bytes.Equal(content, f.saved) {
		return shim.Fail(nil, "close it elsewhere, then continue: "+f.resume, "%s was changed meanwhile; the last entry is not saved", f.name)
	}
	return nil
}
