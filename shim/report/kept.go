package report

import (
	"errors"
	"fmt"
	"io"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// keptJSON is the field "kept" of a plan that the shop keeps: what it takes
// beside the contract's fields to lay the plan out again as it was.
type keptJSON struct {
	Units  string      `json:"units"`
	Margin shim.Length `json:"margin_mm"`
	Gauge  gaugeJSON   `json:"gauge"`
	Valves []keptValve `json:"valves"`
}

type gaugeJSON struct {
	Stated bool        `json:"stated"`
	Step   shim.Length `json:"step_mm"`
	Leaf   shim.Length `json:"leaf_mm"`
	Stamp  shim.Length `json:"stamp_mm"`
	Mic    shim.Length `json:"mic_mm"`
}

// A keptValve stands in the place of its valve in the list of valves.
type keptValve struct {
	Kind           shim.ReadingKind `json:"kind"`
	Low            shim.Length      `json:"low_mm"`
	High           shim.Length      `json:"high_mm"`
	InstalledMiked bool             `json:"installed_miked"`
	Miked          bool             `json:"miked"`
	Price          *shim.Price      `json:"price"`
	OverStamp      shim.Length      `json:"over_stamp_mm,omitempty"` // of the shim that was read over, where it is another
	OverMic        shim.Length      `json:"over_mic_mm,omitempty"`
	Trial          shim.Length      `json:"trial_mm,omitempty"`
}

// Keep writes a plan of one job as [JSON] does, with what [Kept] needs beyond that.
func Keep(w io.Writer, p *plan.Plan) error {
	if len(p.Jobs) != 1 {
		return fmt.Errorf("a plan of %d jobs cannot be kept as one", len(p.Jobs))
	}
	j := &p.Jobs[0]
	k := &keptJSON{Units: j.Units.String(), Margin: p.Margin, Gauge: gaugeJSON{j.GaugeStated, j.Gauge.Step, j.Gauge.Leaf, j.Gauge.Stamp, j.Gauge.Mic}}
	for i := range j.Valves {
		v := &j.Valves[i]
		one := keptValve{Kind: v.Reading.Kind, Low: v.Reading.Low, High: v.Reading.High, InstalledMiked: v.InstalledMiked, Miked: v.Miked, Trial: v.Trial}
		if v.Over != nil {
			one.OverStamp, one.OverMic = v.Over.Stamp, v.Over.Mic
		}
		if v.Priced {
			one.Price = &v.Price
		}
		k.Valves = append(k.Valves, one)
	}
	return writePlan(w, p, nil, k)
}

// Kept gives the plan of one job back that [Keep] wrote, for its engine. What
// [JSON] alone wrote is given back as far as it goes: each reading as one
// figure, by the engine's own gauge. The error wraps [ErrNotPlan].
func Kept(name string, r io.Reader, e *shim.Engine) (*plan.Plan, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	p, err := kept(text, e)
	if err != nil {
		return nil, fmt.Errorf("%s: %w: %w", name, ErrNotPlan, err)
	}
	return p, nil
}

// wholePlan is the JSON of a plan as far as it is read back.
type wholePlan struct {
	Policy      plan.Policy `json:"policy"`
	Confidence  float64     `json:"confidence"`
	Buy         *int        `json:"buy"`
	Provisional bool        `json:"provisional"`
	Jobs        []struct {
		Job    string      `json:"job"`
		Lifted []string    `json:"lifted"`
		Valves []valveJSON `json:"valves"`
		// Fitting is nil in plans that were kept before it was written.
		Fitting *[]moveJSON `json:"fitting"`
		Wants   []wantJSON  `json:"temporary_wanted"`
	} `json:"jobs"`
	Kept *keptJSON `json:"kept"`
}

func kept(text []byte, e *shim.Engine) (*plan.Plan, error) {
	var in wholePlan
	if err := decode(text, &in); err != nil {
		return nil, err
	}
	if len(in.Jobs) != 1 {
		return nil, fmt.Errorf("it has %d jobs, not one", len(in.Jobs))
	}
	job := in.Jobs[0]
	names := e.Valves()
	if len(job.Valves) != len(names) {
		return nil, fmt.Errorf("%s has %d valves, the plan %d", e.Name, len(names), len(job.Valves))
	}
	p := &plan.Plan{Policy: in.Policy, Confidence: in.Confidence, Buy: in.Buy, Margin: plan.DefaultMargin}
	j := plan.JobPlan{Job: job.Job, Engine: e, Units: e.Units, Provisional: in.Provisional, Lifted: job.Lifted}
	j.Gauge, j.GaugeStated = shim.UsualGauge, e.Gauge != nil
	if e.Gauge != nil {
		j.Gauge = *e.Gauge
	}
	if k := in.Kept; k != nil {
		if len(k.Valves) != len(names) {
			return nil, errors.New("what was kept of its valves is not whole")
		}
		var err error
		if j.Units, err = shim.ParseUnit(k.Units); err != nil {
			return nil, err
		}
		p.Margin, j.GaugeStated = k.Margin, k.Gauge.Stated
		j.Gauge = shim.Gauge{Step: k.Gauge.Step, Leaf: k.Gauge.Leaf, Stamp: k.Gauge.Stamp, Mic: k.Gauge.Mic}
	}
	for i := range job.Valves {
		row := &job.Valves[i]
		if row.Valve != names[i] {
			return nil, fmt.Errorf("%s stands where the engine has %s", row.Valve, names[i])
		}
		v := row.planned()
		if in.Kept != nil {
			more := in.Kept.Valves[i]
			v.Reading = shim.Reading{Kind: more.Kind, Low: more.Low, High: more.High}
			v.InstalledMiked, v.Miked, v.Trial = more.InstalledMiked, more.Miked, more.Trial
			if more.OverStamp != 0 || more.OverMic != 0 {
				v.Over = &shim.Measurement{Valve: v.Valve, Marks: shim.Marks{Stamp: more.OverStamp, Mic: more.OverMic}}
			}
			if more.Price != nil {
				v.Price, v.Priced = *more.Price, true
			}
		}
		if v.From != nil {
			if _, found := e.Find(v.From.Valve); !found {
				return nil, fmt.Errorf("%s takes its shim from %s, which is not there", v.Valve, v.From.Valve)
			}
		}
		j.Valves = append(j.Valves, v)
	}
	if job.Fitting != nil {
		if err := fittingOf(&j, *job.Fitting, job.Wants); err != nil {
			return nil, err
		}
	}
	p.Jobs = []plan.JobPlan{j}
	p.Rebuild(job.Fitting != nil)
	return p, nil
}

// planned is the valve again, its reading a single figure.
func (row *valveJSON) planned() plan.Valve {
	v := plan.Valve{
		Valve: row.Valve, Limits: shim.Limits{Tight: row.Tight, Loose: row.Loose}, Aim: row.Aim,
		Verdict: row.Verdict, Undecided: row.Undecided, Open: row.Open, Action: row.Action, Near: row.Near, Reason: row.Reason,
	}
	if row.Installed != nil && row.Shim != nil {
		v.Installed, v.Size = *row.Installed, *row.Shim
	}
	if row.Clearance != nil && row.Predicted != nil {
		v.Measured, v.Clearance, v.Expected = true, *row.Clearance, *row.Predicted
		v.Reading = shim.ReadingOf(v.Clearance)
	}
	if row.From != nil {
		v.From = &plan.Place{Valve: *row.From}
	}
	return v
}
