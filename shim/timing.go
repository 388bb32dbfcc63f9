package shim

import "fmt"

// Timing is one side's opening and closing. An intake valve opens before top
// and closes after bottom dead centre, an exhaust valve opens before bottom
// and closes after top. Degrees of the crank; a negative figure is on the
// other side of the dead centre.
type Timing struct {
	Opens, Closes float64
}

// Ramp is how many degrees of the crank a lobe is taken to need, before the
// opening and after the closing that a manual prints, to leave and to reach
// its base circle. Manuals print timing at some lift. Common practice; no
// published figure.
const Ramp = 15

// DefaultTiming is what is assumed of a side whose timing the engine does not
// give: intake 45 and 85 degrees, exhaust 85 and 45. It is the longest timing
// of common road engines, 30/70/70/30, with [Ramp] at each end: too long
// rather than too short, since a lobe thought too long costs at most a valve
// at some position, one thought too short a wrong clearance.
func DefaultTiming(s Side) Timing {
	if s == Exhaust {
		return Timing{Opens: 70 + Ramp, Closes: 30 + Ramp}
	}
	return Timing{Opens: 30 + Ramp, Closes: 70 + Ramp}
}

// Timing is the side's timing, and whether the engine gives it.
func (e *Engine) Timing(s Side) (t Timing, given bool) {
	if given := e.Train(s).Timing; given != nil {
		return *given, true
	}
	return DefaultTiming(s), false
}

// A Stretch is a part of a cylinder's cycle: degrees of the crank from its
// firing TDC, after it above 0 and before it below. It is empty where From is
// not below To.
type Stretch struct{ From, To float64 }

// BaseCircle is where the side's valves stand on the base circle of their cams,
// both ends left out: from closing to the next opening, the firing TDC between.
func (e *Engine) BaseCircle(s Side) Stretch {
	t, _ := e.Timing(s)
	if s == Exhaust {
		return Stretch{-360 + t.Closes, 180 - t.Opens}
	}
	return Stretch{-180 + t.Closes, 360 - t.Opens}
}

// Pressing is the part of [Engine.BaseCircle] in which a valve of the side may
// be pressed down to change its shim. The depress offset keeps the piston at
// least that far from every dead centre at the top, on the side of the firing
// one that the maker names: the further the crank is from it, the lower the
// piston, all the way to the bottom. The offset's own ends belong to it.
func (e *Engine) Pressing(s Side) Stretch {
	base := e.BaseCircle(s)
	switch off := e.DepressOffset; {
	case off > 0:
		return Stretch{max(base.From, off), min(base.To, 360-off)}
	case off < 0:
		return Stretch{max(base.From, -360-off), min(base.To, off)}
	}
	return base
}

// DepressTurn is the depress offset in words: "turned on 90°", "turned back 40°".
func (e *Engine) DepressTurn() string {
	if e.DepressOffset < 0 {
		return fmt.Sprintf("turned back %g°", -e.DepressOffset)
	}
	return fmt.Sprintf("turned on %g°", e.DepressOffset)
}
