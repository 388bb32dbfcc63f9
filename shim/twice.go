package shim

// A Second is another reading of the same valve: with the bucket turned, or by
// another hand. It is of the same kind as the first, a figure or two leaves.
type Second struct {
	Low, High Length
	Taken     bool // false where the valve was read once
	Tighter   bool // whether the tighter of the two counts instead of both
}

// Combining says what two readings of one valve come to.
type Combining uint8

// The ways of combining two readings.
const (
	Mean    Combining = iota // both count alike
	Tighter                  // the smaller clearance counts alone
)

// String is "mean" or "tighter".
func (c Combining) String() string {
	if c == Tighter {
		return "tighter"
	}
	return "mean"
}

// Combinings are the words for a [Combining], as engine files have them.
var Combinings = []string{Mean.String(), Tighter.String()}

// And is the reading with another one of the same valve. Both have to be figures,
// or both two leaves.
func (r Reading) And(other Reading) (Reading, error) {
	if r.Second.Taken || other.Second.Taken {
		return r, Fail(nil, "give the two that you trust", "a valve takes two readings, not more")
	}
	if r.Kind != other.Kind || r.Kind != Single && r.Kind != Bracket {
		return r, Fail(nil, "write two figures like 0.15/0.16, or two leaves twice like 0.15-0.18/0.15-0.18", "the two readings of a valve are not of one kind")
	}
	r.Second = Second{Low: other.Low, High: other.High, Taken: true}
	return r, nil
}

// Twice parts a valve's two readings; it is false, and the first is the reading
// itself, where there is one.
func (r Reading) Twice() (first, second Reading, twice bool) {
	first = r
	first.Second = Second{}
	if !r.Second.Taken {
		return first, Reading{}, false
	}
	second = first
	second.Low, second.High = r.Second.Low, r.Second.High
	return first, second, true
}

// Joined is what two readings come to, as a single reading where one says it all:
//
//   - the tighter one, where the engine file has it so;
//   - of two equal ones the one: the gauge gives the same figure for the same gap,
//     so that repeating it tells nothing new (JCGM 100:2008, F.2.2.1);
//   - of two brackets what both allow, since both hold for the one gap; where they
//     have nothing in common all that either allows.
//
// Two different figures stay two, and count alike: their mean is the estimate
// (JCGM 100:2008, 4.2.1).
func (r Reading) Joined() Reading {
	first, second, twice := r.Twice()
	switch {
	case !twice:
		return r
	case first == second:
		return first
	case r.Second.Tighter:
		if second.Low+second.High < first.Low+first.High {
			return second
		}
		return first
	case r.Kind == Bracket:
		both := first
		both.Low, both.High = max(r.Low, r.Second.Low), min(r.High, r.Second.High)
		if both.Low >= both.High {
			both.Low, both.High = min(r.Low, r.Second.Low), max(r.High, r.Second.High)
		}
		return both
	}
	return r
}

// Against is [Reading.Joined] for a reading taken with the gauge: two figures
// farther apart than it explains become a bracket, from the least that the one
// allows to the most that the other does, since the gap may be anywhere between
// (JCGM 100:2008, 4.3.7).
func (r Reading) Against(g Gauge) Reading {
	r = r.Joined()
	if _, _, far := r.Apart(g); far && r.Second.Taken {
		return Reading{Kind: Bracket, Low: min(r.Low, r.Second.Low) - g.Step/2, High: max(r.Low, r.Second.Low) + g.Step/2, Unloaded: r.Unloaded, Shifted: r.Shifted, Open: r.Open, Unconverted: r.Unconverted}
	}
	return r
}

// Apart is how far a valve's two readings are apart, how far the gauge explains,
// and whether that is less. Two figures may be half a step off to either side
// and their leaves by their error limits; two brackets only their leaves, where
// they have no gap in common.
func (r Reading) Apart(g Gauge) (by, explained Length, far bool) {
	switch {
	case !r.Second.Taken:
		return 0, 0, false
	case r.Kind == Bracket:
		by, explained = max(0, max(r.Low, r.Second.Low)-min(r.High, r.Second.High)), 2*g.Leaf
	default:
		by, explained = (r.Low - r.Second.Low).Abs(), g.Step+2*g.Leaf
	}
	return by, explained, by > explained
}
