package planjson

import (
	"encoding/json"
	"math"
	"slices"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/plan"
	"shimwright/shim/report/reason"
)

// The types below are the JSON contract of docs/json.md. Pointers tell what is
// missing from what is nil.

// A jobHead is a job up to its valves.
type jobHead struct {
	Job         string       `json:"job"`
	Engine      string       `json:"engine"`
	Lifted      []string     `json:"lifted"`
	Provisional bool         `json:"provisional,omitempty"`
	Build       bool         `json:"build,omitempty"`
	Units       string       `json:"units"`
	ShimUnits   string       `json:"shim_units,omitempty"` // where they are not those of clearances
	Family      string       `json:"family,omitempty"`
	Diameter    *shim.Length `json:"diameter_mm"`
	Gauge       *gaugeRow    `json:"gauge"`
	State       string       `json:"state,omitempty"`     // of the engine while it was measured, where that is not cold
	Own         string       `json:"state_own,omitempty"` // the engine file's, where it is another
	// What the engine file says of the temperature to measure at.
	Window      []shim.Temperature `json:"window_c,omitempty"`
	Corrections []correctionRow    `json:"corrections,omitempty"`
	Readings    string             `json:"readings,omitempty"` // what two readings come to, where that is not their mean
}

type gaugeRow struct {
	Stated bool        `json:"stated"`
	Step   shim.Length `json:"step_mm"`
	Leaf   shim.Length `json:"leaf_mm"`
	Stamp  shim.Length `json:"stamp_mm"`
	Mic    shim.Length `json:"mic_mm"`
	Used   shim.Length `json:"used_stamp_mm,omitempty"` // as a new shim's where it is missing
}

// A withRow is a set of leaves.
type withRow struct {
	Step shim.Length `json:"step_mm"`
	Leaf shim.Length `json:"leaf_mm"`
}

// A correctionRow is one of the maker's table.
type correctionRow struct {
	At shim.Temperature `json:"temperature_c"`
	By shim.Length      `json:"larger_mm"`
}

// A jobRow is a job as far as it is read back.
type jobRow struct {
	jobHead
	Valves []json.RawMessage `json:"valves"`
	// Fitting is nil in plans of a time before it was written.
	Fitting *[]moveRow `json:"fitting"`
	Wants   []wantRow  `json:"temporary_wanted"`
	Until   *untilRow  `json:"until"`
}

type valveRow struct {
	Valve       *shim.Valve     `json:"valve"`
	Family      string          `json:"family,omitempty"`      // of its shims, and their
	Diameter    *shim.Length    `json:"diameter_mm,omitempty"` // where they are not the job's
	Tight       *shim.Length    `json:"tight_mm"`
	Loose       *shim.Length    `json:"loose_mm"`
	Aim         *shim.Length    `json:"aim_mm"`
	Clearance   *shim.Length    `json:"clearance_mm"`
	Installed   *shim.Length    `json:"installed_mm"`
	Verdict     shim.Verdict    `json:"verdict"`
	Open        *bool           `json:"open"`
	Action      *plan.Action    `json:"action"`
	Shim        *shim.Length    `json:"shim_mm"`
	Mark        string          `json:"mark,omitempty"`           // of that shim, where it is not the size
	OldMark     string          `json:"installed_mark,omitempty"` // of the one in place
	From        *shim.Valve     `json:"from"`
	FromJob     string          `json:"from_job,omitempty"` // where that is another job
	Predicted   *shim.Length    `json:"predicted_mm"`
	Near        bool            `json:"near"`
	Reason      string          `json:"reason"` // in words
	Kind        plan.ReasonKind `json:"reason_kind,omitempty"`
	Because     *plan.Reason    `json:"reason_data,omitempty"` // what the kind has beside the valve
	Trial       *shim.Length    `json:"trial_mm,omitempty"`    // the shim that the reason names to measure with
	Change      bool            `json:"must_change,omitempty"`
	Risk        int64           `json:"risk_ppm,omitempty"`     // of leaving the limits until then, where the plan looks ahead
	CloserFirst bool            `json:"closer_first,omitempty"` // an opener whose closer shows no play
	MayBind     bool            `json:"may_bind,omitempty"`     // a closer whose predicted clearance is below its own uncertainty
	Undecided   bool            `json:"undecided,omitempty"`
	Over        *shim.Length    `json:"read_over_mm,omitempty"` // the shim that the reading was made over, where it is another
	OverMiked   bool            `json:"read_over_miked,omitempty"`
	OverNone    bool            `json:"read_over_none,omitempty"`     // it was made without a shim, in a fresh build
	SetUp       bool            `json:"set_up,omitempty"`             // the shim in place is a set-up shim, or there is none
	Allowance   *shim.Length    `json:"allowance_mm,omitempty"`       // in the predicted clearance, in a fresh build
	Doubt       *shim.Length    `json:"allowance_doubt_mm,omitempty"` // its half width

	Reading *string  `json:"reading"`
	With    *withRow `json:"read_with,omitempty"` // the leaves that it was read with, where they are not the job's
	// How warm the engine was, by how much the maker's table moved the reading and
	// how far that leaves it open; whether it was measured outside the window and
	// not converted.
	Temperature   shim.Temperature `json:"temperature_c,omitempty"`
	Converted     shim.Length      `json:"converted_mm,omitempty"`
	ConvertedOpen shim.Length      `json:"converted_doubt_mm,omitempty"`
	OutsideWindow bool             `json:"outside_window,omitempty"`

	Miked          bool         `json:"miked"`
	Used           bool         `json:"used,omitempty"` // the new shim
	InstalledMiked bool         `json:"installed_miked"`
	Uncertainty    *shim.Length `json:"uncertainty_mm,omitempty"`
	Probability    *float64     `json:"probability,omitempty"`
	Method         string       `json:"method,omitempty"`
	Ratio          string       `json:"ratio"`
	Price          *shim.Price  `json:"price"`
}

