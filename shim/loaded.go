package shim

import (
	"fmt"
	"strings"
)

// Unloaded is the opener's gap that is taken off a closer's loaded gap, the valve
// pressed down onto its closer: what is left is the closer's clearance (common practice
// for positively closed valves; worked example at ducatitech.com, 2v maintenance).
type Unloaded struct {
	// Low and High are the leaves of the opener's reading, equal for a figure;
	// where Twice they are two figures, of which the mean counts.
	Low, High Length
	Twice     bool
	// Most is set where the gauge does not tell the loaded gap from this one. The
	// closer then shows no play: it may pull its valve against the seat by any amount,
	// so the reading has no number, and says only that the clearance is below Most.
	Most Length
}

// LoadedLess is the closer's clearance by a loaded gap and the opener's reading.
// It is false where one of the two has no number. A loaded gap that is smaller
// than the opener's by more than the gauge explains leaves a clearance below 0.
//
// The loaded gap may be read twice, like any other. Of an opener that was read
// twice the larger reading is taken off where the tighter of two clearances
// counts, since that is the tighter for the closer.
func LoadedLess(loaded, opener Reading, g Gauge) (Reading, bool) {
	r, known := loaded.less(opener)
	if !known {
		return r, false
	}
	from, to := loaded.Against(g).ends(g)
	least, most := r.Opener().Against(g).ends(g)
	// The loaded gap is never the smaller one. Where it was read as smaller, by what the
	// leaves' errors explain, there is no play to speak of: less than half a step.
	estimate, _ := r.Estimate()
	if estimate == 0 || estimate > 0 && from < most || estimate < 0 && least <= to+2*g.Leaf {
		r.Kind, r.Unloaded.Most = Below, max(Nanometre, to-least)
		if estimate < 0 {
			r.Unloaded.Most = max(r.Unloaded.Most, 2*g.Leaf, g.Step/2)
		}
	}
	return r, true
}

// less takes the opener's gap off, whatever the gauge can tell.
func (r Reading) less(opener Reading) (Reading, bool) {
	_, some := r.Estimate()
	_, both := opener.Estimate()
	if !some || !both || r.Unloaded != (Unloaded{}) || opener.Unloaded != (Unloaded{}) {
		return r, false
	}
	if first, second, twice := opener.Twice(); twice && opener.Second.Tighter {
		if opener = first; second.Low+second.High > first.Low+first.High {
			opener = second
		}
	}
	opener = opener.Joined()
	r.Unloaded = Unloaded{Low: opener.Low, High: opener.High}
	if opener.Second.Taken {
		r.Unloaded = Unloaded{Low: min(opener.Low, opener.Second.Low), High: max(opener.Low, opener.Second.Low), Twice: true}
	}
	return r, true
}

// ends are the least and the most that a reading with a number leaves open: a
// figure is rounded to the nearest leaf.
func (r Reading) ends(g Gauge) (least, most Length) {
	switch r = r.Joined(); {
	case r.Second.Taken:
		return min(r.Low, r.Second.Low) - g.Step/2, max(r.Low, r.Second.Low) + g.Step/2
	case r.Low == r.High:
		return r.Low - g.Step/2, r.High + g.Step/2
	}
	return r.Low, r.High
}

// Loaded is the loaded gap by itself, of a reading that has one.
func (r Reading) Loaded() Reading {
	if r.Unloaded.Most > 0 {
		if r.Kind = Bracket; r.Low == r.High {
			r.Kind = Single
		}
	}
	r.Unloaded = Unloaded{}
	return r
}

// Opener is the unloaded gap by itself: the opener's reading as it counts for the
// closer.
func (r Reading) Opener() Reading {
	u := r.Unloaded
	switch {
	case u.Twice:
		opener := ReadingOf(u.Low)
		opener.Second = Second{Low: u.High, High: u.High, Taken: true}
		return opener
	case u.Low == u.High:
		return ReadingOf(u.Low)
	}
	return Reading{Kind: Bracket, Low: u.Low, High: u.High}
}

// TakenOff reports whether the opener's reading is the one that was taken off, so
// that both clearances have its error.
func (r Reading) TakenOff(opener Reading) bool {
	if r.Unloaded == (Unloaded{}) || opener.Unloaded != (Unloaded{}) {
		return false
	}
	if opener.Converted() {
		opener.Low, opener.High = opener.Low-opener.Shifted, opener.High-opener.Shifted
		opener.Second.Low, opener.Second.High = opener.Second.Low-opener.Shifted, opener.Second.High-opener.Shifted
	}
	again, known := r.Loaded().less(opener)
	again.Unloaded.Most = r.Unloaded.Most
	return known && again.Unloaded == r.Unloaded
}

// Gap is the reading as if the gap had been measured directly: of a loaded gap
// less an unloaded one what the leaves leave open.
func (r Reading) Gap() Reading {
	switch {
	case r.Unloaded == (Unloaded{}):
		return r
	case r.Unloaded.Most > 0:
		return Reading{Kind: Below, High: r.Unloaded.Most}
	}
	r = r.Joined()
	if s := r.Span(); s.Low < s.High && !r.Unloaded.Twice && !r.Second.Taken {
		return Reading{Kind: Bracket, Low: s.Low, High: s.High}
	}
	estimate, _ := r.Estimate()
	return ReadingOf(estimate)
}

// less joins a loaded gap and the unloaded one in text.
const less = " less "

// formatLoaded is [Reading.Format] of a loaded gap: "0.16 less 0.1", or "<0.03
// (0.12 less 0.12)" where the gauge does not tell the one from the other.
func (r Reading) formatLoaded(u Figures) string {
	text := r.Loaded().Format(u) + less + r.Opener().Format(u)
	if r.Unloaded.Most > 0 {
		return r.Gap().Format(u) + " (" + text + ")"
	}
	return text
}

// parseLoaded reads what formatLoaded writes, false where the text is nothing
// like it.
func parseLoaded(text string, u Unit) (r Reading, like bool, err error) {
	most, gaps, untold := strings.Cut(strings.TrimSuffix(text, ")"), " (")
	if !untold {
		gaps = text
	}
	loaded, unloaded, like := strings.Cut(gaps, less)
	if !like {
		return r, false, nil
	}
	first, err := ParseReading(loaded, u)
	if err != nil {
		return r, true, err
	}
	opener, err := ParseReading(unloaded, u)
	if err != nil {
		return r, true, err
	}
	r, known := first.less(opener)
	if !known {
		return r, true, fmt.Errorf("%q has no number", text)
	}
	if untold {
		below, err := ParseReading(most, u)
		if err != nil || below.Kind != Below || below.High <= 0 {
			return r, true, fmt.Errorf("%q is no reading", text)
		}
		r.Kind, r.Unloaded.Most = Below, below.High
	}
	return r, true, nil
}
