package recheck

import (
	"shimwright/shim"
	"shimwright/shim/doubt"
)

// A Refit is one valve of a job after fitting: what the plan expected and what
// was measured.
type Refit struct {
	Valve    shim.Valve
	Expected shim.Length  // clearance that the plan expects
	Reading  shim.Reading // measured after fitting; a valve without one is left out
	// Error is the distribution of measured minus expected where nothing went
	// wrong: [doubt.Model.Difference], or [doubt.Gaussian] of a standard
	// uncertainty.
	Error doubt.Spread
	// Other is the same where a shim lies in the valve that is not its own: it
	// differs where the valve keeps its shim, whose size cancels. The zero Spread
	// stands for Error.
	Other doubt.Spread
	// Own is the same where the valve's own old shim lies in it again, whose size
	// cancels. The zero Spread stands for Error.
	Own doubt.Spread
	// With and FirstWith are what Reading and First were read with where that is not
	// the gauge of the assumptions; else zero.
	With, FirstWith shim.Gauge
	First           shim.Reading // that the plan was made on; unread where nobody knows
	Ratio           shim.Ratio   // see [shim.Setting]
	Before          shim.Length  // size of the shim that was installed before
	Size            shim.Length  // size of the shim that the plan fits
	// From is the valve that the fitted shim was pulled from, the valve itself
	// where it keeps its own; zero where it came from the box or was bought.
	From shim.Valve
	// Bought reports whether the fitted shim was bought for the job, and so is flat.
	Bought bool
	// Miked reports whether a micrometer measured the fitted shim, and WasMiked
	// whether it did so with the one installed before.
	Miked, WasMiked bool
	// Used reports whether the fitted shim had been in an engine.
	Used bool
	// Out reports whether the shim was out of the engine in this job: only such
	// shims can have been exchanged.
	Out bool
	// Position numbers the crank position at which the valve was measured after
	// fitting, from 1; 0 where it is not known.
	Position int
}

// kept reports whether the valve's own shim went back into it.
func (r *Refit) kept() bool { return !r.Out || r.From == r.Valve }

// Assumptions are what is taken for granted before the readings are looked at.
// Probabilities are from above 0 to below 1.
type Assumptions struct {
	Exchange  float64 // of a job in which some two shims were exchanged
	Offset    float64 // of a job measured with a gauge that is off throughout
	Position  float64 // of a job with a crank position set wrong
	Hollow    float64 // of a job whose old shims are hollow
	WrongSize float64 // of a shim that is not the size it is marked with
	Unseated  float64 // of a valve, shim or reading that is wrong by itself
	// Sizes are the sizes that a wrongly marked shim may have in truth: the
	// catalogue's. Where there are none, multiples of Step from the marked size.
	Sizes []shim.Length
	Step  shim.Length
	// Gauge says how large the errors are that readings share: of leaves and of
	// shims. The zero gauge has none.
	Gauge shim.Gauge
}

// Usual are the assumptions of a shop that states none. No published figures were
// found; they are the project's own: of jobs of sixteen valves one in seven has
// shims exchanged, one in six a wrong size and one in six a valve that is
// wrong by itself. That is high for a careful shop, and so the safe side: a fault
// that is taken for rare stays unnamed. Clean jobs are accused in under one of a
// hundred all the same. Sizes 0.025 mm apart are common practice.
var Usual = Assumptions{
	Exchange:  0.15,
	Offset:    0.005,
	Position:  0.005,
	Hollow:    0.01,
	WrongSize: 0.012,
	Unseated:  0.012,
	Step:      25 * shim.Micrometre,
}

// miked is how much rarer a wrong size is once a micrometer has been used, and
// moved how much rarer it is of a shim that came out of this engine: its mark was
// read at the bench, and it cannot come out of a wrong bin.
const miked, moved = 0.1, 0.1

// piece is how much rarer another piece lies in the place of a shim of this engine than a
// shim from outside is a wrong size: part of those come from a wrong bin, and a piece from
// there lies on the bench beside the engine's own. The project's own figure.
const piece = 0.5

// A Kind is a kind of fault.
type Kind uint8

