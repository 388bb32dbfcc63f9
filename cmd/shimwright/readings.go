package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/files"
)

// readingsHelp describes how to give readings to a job.
const readingsHelp = `Give a check file (valve,clearance,shim and optionally mic and note; see
docs/files.md), or type the readings, one for each valve:

  VALVE=CLEARANCE          in1a=0.15      in1a=0.15-0.18
  VALVE=CLEARANCE/SHIM     in1a=0.15/2.450
  VALVE=CLEARANCE/SHIM/MIC in1a=0.15/2.450/2.447
  two readings             in1a=0.15/0.16/2.450

A shim may be given by its mark where the engine file has marks: in1a=0.15/10.
A figure may have its unit: in1a=.006in/2.450mm. You may leave valves out and
give the shims later: in1a=/2.450. In a fresh build 0 is no shim, as is nothing:
in1a=2.71/0, in1a=2.71. A closer's loaded gap, the valve pressed down onto its
closer, is typed with the opener's clearance: in1a=0.12
in1a.closer=loaded:0.17/2.950. Alone it takes the opener's last reading, unless a
shim of the two was changed since.`

// partial accepts an incomplete check.
var partial = files.CheckOptions{AllowUnmeasured: true, AllowNoShims: true, AllowMissing: true}

// jobReadings reads what was measured in a job: a check file, or readings as
// typed. What is known of the shims tells which of two sizes a mark means; gauge is
// what it was measured with, nil where nobody says. It gives the name to use in warnings.
func (a *app) jobReadings(args []string, f inventory.File, e *shim.Engine, book *shim.MarkBook, known []inventory.Known, warm *warmth, gauge *shim.Gauge, build bool) (string, []shim.Measurement, error) {
	job, partial := f.Job, partial
	partial.Unloaded, partial.Gauge, partial.Marks = f.Unloaded, gauge, book
	partial.Build, partial.AllowNoShims = build, !build // there nothing is no shim
	partial.Known = func(_ string, _ *shim.Engine, v shim.Valve) shim.Length { return knownSize(known, v) }
	var err error
	if partial.State, partial.Temperature, err = warm.read(); err != nil {
		return "", nil, err
	}
	if s := partial.State; s != nil && *s != e.State {
		return "", nil, otherState(job, *s, e, true)
	}
	if strings.Contains(args[0], "=") {
		list, err := a.typedReadings(args, e, partial)
		return "typed", list, err
	}
	if len(args) > 1 {
		return "", nil, wrong("see the command's --help", "give one check file, or readings like in1a=0.15/2.450")
	}
	checks, err := a.readCheck(args[0], []*shim.Engine{e}, partial)
	if err != nil {
		return "", nil, err
	}
	for i := range checks {
		if only := len(checks) == 1; only || checks[i].Job == strconv.FormatInt(job.ID, 10) || job.Tag != "" && inventory.TagKey(checks[i].Job) == inventory.TagKey(job.Tag) {
			if s := checks[i].Of.State; s != e.State {
				return "", nil, otherState(job, s, e, checks[i].Stated)
			}
			return args[0], told(checks[i].Measurements), nil
		}
	}
	if len(checks) > 0 {
		return "", nil, shim.Fail(nil, "write the job's number into the column job", "%s: none of its %d jobs is job %d", args[0], len(checks), job.ID)
	}
	return args[0], nil, nil
}

// otherState is the error for readings of a state that the job's limits are not for.
// A file that states none has that of the engine file.
func otherState(job inventory.Job, s shim.State, e *shim.Engine, stated bool) error {
	way := fmt.Sprintf("open another job for it with shimwright job open --state %s, or give readings of the %s engine", s, e.State)
	if !stated {
		way = fmt.Sprintf("if they were read at the %s engine, say so: add --state %[1]s; if not, %s", e.State, way)
	}
	return shim.Fail(nil, way,
		"job %d has the limits of a %s engine, and these readings are of a %s one", job.ID, e.State, s)
}

