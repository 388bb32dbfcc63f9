package files

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
)

// A Check is what was measured on one engine in one job: every valve of the
// engine once, in the order of [shim.Engine.Valves]. A valve's letter is there
// or not as the file writes it.
type Check struct {
	Job          string       // empty where the file names no jobs
	Engine       string       // the engine's own name
	Of           *shim.Engine // with the limits of the state that it was measured in
	Stated       bool         // whether the file says the state
	Measurements []shim.Measurement
}

// CheckOptions say what a check may leave open.
type CheckOptions struct {
	// AllowUnmeasured accepts rows without a clearance, which give a reading
	// of the kind [shim.Unread], and rows without a shim, which give a size of 0.
	AllowUnmeasured bool
	// AllowNoShims accepts a file without the column shim, and rows without a
	// shim, which give a size of 0: a check after fitting, or before teardown.
	AllowNoShims bool
	// AllOrNoShims accepts a file in which no row at all has a shim, as
	// AllowNoShims does; a row without one among others is a fault.
	AllOrNoShims bool
	// AllowMissing accepts a check that does not name every valve. It then has
	// measurements of those alone that it names, still in the engine's order.
	AllowMissing bool
	// State is the one that the engine was measured in, where the file does not
	// say; nil is that of the engine file, and of the engine where it is Typed. A
	// file that says another is a fault.
	State *shim.State
	// Planned are the engines of a plan, whose limits are known in the plan's state
	// alone: a check of another one is a fault. nil is for no plan.
	Planned []*shim.Engine
	// Temperature is the engine's, for rows that say none; 0 is not known.
	Temperature shim.Temperature
	// Build reads a check of a fresh build: the shims in place are set-up shims,
	// and a row with none, or with 0, was measured without one. Its gaps may be as
	// wide as shim and clearance together.
	Build bool
	// Gauge is what the check was taken with; nil is the engine's own.
	Gauge *shim.Gauge
	// Known gives the size of a valve's shim as the last record has it, 0 where
	// that is not known: it tells which size a mark means. It may be nil.
	Known func(job string, e *shim.Engine, v shim.Valve) shim.Length
	// Marks are those of the versions of the model that are in use: one that they read
	// differently is a fault. It may be nil.
	Marks *shim.MarkBook
	// Unloaded gives the reading of a closer's opener where the check has none, to take
	// off the closer's loaded gap; false where it is not known. It may be nil.
	Unloaded func(closer shim.Valve) (shim.Measurement, bool)
	// Typed accepts a unit behind a figure, as hands type it: .006in.
	Typed bool
}

// columns are those of a check, as far as the options ask for them.
func (o CheckOptions) columns() []column {
	columns := slices.Clone(checkColumns)
	columns[checkShim].required = !o.AllowNoShims && !o.AllOrNoShims && !o.Build
	return columns
}

// The columns of a check.
const (
	checkValve = iota
	checkClearance
	checkShim
	checkMic
	checkNote
	checkJob
	checkEngine
	checkLoaded
	checkState
	checkTemperature
	checkMark
)

var checkColumns = []column{
	{"valve", true, false}, {"clearance", true, true}, {"shim", true, true}, {"mic", false, true}, {"note", false, false}, {"job", false, false}, {"engine", false, false}, {"loaded", false, true},
	{"state", false, false}, {"temperature_c", false, false}, {"mark", false, false},
}

// ReadCheck reads the check of one or more jobs on the given engines, whose
// units the lengths are in where the columns do not state theirs. The checks come by job (job 2 before job 10), then
// by engine, whatever the order of the rows. The second result are warnings;
// the error is a [Faults].
func ReadCheck(name string, r io.Reader, engines []*shim.Engine, options CheckOptions) ([]Check, []Fault, error) {
	t := newTable(name, r, options.columns())
	if !t.readable() {
		return nil, nil, t.faults.err()
	}
	t.typed = options.Typed
	c := &checkReader{table: t, options: options, engines: newEngineList(engines), groups: map[groupKey]int32{}}
	for u := range c.readings {
		c.readings[u] = map[string]shim.Reading{}
	}
	if c.named() {
		for t.next() {
			c.row()
		}
		t.ended()
	}
	c.missingShims()
	checks := c.gather()
	if err := t.faults.err(); err != nil {
		return nil, nil, err
	}
	return checks, t.warnings.sorted(), nil
}

// A checkReader reads the rows of a check.
type checkReader struct {
	*table
	options  CheckOptions
	engines  engineList
	groups   map[groupKey]int32 // place in list
	list     []group
	last     int32 // the group of the row before
	rows     []checkRow
	measured pile
	readings [2]map[string]shim.Reading // by unit: cells that were read before
	jobless  [][2]int                   // line and column of rows without a job
	anyJob   bool
	shimless []shimless // rows without a shim, where that may be a fault
	anyShim  bool
	states   map[stated]*shim.Engine
	limits   shim.Limits // of the row's valve; zero where it is not known
}

