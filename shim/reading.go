package shim

import (
	"fmt"
	"strings"
)

// A ReadingKind says what a feeler gauge told about one clearance.
type ReadingKind uint8

// The kinds of reading.
const (
	// Unread is a valve that nobody has measured.
	Unread ReadingKind = iota
	// Single is one figure: the leaf that drags.
	Single
	// Bracket is two leaves: the first goes, the second does not.
	Bracket
	// Below is a clearance smaller than the thinnest leaf: that leaf does not go.
	Below
	// Above is a clearance larger than the thickest leaf: that leaf falls through.
	Above
)

// A Reading is a measured clearance. Low is the leaf that goes, High the one
// that does not; a single figure has both equal, Below has only High, Above
// only Low. A valve that was read twice has its other reading in Second.
//
// A closer's clearance may be told by two gaps that are measured at the opener:
// Low and High are then those of the loaded gap, with the valve pressed down onto its closer, and
// Unloaded is the opener's own gap to take off (the unloaded gap is the opener's
// clearance, loaded minus unloaded the closer's); Second is then another reading of
// the loaded gap.
type Reading struct {
	Kind      ReadingKind
	Low, High Length
	Second    Second
	Unloaded  Unloaded `json:",omitzero"`
	// Shifted is by how much the maker's table moved the reading from the
	// temperature that it was taken at, and Open how far that leaves it open to
	// either side; see [Engine.AtLimits].
	Shifted, Open Length
	// Unconverted tells that the reading was taken outside the temperatures that its
	// limits are for, and that no table reaches there: Open is then a guess at what
	// that may be worth.
	Unconverted bool `json:",omitempty"`
}

// Converted reports whether the reading was moved by the maker's table.
func (r Reading) Converted() bool { return !r.Unconverted && (r.Shifted != 0 || r.Open != 0) }

// AsRead is the reading as it was taken, before the maker's table moved it.
func (r Reading) AsRead() Reading {
	if !r.Converted() {
		return r
	}
	by := r.Shifted
	r.Shifted, r.Open = 0, 0
	return r.Shift(-by)
}

// AsCounted is the reading by itself as the maker's table moved it.
func (r Reading) AsCounted() Reading {
	r.Shifted, r.Open = 0, 0
	return r
}

// Shift is the reading with a clearance that is larger by so much. What would
// fall below zero becomes a single figure.
func (r Reading) Shift(by Length) Reading {
	estimate, number := r.Estimate()
	least := r.Low - r.Unloaded.High
	if r.Second.Taken {
		least = min(least, r.Second.Low-r.Unloaded.High)
	}
	if number && least+by < 0 {
		r = Reading{Kind: Single, Low: estimate, High: estimate, Shifted: r.Shifted, Open: r.Open, Unconverted: r.Unconverted}
	}
	if r.Second.Taken {
		r.Second.Low += by
		r.Second.High += by
	}
	if r.Unloaded.Most > 0 {
		r.Unloaded.Most = max(Nanometre, r.Unloaded.Most+by)
	}
	if r.Kind != Unread && (r.Kind != Below || r.Unloaded.Most > 0) {
		r.Low += by
	}
	if r.Kind != Above && r.Kind != Unread {
		r.High += by
	}
	return r
}

// A Span is a gap between two leaves, or one figure where both are equal.
type Span struct{ Low, High Length }

// ReadingOf is the reading of a single figure.
func ReadingOf(clearance Length) Reading {
	return Reading{Kind: Single, Low: clearance, High: clearance}
}

// Estimate is the clearance to calculate with: the figure, the middle of a
// bracket, or what two readings come to (see [Reading.Joined]), rounded half to
// even to the nanometre. It is false where the reading has no number.
func (r Reading) Estimate() (Length, bool) {
	switch r = r.Joined(); {
	case r.Second.Taken && r.Kind == Single:
		return Length(divHalfEven(int64(r.Low+r.Second.Low-r.Unloaded.Low-r.Unloaded.High), 2)), true
	case r.Kind == Single || r.Kind == Bracket:
		return Length(divHalfEven(int64(r.Low+r.High-r.Unloaded.Low-r.Unloaded.High), 2)), true
	}
	return 0, false
}

// Bound is [Reading.Estimate], or of a reading without a number the leaf that bounds it:
// the clearance is smaller than that, or larger. It is false for a valve that is unread.
func (r Reading) Bound() (Length, bool) {
	switch r.Kind {
	case Below:
		return r.Gap().High, true
	case Above:
		return r.Low, true
	}
	return r.Estimate()
}