// knownSize is the size of the valve's shim as the shop knows it, 0 if it does not.
func knownSize(known []inventory.Known, v shim.Valve) shim.Length {
	for _, k := range known {
		if k.Valve == v {
			return k.Size()
		}
	}
	return 0
}

// onRecord are, valve by valve, the sizes that a shim put into it may have by the
// record: those of the box, of the rest of the plan, and of the other valves.
func onRecord(ctx context.Context, shop *inventory.Shop, f inventory.File, known []inventory.Known) (map[shim.Valve][]shim.Length, error) {
	box, err := shop.Stocks(ctx, inventory.StockFilter{})
	if err != nil {
		return nil, err
	}
	e := &f.Engine.Spec
	sizes := map[shim.Valve][]shim.Length{}
	for _, v := range e.Valves() {
		family := e.FamilyOf(v)
		for _, s := range box {
			if s.Family == family && s.OnHand > 0 {
				sizes[v] = append(sizes[v], s.Size)
			}
		}
		for _, p := range f.Left {
			if e.FamilyOf(p.Valve) == family {
				sizes[v] = append(sizes[v], p.Size)
			}
		}
		for _, k := range known {
			if k.Valve != v && e.FamilyOf(k.Valve) == family {
				sizes[v] = append(sizes[v], k.Size())
			}
		}
	}
	return sizes, nil
}

// told drops rows without a reading and a shim.
func told(list []shim.Measurement) []shim.Measurement {
	var kept []shim.Measurement
	for _, m := range list {
		if m.Reading.Kind != shim.Unread || m.Size() != 0 {
			kept = append(kept, m)
		}
	}
	return kept
}

// cutLoaded takes the word off a closer's loaded gap.
func cutLoaded(text string) (gap string, loaded bool) {
	const word = "loaded"
	if text = strings.TrimSpace(text); len(text) < len(word) || !strings.EqualFold(text[:len(word)], word) {
		return text, false
	}
	return strings.TrimLeft(text[len(word):], ": ="), true
}

// typedReadings reads typed readings as a check file, so that both have the same
// syntax and the same errors.
func (a *app) typedReadings(args []string, e *shim.Engine, partial files.CheckOptions) ([]shim.Measurement, error) {
	partial.Typed = true
	var text bytes.Buffer
	w := csv.NewWriter(&text)
	w.Comma = ';' // lets a comma be a decimal one
	_ = w.Write([]string{"valve", "clearance", "shim", "mic", "loaded"})
	for _, arg := range args {
		valve, rest, found := strings.Cut(arg, "=")
		rest, isLoaded := cutLoaded(rest)
		cells := strings.Split(rest, "/")
		if isLoaded && strings.TrimSpace(cells[0]) == "" {
			return nil, wrong("type it like in1a.closer=loaded:0.17/2.950, and the opener's clearance with it", "%q has no loaded gap", arg)
		}
		cells, err := readTwice(cells, e.Units, rangesOf(e, valve), partial.Build)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", arg, err)
		}
		if !found || strings.TrimSpace(rest) == "" || len(cells) > 3 {
			return nil, wrong("type it like in1a=0.15 or in1a=0.15/2.450", "%q is not a reading", arg)
		}
		loaded := ""
		if isLoaded {
			cells[0], loaded = "", cells[0]
		}
		_ = w.Write(append(append(append([]string{valve}, cells...), make([]string, 3-len(cells))...), loaded))
	}
	w.Flush() // writing to memory does not fail
	checks, warnings, err := files.ReadCheck("typed", &text, []*shim.Engine{e}, partial)
	a.warn(retyped(warnings, args))
	var faults files.Faults
	if errors.As(err, &faults) {
		return nil, files.Faults(retyped(faults, args))
	}
	if err != nil || len(checks) == 0 {
		return nil, err
	}
	return told(checks[0].Measurements), nil
}