// stated is an engine in a state.
type stated struct {
	engine *shim.Engine
	state  shim.State
}

// shimless is the place of a cell without a shim, and the row's valve.
type shimless struct {
	line, column int
	subject      string
}

// missingShims reports rows without a shim.
func (c *checkReader) missingShims() {
	if c.options.AllOrNoShims && !c.anyShim {
		return
	}
	for _, row := range c.shimless {
		if row.subject == "" {
			row.subject = c.columns[checkShim].name
		}
		c.add(row.line, row.column, row.subject, "the installed shim is missing", "write its size; measure it where nothing can be read on it")
	}
}

type groupKey struct {
	job    string
	engine int
}

// A group is the rows of one job on one engine.
type group struct {
	groupKey
	lastLine int
	// The state that its rows say, and where the first does.
	state               *shim.State
	stateLine, stateCol int
	// What is needed to see inches in a file of mm.
	numbers, small      int
	smallLine, smallCol int
}

// A checkRow is one row with a valve that the engine has. Place is the
// valve's in [shim.Engine.Valves].
type checkRow struct {
	group, place, line, column int32
	at                         int32 // of its measurement
	loaded                     bool  // whether its reading is the loaded gap, from which the opener's is to be taken
}

// named reports where the file has to name engines and does not.
func (c *checkReader) named() bool {
	switch {
	case len(c.engines.list) == 0:
		c.add(0, 0, "", "no engine is given for this check", "give the engine's file")
	case len(c.engines.list) > 1 && !c.has(checkEngine):
		c.add(c.headline, 0, "engine", "the column engine is missing: "+strconv.Itoa(len(c.engines.list))+" engines are given", "add a column engine with the names "+strings.Join(c.engines.names(), ", "))
	default:
		return true
	}
	return false
}

// row reads one row. A row with too few or too many cells counts for its valve
// alone, so that the valve is not called missing as well.
func (c *checkReader) row() {
	if c.ragged && len(c.record) <= max(c.place[checkValve], c.place[checkJob], c.place[checkEngine]) {
		c.broken = true
		return
	}
	e, ok := c.engine()
	if !ok {
		return
	}
	at := c.group(e)
	g, engine := &c.list[at], c.engines.list[e]
	line, column := c.at(checkValve)
	g.lastLine = line

	valve, place, found := c.valve(engine)
	m := shim.Measurement{Valve: valve, Temperature: c.options.Temperature}
	c.warmth(&m, g)
	loaded := false
	if !c.ragged {
		loaded = c.measure(&m, g, engine, found)
	}
	if found {
		c.rows = append(c.rows, checkRow{at, int32(place), int32(line), int32(column), c.measured.add(m), loaded})
	}
}

// measure reads what the row says of its valve. It reports whether the reading
// is a loaded gap.
func (c *checkReader) measure(m *shim.Measurement, g *group, e *engine, found bool) (loaded bool) {
	clearances, sizes := e.Units.Clearance, e.Units.Size
	subject := ""
	c.limits = shim.Limits{}
	if found {
		subject, c.limits = strings.ToLower(c.cell(checkValve)), e.TrainOf(m.Valve).Limits
	}
	cell := c.cell(checkClearance)
	if c.slipped(cell, subject) {
		return false
	}
	if !c.options.Build && c.swapped(checkClearance, cell, checkShim, sizes) {
		return false
	}
	column := checkClearance
	if gap := c.cell(checkLoaded); gap != "" {
		switch {
		case found && !m.Valve.Closer:
			c.fault(checkLoaded, subject, "a loaded gap belongs to a closer", "write it in the closer's row, like "+m.Valve.Other().String()+", where the engine has closers")
		case cell != "":
			c.fault(checkLoaded, subject, "the row has both a clearance and a loaded gap", "leave the clearance empty: it is the loaded gap less the opener's")
		default:
			cell, column, loaded = gap, checkLoaded, true
		}
	}
	switch reading, ok := c.reading(column, cell, subject, clearances); {
	case !ok:
		loaded = false // what is wrong with the gap is said
	case reading.Kind == shim.Unread:
		if !c.options.AllowUnmeasured {
			c.fault(checkClearance, subject, "the clearance is missing", "measure it; if your thinnest leaf does not go, write it like <0.05; if your thickest falls through, like >0.60")
		}
	default:
		m.Reading = e.Counted(reading)
		if found && !loaded && !c.options.Build {
			_, in := c.figure(cell, c.in(column, clearances))
			c.plausible(reading, m.Valve, subject, g, e, in)
		}
	}
	stamp, mark, mic := c.cell(checkShim), c.cell(checkMark), c.cell(checkMic)
	known := len(c.faults)
	if c.options.Build && c.zero(stamp, sizes) {
		stamp, mark = "", ""
	}
	if c.options.Build && c.zero(mic, sizes) {
		mic = ""
	}
	if mic != "" {
		m.Mic, _ = c.size(checkMic, mic, subject, sizes)
	}
	if stamp != "" || mark != "" {
		m.Stamp = c.stamp(m, stamp, mark, subject, g, e, found)
		stamp += mark
	}
	c.anyShim = c.anyShim || stamp != "" || mic != ""
	// Where shims may come later, a gap without one may still be over a set-up shim.
	if c.options.Build && found && !loaded && len(c.faults) == known && (m.Size() != 0 || !c.options.AllowNoShims) {
		c.setUp(column, m, e, clearances)
	}
	if stamp == "" && mic == "" && !c.options.AllowUnmeasured && !c.options.AllowNoShims && !c.options.Build {
		line, column := c.at(checkShim)
		c.shimless = append(c.shimless, shimless{line, column, subject})
	}
	c.compare(checkMic, subject, m.Marks, sizes)
	thinnest, thickest := e.Sold(m.Valve)
	if size := m.Size(); size != 0 && thickest != 0 && (size < thinnest || size > thickest) {
		column := checkShim
		if m.Mic != 0 {
			column = checkMic
		}
		u := c.in(column, sizes)
		c.warn(column, subject, fmt.Sprintf("a shim of %s %s lies outside the engine's catalogue, %s to %s %s", u.Format(size), u, u.Format(thinnest), u.Format(thickest), u), "check the size; a worn or special shim may be right")
	}
	m.Note = c.text(checkNote)
	return loaded
}

