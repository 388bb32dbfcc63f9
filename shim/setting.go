package shim

// Limits are the maker's tight and loose clearance, both inclusive.
type Limits struct {
	Tight, Loose Length
}

// Contain reports whether the clearance lies inside the limits.
func (l Limits) Contain(clearance Length) bool {
	return l.Tight <= clearance && clearance <= l.Loose
}

// Aim is the clearance at the given fraction of the way from the tight limit
// to the loose one, rounded half to even to the nanometre.
func (l Limits) Aim(fraction Factor) Length {
	return l.Tight + fraction.Of(l.Loose-l.Tight)
}

// Room is the distance from a clearance to the nearer limit, negative outside.
func (l Limits) Room(clearance Length) Length {
	return min(clearance-l.Tight, l.Loose-clearance)
}

// A Setting is one valve as the arithmetic sees it: a shim of size Size gave
// the clearance Clearance, and Aim is the clearance to come closest to.
//
// Ratio is how much clearance a shim takes for its thickness, always above 0: 1
// for a shim in a bucket; 1 as well for the closing shim of a positively closed
// valve, which sits between the half rings and the closing follower, so that a
// thicker one gives less clearance there too (ducatitech.com, 2v maintenance;
// st3slife.blogspot.com, June 2010); below 1, one over the follower's own
// ratio, where the gap is measured at the cam of a follower that multiplies the
// lift and whose shim sits at the valve (Tomei's SR20 manual, page 9: 1.43, so
// 1/1.43).
type Setting struct {
	Limits
	Aim       Length
	Ratio     Ratio
	Clearance Length
	Size      Length
}

// Expect is the clearance to expect with a shim of the given size:
// c' = c + k (s - x), rounded half to even to the nanometre.
func (s Setting) Expect(size Length) Length {
	return s.Clearance + s.Ratio.Of(s.Size-size)
}

// Stack is clearance plus ratio times shim: what the next shim has to fill.
// It stays when shims are changed and moves only with wear.
func (s Setting) Stack() Length {
	return s.Clearance + s.Ratio.Of(s.Size)
}

// Accepts is the closed interval of sizes that bring the valve inside its
// limits. It is empty, with thin above thick, where rounding with a large
// ratio leaves no whole nanometre.
func (s Setting) Accepts() (thin, thick Length) {
	return s.smallest(func(c Length) bool { return c <= s.Loose }, s.Loose),
		s.smallest(func(c Length) bool { return c < s.Tight }, s.Tight) - 1
}

// Ideal is the size that comes closest to the aim, the one that leaves the
// larger clearance where two come equally close. Of the several sizes that
// share one clearance where the ratio is below 1 it is a middle one.
func (s Setting) Ideal() Length {
	near := s.toward(s.Aim)
	best := near
	for size := near - 2; size <= near+2; size++ {
		if s.closer(size, best) {
			best = size
		}
	}
	return best
}

// closer reports whether size a is the better one for the aim than size b.
func (s Setting) closer(a, b Length) bool {
	ca, cb := s.Expect(a), s.Expect(b)
	da, db := (ca - s.Aim).Abs(), (cb - s.Aim).Abs()
	if da != db {
		return da < db
	}
	return ca > cb
}

// toward is the size that gives about the clearance, to within one nanometre
// of rounding.
func (s Setting) toward(clearance Length) Length {
	return s.Size - s.Ratio.Under(clearance-s.Clearance)
}

// smallest is the smallest size for which the condition on the clearance
// holds. The condition must change once along the line of sizes, from false
// to true, near the given clearance. Several sizes share one clearance where
// the ratio is below 1, so the search widens before it halves.
func (s Setting) smallest(holds func(clearance Length) bool, near Length) Length {
	start, step := s.toward(near), Length(1)
	low, high := start-1, start+1
	for ; holds(s.Expect(low)); step *= 2 {
		low -= step
	}
	for step = 1; !holds(s.Expect(high)); step *= 2 {
		high += step
	}
	for high-low > 1 {
		middle := low + (high-low)/2
		if holds(s.Expect(middle)) {
			high = middle
		} else {
			low = middle
		}
	}
	return high
}
