package shim

// Figures writes lengths in a unit. A [Unit] writes them as files have them; what
// people read may have them otherwise.
type Figures interface {
	String() string // the unit, "mm" or "in"
	Places() int
	Parse(text string) (Length, error)
	FormatAtLeast(l Length, decimals int) string
	Show(l Length, least, most int) string
	ShowLimits(l Limits, least, most int) (tight, loose string)
	ShowClearance(l Limits, clearance Length, least, most int) string
}

// Places is the usual number of decimals of a size: 3 in mm, 4 in inches.
func (u Unit) Places() int {
	if u == IN {
		return 4
	}
	return 3
}

// Show writes the length rounded half to even to at most the given number of
// decimals (to five at the most in inches), and with at least the given number.
func (u Unit) Show(l Length, least, most int) string {
	most, step := u.step(most)
	return formatScaled(divHalfEven(int64(l), step), most, least)
}

// ShowDown is [Unit.Show] rounded down, towards minus infinity.
func (u Unit) ShowDown(l Length, least, most int) string {
	most, step := u.step(most)
	return formatScaled(divDown(int64(l), step), most, least)
}

// ShowUp is [Unit.Show] rounded up, towards plus infinity.
func (u Unit) ShowUp(l Length, least, most int) string {
	most, step := u.step(most)
	return formatScaled(-divDown(-int64(l), step), most, least)
}

// ShowLimits writes limits so that the range never widens: the tight one
// rounded up, the loose one down (a Mazda service manual rounds converted
// limits so). Limits too close together for so many decimals get more.
func (u Unit) ShowLimits(l Limits, least, most int) (tight, loose string) {
	most, shown := u.inward(l, most)
	_, step := u.step(most)
	return formatScaled(int64(shown.Tight)/step, most, least), formatScaled(int64(shown.Loose)/step, most, least)
}

// ShowClearance writes a clearance beside limits written by [Unit.ShowLimits]
// with as many decimals, so that it stands to the written limits as it stands
// to the limits: one inside never reads as outside, nor one outside as inside.
func (u Unit) ShowClearance(l Limits, clearance Length, least, most int) string {
	switch {
	case clearance < l.Tight:
		return u.ShowDown(clearance, least, most)
	case clearance > l.Loose:
		return u.ShowUp(clearance, least, most)
	}
	most, shown := u.inward(l, most)
	_, step := u.step(most)
	rounded := Length(divHalfEven(int64(clearance), step) * step)
	return formatScaled(int64(min(max(rounded, shown.Tight), shown.Loose))/step, most, least)
}

// Exact reports whether so many decimals of the unit write the length exactly.
func (u Unit) Exact(l Length, decimals int) bool {
	_, step := u.step(decimals)
	return int64(l)%step == 0
}

// step is one unit of the last of so many decimals in nanometres, and how many
// decimals there are: at most 6 in mm, 5 in inches.
func (u Unit) step(decimals int) (int, int64) {
	step, places := int64(Millimetre), 6
	if u == IN {
		step, places = int64(Inch), 5
	}
	decimals = min(decimals, places)
	for range decimals {
		step /= 10
	}
	return decimals, step
}

// inward rounds limits towards each other, with more decimals where they would
// cross, and to the nearest where even those do not part them.
func (u Unit) inward(l Limits, decimals int) (int, Limits) {
	for {
		got, step := u.step(decimals)
		shown := Limits{Length(-divDown(-int64(l.Tight), step) * step), Length(divDown(int64(l.Loose), step) * step)}
		if shown.Tight <= shown.Loose {
			return got, shown
		}
		if got < decimals {
			middle := Length(divHalfEven(int64(l.Tight), step) * step)
			return got, Limits{middle, middle}
		}
		decimals++
	}
}

// divDown is n/d rounded down for d > 0.
func divDown(n, d int64) int64 {
	q := n / d
	if n%d < 0 {
		q--
	}
	return q
}