// rangesOf lists the sizes on sale for the valve, none for one that the engine has not.
func rangesOf(e *shim.Engine, valve string) []shim.Range {
	if v, err := parseValve(e, strings.TrimSpace(valve)); err == nil {
		return e.Ranges(v)
	}
	return nil
}

// readTwice puts a second reading into the first cell. A second figure that can be no
// shim is one; one that may be either is refused: one about as large as the first, or
// a possible clearance that is far from every size on sale.
// In a fresh build 0 is no shim, and a figure near a gap of several millimetres may
// be either.
func readTwice(cells []string, u shim.UnitPair, sale []shim.Range, build bool) ([]string, error) {
	if len(cells) < 2 || cells[0] == "" {
		return cells, nil
	}
	figure := func(cell string, u shim.Unit) (shim.Reading, error) {
		text, u := shim.CutUnit(strings.ReplaceAll(cell, ",", "."), u)
		return shim.ParseReading(text, u)
	}
	second, err := figure(cells[1], u.Clearance)
	size, _ := figure(cells[1], u.Size)
	first, wrongly := figure(cells[0], u.Clearance)
	clearance, number := first.Estimate()
	either := func() error {
		way := "write it into a check file, where clearances and shims have columns of their own"
		if text, _ := shim.CutUnit(cells[1], u.Size); u.Mixed() && text == strings.TrimSpace(cells[1]) {
			way = fmt.Sprintf("type its unit: %s%s for a shim, %s%s for a reading", text, u.Size, text, u.Clearance)
		}
		return wrong(way, "%s may be a second reading or a shim", cells[1])
	}
	if build && err == nil && second == shim.ReadingOf(0) {
		return cells, nil
	}
	if build && err == nil && wrongly == nil && second.Kind == shim.Single && number && clearance > shim.MaxClearance && (second.Low-clearance).Abs() < shim.MinSize {
		return nil, either()
	}
	if err != nil || second.Kind == shim.Unread || second.Kind == shim.Single && size.Low >= shim.MinSize {
		near := 2*clearance >= second.Low && 2*second.Low >= clearance
		sold := slices.ContainsFunc(sale, func(r shim.Range) bool { return r.From <= size.Low && size.Low <= r.To })
		if err == nil && wrongly == nil && number && second.Kind == shim.Single && second.Low <= shim.MaxClearance && (near || !sold) {
			return nil, either()
		}
		return cells, nil
	}
	return append([]string{cells[0] + "/" + cells[1]}, cells[2:]...), nil
}

// retyped replaces file lines by what was typed.
func retyped(faults []files.Fault, args []string) []files.Fault {
	for i := range faults {
		f := &faults[i]
		if n := f.Line - 2; n >= 0 && n < len(args) {
			f.File, f.Line, f.Column = args[n], 0, 0
		}
	}
	return faults
}

// verdicts counts how many readings are inside, tight, loose or without a number.
func verdicts(e *shim.Engine, list []shim.Measurement) string {
	var n [shim.Unmeasured + 1]int
	undecided := 0
	for _, m := range list {
		m, _ = e.AtLimits(m)
		if e.TrainOf(m.Valve).Undecided(m.Reading) {
			undecided++
			continue
		}
		n[e.TrainOf(m.Valve).Judge(m.Reading)]++
	}
	parts := []string{fmt.Sprintf("%d inside the limits", n[shim.OK])}
	if undecided > 0 {
		parts = append(parts, fmt.Sprintf("%d undecided", undecided))
	}
	for v := shim.Tight; v <= shim.Unmeasured; v++ {
		if n[v] > 0 {
			name := v.String()
			if v == shim.Unmeasured {
				name = "without a number"
			}
			parts = append(parts, fmt.Sprintf("%d %s", n[v], name))
		}
	}
	return strings.Join(parts, ", ")
}
