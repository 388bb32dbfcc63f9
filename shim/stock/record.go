package stock

import "shimwright/shim"

// JobOf is what a recorded check asks of the box: the valves that the lift opens,
// as package plan has it, whose clearance and shim are known. The check holds one
// measurement of each of the engine's valves, in the engine's order. In a fresh
// build all valves are open, and what is in them is none to use. The error is that
// of [shim.Engine.Open].
func JobOf(e *shim.Engine, check []shim.Measurement, lift shim.Lift, build bool) (Job, error) {
	if build {
		lift = shim.LiftAll
	}
	open, _, err := e.Open(lift, check)
	if err != nil {
		return nil, err
	}
	var job Job
	for i, m := range check {
		s, known := e.Setting(m)
		if build {
			s, known = e.SettingOf(m)
		}
		if !open[i] || !known {
			continue
		}
		n := Need{Family: e.FamilyOf(m.Valve), Ideal: s.Ideal()}
		if n.Thin, n.Thick = s.Accepts(); !build {
			n.Pulled = m.Size()
		}
		job = append(job, n)
	}
	return job, nil
}
