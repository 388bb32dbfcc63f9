package inventory

import (
	"encoding/json"
	"time"

	"shimwright/shim"
)

// A State is how far a job has come.
type State string

// The states of a job, in the order of the work.
const (
	Open      State = "open"      // taken in, nothing measured
	Measured  State = "measured"  // readings are in
	Planned   State = "planned"   // a plan holds its pieces, nothing fitted
	Fitting   State = "fitting"   // some of the plan's shims are in
	Complete  State = "fitted"    // all of the plan's shims are in
	Rechecked State = "rechecked" // measured again after the fit
	Closed    State = "closed"    // done
	Cancelled State = "cancelled" // given up; what was held is free again
)

// States lists all states in the order of the work.
var States = []State{Open, Measured, Planned, Fitting, Complete, Rechecked, Closed, Cancelled}

// Final tells whether nothing more can happen to the job.
func (s State) Final() bool { return s == Closed || s == Cancelled }

// holds tells whether a job in this state counts on pieces of the box.
func (s State) holds() bool { return s == Planned || s == Fitting }

// An Engine is an engine file as the shop keeps it. A changed file is another
// engine, so a job always shows the limits that it was done to.
type Engine struct {
	ID     int64
	Spec   shim.Engine
	Data   json.RawMessage // Spec as JSON, as it was when the engine was added
	Source string          // the engine file's text
	Seal   Hash            // over Data and Source: what makes it this engine
}

// A Job is one engine's visit to the shop.
type Job struct {
	ID       int64
	Engine   int64  // [Engine.ID]
	Name     string // the engine's name
	Diameter shim.Length
	Tag      string // the customer's tag: what the shop calls this visit
	Meter    string // odometer or hours, as read, with its unit
	Note     string
	State    State
	Who      string
	Opened   time.Time
	Changed  time.Time // when the job last changed
	Plan     int       // the number of the latest plan, 0 without one
	Anyway   bool      // closed although some valve was not proven to be inside its limits
	Short    int       // pieces that its plan counted on and that were taken away
	Seal     Hash
}

// A CheckKind says when in a job a check was made.
type CheckKind string

// The kinds of check.
const (
	Before  CheckKind = "before"
	Recheck CheckKind = "recheck"
)

// A Check is one round of measuring: a reading of every valve that was reached.
type Check struct {
	Job      int64
	Number   int // 1, 2, 3, … within the job
	Kind     CheckKind
	Seq      int64 // the ledger's last row when the check was entered
	Time     time.Time
	Who      string
	Note     string
	Readings []shim.Measurement
	Seal     Hash
}
