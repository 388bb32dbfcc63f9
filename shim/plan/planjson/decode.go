package planjson

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// ErrNotPlan is the error of a text that is no plan as [Encode] writes it.
var ErrNotPlan = errors.New("this is not a plan")

// Decode reads what [Encode] wrote, or that of an earlier version; fields that it
// does not know are skipped. The engines, of which the plan has to be, take the
// place of what the plan tells of those of their names: valves, limits, ratio and
// diameter; the rest is as usual then.
//
// The error wraps [ErrNotPlan], or [OtherEngineError] for an engine that is not the plan's, and
// says what is wrong first, and where.
func Decode(name string, r io.Reader, engines ...*shim.Engine) (*plan.Plan, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, err // it names the file
	}
	d := decoder{given: engines, plan: &plan.Plan{}, taken: map[*plan.ValvePlan]bool{}}
	err = d.decode(text)
	var other *OtherEngineError
	switch {
	case errors.As(err, &other):
		return nil, fmt.Errorf("%s: %w", name, err)
	case err != nil:
		return nil, fmt.Errorf("%s: %w: %w", name, ErrNotPlan, err)
	}
	return d.plan, nil
}

// A decoder reads one plan.
type decoder struct {
	given  []*shim.Engine
	plan   *plan.Plan
	jobs   []jobRow
	valves [][]valveRow // of each job, in its engine's order
	kept   *keptRow
	taken  map[*plan.ValvePlan]bool // whose shims are known to go elsewhere
}

func (d *decoder) decode(text []byte) error {
	var in struct {
		Policy      plan.Policy       `json:"policy"`
		Confidence  float64           `json:"confidence"`
		Buy         *int              `json:"buy"`
		Margin      *shim.Length      `json:"margin_mm"`
		Provisional bool              `json:"provisional"`
		Jobs        []json.RawMessage `json:"jobs"`
		Kept        *keptRow          `json:"kept"`
	}
	if err := unmarshal(text, &in); err != nil {
		return err
	}
	if len(in.Jobs) == 0 {
		return errors.New("it has no jobs")
	}
	p := d.plan
	p.Policy, p.Confidence, p.Buy, p.Margin, d.kept = in.Policy, in.Confidence, in.Buy, plan.DefaultMargin, in.Kept
	if in.Margin != nil {
		p.Margin = *in.Margin
	} else if in.Kept != nil {
		p.Margin = in.Kept.Margin
	}
	seen := map[string]bool{}
	for i, raw := range in.Jobs {
		if err := d.job(raw); err != nil {
			return fmt.Errorf("jobs[%d]: %w", i, err)
		}
		key := p.Jobs[i].Job + "\x00" + p.Jobs[i].Engine.Name
		if seen[key] {
			return fmt.Errorf("jobs[%d]: duplicate job", i)
		}
		seen[key] = true
	}
	if in.Provisional && !p.Provisional() { // an earlier version says it of all
		for i := range p.Jobs {
			p.Jobs[i].Provisional = true
		}
	}
	if err := d.match(); err != nil {
		return err
	}
	listed := true
	for i := range p.Jobs {
		err := d.measuring(i)
		if err == nil {
			err = d.sources(i)
		}
		if d.jobs[i].Fitting == nil {
			listed = false
		} else if err == nil {
			err = readFitting(p, i, *d.jobs[i].Fitting, d.jobs[i].Wants)
		}
		if err != nil {
			return fmt.Errorf("jobs[%d]: %w", i, err)
		}
	}
	p.Rebuild(listed)
	return nil
}

// unmarshal reads one JSON value, and says on which line it cannot be one.
func unmarshal(text []byte, into any) error {
	err := json.Unmarshal(text, into)
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		line := 1 + bytes.Count(text[:min(int(syntax.Offset), len(text))], []byte("\n"))
		return fmt.Errorf("line %d is not JSON: %s", line, strings.TrimPrefix(syntax.Error(), "json: "))
	case errors.As(err, &kind):
		if kind.Field == "" {
			return fmt.Errorf("found %s, want an object", kind.Value)
		}
		return fmt.Errorf("found %s, want %s", kind.Value, strings.TrimPrefix(kind.Field, "jobHead."))
	}
	return err
}

