package report

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

// ErrNotPlan is the error of a text that is no plan as [JSON] writes it.
var ErrNotPlan = errors.New("this is not a plan")

// A Planned is a plan as its JSON gives it back: as much of it as a check after
// fitting is compared with.
type Planned struct {
	Jobs []PlannedJob
	// Engines has each engine of the jobs once, as far as the plan tells what
	// they are: names, valves, limits. See [Planned.Use].
	Engines []*shim.Engine
}

// A PlannedJob is one job of a plan.
type PlannedJob struct {
	Job         string
	Engine      *shim.Engine
	Provisional bool
	Valves      []PlannedValve // in the order of [shim.Engine.Valves]
}

// A PlannedValve is what a plan says of one valve.
type PlannedValve struct {
	Valve shim.Valve
	shim.Limits
	Measured  bool         // whether the plan had a reading with a number
	Clearance shim.Length  // its estimate, where Measured
	Reading   shim.Reading // a single figure where the plan does not say more
	Predicted shim.Length  // the clearance to expect, where Measured
	Installed shim.Length  // the shim found in place
	Size      shim.Length  // the shim that is in afterwards
	From      shim.Valve   // with a swap: whose shim it was; else zero
	Changed   bool         // whether another shim goes in
	Out       bool         // whether the shim was out of the engine
	// Miked tells whether a micrometer measured the shim that is in afterwards,
	// InstalledMiked whether it did so with the one found in place; false where
	// the plan does not say.
	Miked, InstalledMiked bool
	// Over is the shim that the reading was made over where it is another than
	// Installed, else 0; OverMiked whether a micrometer measured that one.
	Over      shim.Length
	OverMiked bool
	// Uncertainty is the expanded one, 95 %, of Predicted; 0 where the plan does
	// not say.
	Uncertainty shim.Length
}

// readJob and readValve are the plan's JSON with what is asked of it; pointers
// tell what is missing from what is nil.
type readJob struct {
	Job         string            `json:"job"`
	Engine      string            `json:"engine"`
	Units       string            `json:"units"`
	Lifted      []string          `json:"lifted"`
	Provisional bool              `json:"provisional"`
	Valves      []json.RawMessage `json:"valves"`
}

type readValve struct {
	Valve       *shim.Valve  `json:"valve"`
	Tight       *shim.Length `json:"tight_mm"`
	Loose       *shim.Length `json:"loose_mm"`
	Clearance   *shim.Length `json:"clearance_mm"`
	Installed   *shim.Length `json:"installed_mm"`
	Open        *bool        `json:"open"`
	Action      *string      `json:"action"`
	Shim        *shim.Length `json:"shim_mm"`
	From        *shim.Valve  `json:"from"`
	FromJob     string       `json:"from_job"`
	Predicted   *shim.Length `json:"predicted_mm"`
	Uncertainty *shim.Length `json:"uncertainty_mm"`
	Reading     string       `json:"reading"`
	Miked       bool         `json:"miked"`
	WasMiked    bool         `json:"installed_miked"`
	Over        shim.Length  `json:"read_over_mm"`
	OverMiked   bool         `json:"read_over_miked"`
}

// ReadPlan reads what [JSON] wrote; fields that it does not know are skipped.
// The error wraps [ErrNotPlan] and says what is wrong first, and where.
func ReadPlan(name string, r io.Reader) (*Planned, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, err // it names the file
	}
	p, err := readPlan(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w: %w", name, ErrNotPlan, err)
	}
	return p, nil
}

func readPlan(text []byte) (*Planned, error) {
	var whole struct {
		Provisional bool              `json:"provisional"`
		Jobs        []json.RawMessage `json:"jobs"`
	}
	if err := decode(text, &whole); err != nil {
		return nil, err
	}
	if len(whole.Jobs) == 0 {
		return nil, errors.New("it has no jobs")
	}
	p := &Planned{}
	seen := map[string]bool{}
	for i, raw := range whole.Jobs {
		j, err := p.readJob(raw)
		if err != nil {
			return nil, fmt.Errorf("jobs[%d]: %w", i, err)
		}
		j.Provisional = j.Provisional || whole.Provisional
		key := j.Job + "\x00" + j.Engine.Name
		if seen[key] {
			return nil, fmt.Errorf("jobs[%d]: the job is there twice", i)
		}
		seen[key] = true
		p.Jobs = append(p.Jobs, j)
	}
	return p, p.findRatios()
}

// decode reads one JSON value, and says on which line it cannot be one.
func decode(text []byte, into any) error {
	err := json.Unmarshal(text, into)
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		line := 1 + bytes.Count(text[:min(int(syntax.Offset), len(text))], []byte("\n"))
		return fmt.Errorf("line %d is not JSON: %s", line, strings.TrimPrefix(syntax.Error(), "json: "))
	case errors.As(err, &kind):
		if kind.Field == "" {
			return fmt.Errorf("%s found where an object belongs", kind.Value)
		}
		return fmt.Errorf("%s found where %s belongs", kind.Value, kind.Field)
	}
	return err
}