// because writes the valve's reason, in the units.
func (row *valveRow) because(v *plan.ValvePlan, u shim.UnitPair, marks shim.MarkList) {
	row.Reason = reason.Text(v, u.Clearance, u.Size, marks...)
	if v.Reason == nil || v.Reason.Text != "" {
		return
	}
	row.Kind = v.Reason.Kind
	if *v.Reason != (plan.Reason{Kind: row.Kind}) {
		row.Because = v.Reason
	}
}

// reason reads it: where nothing but the words is known, they stay.
func (row *valveRow) reason() *plan.Reason {
	switch {
	case row.Reason == "":
		return nil
	case !slices.Contains(plan.ReasonKinds, row.Kind):
		return &plan.Reason{Text: row.Reason}
	}
	r := plan.Reason{}
	if row.Because != nil {
		r = *row.Because
	}
	r.Kind = row.Kind
	return &r
}

type lotRow struct {
	shim.Disc
	Mark  string `json:"mark,omitempty"` // where it is not the size
	Count int    `json:"count"`
}

type boughtRow struct {
	lotRow
	Price *shim.Price `json:"price"`
}

// A wholeRow is how likely all valves of a job end inside together.
type wholeRow struct {
	Probability *float64 `json:"probability"` // null where it cannot be told
	Error       float64  `json:"error"`
	Method      string   `json:"method"`
	Valves      int      `json:"valves"`
	Others      int      `json:"others"`
}

func wholeOf(w plan.Whole) wholeRow {
	out := wholeRow{Method: "exact", Valves: w.Valves, Others: w.Others}
	if w.Sampled {
		// Rounded up: what is said of the error is never too little.
		out.Method, out.Error = "quasi_monte_carlo", math.Ceil(w.Error*1e6)/1e6
	}
	p := doubt.Rounded(w.Probability)
	out.Probability = known(&p, w.Valves > 0)
	return out
}

// A nextRow is one measurement worth taking.
type nextRow struct {
	Job     string       `json:"job"`
	Valve   shim.Valve   `json:"valve"`
	What    string       `json:"what"`
	Leaves  *shim.Length `json:"leaves_mm"`
	Changes float64      `json:"changes"`
	Before  float64      `json:"all_inside_before"`
	After   float64      `json:"all_inside_after"`
	Saved   float64      `json:"purchases_saved"`
}

func nextOf(p *plan.Plan, n *plan.Next) nextRow {
	out := nextRow{
		Job: p.Jobs[n.Job].Job, Valve: n.Valve, What: "mic",
		Changes: doubt.Rounded(n.Changes), Before: doubt.Rounded(n.Before), After: doubt.Rounded(n.After),
		Saved: math.Round(n.Saved*1e4) / 1e4,
	}
	if n.Leaves != 0 {
		out.What, out.Leaves = "read", &n.Leaves
	}
	return out
}

// An untilRow is how far ahead a plan looks, and what that gains.
type untilRow struct {
	Meter   string  `json:"meter"`
	Inside  float64 `json:"all_inside"`
	Without float64 `json:"all_inside_without"`
	Bought  int     `json:"more_bought"`
}

// A tradeRow is one row of the trade-off.
type tradeRow struct {
	Buy         int         `json:"buy"`
	Margin      shim.Length `json:"margin_mm"`
	Probability float64     `json:"probability"`
	Deviation   shim.Length `json:"deviation_mm"`
	Cost        shim.Price  `json:"cost"`
	Drawn       int         `json:"drawn"`
	Disturbed   int         `json:"disturbed"`
}

func tradeOf(t *plan.Trade) tradeRow {
	c := &t.Plan.Criteria
	return tradeRow{
		Buy: t.Buy, Margin: t.Margin, Probability: doubt.Rounded(t.Sure),
		Deviation: c.Deviation, Cost: c.Cost, Drawn: c.Drawn, Disturbed: c.Disturbed,
	}
}