func (d *decoder) job(raw json.RawMessage) error {
	var in jobRow
	if err := unmarshal(raw, &in); err != nil {
		return err
	}
	switch {
	case strings.TrimSpace(in.Engine) == "":
		return errors.New("it names no engine")
	case len(in.Valves) == 0:
		return errors.New("it has no valves")
	}
	rows, valves := make([]valveRow, len(in.Valves)), make([]plan.ValvePlan, len(in.Valves))
	for i, raw := range in.Valves {
		err := unmarshal(raw, &rows[i])
		if missing := rows[i].missing(); err == nil && missing != "" {
			return fmt.Errorf("valves[%d]: %s is missing", i, missing)
		}
		if err == nil && d.kept != nil && len(in.Valves) == len(d.kept.Valves) {
			rows[i].fill(&d.kept.Valves[i])
		}
		if err == nil {
			valves[i], err = rows[i].read(in.Gauge == nil && d.kept == nil)
		}
		if err != nil {
			if v := rows[i].Valve; v != nil && v.Cylinder != 0 {
				err = fmt.Errorf("%s: %w", v, err)
			}
			return fmt.Errorf("valves[%d]: %w", i, err)
		}
	}
	e, err := d.engine(&in, rows)
	if err != nil {
		return err
	}
	order, err := arrange(e, rows)
	if err != nil {
		return err
	}
	d.jobs, d.valves = append(d.jobs, in), append(d.valves, rows)
	var until *plan.Until
	if u := in.Until; u != nil {
		until = &plan.Until{Meter: u.Meter, Inside: u.Inside, Without: u.Without, Bought: u.Bought}
	}
	d.plan.Jobs = append(d.plan.Jobs, plan.JobPlan{Until: until, Job: in.Job, Engine: e, Provisional: in.Provisional, Build: in.Build, Lifted: in.Lifted, Valves: valves})
	d.arrange(len(d.jobs)-1, order)
	return nil
}

// measuring reads what the job was measured with, and in which unit it is printed.
func (d *decoder) measuring(job int) (err error) {
	j, in := &d.plan.Jobs[job], &d.jobs[job]
	units, gauge := in.Units, in.Gauge
	if d.kept != nil && gauge == nil {
		units, gauge = d.kept.Units, &d.kept.Gauge
	}
	j.Units, j.Gauge, j.GaugeStated = j.Engine.Units, shim.UsualGauge, j.Engine.Gauge != nil
	j.Gauge.Used = 0 // a plan without a gauge counts used marks as new ones
	if units != "" {
		u, err := shim.ParseUnit(units)
		if err != nil {
			return err
		}
		j.Units = u.Both()
	}
	if in.ShimUnits != "" {
		if j.Units.Size, err = shim.ParseUnit(in.ShimUnits); err != nil {
			return err
		}
	}
	switch {
	case gauge != nil:
		j.Gauge, j.GaugeStated = shim.Gauge{Step: gauge.Step, Leaf: gauge.Leaf, Stamp: gauge.Stamp, Used: gauge.Used, Mic: gauge.Mic}, gauge.Stated
	case j.GaugeStated:
		j.Gauge = *j.Engine.Gauge
	}
	if problems := j.Gauge.Validate(); len(problems) > 0 {
		return errors.New(problems[0].Message)
	}
	return nil
}

// missing names a field that the valve cannot be without, or is empty.
func (row *valveRow) missing() string {
	for _, f := range []struct {
		name    string
		missing bool
	}{
		{"valve", row.Valve == nil}, {"tight_mm", row.Tight == nil}, {"loose_mm", row.Loose == nil},
		{"open", row.Open == nil}, {"action", row.Action == nil},
	} {
		if f.missing {
			return f.name
		}
	}
	return ""
}