// warmth reads the state and the temperature that the row was measured in.
func (c *checkReader) warmth(m *shim.Measurement, g *group) {
	if cell := c.cell(checkTemperature); cell != "" {
		t, err := shim.ParseCelsius(c.decimal(cell))
		if err != nil {
			c.faultOf(checkTemperature, "", err)
		}
		if asked := c.options.Temperature; asked != 0 && err == nil && t != asked {
			c.fault(checkTemperature, "", fmt.Sprintf("the row was measured at %s, not at %s", t, asked), "leave --temperature out, or write the temperature into the file as it was")
		}
		m.Temperature = t
	}
	cell := c.cell(checkState)
	if cell == "" {
		return
	}
	s, err := shim.ParseState(cell)
	switch {
	case err != nil:
		c.faultOf(checkState, "", err)
	case g.state == nil:
		g.state = &s
		g.stateLine, g.stateCol = c.at(checkState)
	case *g.state != s:
		c.fault(checkState, "", fmt.Sprintf("the row is %s, the rows before it%s %s", s, of(g.job), *g.state), "one check is of one state; put the other into a job of its own")
	}
}

// judged is the group's engine with the limits of the state that it was measured in.
func (c *checkReader) judged(g *group, e *shim.Engine) *shim.Engine {
	state := e.Own()
	if c.options.Typed {
		state = e.State
	}
	switch wanted := c.options.State; {
	case g.state != nil && wanted != nil && *g.state != *wanted:
		c.add(g.stateLine, g.stateCol, "state", fmt.Sprintf("the check was measured %s, not %s", *g.state, *wanted), "leave --state out, or write the state into the file as it was")
	case g.state != nil:
		state = *g.state
	case wanted != nil:
		state = *wanted
	}
	key := stated{e, state}
	if known := c.states[key]; known != nil {
		return known
	}
	in, err := e, error(nil)
	if c.options.Planned == nil {
		in, err = e.In(state)
	} else if at := slices.IndexFunc(c.options.Planned, func(o *shim.Engine) bool { return o.Name == e.Name && o.State == state }); at >= 0 {
		in = c.options.Planned[at]
	} else {
		err = shim.Fail(nil, "measure it as it was for the plan, or plan again; a file without a column state is of the engine file's own state, unless --state says another", "the check is of a %s engine, the plan of %s of a %s one", state, e.Name, e.State)
	}
	if err != nil {
		c.add(g.stateLine, g.stateCol, "state", err.Error(), shim.HintOf(err))
		in = e
	}
	if c.states == nil {
		c.states = map[stated]*shim.Engine{}
	}
	c.states[key] = in
	return in
}

