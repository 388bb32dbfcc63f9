package shim

// In a fresh build (after seats, valves, cams or a head) each valve is measured
// over a set-up shim, or over none at all: the gap is the sum then. What is in
// belongs to the shop's bench set, and every valve gets a shim of its own.

// An Allowance is by how much a clearance that was measured in a fresh build is
// bound to change until the engine runs: the clearance to expect is the measured
// one and By. A film of sealant under the cam carrier opens the gap (0.0065 in
// measured dry becomes 0.007 in with 0.0005 in of film: Jensen-Healey, owners'
// forum), torque and first settling may close it: By is below 0 then. It lies
// from By less Doubt to By and Doubt with the same probability anywhere.
type Allowance struct{ By, Doubt Length }

// Settling are the limits for a clearance that the allowance is still to be added to.
func (t Train) Settling() Limits {
	return Limits{Tight: t.Tight - t.Allowance.By, Loose: t.Loose - t.Allowance.By}
}

// MaxAllowance bounds an allowance and its doubt (our own bound).
const MaxAllowance = 500 * Micrometre

func (a Allowance) validate(key string, u Unit, add func(key, hint, format string, args ...any)) {
	if a.By.Abs() > MaxAllowance {
		add(key+".allowance", "what is added to the measured clearance, like "+u.Example("0.013", ".0005")+" for a film of sealant, "+u.Example("-0.02", "-.001")+" for settling", "an allowance of %s %s is not plausible: -%s to %[3]s %[2]s", u.Format(a.By), u, u.ShowDown(MaxAllowance, 0, 3))
	}
	if a.Doubt < 0 || a.Doubt > MaxAllowance {
		add(key+".allowance_doubt", "how far off the allowance may be, above or below, like "+u.Example("0.005", ".0002"), "an allowance doubt of %s %s is not plausible: 0 to %s %[2]s", u.Format(a.Doubt), u, u.ShowDown(MaxAllowance, 0, 3))
	}
}

// A Machining is what the maker lets be taken off a side's valves.
type Machining struct {
	// StemGrindMax is the most that may be ground off a stem tip, 0 where the
	// maker forbids it; nil where the file does not say. It is seen from 0.010 in
	// down to nothing at all.
	StemGrindMax *Length `json:",omitempty"`
	// ShimProudMin is the least by which a shim stands proud of the spring cup
	// that it sits in, so that the bucket or the cam never rides on the cup (Toro 455-D,
	// page 3-50); 0 where the file does not say.
	ShimProudMin Length `json:",omitzero"`
}

func (m Machining) validate(key string, u Unit, add func(key, hint, format string, args ...any)) {
	if g := m.StemGrindMax; g != nil && (*g < 0 || *g > 2*Millimetre) {
		add(key+".stem_grind_max", "the most that the maker lets be ground off a stem tip, 0 for none; leave it out where the manual does not say", "%s %s off a stem tip is not plausible: 0 to %s %[2]s", u.Format(*g), u, u.ShowDown(2*Millimetre, 0, 3))
	}
	if p := m.ShimProudMin; p < 0 || p > 5*Millimetre {
		add(key+".shim_proud_min", "the least by which a shim stands above the rim of the spring cup", "a shim that stands %s %s proud of the spring cup is not plausible: 0 to %s %[2]s", u.Format(p), u, u.ShowDown(5*Millimetre, 0, 3))
	}
}

// MaxSetUpGap bounds the gap that is measured in a fresh build, where a thin
// set-up shim or none is in.
const MaxSetUpGap = MaxSize + MaxClearance

// ImplausibleSetUp says what is wrong with a gap of a fresh build, measured over a
// set-up shim of that size or, where it is 0, over none; nil where it can be.
func (t Train) ImplausibleSetUp(r Reading, over Length, u Unit) error {
	gap, measured := r.Estimate()
	if !measured {
		return nil
	}
	if r.Low == 0 || r.Second.Taken && r.Second.Low == 0 {
		return Fail(nil, "where the thinnest leaf does not go, write that leaf, like <"+thinLeaf(u)+", and put a thinner set-up shim in", "a gap of 0 is no measurement")
	}
	figure := u.Format(gap)
	if r.Unloaded != (Unloaded{}) {
		figure = r.Format(u) + ", " + figure // what was typed stands first
	}
	set := Setting{Limits: t.Limits, Aim: t.Aim(), Ratio: t.Ratio, Clearance: gap + t.Allowance.By, Size: over}
	switch need := set.Ideal(); {
	case need < MinSize && over == 0:
		return Fail(nil, "without a shim the gap is shim and clearance together; if a set-up shim was in, write its size, too",
			"a gap of %s %s without a shim leaves no room for one", figure, u)
	case need < MinSize:
		return Fail(nil, "check the gap and the set-up shim", "a gap of %s %s over a set-up shim of %s leaves no room for a shim", figure, u, u.Format(over))
	case need > MaxSize:
		return Fail(nil, "check the gap and the set-up shim", "a gap of %s %s needs a shim of %s: shims run to %s", figure, u, u.Show(need, 2, u.Places()), u.Format(MaxSize))
	}
	return nil
}