// read is the valve, but for where its shim came from, and checks that it can be
// true. The uncertainty is read where asked for.
func (row *valveRow) read(uncertainty bool) (plan.ValvePlan, error) {
	v := plan.ValvePlan{
		Valve: *row.Valve, Limits: shim.Limits{Tight: *row.Tight, Loose: *row.Loose}, Open: *row.Open, Action: *row.Action,
		Near: row.Near, Reason: row.reason(), Miked: row.Miked, Used: row.Used, InstalledMiked: row.InstalledMiked,
	}
	if v.Aim = v.Limits.Aim(shim.One / 2); row.Aim != nil {
		v.Aim = *row.Aim
	}
	if row.Price != nil {
		v.Price, v.Priced = *row.Price, true
	}
	if row.Trial != nil {
		v.Trial = *row.Trial
	}
	v.SetUp = row.SetUp
	if row.Allowance != nil {
		v.Allowance.By = *row.Allowance
	}
	if row.Doubt != nil {
		v.Allowance.Doubt = *row.Doubt
	}
	if a := v.Allowance; a.By.Abs() > shim.MaxAllowance || a.Doubt < 0 || a.Doubt > shim.MaxAllowance {
		return v, fmt.Errorf("%s and %s mm are no plausible allowance", a.By, a.Doubt)
	}
	if row.With != nil {
		v.With = shim.Gauge{Step: row.With.Step, Leaf: row.With.Leaf}
		if problems := v.With.Validate(); len(problems) > 0 {
			return v, errors.New(problems[0].Message)
		}
	}
	if row.Over != nil && (*row.Over != 0 || row.OverNone) {
		v.Over = &shim.Measurement{Valve: v.Valve, Marks: shim.Marks{Stamp: *row.Over}}
		if row.OverMiked {
			v.Over.Stamp, v.Over.Mic = 0, *row.Over
		}
	}
	if err := row.readShims(&v); err != nil {
		return v, err
	}
	if err := row.readClearance(&v); err != nil {
		return v, err
	}
	if uncertainty && row.Uncertainty != nil && v.Measured {
		if v.Uncertainty = *row.Uncertainty; v.Uncertainty < 0 || v.Uncertainty > shim.MaxClearance {
			return v, fmt.Errorf("%s mm is not a plausible uncertainty", v.Uncertainty)
		}
	}
	return v, nil
}

// readShims reads the shim in place and the one that is in afterwards.
func (row *valveRow) readShims(v *plan.ValvePlan) error {
	if row.Installed != nil && (row.Shim != nil || v.SetUp) {
		v.Installed = *row.Installed
	}
	if row.Shim != nil && (row.Installed != nil || v.SetUp) {
		v.Size = *row.Shim
	}
	for _, size := range []shim.Length{v.Installed, v.Size} {
		if err := shim.ImplausibleSize(size, shim.MM); err != nil && size != 0 {
			return err
		}
	}
	switch {
	case v.SetUp && v.Changed() == (v.Size == 0):
		return errors.New("set_up: a shim goes in where one is named, and only there")
	case v.SetUp && v.Action == plan.Keep:
		return errors.New("set_up: a set-up shim is not kept")
	case v.SetUp:
	case !v.Changed() && v.Size != v.Installed:
		return fmt.Errorf("its shim stays but changes from %s to %s mm", v.Installed, v.Size)
	case v.Action == plan.Swap && row.From == nil:
		return errors.New("from is missing")
	case v.Changed() && v.Installed == 0:
		return errors.New("its shim changes but is not known")
	}
	if v.Changed() && !v.Open {
		return errors.New("its shim changes but the valve is not open")
	}
	return nil
}

