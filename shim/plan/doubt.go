package plan

import (
	"shimwright/shim"
	"shimwright/shim/doubt"
)

// A clearing knows which expected clearances are near a limit: those closer to
// it than the margin or, where a confidence is asked for, those less sure.
type clearing struct {
	margin     shim.Length
	confidence float64
	guards     map[guarded]shim.Limits
}

// guarded is what a guard band depends on.
type guarded struct {
	gauge  shim.Gauge
	limits shim.Limits
	parts  doubt.Parts
}

// never are limits that hold no clearance.
var never = shim.Limits{Tight: 1, Loose: 0}

// of gives the expected clearances that are not near a limit: the limits drawn
// in by the margin, or by the guard band for what the clearance is worked out
// from.
func (c *clearing) of(gauge shim.Gauge, l shim.Limits, parts doubt.Parts) shim.Limits {
	if c.confidence == 0 {
		return shim.Limits{Tight: l.Tight + c.margin, Loose: l.Loose - c.margin}
	}
	key := guarded{gauge, l, parts}
	guard, known := c.guards[key]
	if !known {
		var any bool
		if guard, any = (doubt.Model{Gauge: gauge, Confidence: c.confidence}).Guard(l, parts); !any {
			guard = never
		}
		if c.guards == nil {
			c.guards = map[guarded]shim.Limits{}
		}
		c.guards[key] = guard
	}
	return guard
}

// Fitted tells how the size of the planned shim is known.
func (v *ValvePlan) Fitted() doubt.Source {
	if !v.Changed() {
		return doubt.SourceOf(v.InstalledMiked, true)
	}
	return doubt.SourceOf(v.Miked, v.Used)
}

// installed tells how the size of the shim in place is known.
func (v *ValvePlan) installed() doubt.Source {
	if v.SetUp && v.Installed == 0 {
		return doubt.None
	}
	return doubt.SourceOf(v.InstalledMiked, true)
}

// over tells how the size of the shim that the reading was made over is known.
func (v *ValvePlan) over() doubt.Source {
	if v.Over.Size() == 0 {
		return doubt.None
	}
	return doubt.InPlace(v.Over.Mic)
}

// parts is what the valve's expected clearance is worked out from.
func (v *ValvePlan) parts(e *shim.Engine) doubt.Parts {
	return v.partsWith(e, !v.Changed(), v.Fitted())
}

// partsWith is parts where the valve keeps its shim or gets another one. A
// reading that was made over an earlier shim has that one's doubt and the new
// one's, even where the shim in place stays: the size in between cancels.
func (v *ValvePlan) partsWith(e *shim.Engine, kept bool, fitted doubt.Source) doubt.Parts {
	p := doubt.Parts{Reading: v.Reading, With: v.With, Ratio: e.TrainOf(v.Valve).Ratio, Kept: kept, Installed: v.installed(), Fitted: fitted, Allowance: v.Allowance.Doubt}
	if v.Over != nil {
		p.Kept, p.Installed = false, v.over()
		if kept {
			p.Fitted = doubt.SourceOf(v.InstalledMiked, true)
		}
	}
	return p
}

// mayBind reports whether a closer may end without clearance. Its follower then
// presses the valve against the seat and jams, cold already: it is never planned
// without a word.
func (j *JobPlan) mayBind(v *ValvePlan) bool {
	f, known := j.Forecast(v)
	return v.Valve.Closer && known && v.Expected < f.Expanded
}

// Forecast says how sure the valve's expected clearance is, by the job's gauge.
// It is false where the reading has no number.
func (j *JobPlan) Forecast(v *ValvePlan) (doubt.Forecast, bool) {
	if !v.Measured {
		return doubt.Forecast{}, false
	}
	return doubt.Model{Gauge: j.Gauge}.Forecast(v.Limits, v.Expected, v.parts(j.Engine))
}
