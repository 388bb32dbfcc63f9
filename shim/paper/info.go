package paper

import (
	"slices"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/report"
)

// An Info is what a form says of the job beyond the engine. What is empty
// becomes a line to fill in.
type Info struct {
	Job         string
	Customer    string
	Machine     string // plate, frame or engine number
	Date        string
	Name        string // who does the work
	Temperature string // of the engine
	Odometer    string // or hours
	Notes       string
	Intake      *shim.Placing // where to draw the intake side; nil is as the engine says
	Units       shim.Showing  // of a sheet; what is nil is the engine's own
	// After is what was measured after the fit, for a card's recheck column.
	After map[shim.Valve]shim.Reading
	// Found is what was measured before anything was fitted, each with the shim
	// that sat in the valve then, for a plan that was made on later readings.
	Found []shim.Measurement
	// Fetch are the pieces of the box that a card's plan was promised, each in a
	// line with where it lies.
	Fetch []string
	// Charts are those of the machine's wear, for a card.
	Charts []report.Chart
	// Empty are valves that have no shim.
	Empty []shim.Valve
}

// A field is a label and what stands on its line.
type field struct {
	Label, Value string
	Wide         bool
}

func (i Info) fields() []field {
	return []field{
		{"Customer", i.Customer, false},
		{"Machine, number", i.Machine, false},
		{"Odometer or hours", i.Odometer, false},
		{"Engine temperature", i.Temperature, false},
		{"Name", i.Name, false},
		{"Date", i.Date, false},
		{"Notes", i.Notes, true},
	}
}

// intake is where the intake side is drawn.
func (i Info) intake(e *shim.Engine) shim.Placing {
	if i.Intake != nil {
		return *i.Intake
	}
	return e.IntakeSide
}

// units are those to write in.
func (i Info) units(e *shim.Engine) shim.UnitPair { return e.Units.Shown(i.Units) }

// temperature is what the job's engine had as it was measured, from the coolest to the
// warmest that is known.
func temperature(j *plan.JobPlan) string {
	var known []shim.Temperature
	for _, v := range j.Valves {
		if v.Temperature != 0 {
			known = append(known, v.Temperature)
		}
	}
	if len(known) == 0 {
		return ""
	}
	if w := (shim.Window{From: slices.Min(known), To: slices.Max(known)}); w.From != w.To {
		return w.String()
	}
	return known[0].String()
}
