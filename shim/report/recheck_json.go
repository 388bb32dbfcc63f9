package report

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"slices"
	"strconv"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/recheck"
)

// comparisonJSON and the types below it are the JSON contract of
// docs/recheck.md.
type comparisonJSON struct {
	Well     bool              `json:"well"`
	Jobs     []comparedJobJSON `json:"jobs"`
	Cautions []string          `json:"cautions"`
}

type comparedJobJSON struct {
	Job          string              `json:"job"`
	Engine       string              `json:"engine"`
	Well         bool                `json:"well"`
	Valves       []comparedValveJSON `json:"valves"`
	Explanations []explanationJSON   `json:"explanations"`
	Suspects     []suspectJSON       `json:"suspects"`
}

type comparedValveJSON struct {
	Valve       shim.Valve   `json:"valve"`
	Tight       shim.Length  `json:"tight_mm"`
	Loose       shim.Length  `json:"loose_mm"`
	Shim        shim.Length  `json:"shim_mm"`
	Expected    *shim.Length `json:"expected_mm"`
	Measured    *shim.Length `json:"measured_mm"`
	Reading     string       `json:"reading"`
	Difference  *shim.Length `json:"difference_mm"`
	Bound       *shim.Length `json:"bound_mm"`
	Off         bool         `json:"off"`
	Beyond      bool         `json:"beyond"`
	Verdict     shim.Verdict `json:"verdict"`
	Undecided   bool         `json:"undecided,omitempty"`
	Provisional bool         `json:"closer_first,omitempty"` // an opener whose closer shows no play
	SetUp       bool         `json:"set_up,omitempty"`       // it has no shim of its own
	Earlier     bool         `json:"earlier,omitempty"`
	Mark        string       `json:"mark,omitempty"` // on the shim, where it is not its size

	Temperature   shim.Temperature `json:"temperature_c,omitempty"`
	Converted     shim.Length      `json:"converted_mm,omitempty"`
	ConvertedOpen shim.Length      `json:"converted_doubt_mm,omitempty"`
	OutsideWindow bool             `json:"outside_window,omitempty"`
	Allowance     *shim.Length     `json:"allowance_mm,omitempty"` // of a fresh build, not settled yet: not in expected_mm, and taken off the limits
}

type explanationJSON struct {
	Probability float64     `json:"probability"`
	Sure        string      `json:"sure"`
	Faults      []faultJSON `json:"faults"`
}

type faultJSON struct {
	Kind   recheck.Kind  `json:"kind"`
	Valves []shim.Valve  `json:"valves"`
	Sizes  []shim.Length `json:"sizes_mm"`
	Shift  shim.Length   `json:"shift_mm"`
	// AtLeast reports whether shift_mm and sizes_mm are the least that a reading
	// without a number allows.
	AtLeast bool   `json:"at_least,omitempty"`
	Look    string `json:"look"`
	// Marks are those of sizes_mm, where shims do not bear their size.
	Marks []string `json:"marks,omitempty"`
}

type suspectJSON struct {
	Valve  shim.Valve     `json:"valve"`
	Reason recheck.Reason `json:"reason"`
	Value  shim.Length    `json:"value_mm"`
	Look   string         `json:"look"`
}

// RecheckJSON writes the comparison as one JSON object, indented.
func RecheckJSON(w io.Writer, c *recheck.Comparison) error {
	full, _ := shim.CautionsFor(c.Engines()...)
	out := comparisonJSON{Well: c.Well(), Jobs: make([]comparedJobJSON, len(c.Jobs)), Cautions: full}
	for i := range c.Jobs {
		out.Jobs[i] = comparedJob(&c.Jobs[i])
	}
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(out)
}

