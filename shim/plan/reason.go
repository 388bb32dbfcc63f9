package plan

import "shimwright/shim"

// A Reason says why a valve stays outside its limits or is left undecided, and
// what would help. Package report/reason words it. Lengths that its kind does not
// name are 0.
type Reason struct {
	Kind ReasonKind `json:"-"`
	// Text is the reason as a plan of an earlier version has it, which says no
	// more; else empty.
	Text string `json:"-"`
	// Need is the size that comes closest to the aim, From and To are the
	// thinnest and the thickest that serve: with the kinds of shortage. With
	// UnknownShim they are how much thicker the shim must be, or thinner below 0.
	Need shim.Length `json:"need_mm,omitzero"`
	From shim.Length `json:"from_mm,omitzero"`
	To   shim.Length `json:"to_mm,omitzero"`
	// Size is the shim that the kind is about.
	Size shim.Length `json:"size_mm,omitzero"`
	// Next is the next thicker size that is to be had, with Between.
	Next shim.Length `json:"next_mm,omitzero"`
	// Offer is the size on sale, with NotBought.
	Offer shim.Length `json:"offer_mm,omitzero"`
	// Where is where the shim is, and Valve and Job whose valve that is: the job
	// is empty where it is the valve's own.
	Where Where      `json:"where,omitzero"`
	Valve shim.Valve `json:"valve,omitzero"`
	Job   string     `json:"job,omitzero"`
	// Machine is, in a fresh build with AllThicker and AllThinner, what would
	// make Size serve; nil at closers, where neither helps alone.
	Machine *Machine `json:"machine,omitempty"`
}

// A Machine is how much to take off a valve's stem tip or its seat.
type Machine struct {
	// Seat says that the seat is to be cut, so that the valve stands higher and
	// the gap closes. Else the stem tip is to be ground, which opens it. Either
	// moves the gap as a shim thinner or thicker by as much does (geometry, from memory).
	Seat  bool        `json:"seat"`
	Limit shim.Length `json:"limit_mm"` // for Size to give the limit
	Aim   shim.Length `json:"aim_mm"`   // for Size to give the aim
	// Most is the most that the maker lets be taken off a stem tip; nil where the
	// engine file does not say, and for a seat.
	Most *shim.Length `json:"stem_grind_max_mm,omitempty"`
	// TipDepth is how deep the stem tip may lie below the rim of the spring cup
	// before it is ground, so that Size still stands Proud above it after as much as
	// gives the aim, or after Most where the maker allows the limit but not the aim;
	// below 0, how far it has to stand above. It is told where Proud is not 0.
	TipDepth shim.Length `json:"tip_depth_max_mm,omitzero"`
	Proud    shim.Length `json:"shim_proud_min_mm,omitzero"`
}

// Allowed reports whether the maker's figures let as much be taken off as serves
// the valve, as far as the engine file has them.
func (m *Machine) Allowed() bool { return m.Most == nil || m.Limit <= *m.Most }

// ShortOfAim reports whether the maker allows as much as gives the limit, but not
// as much as gives the aim.
func (m *Machine) ShortOfAim() bool { return m.Most != nil && m.Limit <= *m.Most && *m.Most < m.Aim }

// deepest is the most that would be ground off the stem tip.
func (m *Machine) deepest() shim.Length {
	if m.ShortOfAim() {
		return *m.Most
	}
	return m.Aim
}

// machine is what would make the size serve the valve, whose shim must be thinner,
// or thicker.
func machine(t shim.Train, set shim.Setting, size shim.Length, thinner bool) *Machine {
	thin, thick := set.Accepts()
	if !thinner {
		return &Machine{Seat: true, Limit: thin - size, Aim: max(thin, set.Ideal()) - size}
	}
	m := &Machine{Limit: size - thick, Aim: size - min(thick, set.Ideal()), Most: t.StemGrindMax}
	if m.Proud = t.ShimProudMin; m.Proud != 0 {
		m.TipDepth = size - m.Proud - m.deepest()
	}
	return m
}

// A ReasonKind is what a reason comes down to.
type ReasonKind string

// The kinds of reason. What the reading says and the limits stand at the valve.
const (
	AcrossLimit ReasonKind = "across_limit"  // the reading lies across a limit: a leaf decides
	NotMeasured ReasonKind = "not_measured"  // there is no reading
	CloserFirst ReasonKind = "closer_first"  // an opener whose closer shows no play
	OtherLeaves ReasonKind = "other_leaves"  // the leaves at hand do not tell whether it is outside
	NotOpened   ReasonKind = "not_opened"    // this job does not open it
	OtherSetUp  ReasonKind = "other_setup"   // a fresh build: another set-up shim gives a reading
	UnknownShim ReasonKind = "shim_unknown"  // nobody has seen its shim yet
	Trial       ReasonKind = "trial"         // fit Size as a trial, from Where
	TrialBought ReasonKind = "trial_bought"  // buy Size as a trial
	NoTrial     ReasonKind = "no_trial"      // nothing shows a gap; about Size would
	NoShims     ReasonKind = "no_shims"      // shortage: there is none to choose from
	NotBought   ReasonKind = "not_bought"    // shortage: Offer would do, but nothing is bought; Size, unless 0, went elsewhere
	Taken       ReasonKind = "taken"         // shortage: Size would do, but went elsewhere
	AllThicker  ReasonKind = "all_thicker"   // shortage: Size is the thinnest to be had
	AllThinner  ReasonKind = "all_thinner"   // shortage: Size is the thickest to be had
	Between     ReasonKind = "between_sizes" // shortage: none lies between Size and Next
)

// ReasonKinds lists the kinds.
var ReasonKinds = []ReasonKind{
	AcrossLimit, NotMeasured, CloserFirst, OtherLeaves, NotOpened, OtherSetUp, UnknownShim, Trial, TrialBought, NoTrial,
	NoShims, NotBought, Taken, AllThicker, AllThinner, Between,
}

// A Where is where a shim that a reason names is.
type Where string

// Places of a trial shim, and of one that another valve has.
const (
	FromBox    Where = "box"
	PulledFrom Where = "pulled"
	Borrowed   Where = "borrowed" // its valve gets this one's shim meanwhile
	GoesInto   Where = "goes_into"
	StaysIn    Where = "stays_in"
	OutOfStock Where = "out_of_stock"
)
