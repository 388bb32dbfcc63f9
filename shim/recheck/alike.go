package recheck

import (
	"sync"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/plan"
)

// A Pair is two valves of a job whose new shims a recheck could not tell apart
// if they were exchanged.
type Pair struct {
	Valves [2]shim.Valve  `json:"valves"`
	Sizes  [2]shim.Length `json:"sizes_mm"`
}

// Alike lists the job's pairs of changed valves whose new shims differ by less
// than a recheck, read as the check was, could prove at either valve. Equal
// shims do no harm and are left out.
func Alike(j *plan.JobPlan) []Pair {
	var changed []*plan.ValvePlan
	measured := 0
	for k := range j.Valves {
		v := &j.Valves[k]
		if v.Measured {
			measured++
			if v.Changed() {
				changed = append(changed, v)
			}
		}
	}
	if len(changed) < 2 {
		return nil
	}
	bounds := make([]shim.Length, len(changed))
	for i, v := range changed {
		g := j.Gauge.Leaves(v.With) // as it will be read again
		after := shim.ReadingOf(v.Expected)
		if s := v.Reading.Against(g).Span(); s.Low < s.High {
			half := (s.High - s.Low) / 2
			after = shim.Reading{Kind: shim.Bracket, Low: v.Expected - half, High: v.Expected + half}
		}
		parts := doubt.Parts{Reading: v.Reading, Ratio: j.Engine.TrainOf(v.Valve).Ratio, Installed: doubt.SourceOf(v.InstalledMiked, true), Fitted: v.Fitted()}
		if v.Installed == 0 {
			parts.Installed = doubt.None // a fresh build, measured without a shim
		}
		bounds[i] = apart(doubt.Model{Gauge: g}.Difference(parts, after), measured)
	}
	var pairs []Pair
	for b, w := range changed {
		for a, v := range changed[:b] {
			off := v.Size - w.Size
			if off != 0 && j.Engine.TrainOf(v.Valve).Ratio.Of(off).Abs() <= bounds[a] && j.Engine.TrainOf(w.Valve).Ratio.Of(off).Abs() <= bounds[b] {
				pairs = append(pairs, Pair{[2]shim.Valve{v.Valve, w.Valve}, [2]shim.Length{v.Size, w.Size}})
			}
		}
	}
	return pairs
}

// apart is how far measured and expected may be apart by chance, for one of so
// many valves.
func apart(s doubt.Spread, valves int) shim.Length {
	type asked struct {
		doubt.Spread
		valves int
	}
	key := asked{s, valves}
	if known, ok := aparts.Load(key); ok { // plans ask for few, many times each
		return known.(shim.Length)
	}
	bound := s.Within(1 - alarm/float64(valves))
	aparts.Store(key, bound)
	return bound
}

var aparts sync.Map