// Span is how far the leaves alone leave the clearance open. It is meant for a
// reading with a number.
func (r Reading) Span() Span {
	return Span{Low: r.Low - r.Unloaded.High, High: r.High - r.Unloaded.Low}
}

// Format writes the reading in the unit as check files write it: "0.15",
// "0.15-0.18", "<0.05", ">0.6", "0.15/0.16" where the valve was read twice, or
// nothing where it is unread. A loaded gap stands before the unloaded one: "0.16
// less 0.1". One that the maker's table moved is written as it was read.
func (r Reading) Format(u Figures) string {
	r = r.AsRead()
	if r.Unloaded != (Unloaded{}) {
		return r.formatLoaded(u)
	}
	if first, second, twice := r.Twice(); twice {
		return first.Format(u) + "/" + second.Format(u)
	}
	switch r.Kind {
	case Single:
		return u.FormatAtLeast(r.Low, u.Places()-1)
	case Bracket:
		return u.FormatAtLeast(r.Low, u.Places()-1) + "-" + u.FormatAtLeast(r.High, u.Places()-1)
	case Below:
		return "<" + u.FormatAtLeast(r.High, u.Places()-1)
	case Above:
		return ">" + u.FormatAtLeast(r.Low, u.Places()-1)
	}
	return ""
}

// ParseReading reads what Format writes.
func ParseReading(text string, u Unit) (r Reading, err error) {
	if r, like, err := parseLoaded(text, u); like {
		return r, err
	}
	if one, other, twice := strings.Cut(text, "/"); twice {
		r, err := ParseReading(one, u)
		if err != nil {
			return r, err
		}
		again, err := ParseReading(other, u)
		if err != nil {
			return r, err
		}
		return r.And(again)
	}
	low, high, two := strings.Cut(text, "-")
	switch {
	case text == "":
	case text[0] == '<':
		r.Kind = Below
		r.High, err = u.Parse(text[1:])
	case text[0] == '>':
		r.Kind = Above
		r.Low, err = u.Parse(text[1:])
	case two:
		r.Kind = Bracket
		if r.Low, err = u.Parse(low); err == nil {
			r.High, err = u.Parse(high)
		}
	default:
		r.Low, err = u.Parse(text)
		r = ReadingOf(r.Low)
	}
	if err == nil && r.Kind == Bracket && r.Low > r.High {
		err = fmt.Errorf("%q is the wrong way round", text)
	}
	return r, err
}

// A Verdict is what a reading says of a valve.
type Verdict uint8

// The verdicts. Unmeasured stands for a reading without a number.
const (
	OK Verdict = iota
	Tight
	Loose
	Unmeasured
)

// String is "ok", "tight", "loose" or "unmeasured".
func (v Verdict) String() string {
	return [...]string{"ok", "tight", "loose", "unmeasured"}[v]
}

// MarshalText is the verdict's word.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// UnmarshalText reads the verdict's word.
func (v *Verdict) UnmarshalText(text []byte) error {
	for w := OK; w <= Unmeasured; w++ {
		if w.String() == string(text) {
			*v = w
			return nil
		}
	}
	return fmt.Errorf("unknown verdict %q", text)
}

// Judge compares the reading's estimate with the limits.
func (l Limits) Judge(r Reading) Verdict {
	clearance, measured := r.Estimate()
	switch {
	case !measured:
		return Unmeasured
	case clearance < l.Tight:
		return Tight
	case clearance > l.Loose:
		return Loose
	}
	return OK
}

// Undecided reports whether the reading leaves open on which side of a limit the
// clearance lies: a bracket whose middle lies inside and an end outside, or two
// figures that come to a clearance inside and of which one lies outside, or any
// reading whose clearance inside the temperature window may lie outside.
func (l Limits) Undecided(r Reading) bool {
	if l.hotOrCold(r) {
		return true
	}
	if _, second, twice := r.Twice(); twice && r.Second.Tighter && l.Judge(r) == OK {
		first := r
		first.Second = Second{}
		if l.Judge(first) != OK || l.Judge(second) != OK {
			return true // the tighter judges, and the other contradicts it
		}
	}
	r = r.Joined()
	switch {
	case l.Judge(r) != OK:
		return false
	case r.Second.Taken: // two figures of one gap
		r.Low, r.High = min(r.Low, r.Second.Low), max(r.Low, r.Second.Low)
	}
	s := r.Span()
	return s.Low < s.High && (s.Low < l.Tight || s.High > l.Loose)
}