// The kinds of fault.
const (
	// Exchanged shims lie in each other's valves.
	Exchanged Kind = iota
	// WrongSize is a shim that is not the size it was taken for.
	WrongSize
	// Unseated is one valve that is wrong by itself. Too tight: its bucket or
	// shim not seated, or its cam off the base circle. Too loose: the valve held
	// off its seat. Either way: the leaf misread.
	Unseated
	// OffBase is several valves of one crank position too tight: their cams
	// stand off the base circle.
	OffBase
	// GaugeOffset is every reading off by the same amount.
	GaugeOffset
	// Hollow is valves with a shim from outside that are too tight by about the
	// same: the old shims are hollow. See [hollow].
	Hollow
)

// String is the kind in words.
func (k Kind) String() string {
	return [...]string{"exchanged", "wrong size", "unseated", "off base circle", "gauge offset", "hollow"}[k]
}

// MarshalText is the kind's words.
func (k Kind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// A Fault is one thing that may have gone wrong.
type Fault struct {
	Kind   Kind
	Valves []shim.Valve // concerned; none for a gauge offset
	// Sizes are the sizes that lie in the valves in truth: one a valve for
	// exchanged shims, the one that explains the reading for a wrong size.
	Sizes []shim.Length
	// Shift is what the fault adds to the clearance: of the first valve, on
	// average for several valves off the base circle or with hollow shims before,
	// of every one for a gauge.
	Shift shim.Length
	// AtLeast reports whether Shift, and the size that explains it, are the least
	// that a reading without a number allows: a leaf that does not go, or falls
	// through, says no more.
	AtLeast bool
}

// Look says what to look at first.
func (f Fault) Look() string {
	switch f.Kind {
	case Exchanged:
		return "take these shims out and measure each: they may lie in each other's valves"
	case WrongSize:
		if len(f.Valves) > 1 {
			return "measure this shim with a micrometer: it moved from one of these valves to the other, and its mark misleads at both"
		}
		return "read the mark of this shim and measure it with a micrometer, and the one that it replaced"
	case Unseated:
		switch closer := f.Valves[0].Closer; {
		case closer && f.Shift > 0:
			return "measure this closer again; if it stays loose, take its shim out, read its mark and measure it"
		case closer:
			return "turn the engine over by hand, set this closer on its base circle and measure it again; if it stays tight, take its shim out, read its mark and measure it; if its size is right, look at the half rings, and for dirt on the valve's seat"
		case f.Shift > 0:
			return "measure this valve again; if it stays loose and its shim was out, read its mark and measure it; if its size is right, something may hold the valve off its seat: turn the engine over by hand, look for dirt on the seat and test it for leaks"
		}
		return "turn the engine over by hand, set this valve on its base circle and measure it again; if it stays tight, take the shim out, read its mark and measure it; if its size is right, look under the shim and the bucket"
	case OffBase:
		return "set the crank to this position again and measure these valves again: a cam may stand off its base circle"
	case Hollow:
		return "measure the shims that came out of these valves in the middle, with a ball or a pointed anvil: worn hollow, they are thinner there than at the rim"
	}
	return "clean the leaves and check them with a micrometer"
}

// An Explanation is what may have happened: no fault at all, or one or more.
type Explanation struct {
	Faults []Fault // none where nothing went wrong
	// Probability is the posterior one, among all explanations considered.
	Probability float64
	// Gain is the natural logarithm of the likelihood ratio against no fault:
	// how much better this explains the readings, whatever the priors.
	Gain float64
}

// A Report is what a second measurement says of a job.
type Report struct {
	// Off lists the valves that are off by more than their uncertainty
	// explains, in the order given; none where nothing going wrong is the best
	// explanation all the same.
	Off []Deviation
	// Explanations are ranked, the most probable first: one, or several where
	// others are about as good. Those of one [Line] count and stand together. It
	// is empty where nothing was measured.
	Explanations []Explanation
}

// A Deviation is a valve that is off by more than its uncertainty explains.
type Deviation struct {
	Valve shim.Valve
	// Difference is measured minus expected; from the leaf that did not go, or
	// fell through, where the reading has no number.
	Difference shim.Length
	Bound      shim.Length // what the uncertainty explains
}