// stamp is the size by its cell, a mark or the size itself, or by that of the mark.
func (c *checkReader) stamp(m *shim.Measurement, cell, mark, subject string, g *group, e *engine, found bool) shim.Length {
	column, text := checkShim, cell
	if cell == "" {
		column, text = checkMark, mark
	}
	// Beside its mark a whole number is a size: a spreadsheet makes 3 of 3.00.
	if found && (cell == "" || mark == "") {
		known := shim.Length(0)
		if c.options.Known != nil {
			known = c.options.Known(g.job, e.Engine, m.Valve)
		}
		if err := c.options.Marks.Differ(text, e.FamilyOf(m.Valve), c.in(checkShim, e.Units.Size)); err != nil {
			c.faultOf(column, subject, err)
			return 0
		}
		if size, is := c.mark(column, text, subject, c.in(checkShim, e.Units.Size), e.MarksOf(m.Valve), e.Ranges(m.Valve), m.Mic, known); is {
			return size
		}
	}
	if cell == "" {
		if found {
			c.unknownMark(checkMark, subject, mark)
		}
		return 0
	}
	size, ok := c.size(checkShim, cell, subject, e.Units.Size)
	if ok && found {
		c.agrees(checkMark, subject, mark, e.MarksOf(m.Valve).Sizes(mark), size, c.in(checkShim, e.Units.Size))
	}
	return size
}

// slipped reports whether a decimal comma slipped the row: behind a clearance of
// 0, or behind a whole number of a shim where figures alone stand for the mic or the note.
func (c *checkReader) slipped(clearance, subject string) bool {
	if strings.TrimLeft(clearance, "<>") == "0" && c.halved(checkClearance, subject) {
		return true
	}
	for _, column := range []int{checkShim, checkMic} {
		cell, behind := c.cell(column), c.place[column]+1
		if n := len(cell); n > 0 && n <= 2 && digits(cell) == n && (behind == c.place[checkMic] || behind == c.place[checkNote]) && c.halved(column, subject) {
			return true
		}
	}
	return false
}

// engine is the row's engine.
func (c *checkReader) engine() (int, bool) {
	cell := c.cell(checkEngine)
	if cell == "" {
		if len(c.engines.list) == 1 {
			return 0, true
		}
		c.fault(checkEngine, "", "the row names no engine", "write one of "+strings.Join(c.engines.names(), ", "))
		return 0, false
	}
	e, ok := c.engines.find(cell)
	if !ok {
		names := c.engines.names()
		c.fault(checkEngine, "", "unknown engine "+quoted(cell), hints(didYouMean(cell, names), "the engines given are "+strings.Join(names, ", ")))
	}
	return e, ok
}

// group is the place of the row's job and engine among the groups.
func (c *checkReader) group(engine int) int32 {
	job := c.cell(checkJob)
	if job == "" {
		if c.has(checkJob) {
			line, col := c.at(checkJob)
			c.jobless = append(c.jobless, [2]int{line, col})
		}
	} else {
		c.anyJob = true
	}
	if len(c.list) > 0 && c.list[c.last].engine == engine && c.list[c.last].job == job {
		return c.last
	}
	at, found := c.groups[groupKey{job, engine}]
	if !found {
		key := groupKey{c.text(checkJob), engine} // which may differ from the cell
		if at, found = c.groups[key]; !found {
			at = int32(len(c.list))
			c.groups[key] = at
			c.list = append(c.list, group{groupKey: key})
		}
	}
	c.last = at
	return at
}

// valve reads the valve's name and finds it in the engine.
func (c *checkReader) valve(e *engine) (v shim.Valve, place int, found bool) {
	cell := c.cell(checkValve)
	if cell == "" {
		if !c.ragged {
			c.fault(checkValve, "", "the row names no valve", "valves run from "+e.span())
		}
		return v, 0, false
	}
	v, err := shim.ParseValve(cell)
	if err == nil {
		if place, found = e.Find(v); found {
			return v, place, true
		}
	}
	subject, message, hint := v.String(), "the engine has no such valve", ""
	if err != nil {
		subject, message = "", quoted(cell)+" is not the name of a valve"
	}
	if len(c.faults) < hinted {
		hint = didYouMean(strings.ToLower(cell), e.names)
	}
	c.fault(checkValve, subject, message, hints(hint, "valves run from "+e.span()))
	return v, 0, false
}

// hinted bounds for how many faults a near name is looked for: it takes time.
const hinted = 100

// setUp reports a gap of a fresh build that cannot be over its set-up shim, or over
// none, and doubts one over a set-up shim that is as wide as a shim is thick.
func (c *checkReader) setUp(column int, m *shim.Measurement, e *engine, u shim.Unit) {
	subject := m.Valve.String()
	if err := e.TrainOf(m.Valve).ImplausibleSetUp(m.Reading, m.Size(), u); err != nil {
		c.faultOf(column, subject, err)
		return
	}
	if gap, number := m.Reading.Estimate(); number && gap > shim.MaxClearance && m.Size() != 0 {
		c.warn(column, subject, fmt.Sprintf("a gap of %s %s over a set-up shim: was the shim in?", u.Format(gap), u), "if it was not, leave its size out: the gap is the sum then")
	}
}
