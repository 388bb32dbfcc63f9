package report

import (
	"bytes"
	"encoding/json"
	"io"
	"math"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// The types below, with the names that JSON writes around them, are the JSON
// contract of docs/json.md.

type valveJSON struct {
	Valve     shim.Valve   `json:"valve"`
	Tight     shim.Length  `json:"tight_mm"`
	Loose     shim.Length  `json:"loose_mm"`
	Aim       shim.Length  `json:"aim_mm"`
	Clearance *shim.Length `json:"clearance_mm"`
	Installed *shim.Length `json:"installed_mm"`
	Verdict   shim.Verdict `json:"verdict"`
	Open      bool         `json:"open"`
	Action    plan.Action  `json:"action"`
	Shim      *shim.Length `json:"shim_mm"`
	From      *shim.Valve  `json:"from"`
	FromJob   string       `json:"from_job,omitempty"` // where that is another job
	Predicted *shim.Length `json:"predicted_mm"`
	Near      bool         `json:"near"`
	Reason    string       `json:"reason"`
	Change    bool         `json:"must_change,omitempty"`
	Undecided bool         `json:"undecided,omitempty"`
	Over      *shim.Length `json:"read_over_mm,omitempty"` // the shim that the reading was made over, where it is another
	OverMiked bool         `json:"read_over_miked,omitempty"`
	doubtJSON
}

// doubtJSON is there where the plan asks for a confidence or the gauge is
// stated; what a micrometer measured is there in any case.
type doubtJSON struct {
	Reading     string       `json:"reading,omitempty"`
	Miked       *bool        `json:"miked,omitempty"`
	Installed   *bool        `json:"installed_miked,omitempty"`
	Uncertainty *shim.Length `json:"uncertainty_mm,omitempty"`
	Probability *float64     `json:"probability,omitempty"`
	Method      string       `json:"method,omitempty"`
}

type lotJSON struct {
	Diameter shim.Length `json:"diameter_mm"`
	Size     shim.Length `json:"size_mm"`
	Count    int         `json:"count"`
}

type boughtJSON struct {
	lotJSON
	Price *shim.Price `json:"price"`
}

// JSON writes the plan as one JSON object, a line for each valve and each lot.
// It is written piece by piece, so that a plan of many engines needs no
// second copy in memory. A trade-off is written where there is one.
func JSON(w io.Writer, p *plan.Plan, trades ...plan.Trade) error {
	return writePlan(w, p, trades, nil)
}

// writePlan writes the plan and, where it is to be kept, what more that takes.
func writePlan(w io.Writer, p *plan.Plan, trades []plan.Trade, more *keptJSON) error {
	e := newLineEncoder(w)
	e.text("{\n")
	if p.Provisional() {
		e.text("  \"provisional\": true,\n")
	}
	e.text("  \"policy\": ").value(p.Policy)
	if p.Confidence != 0 {
		e.text(",\n  \"confidence\": ").value(p.Confidence)
	}
	if p.Buy != nil {
		e.text(",\n  \"buy\": ").value(*p.Buy)
	}
	e.text(",\n  \"criteria\": ").value(p.Criteria)
	e.text(",\n  \"jobs\": [")
	e.jobs(p)
	if len(p.Jobs) > 0 {
		e.text("\n  ")
	}
	e.text("],\n  \"shopping\": ").list(len(p.Shopping), func(i int) any {
		bought := boughtJSON{lotJSON: lot(&p.Shopping[i])}
		if p.Shopping[i].Priced {
			bought.Price = &p.Shopping[i].Price
		}
		return bought
	})
	if trials := p.Trials(); len(trials) > 0 {
		e.text(",\n  \"trials\": ").list(len(trials), func(i int) any { return lot(&trials[i]) })
	}
	e.text(",\n  \"drawn\": ").list(len(p.Drawn), func(i int) any { return lot(&p.Drawn[i]) })
	e.text(",\n  \"left_over\": ").list(len(p.LeftOver), func(i int) any { return lot(&p.LeftOver[i]) })
	e.text(",\n  \"cautions\": ").list(len(shim.Cautions), func(i int) any { return shim.Cautions[i] })
	if len(p.Next) > 0 {
		e.text(",\n  \"measure_next\": ").list(len(p.Next), func(i int) any { return nextOf(p, &p.Next[i]) })
	}
	if len(trades) > 0 {
		e.text(",\n  \"tradeoff\": ").list(len(trades), func(i int) any { return trade(&trades[i]) })
	}
	if more != nil {
		e.text(",\n  \"kept\": ").value(more)
	}
	e.text("\n}\n")
	return e.err
}

// A lineEncoder writes JSON values between pieces of text and keeps the first error.
type lineEncoder struct {
	w       io.Writer
	line    bytes.Buffer
	encoder *json.Encoder // into line
	rows    []byte        // the same for a valve
	err     error
}

func newLineEncoder(w io.Writer) *lineEncoder {
	e := &lineEncoder{w: w}
	e.encoder = json.NewEncoder(&e.line)
	e.encoder.SetEscapeHTML(false)
	return e
}

func (e *lineEncoder) text(s string) *lineEncoder {
	if e.err == nil {
		_, e.err = io.WriteString(e.w, s)
	}
	return e
}

// value writes a value on the line at hand.
func (e *lineEncoder) value(v any) {
	if e.err != nil {
		return
	}
	e.line.Reset()
	if e.err = e.encoder.Encode(v); e.err == nil {
		_, e.err = e.w.Write(bytes.TrimSuffix(e.line.Bytes(), []byte("\n")))
	}
}

// row writes a valve on the line at hand.
func (e *lineEncoder) row(r *valveJSON) {
	if e.err != nil {
		return
	}
	if e.rows, e.err = r.appendTo(e.rows[:0]); e.err == nil {
		_, e.err = e.w.Write(e.rows)
	}
}

// list writes a list of the top level, a line for each element.
func (e *lineEncoder) list(n int, element func(i int) any) {
	e.text("[")
	for i := range n {
		if i > 0 {
			e.text(",")
		}
		e.text("\n    ").value(element(i))
	}
	if n > 0 {
		e.text("\n  ")
	}
	e.text("]")
}

func (e *lineEncoder) job(p *plan.Plan, i int) {
	j := &p.Jobs[i]
	if i > 0 {
		e.text(",")
	}
	e.text("\n    {\"job\":").value(j.Job)
	e.text(",\"engine\":").value(j.Engine.Name)
	e.text(",\"lifted\":").value(append([]string{}, j.Lifted...))
	e.text(",\"valves\":[")
	doubted := p.Confidence != 0 || j.GaugeStated
	for k := range j.Valves {
		if k > 0 {
			e.text(",")
		}
		row := valve(&j.Valves[k])
		row.FromJob = otherJob(p, j, &j.Valves[k])
		if doubted {
			row.doubtJSON = doubtOf(j, &j.Valves[k])
		} else if m := miked(&j.Valves[k]); *m.Miked || *m.Installed {
			row.doubtJSON = m
		}
		e.text("\n      ").row(&row)
	}
	e.text("\n    ],\"fitting\":[")
	for k := range j.Moves {
		if k > 0 {
			e.text(",")
		}
		e.text("\n      ").value(move(p, j, &j.Moves[k]))
	}
	if len(j.Moves) > 0 {
		e.text("\n    ")
	}
	e.text("]")
	if len(j.Wants) > 0 {
		rows := make([]wantJSON, len(j.Wants))
		for k := range j.Wants {
			rows[k] = want(p, j, &j.Wants[k])
		}
		e.text(",\"temporary_wanted\":").value(rows)
	}
	e.text(",\"all_inside\":").value(wholeOf(p.AllInside(i)))
	e.text(",\"alike\":").value(append([]pair{}, alike(j)...))
	e.text("}")
}

func valve(v *plan.Valve) valveJSON {
	row := valveJSON{
		Valve: v.Valve, Tight: v.Limits.Tight, Loose: v.Limits.Loose, Aim: v.Aim,
		Verdict: v.Verdict, Open: v.Open, Action: v.Action, Near: v.Near, Reason: v.Reason, Change: v.MustChange(), Undecided: v.Undecided,
	}
	if v.Installed != 0 {
		row.Installed, row.Shim = &v.Installed, &v.Size
	}
	if v.Measured {
		row.Clearance, row.Predicted = &v.Clearance, &v.Expected
	}
	if v.From != nil {
		row.From = &v.From.Valve
	}
	if v.Over != nil {
		over := v.Over.Size()
		row.Over, row.OverMiked = &over, v.Over.Mic != 0
	}
	return row
}

// miked says which of the valve's two shims a micrometer measured.
func miked(v *plan.Valve) doubtJSON {
	return doubtJSON{Miked: &v.Miked, Installed: &v.InstalledMiked}
}

// doubtOf is what is known of how sure a valve's expected clearance is.
func doubtOf(j *plan.JobPlan, v *plan.Valve) doubtJSON {
	out := miked(v)
	out.Reading = v.Reading.Format(shim.MM)
	if f, ok := j.Forecast(v); ok {
		inside := probability(f.Inside)
		out.Uncertainty, out.Probability, out.Method = &f.Expanded, &inside, f.Method.String()
	}
	return out
}

func lot(l *plan.Lot) lotJSON { return lotJSON{Diameter: l.Diameter, Size: l.Size, Count: l.Count} }

// probability rounds to four decimals, yet never to 1 or 0: what is not
// certain is not printed as if it were.
func probability(p float64) float64 {
	if p <= 0 || p >= 1 {
		return p
	}
	return min(0.9999, max(0.0001, math.Round(p*1e4)/1e4))
}