// readClearance reads the reading and the clearance to expect.
func (row *valveRow) readClearance(v *plan.ValvePlan) error {
	if (row.Clearance == nil) != (row.Predicted == nil) {
		return errors.New("of clearance_mm and predicted_mm one is missing")
	}
	if row.Clearance != nil {
		v.Measured, v.Clearance, v.Expected = true, *row.Clearance, *row.Predicted
		v.Reading = shim.ReadingOf(v.Clearance) // where nothing tells more
		if err := shim.ImplausibleClearance(v.Clearance, shim.MM); err != nil && !(v.SetUp && 0 <= v.Clearance && v.Clearance <= shim.MaxSetUpGap) {
			return err
		}
		if v.Expected.Abs() > farthest {
			return fmt.Errorf("%s mm is not a plausible clearance", v.Expected)
		}
	}
	if row.Reading != nil && *row.Reading != "" {
		if row.CloserFirst && row.Clearance != nil {
			return errors.New("closer_first, and yet a clearance_mm")
		}
		as := row.Clearance // it is written as it was read, the clearance as the maker's table moved it
		if as != nil {
			read := *as - row.Converted
			as = &read
		}
		reading, ok := readingOf(*row.Reading, as)
		if row.CloserFirst { // it has a number that does not count yet
			var err error
			reading, err = shim.ParseReading(*row.Reading, shim.MM)
			ok = err == nil
		}
		if !ok && row.Clearance == nil {
			return fmt.Errorf("the reading %q has no clearance_mm", *row.Reading)
		}
		if !ok {
			return fmt.Errorf("the reading %q is not the clearance of %s mm", *row.Reading, v.Clearance)
		}
		v.Reading = reading.Shift(row.Converted)
	}
	v.Temperature, v.Reading.Shifted, v.Reading.Open = row.Temperature, row.Converted, row.ConvertedOpen
	switch {
	case row.OutsideWindow:
		v.Warmth, v.Reading.Unconverted = shim.NotConverted, true
	case v.Reading.Converted():
		v.Warmth = shim.Converted
	}
	v.Verdict, v.Undecided, v.MayBind, v.CloserFirst = v.Settling().Judge(v.Reading), row.Undecided, row.MayBind, row.CloserFirst
	v.Risk = row.Risk
	return nil
}

// farthest bounds what a predicted clearance can be; a valve that nothing
// brings inside its limits may be far out.
const farthest = 100 * shim.Millimetre

// readingOf reads a reading in mm or, where only that makes sense, in inches, as an
// earlier version wrote them to 0.254 µm. Clearance is its estimate, nil where it has none.
func readingOf(text string, clearance *shim.Length) (shim.Reading, bool) {
	const rounding = 300 * shim.Nanometre
	for _, u := range []shim.Unit{shim.MM, shim.IN} {
		r, err := shim.ParseReading(text, u)
		if err != nil {
			continue
		}
		// The clearance tells which of two readings counted.
		for range 2 {
			estimate, numbered := r.Estimate()
			if numbered == (clearance != nil) && (!numbered || (estimate-*clearance).Abs() <= rounding) {
				return r, true
			}
			r.Second.Tighter = r.Second.Taken
		}
	}
	return shim.Reading{}, false
}

// sources finds out which valve each swapped shim of the job was in.
func (d *decoder) sources(job int) error {
	p := d.plan
	for k := range p.Jobs[job].Valves {
		v, row := &p.Jobs[job].Valves[k], &d.valves[job][k]
		if v.Action != plan.Swap {
			continue
		}
		jobs := named(p, job, row.FromJob)
		if row.FromJob == "" { // an earlier version did not say which job
			for i := range p.Jobs {
				jobs = append(jobs, i)
			}
		}
		for _, i := range jobs {
			at, found := p.Jobs[i].Engine.Find(*row.From)
			if !found {
				continue
			}
			if from := &p.Jobs[i].Valves[at]; from != v && from.Changed() && !from.SetUp && from.Installed == v.Size && !d.taken[from] {
				d.taken[from] = true
				v.From = &plan.Place{Job: i, Valve: from.Valve}
				break
			}
		}
		if v.From == nil {
			return fmt.Errorf("%s takes its shim of %s mm from %s, which does not have it to give", v.Valve, v.Size, row.From)
		}
	}
	return nil
}