func (p *Planned) readJob(raw json.RawMessage) (PlannedJob, error) {
	var in readJob
	if err := decode(raw, &in); err != nil {
		return PlannedJob{}, err
	}
	j := PlannedJob{Job: in.Job, Provisional: in.Provisional}
	switch {
	case strings.TrimSpace(in.Engine) == "":
		return j, errors.New("it names no engine")
	case len(in.Valves) == 0:
		return j, errors.New("it has no valves")
	}
	access := shim.ByCamshaft
	for _, name := range in.Lifted {
		if _, err := shim.ParseValve(name); err == nil {
			access = shim.ByValve
		}
	}
	valves := make([]PlannedValve, len(in.Valves))
	for i, raw := range in.Valves {
		v, err := readOne(raw)
		if err != nil {
			return j, fmt.Errorf("valves[%d]: %w", i, err)
		}
		// Shims that are reached one by one come out one by one; under a
		// camshaft, all of them may.
		v.Out = v.Out && (access == shim.ByCamshaft || v.Changed)
		valves[i] = v
	}
	e, ordered, err := engineOf(in.Engine, valves)
	if err != nil {
		return j, err
	}
	e.Access = access
	if in.Units != "" {
		if e.Units, err = shim.ParseUnit(in.Units); err != nil {
			return j, err
		}
	}
	j.Valves = ordered
	j.Engine, err = p.engine(e)
	return j, err
}

// readOne reads one valve and checks that it can be true.
func readOne(raw json.RawMessage) (PlannedValve, error) {
	var in readValve
	if err := decode(raw, &in); err != nil {
		return PlannedValve{}, err
	}
	for _, f := range []struct {
		name    string
		missing bool
	}{
		{"valve", in.Valve == nil}, {"tight_mm", in.Tight == nil}, {"loose_mm", in.Loose == nil},
		{"open", in.Open == nil}, {"action", in.Action == nil},
	} {
		if f.missing {
			return PlannedValve{}, fmt.Errorf("%s is missing", f.name)
		}
	}
	if in.Installed == nil || in.Shim == nil {
		return PlannedValve{}, fmt.Errorf("%s: no shim is known; a plan from clearances alone has nothing to compare with", in.Valve)
	}
	v := PlannedValve{
		Valve: *in.Valve, Limits: shim.Limits{Tight: *in.Tight, Loose: *in.Loose},
		Installed: *in.Installed, Size: *in.Shim, Out: *in.Open, Miked: in.Miked, InstalledMiked: in.WasMiked, Over: in.Over, OverMiked: in.OverMiked,
	}
	wrong := func(format string, values ...any) (PlannedValve, error) {
		return v, fmt.Errorf("%s: "+format, append([]any{v.Valve}, values...)...)
	}
	for _, size := range []shim.Length{v.Installed, v.Size} {
		if problem, _ := shim.ImplausibleSize(size, shim.MM); problem != "" {
			return wrong("%s", problem)
		}
	}
	switch *in.Action {
	case plan.Keep.String(), plan.Leave.String():
		if v.Size != v.Installed {
			return wrong("its shim stays, yet changes from %s to %s mm", v.Installed, v.Size)
		}
	case plan.Swap.String():
		if in.From == nil {
			return wrong("from is missing")
		}
		v.Changed = true
		if in.FromJob == "" { // a shim of another job comes from outside this one
			v.From = *in.From
		}
	case plan.Box.String(), plan.Buy.String():
		v.Changed = true
	default:
		return wrong("unknown action %q", *in.Action)
	}
	if v.Changed && !v.Out {
		return wrong("its shim changes, yet it is not open")
	}
	if (in.Clearance == nil) != (in.Predicted == nil) {
		return wrong("of clearance_mm and predicted_mm one is missing")
	}
	if in.Clearance == nil {
		return v, nil
	}
	v.Measured, v.Clearance, v.Predicted = true, *in.Clearance, *in.Predicted
	if problem, _ := shim.ImplausibleClearance(v.Clearance, shim.MM); problem != "" {
		return wrong("%s", problem)
	}
	if v.Predicted.Abs() > farthest {
		return wrong("a clearance of %s mm cannot be", v.Predicted)
	}
	if in.Uncertainty != nil {
		if v.Uncertainty = *in.Uncertainty; v.Uncertainty < 0 || v.Uncertainty > shim.MaxClearance {
			return wrong("an uncertainty of %s mm cannot be", v.Uncertainty)
		}
	}
	v.Reading = shim.ReadingOf(v.Clearance)
	if in.Reading != "" {
		reading, ok := readingOf(in.Reading, v.Clearance)
		if !ok {
			return wrong("the reading %q is not the clearance of %s mm", in.Reading, v.Clearance)
		}
		v.Reading = reading
	}
	return v, nil
}

// farthest bounds what a predicted clearance can be; a valve that nothing
// brings inside its limits may be far out.
const farthest = 100 * shim.Millimetre

// readingOf reads a figure or a bracket that the clearance is the estimate of,
// in mm or, where only that makes sense, in inches. Inches are written to
// 0.254 µm.
func readingOf(text string, clearance shim.Length) (shim.Reading, bool) {
	const rounding = 300 * shim.Nanometre
	for _, u := range []shim.Unit{shim.MM, shim.IN} {
		first, second, two := strings.Cut(text, "-")
		r := shim.Reading{Kind: shim.Single}
		var err, also error
		r.Low, err = u.Parse(first)
		if r.High = r.Low; two {
			r.Kind = shim.Bracket
			r.High, also = u.Parse(second)
		}
		if err != nil || also != nil || r.Low > r.High {
			continue
		}
		if estimate, ok := r.Estimate(); ok && (estimate-clearance).Abs() <= rounding {
			return r, true
		}
	}
	return shim.Reading{}, false
}
