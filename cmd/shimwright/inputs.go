package main

import (
	"fmt"
	"io"
	"slices"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/recheck"
)

// readEngine reads an engine file and prints its warnings.
func (a *app) readEngine(name string) (*shim.Engine, error) {
	return readInput(a, name, files.ReadEngine)
}

// readBox reads a box file whose lengths are in the unit.
func (a *app) readBox(name string, u shim.Unit, marks files.Marks) ([]shim.BoxRow, error) {
	return readInput(a, name, func(name string, r io.Reader) ([]shim.BoxRow, []files.Fault, error) {
		return files.ReadBox(name, r, u, marks)
	})
}

// readCatalogue reads a catalogue file whose lengths are in the unit.
func (a *app) readCatalogue(name string, u shim.Unit, marks files.Marks) ([]shim.Offer, error) {
	return readInput(a, name, func(name string, r io.Reader) ([]shim.Offer, []files.Fault, error) {
		return files.ReadCatalogue(name, r, u, marks)
	})
}

// readGauge reads a gauge file; without a name it is nil, which means the engine's.
func (a *app) readGauge(name string) (*shim.Gauge, error) {
	if name == "" {
		return nil, nil
	}
	gauge, err := readInput(a, name, files.ReadGauge)
	if err != nil {
		return nil, err
	}
	return &gauge, nil
}

// readCheck reads a check file on the engines.
func (a *app) readCheck(name string, engines []*shim.Engine, options files.CheckOptions) ([]files.Check, error) {
	return readInput(a, name, func(name string, r io.Reader) ([]files.Check, []files.Fault, error) {
		return files.ReadCheck(name, r, engines, options)
	})
}

// readInput opens an input, reads it and prints its warnings.
func readInput[T any](a *app, name string, read func(name string, r io.Reader) (T, []files.Fault, error)) (T, error) {
	name, r, err := a.open(name)
	if err != nil {
		var none T
		return none, err
	}
	defer r.Close()
	value, warnings, err := read(name, r)
	a.warn(warnings)
	return value, err
}

// lastRecord is the last record of some engines: their state at the end of the
// last job.
type lastRecord []files.Check

// readLast reads the last record. Clearances and shims may be missing in it.
func (a *app) readLast(name string, engines []*shim.Engine) (lastRecord, error) {
	return readInput(a, name, func(name string, r io.Reader) ([]files.Check, []files.Fault, error) {
		return files.ReadCheck(name, r, engines, files.CheckOptions{AllowUnmeasured: true, AllowNoShims: true})
	})
}

// of returns the record of a check's engine: the one of the same job, or the only
// one. It is nil if there is none. Of one in the other state the shims count alone:
// its clearances are not to be compared.
func (l lastRecord) of(c *files.Check) []shim.Measurement {
	if list := l.alike(c, sameModelAndState); list != nil {
		return list
	}
	list := slices.Clone(l.alike(c, func(x, y *shim.Engine) bool { return x.Name == y.Name && x.State != y.State }))
	for i := range list {
		list[i].Reading = shim.Reading{}
	}
	return list
}

// alike is the record of an engine like the check's: of the same job, or the only one.
func (l lastRecord) alike(c *files.Check, like func(x, y *shim.Engine) bool) []shim.Measurement {
	var only []shim.Measurement
	found := 0
	for i := range l {
		if !like(l[i].Of, c.Of) {
			continue
		}
		if l[i].Job == c.Job {
			return l[i].Measurements
		}
		only = l[i].Measurements
		found++
	}
	if found == 1 {
		return only
	}
	return nil
}

// size is the size of a valve's shim on record, 0 if it is not known.
func (l lastRecord) size(job string, e *shim.Engine, v shim.Valve) shim.Length {
	at, found := e.Find(v)
	if last := l.of(&files.Check{Job: job, Of: e}); found && last != nil {
		return last[at].Size()
	}
	return 0
}

// maxSuspicions limits how many suspicious figures are printed.
const maxSuspicions = 20

// suspect warns of figures in the checks that look wrong.
func (a *app) suspect(file string, checks []files.Check, last lastRecord, build bool) {
	rules := recheck.UsualRules
	rules.Build = build
	var warnings []files.Fault
	more := 0
	for i := range checks {
		c := &checks[i]
		for _, s := range recheck.Suspects(c.Of, c.Measurements, last.of(c), rules) {
			if s.Reason == recheck.MarkDiffers || s.Reason == recheck.ShimInGap || s.Reason == recheck.NoSuchSize && beyond(c, s.Valve) {
				continue // the reader of the file has said so
			}
			if len(warnings) == maxSuspicions {
				more++
				continue
			}
			where := s.Valve.String()
			if c.Job != "" {
				where = "job " + c.Job + ": " + where
			}
			warnings = append(warnings, files.Fault{File: file, Subject: where, Hinted: shim.Hinted{Message: s.What(c.Of.Units), Hint: s.Hint()}})
		}
	}
	if more > 0 {
		warnings = append(warnings, files.Fault{File: file, Hinted: shim.Hinted{Message: fmt.Sprintf("%d more figures look wrong", more)}})
	}
	a.warn(warnings)
}

// beyond reports whether a valve's shim is thinner or thicker than the whole
// catalogue.
func beyond(c *files.Check, valve shim.Valve) bool {
	i := slices.IndexFunc(c.Measurements, func(m shim.Measurement) bool { return m.Valve == valve })
	size := c.Measurements[i].Size()
	thinnest, thickest := c.Of.Sold(valve)
	return size < thinnest || size > thickest
}