// hotOrCold reports whether what the temperature leaves open is enough to put a
// clearance that was read inside the limits outside.
func (l Limits) hotOrCold(r Reading) bool {
	s := r.Span()
	return r.Unconverted && l.Judge(r) == OK && (s.Low-r.Open < l.Tight || s.High+r.Open > l.Loose)
}

// Deciding says what decides an undecided reading, in the unit: the leaf just at
// the limit, or a third reading. It is empty for any other reading. Where the
// maker's table moved the reading, the leaf is that for the engine as warm as it
// was.
func (l Limits) Deciding(r Reading, u Figures) string {
	switch {
	case !l.Undecided(r):
		return ""
	case l.hotOrCold(r):
		return "measure it again with the engine inside its temperature window"
	}
	by := r.Shifted
	l = Limits{Tight: l.Tight - r.Shifted, Loose: l.Loose - r.Shifted}
	r = r.AsRead()
	switch {
	case r.Unloaded != Unloaded{}:
		return "measure the closer directly, or both gaps with finer leaves"
	}
	if r.Second.Tighter && r.Kind == Single && r.Low != r.Second.Low {
		r.Second.Tighter = false // both are named
	}
	r = r.Joined()
	if first, second, twice := r.Twice(); twice {
		is := func(r Reading) string {
			text := r.Format(u)
			if by != 0 {
				text += " (counts as " + r.Shift(by).Format(u) + ")"
			}
			return text + " is " + map[Verdict]string{OK: "inside", Tight: "tight", Loose: "loose"}[l.Judge(r)]
		}
		return "a third reading decides: " + is(first) + ", " + is(second)
	}
	var leaves []string
	leaf := func(limit Length) string {
		text := "try the " + u.FormatAtLeast(limit, u.Places()-1) + " leaf"
		if by != 0 {
			text += " with the engine as warm as it was, or the " + u.FormatAtLeast(limit+by, u.Places()-1) + " leaf inside the window"
		}
		return text
	}
	if r.Low < l.Tight {
		leaves = append(leaves, leaf(l.Tight)+": inside if it goes, tight if not")
	}
	if r.High > l.Loose {
		leaves = append(leaves, leaf(l.Loose)+": loose if it goes with play, inside if not")
	}
	if len(leaves) == 0 { // two brackets of which the wider one does not count
		return "a third reading decides"
	}
	return strings.Join(leaves, "; ")
}

// Outside reports whether the reading proves the clearance to be outside the
// limits. A reading without a number does so where its leaf alone is enough:
// a leaf no thicker than the tight limit that does not go, or one no thinner
// than the loose limit that falls through.
func (l Limits) Outside(r Reading) bool {
	switch r.Kind {
	case Below:
		return r.Gap().High <= l.Tight
	case Above:
		return r.Low >= l.Loose
	}
	verdict := l.Judge(r)
	return verdict == Tight || verdict == Loose
}

// NoPlay reports whether a closer's reading shows no play, by the closer's limits: the
// clearance is none, or below limits that allow none; or the gauge does not tell its
// loaded gap from the opener's.
//
// The opener's own reading is provisional then. Inferred from the geometry, no source:
// the closing follower presses the valve against its seat and strains what lies between,
// or the valve was not on its seat when the opener was measured, and of the two
// gaps only the sum is right.
func (l Limits) NoPlay(r Reading) bool {
	clearance, number := r.Estimate()
	allowed := l.Tight <= 0
	switch {
	case number:
		return clearance <= 0 && !allowed
	case r.Kind != Below:
		return false
	case r.Unloaded.Most > 0:
		return !allowed || r.Unloaded.Most > l.Loose
	}
	return r.High <= l.Tight
}

// A Measurement is one valve's row of a check: its clearance and the shim that
// is installed in it, by stamp and by micrometer. A size of 0 is not known.
type Measurement struct {
	Valve       Valve
	Reading     Reading
	Marks       // of the shim in place
	Note        string
	Temperature Temperature // of the engine; 0 is not known
	With        Gauge       `json:",omitzero"` // what it was read with; the zero gauge is what the engine file says
}