func comparedJob(j *recheck.ComparedJob) comparedJobJSON {
	out := comparedJobJSON{
		Job: j.Job, Engine: j.Engine.Name, Well: j.Well(),
		Valves: make([]comparedValveJSON, len(j.Valves)), Explanations: make([]explanationJSON, len(j.Report.Explanations)),
		Suspects: make([]suspectJSON, len(j.Suspects)),
	}
	for i := range j.Valves {
		out.Valves[i] = comparedValve(j, &j.Valves[i])
	}
	for i, e := range j.Report.Explanations {
		faults := make([]faultJSON, len(e.Faults))
		for k, f := range e.Faults {
			faults[k] = faultJSON{
				Kind: f.Kind, Valves: append([]shim.Valve{}, f.Valves...), Sizes: append([]shim.Length{}, f.Sizes...),
				Shift: rounded(f.Shift), Look: f.Look(), AtLeast: f.AtLeast, Marks: marksOf(j.Engine, f),
			}
		}
		out.Explanations[i] = explanationJSON{Probability: doubt.Rounded(e.Probability), Sure: j.Sureness(e.Probability), Faults: faults}
	}
	for i, s := range j.Suspects {
		out.Suspects[i] = suspectJSON{Valve: s.Valve, Reason: s.Reason, Value: s.Value, Look: s.Hint()}
	}
	return out
}

// marksOf are the marks of a fault's sizes, nil where the valves' shims have none.
func marksOf(e *shim.Engine, f recheck.Fault) []string {
	var marks []string
	for i, size := range f.Sizes {
		if list := e.MarksOf(f.Valves[min(i, len(f.Valves)-1)]); len(list) > 0 {
			marks = append(marks, list.Of(size))
		}
	}
	return marks
}

func comparedValve(j *recheck.ComparedJob, v *recheck.ComparedValve) comparedValveJSON {
	out := comparedValveJSON{
		Valve: v.Valve, Tight: v.Tight + v.Allowance, Loose: v.Loose + v.Allowance, Shim: v.Size,
		Reading: v.Reading.Format(shim.MM), Off: v.Off, Beyond: v.Beyond, Verdict: v.Verdict, Undecided: v.Undecided(), SetUp: v.SetUp, Provisional: v.CloserFirst, Earlier: v.Earlier, Mark: j.Engine.MarksOf(v.Valve).Of(v.Size),
		Temperature: v.Temperature, Converted: v.Reading.Shifted, ConvertedOpen: v.Reading.Open, OutsideWindow: v.Warmth == shim.NotConverted,
	}
	if v.Allowance != 0 {
		out.Allowance = &v.Allowance
	}
	if v.Planned {
		out.Expected = &v.Expected
	}
	measured, numbered := v.Reading.Estimate()
	if numbered {
		out.Measured = &measured
	}
	if v.Compared {
		out.Bound = &v.Bound
		if numbered {
			out.Difference = &v.Difference
		}
	}
	return out
}

// withMarked adds the mark to a row where some shims have one.
func withMarked(cells []string, marked bool, mark string) []string {
	if marked {
		return append(cells, mark)
	}
	return cells
}

// RecheckCSV writes one row a valve, lengths in mm, under the names of
// [RecheckJSON].
func RecheckCSV(w io.Writer, c *recheck.Comparison) error {
	out := csv.NewWriter(w)
	marked := slices.ContainsFunc(c.Engines(), (*shim.Engine).Marked)
	err := out.Write(withMarked([]string{"job", "engine", "valve", "tight_mm", "loose_mm", "shim_mm", "expected_mm", "measured_mm", "reading", "difference_mm", "bound_mm", "off", "verdict", "undecided", "beyond"}, marked, "mark"))
	optional := func(l *shim.Length) string {
		if l == nil {
			return ""
		}
		return l.String()
	}
	for i := range c.Jobs {
		j := &c.Jobs[i]
		for k := range j.Valves {
			if err != nil {
				return err
			}
			v := comparedValve(j, &j.Valves[k])
			err = out.Write(withMarked([]string{
				shim.SheetText(j.Job), shim.SheetText(j.Engine.Name), v.Valve.String(), v.Tight.String(), v.Loose.String(), v.Shim.String(),
				optional(v.Expected), optional(v.Measured), v.Reading, optional(v.Difference), optional(v.Bound), strconv.FormatBool(v.Off), v.Verdict.String(), strconv.FormatBool(v.Undecided), strconv.FormatBool(v.Beyond),
			}, marked, shim.SheetText(v.Mark)))
		}
	}
	out.Flush()
	if err != nil {
		return err
	}
	return out.Error()
}
