package shim

import (
	"fmt"
	"strings"
	"unicode"
)

// What a clearance and a shim can be at all. Common practice: clearances run
// to about 0.6 mm on large air-cooled engines, shims and lash caps from about
// 1 to 10 mm. The bounds are wide; they are there to catch a slipped decimal
// point and the wrong unit.
const (
	MaxClearance = 1 * Millimetre
	// usualClearance is more than clearances are that are offered as meant.
	usualClearance = 600 * Micrometre

	MinSize     = 500 * Micrometre
	MaxSize     = 15 * Millimetre
	MinDiameter = 2 * Millimetre
	MaxDiameter = 60 * Millimetre
)

// ImplausibleClearance says what is wrong with a clearance and what may have
// been meant, nil where it can be.
func ImplausibleClearance(clearance Length, u Unit) error {
	switch {
	case clearance < 0:
		return Fail(nil, "where the thinnest leaf does not go, write it as <"+thinLeaf(u), "a clearance of %s %s is below zero", u.Format(clearance), u)
	case clearance > MaxClearance:
		hint := mostClearance(u)
		if asMM := clearance * 10 / 254; perhapsMM(clearance, u) {
			if tenth := clearance / 10; tenth <= MaxClearance {
				hint += "; " + u.Format(tenth) + "?"
			}
			hint += " or " + u.Format(clearance) + " mm is " + u.Show(asMM, 4, 4) + " in: millimetres in a file of inches?"
		} else if tenth := clearance / 10; tenth < usualClearance {
			hint += "; " + u.Format(tenth) + "?"
		} else if thou := clearance / 1000; u == IN && thou >= Inch/1000 && thou < usualClearance { // thousandths without their point
			hint += "; " + u.Format(thou) + "?"
		} else if u == IN {
			hint += "; millimetres in a file of inches?"
		} else if hundredth := clearance / 100; hundredth < usualClearance {
			hint += "; " + u.Format(hundredth) + "?"
		}
		return Fail(nil, hint, "%s %s is not a plausible clearance", u.Format(clearance), u)
	}
	return nil
}

// ImplausibleClearance is [ImplausibleClearance] of a valve with these limits: what
// has slipped by whole decimal places is what comes near them.
func (l Limits) ImplausibleClearance(clearance Length, u Unit) error {
	err := ImplausibleClearance(clearance, u)
	if err == nil || clearance < 0 || perhapsMM(clearance, u) {
		return err
	}
	for _, part := range []Length{10, 100, 1000} {
		if n := clearance / part; 2*n >= l.Tight && n <= 2*l.Loose {
			return Fail(nil, mostClearance(u)+"; "+u.Format(n)+"?", "%w", err)
		}
	}
	return err
}

// mostClearance says what a clearance is at most.
func mostClearance(u Unit) string {
	return "a clearance is at most " + u.ShowDown(MaxClearance, 0, 3) + " " + u.String()
}

// perhapsMM reports whether a figure of inches can be one of mm: 0.15 in is 3.81 mm,
// and 0.15 mm is 0.0059 in.
func perhapsMM(clearance Length, u Unit) bool {
	asMM := clearance * 10 / 254
	return u == IN && asMM >= 20*Micrometre && asMM <= MaxClearance
}

// thinLeaf is a thin leaf for examples.
func thinLeaf(u Unit) string {
	if u == IN {
		return "0.002"
	}
	return "0.05"
}

// ImplausibleReading says what is wrong with a clearance of a side with these
// limits that may be one by itself, and what may have been meant; nil where
// it can be. The gauge is what it was taken with.
func (l Limits) ImplausibleReading(r Reading, g Gauge, u Unit) error {
	if first, second, twice := r.Twice(); twice {
		if err := l.ImplausibleReading(first, g, u); err != nil {
			return err
		}
		return l.ImplausibleReading(second, g, u)
	}
	n, measured := r.Estimate()
	if !measured {
		return nil
	}
	if r.Low == 0 && !l.Contain(0) {
		return Fail(nil, "where the thinnest leaf does not go, write that leaf, like <"+thinLeaf(u), "a clearance of 0 is no measurement")
	}
	// Half a step is as fine as the gauge can tell.
	if u == MM && 2*n < g.Step && l.Inches(n) {
		return Fail(nil, fmt.Sprintf("%s in is %s mm; where the thinnest leaf does not go, write that leaf, like <%s", n, MM.Show(inMM(n), 2, 3), thinLeaf(u)),
			"a clearance of %s mm is finer than the gauge can tell: inches in a file of mm?", n)
	}
	return nil
}

