package machinefile

import (
	"encoding/json"

	"shimwright/shim"
)

// What a file says that it is. Fields are added within a version; a change of
// meaning is another version.
const (
	format  = "shimwright-machine"
	version = 1
)

// Bounds of a file: a machine that is checked each weekend has 1,000 visits in
// twenty years.
const (
	Megabytes = 16
	maxVisits = 1000
	maxModels = 500
	maxGauges = 500
)

type fileForm struct {
	Format   string            `json:"format"`
	Version  int               `json:"version"`
	Exported string            `json:"exported"`
	Shop     string            `json:"shop"`
	Machine  machineForm       `json:"machine"`
	Models   []json.RawMessage `json:"models"`
	Gauges   []json.RawMessage `json:"gauges"`
	Visits   []json.RawMessage `json:"visits"`
}

type machineForm struct {
	Tag    string `json:"tag"`
	Model  string `json:"model"`
	Number string `json:"number"`
	Owner  string `json:"owner"`
}

type modelForm struct {
	Name       string `json:"name"`
	EngineFile string `json:"engine_file"` // as docs/files.md has it
}

type gaugeForm struct {
	Name       string      `json:"name"`
	Number     string      `json:"number"`
	Calibrated string      `json:"calibrated"` // days
	Due        string      `json:"due"`
	Step       shim.Length `json:"step_mm"`
	Leaf       shim.Length `json:"leaf_mm"`
	Stamp      shim.Length `json:"stamp_mm"`
	Used       shim.Length `json:"used_stamp_mm"`
	Mic        shim.Length `json:"mic_mm"`
}

type visitForm struct {
	ID           string            `json:"id"`
	Shop         string            `json:"shop"`
	Job          int64             `json:"job"`
	State        string            `json:"state"`
	Tag          string            `json:"tag"`
	Opened       string            `json:"opened"`
	Changed      string            `json:"changed"`
	Meter        string            `json:"meter"`
	Before       string            `json:"meter_before"`
	Reset        string            `json:"reset"`
	Build        bool              `json:"build"`
	Anyway       bool              `json:"closed_anyway"`
	Who          string            `json:"who"`
	Note         string            `json:"note"`
	Model        int               `json:"model"`  // its place in models, from 0
	Gauges       []int             `json:"gauges"` // their places in gauges
	FoundAt      string            `json:"found_at"`
	LeftAt       string            `json:"left_at"`
	Limits       []limitsForm      `json:"limits"`
	Found        []json.RawMessage `json:"found"`
	Left         []json.RawMessage `json:"left"`
	Shims        []json.RawMessage `json:"shims"`
	Changes      []changeForm      `json:"changes"`
	Certificates []json.RawMessage `json:"certificates"`
}

// limitsForm is for readers that do not read engine files.
type limitsForm struct {
	Valve string      `json:"valve"`
	Tight shim.Length `json:"tight_mm"`
	Loose shim.Length `json:"loose_mm"`
}

// A changeForm is a valve whose shim is another one than was found, for readers
// that do not compare.
type changeForm struct {
	Valve string       `json:"valve"`
	From  *shim.Length `json:"from_mm"`
	To    *shim.Length `json:"to_mm"`
}

type readingForm struct {
	Valve     string           `json:"valve"`
	Kind      string           `json:"kind"`
	Low       *shim.Length     `json:"low_mm"`
	High      *shim.Length     `json:"high_mm"`
	Second    *secondForm      `json:"second"`
	Unloaded  *unloadedForm    `json:"unloaded"`
	Shifted   shim.Length      `json:"shifted_mm,omitempty"`
	Open      shim.Length      `json:"open_mm,omitempty"`
	Outside   bool             `json:"outside_window,omitempty"` // open_mm is a guess: no table reaches its temperature
	Clearance *shim.Length     `json:"clearance_mm"`             // what it comes to, for readers that do not calculate
	Stamp     *shim.Length     `json:"stamp_mm"`
	Mic       *shim.Length     `json:"mic_mm"`
	Note      string           `json:"note"`
	Celsius   shim.Temperature `json:"temperature_c,omitempty"`
}

type secondForm struct {
	Low     shim.Length `json:"low_mm"`
	High    shim.Length `json:"high_mm"`
	Tighter bool        `json:"tighter_counts"`
}

type unloadedForm struct {
	Low   shim.Length `json:"low_mm"`
	High  shim.Length `json:"high_mm"`
	Twice bool        `json:"twice"`
	Most  shim.Length `json:"below_mm"`
}

type shimForm struct {
	Valve string       `json:"valve"`
	Stamp *shim.Length `json:"stamp_mm"`
	Mic   *shim.Length `json:"mic_mm"`
	Empty bool         `json:"empty"`
	SetUp bool         `json:"set_up"`
}

var kinds = map[shim.ReadingKind]string{shim.Unread: "unread", shim.Single: "single", shim.Bracket: "bracket", shim.Below: "below", shim.Above: "above"}
