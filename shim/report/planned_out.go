package report

import "shimwright/shim"

// CameOut tells what came out of a valve of the engine in fact: the plan's
// reading was made over that shim.
func (p *Planned) CameOut(e *shim.Engine, valve shim.Valve, size shim.Length, miked bool) {
	for i := range p.Jobs {
		j := &p.Jobs[i]
		at, found := e.Find(valve)
		if j.Engine != e || !found {
			continue
		}
		v := &j.Valves[at]
		v.Installed, v.InstalledMiked, v.Changed = size, miked, v.Changed || size != v.Size
		v.Out = v.Out || v.Changed
		if s := v.setting(e); v.Measured {
			v.Predicted = s.Expect(v.Size)
		}
	}
}