// Doubtful says what makes limits that can be look like a typing mistake, and
// what may have been meant; nil for nothing.
func (l Limits) Doubtful(u Unit) *Hinted {
	hint := "look into the manual again"
	switch mm := (Limits{inMM(l.Tight), inMM(l.Loose)}); {
	case l.Loose < UsualGauge.Step:
		if u == MM && mm.Loose <= MaxClearance {
			hint = fmt.Sprintf("%s to %s in would be %s to %s mm", l.Tight, l.Loose, MM.Show(mm.Tight, 2, 3), MM.Show(mm.Loose, 2, 3))
		}
		return &Hinted{Message: fmt.Sprintf("%s to %s %s is finer than a feeler gauge can tell", u.Format(l.Tight), u.Format(l.Loose), u), Hint: hint}
	case l.Tight > 0 && l.Loose >= 10*l.Tight:
		return &Hinted{Message: fmt.Sprintf("the loose limit is %d times the tight one: a slipped decimal point?", l.Loose/l.Tight), Hint: hint}
	}
	return nil
}

// Inches reports whether a figure given in mm makes more sense in inches: it is
// far below the limits, and near them in inches.
func (l Limits) Inches(n Length) bool {
	return 2*n < l.Tight && inMM(n) >= l.Tight/2 && inMM(n) <= 2*l.Loose
}

// inMM is a figure of inches that was taken for mm.
func inMM(n Length) Length { return n * 254 / 10 }

// ImplausibleSize says what is wrong with a shim's size and what may have been
// meant, nil where it can be.
func ImplausibleSize(size Length, u Unit) error {
	if size >= MinSize && size <= MaxSize {
		return nil
	}
	hint := fmt.Sprintf("shims run from %s to %s %s", u.ShowUp(MinSize, 0, 2), u.ShowDown(MaxSize, 0, 2), u)
	usual := func(l Length) bool { return l >= Millimetre && l <= 10*Millimetre }
	switch {
	case u == MM && size > 0 && size < MinSize && usual(Length(int64(size)*254/10)):
		hint += "; inches in a file of mm?"
	case u == IN && size > MaxSize && usual(size*10/254):
		hint += "; mm in a file of inches?"
	case size > MaxSize && usual(size/10):
		hint += "; " + u.Format(size/10) + "?"
	case size > MaxSize && usual(size/100):
		hint += "; " + u.Format(size/100) + "?"
	case size > MaxSize && usual(size/1000):
		hint += "; " + u.Format(size/1000) + "?"
	case size > 0 && size < MinSize && usual(size*10):
		hint += "; " + u.Format(size*10) + "?"
	}
	return Fail(nil, hint, "%s %s is not a plausible shim size", u.Format(size), u)
}

// ImplausibleDiameter says what is wrong with the diameter of a disc, nil where
// it can be.
func ImplausibleDiameter(diameter Length) error {
	if diameter >= MinDiameter && diameter <= MaxDiameter {
		return nil
	}
	return Fail(nil, "the disc diameter says which shims interchange; measure a shim", "%s mm is not a plausible shim diameter: %s to %s mm", diameter, MinDiameter, MaxDiameter)
}

// ImplausibleKind says what is wrong with a family's name, nil where it can be
// written on a label and read off it again; "" are plain discs.
func ImplausibleKind(kind string) error {
	switch err := ImplausibleText(kind); {
	case kind == "":
		return nil
	case err != nil:
		return err
	case strings.Contains(kind, ";"):
		return Fail(nil, "a label has ; between its parts", "a family's name has no ;")
	case !strings.ContainsFunc(kind, unicode.IsLetter):
		return Fail(nil, "a label would read it as a size", "a family's name has a letter")
	}
	return nil
}
