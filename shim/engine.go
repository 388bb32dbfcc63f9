package shim

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Access says what has to come out before a shim can be changed.
type Access uint8

// The kinds of access.
const (
	// ByCamshaft is a shim under a bucket: the camshaft comes out or stays in.
	ByCamshaft Access = iota
	// ByValve is a shim on top: each is changed with the camshaft in place.
	ByValve
)

// String is "camshaft" or "valve".
func (a Access) String() string {
	if a == ByValve {
		return "valve"
	}
	return "camshaft"
}

// A Train is one side of the engine: its valves and what the maker asks of them.
type Train struct {
	Valves int // per cylinder, 1 to 5; 0 where the side has no adjustable valves
	Limits
	AimAt Factor // fraction of the limits, 0 the tight one, 1 the loose one
	Ratio Ratio  // see [Setting]
	// Timing is when the valves open and close, in degrees of the crank:
	// before and after the dead centres that the side is named by. It is nil
	// where the engine does not say.
	Timing *Timing
	// Closer is what the maker asks where a second follower closes the side's
	// valves; nil for valves that a spring closes.
	Closer *Closer `json:",omitempty"`
	// OtherLimits are the limits in the state that is not the engine's own; nil
	// where the file has none. See [Engine.In].
	OtherLimits *Limits   `json:",omitempty"`
	Allowance   Allowance `json:",omitzero"`
	Machining
}

// A Closer is the closing end of a side's valves: limits and shims of its own.
// A closing shim sits between the half rings and the closing follower, so a
// thicker one gives less clearance, as at an opener (ducatitech.com, 2v
// maintenance; st3slife.blogspot.com, June 2010).
type Closer struct {
	Limits
	AimAt     Factor
	Ratio     Ratio
	Family    // of its shims
	Catalogue []Range
	Marks     MarkList  `json:",omitempty"`
	Allowance Allowance `json:",omitzero"`
}

// CloserKind is what the family of closers' shims is called where an engine
// file does not name it.
const CloserKind = "closer"

// Aim is the side's clearance to come closest to.
func (t Train) Aim() Length { return t.Limits.Aim(t.AimAt) }

// A Range is a run of catalogue sizes: From, From+Step, up to To.
type Range struct {
	From, To, Step Length
	Quote
}

// Sizes lists the range's sizes, thinnest first.
func (r Range) Sizes() []Length {
	var sizes []Length
	for size := r.From; size <= r.To; size += r.Step {
		sizes = append(sizes, size)
	}
	return sizes
}

// An Engine is what its maker's manual says of clearances, and what has to be
// known of its head to plan the work.
type Engine struct {
	Name        string
	Units       UnitPair // of its files
	Cylinders   int
	FiringOrder []int // cylinder numbers; empty where not given
	// FiringIntervals are degrees of the crank from each firing to the next, in
	// firing order; empty for even firing.
	FiringIntervals []float64
	Access          Access
	SharedCams      bool    // one camshaft for both kinds of valve
	Banks           [][]int // cylinder numbers by bank; one bank where empty
	Intake, Exhaust Train
	Diameter        Length // of the shims: those of one diameter interchange
	Kind            string `json:",omitempty"` // of the shims, where they are no plain discs: see [Family]
	Catalogue       []Range
	Marks           MarkList `json:",omitempty"` // on shims that do not bear their size
	Interval        Meter    `json:",omitzero"`  // the maker's, between two checks; zero where not stated
	Gauge           *Gauge   // what the shop measures this engine with; nil where not stated
	// IntakeSide is where drawings of the head have the intake side.
	IntakeSide Placing `json:",omitempty"`
	// DepressOffset is how far the maker has the crank turned from the firing TDC
	// of a valve's cylinder before its tappet is pressed down: degrees, on in the
	// running direction above 0, back below; 0 where nothing is said of it. See
	// [Engine.Pressing].
	DepressOffset float64 `json:",omitempty"`
	// Readings is what two readings of one valve come to.
	Readings Combining `json:",omitempty"`
	// State is the one that its limits are for.
	State State `json:",omitempty"`
	// Turned tells that State is not the engine file's own: see [Engine.In].
	Turned bool `json:",omitempty"`
	// Before is what is to be done before measuring; nil where the file says
	// nothing.
	Before *Before `json:",omitempty"`
}

// Train is the given side of the engine.
func (e *Engine) Train(s Side) Train {
	if s == Exhaust {
		return e.Exhaust
	}
	return e.Intake
}

// TrainOf is the valve's side as it applies to the valve: at a closer with the
// closer's limits, aim and ratio.
func (e *Engine) TrainOf(v Valve) Train {
	t := e.Train(v.Side)
	if v.Closer && t.Closer != nil {
		t.Limits, t.AimAt, t.Ratio = t.Closer.Limits, t.Closer.AimAt, t.Closer.Ratio
		t.Allowance, t.Machining = t.Closer.Allowance, Machining{} // no closing shim sits on the stem tip
	}
	return t
}

// FamilyOf is the family of the valve's shims.
func (e *Engine) FamilyOf(v Valve) Family {
	if t := e.Train(v.Side); v.Closer && t.Closer != nil {
		return t.Closer.Family
	}
	return Family{Kind: e.Kind, Diameter: e.Diameter}
}

// Families lists the families of the engine's shims: the openers' first.
func (e *Engine) Families() []Family {
	list := []Family{{Kind: e.Kind, Diameter: e.Diameter}}
	for _, side := range Sides {
		if t := e.Train(side); t.Valves > 0 && t.Closer != nil && !slices.Contains(list, t.Closer.Family) {
			list = append(list, t.Closer.Family)
		}
	}
	return list
}

// Ranges is the catalogue of the valve's shims.
func (e *Engine) Ranges(v Valve) []Range {
	if t := e.Train(v.Side); v.Closer && t.Closer != nil {
		return t.Closer.Catalogue
	}
	return e.Catalogue
}

// Sold are the thinnest and the thickest shim of the valve's catalogue, 0 where it
// has none.
func (e *Engine) Sold(v Valve) (thinnest, thickest Length) {
	for i, r := range e.Ranges(v) {
		if i == 0 || r.From < thinnest {
			thinnest = r.From
		}
		thickest = max(thickest, r.To)
	}
	return thinnest, thickest
}

// Closers reports whether the engine has closers.
func (e *Engine) Closers() bool { return e.Intake.closers() || e.Exhaust.closers() }

func (t *Train) closers() bool { return t.Valves > 0 && t.Closer != nil }

// rows is how many clearances a cylinder has on the side.
func (t *Train) rows() int {
	if t.Closer != nil {
		return 2 * t.Valves
	}
	return t.Valves
}

// Valves lists the engine's valves in order, each opener before its closer.
// Where a side has one valve a cylinder the letter is left out.
func (e *Engine) Valves() []Valve {
	var valves []Valve
	for cylinder := 1; cylinder <= e.Cylinders; cylinder++ {
		for _, side := range Sides {
			t := e.Train(side)
			for i := range t.Valves {
				v := opener(side, cylinder, i, t.Valves)
				valves = append(valves, v)
				if t.Closer != nil {
					valves = append(valves, v.Other())
				}
			}
		}
	}
	return valves
}

// Find returns the valve's place in [Engine.Valves]. It takes in2 and in2a for
// the same valve where the side has one valve a cylinder, and is false for a
// valve that the engine does not have.
func (e *Engine) Find(v Valve) (int, bool) {
	t := e.Train(v.Side)
	letter := 0
	switch {
	case v.Letter != 0:
		letter = int(v.Letter - 'a')
	case t.Valves != 1:
		return 0, false
	}
	if v.Cylinder < 1 || v.Cylinder > e.Cylinders || letter >= t.Valves || v.Closer && t.Closer == nil {
		return 0, false
	}
	place := (v.Cylinder - 1) * (e.Intake.rows() + e.Exhaust.rows())
	if v.Side == Exhaust {
		place += e.Intake.rows()
	}
	place += letter * t.rows() / t.Valves
	if v.Closer {
		place++
	}
	return place, true
}

// Setting is what a measurement with a number says of one valve. It is false
// where the reading has no number or the installed size is not known.
func (e *Engine) Setting(m Measurement) (Setting, bool) {
	clearance, measured := m.Reading.Estimate()
	if !measured || m.Size() == 0 {
		return Setting{}, false
	}
	t := e.TrainOf(m.Valve)
	return Setting{Limits: t.Limits, Aim: t.Aim(), Ratio: t.Ratio, Clearance: clearance, Size: m.Size()}, true
}

// SettingOf is [Engine.Setting] in a fresh build: no size is no shim, and the
// clearance has the allowance.
func (e *Engine) SettingOf(m Measurement) (Setting, bool) {
	clearance, measured := m.Reading.Estimate()
	t := e.TrainOf(m.Valve)
	return Setting{Limits: t.Limits, Aim: t.Aim(), Ratio: t.Ratio, Clearance: clearance + t.Allowance.By, Size: m.Size()}, measured
}

// Measures is what the engine is measured with where nobody says otherwise: its
// file's gauge, or [UsualGauge].
func (e *Engine) Measures() Gauge {
	if e.Gauge != nil {
		return *e.Gauge
	}
	return UsualGauge
}

// Counted is the reading as this engine has two of one valve count.
func (e *Engine) Counted(r Reading) Reading {
	r.Second.Tighter = r.Second.Taken && e.Readings == Tighter
	return r
}

// BankList lists the cylinders of each bank: one bank of all where none is given.
func (e *Engine) BankList() [][]int {
	if len(e.Banks) > 0 {
		return e.Banks
	}
	all := make([]int, e.Cylinders)
	for i := range all {
		all[i] = i + 1
	}
	return [][]int{all}
}

// A Camshaft is one camshaft and the valves that it keeps in.
type Camshaft struct {
	Name   string // "intake", "exhaust" or "shared"; with several banks "intake-1", …
	Side   Side   // not meaningful where the camshaft is shared
	Bank   int    // counted from 1
	Shared bool
}

// Covers reports whether the valve stands under the camshaft.
func (e *Engine) Covers(c Camshaft, v Valve) bool {
	return (c.Shared || c.Side == v.Side) && slices.Contains(e.BankList()[c.Bank-1], v.Cylinder)
}

// CamshaftList lists the engine's camshafts, bank by bank.
func (e *Engine) CamshaftList() []Camshaft {
	var list []Camshaft
	banks := len(e.BankList())
	name := func(kind string, bank int) string {
		if banks == 1 {
			return kind
		}
		return kind + "-" + strconv.Itoa(bank)
	}
	for bank := 1; bank <= banks; bank++ {
		if e.SharedCams {
			list = append(list, Camshaft{Name: name("shared", bank), Bank: bank, Shared: true})
			continue
		}
		for _, side := range Sides {
			if e.Train(side).Valves > 0 {
				list = append(list, Camshaft{Name: name(side.String(), bank), Side: side, Bank: bank})
			}
		}
	}
	return list
}

// A Problem is one thing wrong with an engine, with the key that it is about
// as engine files write it ("intake.clearance") and the way out.
type Problem struct {
	Key string
	Hinted
}

// Validate gives everything that is wrong with the engine, nothing where it is
// sound. The functions of this package may be used with a sound engine only.
func (e *Engine) Validate() []Problem {
	var found []Problem
	add := func(key, hint, format string, args ...any) {
		found = append(found, Problem{key, Hinted{Message: fmt.Sprintf(format, args...), Hint: hint}})
	}
	if strings.TrimSpace(e.Name) == "" {
		add("name", `give the engine a name, like name = "Sandpiper 720 twin"`, "the engine has no name")
	}
	if err := ImplausibleText(strings.TrimSpace(e.Name)); err != nil {
		add("name", HintOf(err), "%s", err)
	}
	if e.Cylinders < 1 || e.Cylinders > MaxCylinders {
		add("cylinders", "write how many cylinders the engine has", "%d cylinders are not possible: 1 to %d", e.Cylinders, MaxCylinders)
	} else {
		e.validateOrder(add)
	}
	for _, side := range Sides {
		e.validateTrain(side, add)
	}
	e.validatePressing(add)
	if e.Intake.Valves+e.Exhaust.Valves == 0 {
		add("intake.valves", "write how many intake valves a cylinder has", "the engine has no valves")
	}
	if err := ImplausibleDiameter(e.Diameter); err != nil {
		add("shims.diameter", HintOf(err), "%s", err)
	}
	if e.Before != nil {
		if key, err := e.Before.validate(); err != nil {
			add("before."+key, HintOf(err), "%s", err)
		}
	}
	if e.Gauge != nil {
		found = append(found, e.Gauge.ValidateIn(e.Units)...)
	}
	if err := ImplausibleKind(e.Kind); err != nil {
		add("shims.family", HintOf(err), "%s", err)
	}
	validateRanges("shims.catalogue", e.Catalogue, add)
	validateMarks("shims.marks", e.Marks, add)
	return found
}

// validateOrder looks at what depends on the number of cylinders.
func (e *Engine) validateOrder(add func(key, hint, format string, args ...any)) {
	if len(e.FiringOrder) > 0 && !each(e.FiringOrder, e.Cylinders) {
		add("firing_order", "name every cylinder once, in the order in which they fire", "the firing order must name each of the %d cylinders once", e.Cylinders)
	}
	if n := len(e.FiringIntervals); n > 0 {
		sum := 0.0
		for _, degrees := range e.FiringIntervals {
			if !(degrees >= 0 && degrees <= 720) {
				add("firing_intervals", "degrees of the crank from each firing to the next", "a firing interval of %g degrees is not possible", degrees)
			}
			sum += degrees
		}
		if n != e.Cylinders || sum < 719.999 || sum > 720.001 {
			add("firing_intervals", "one figure a cylinder, degrees from each firing to the next, 720 in all", "%d firing intervals that add up to %g degrees: %d are needed that add up to 720", n, sum, e.Cylinders)
		}
	}
	if len(e.Banks) > 0 && !each(slices.Concat(e.Banks...), e.Cylinders) {
		add("banks", "list the cylinders of each bank, like banks = [[1, 2, 3], [4, 5, 6]]", "the banks must hold each of the %d cylinders once", e.Cylinders)
	}
	if slices.ContainsFunc(e.Banks, func(bank []int) bool { return len(bank) == 0 }) {
		add("banks", "list the cylinders of each bank, like banks = [[1, 2, 3], [4, 5, 6]]", "a bank has no cylinders")
	}
}

// validateRanges looks at a catalogue.
func validateRanges(key string, ranges []Range, add func(key, hint, format string, args ...any)) {
	sizes := Length(0)
	for i, r := range ranges {
		if at, err := r.validate(); err != nil {
			add(fmt.Sprintf("%s.%d%s", key, i, at), HintOf(err), "%s", err)
			continue
		}
		if sizes += (r.To-r.From)/r.Step + 1; sizes > maxSizes {
			add(fmt.Sprintf("%s.%d", key, i), "write the sizes on sale, a range for each step", "the catalogue lists more than %d sizes up to here", maxSizes)
			break
		}
	}
}

func (e *Engine) validateTrain(side Side, add func(key, hint, format string, args ...any)) {
	t := e.Train(side)
	if t.Valves < 0 || t.Valves > MaxValves {
		add(side.String()+".valves", "valves per cylinder on this side", "%d %s valves a cylinder are not possible: 0 to %d", t.Valves, side, MaxValves)
	}
	if t.Valves == 0 {
		return
	}
	u := e.Units.Clearance
	validateSetting(side.String(), t.Limits, t.AimAt, t.Ratio, u, add)
	if l := t.OtherLimits; l != nil && (l.Tight >= l.Loose || l.Tight < 0 || l.Loose > MaxClearance) {
		add(side.String()+"."+e.State.Other().String()+".clearance", "write the maker's limits, the tight one first", "limits of %s and %s %s are not plausible: the tight one first, 0 to %s %[3]s", u.Format(l.Tight), u.Format(l.Loose), u, u.ShowDown(MaxClearance, 0, 3))
	}
	t.Allowance.validate(side.String(), u, add)
	t.Machining.validate(side.String(), e.Units.Size, add)
	if c := t.Closer; c != nil {
		key := side.String() + ".closer"
		validateSetting(key, c.Limits, c.AimAt, c.Ratio, u, add)
		c.Allowance.validate(key, u, add)
		if err := ImplausibleDiameter(c.Diameter); err != nil {
			add(key+".shims.diameter", HintOf(err), "%s", err)
		}
		if err := ImplausibleKind(c.Kind); err != nil {
			add(key+".shims.family", HintOf(err), "%s", err)
		}
		validateRanges(key+".shims.catalogue", c.Catalogue, add)
		validateMarks(key+".shims.marks", c.Marks, add)
	}
	if t.Timing != nil {
		for _, degrees := range []float64{t.Timing.Opens, t.Timing.Closes} {
			if !(degrees >= -90 && degrees <= 180) {
				add(side.String()+".timing", "degrees of the crank, like timing = [15, 45]", "a valve timing of %g degrees is not possible: -90 to 180", degrees)
			}
		}
	}
}

// validatePressing looks at whether shims on top can be reached.
func (e *Engine) validatePressing(add func(key, hint, format string, args ...any)) {
	const key = "depress_offset"
	off := e.DepressOffset
	switch {
	case off == 0:
		return
	case e.Access != ByValve:
		add(key, `take it out, or write access = "valve" for shims on top`, "no tappet is pressed down where the camshafts come out")
		return
	case !(off > -180 && off < 180):
		add(key, "degrees of the crank from the firing TDC of a cylinder, like 90 to turn on or -40 to turn back", "a depress offset of %g degrees is not possible: more than -180, less than 180", off)
		return
	}
	for _, side := range Sides {
		if e.Train(side).Valves == 0 {
			continue
		}
		if may := e.Pressing(side); !(may.From < may.To) {
			hint := "see whether the manual turns on (above 0) or back (below 0)"
			t, given := e.Timing(side)
			if !given {
				hint += fmt.Sprintf("; give the %s timing if its valves are off their seats for less than assumed (%g and %g degrees)", side, t.Opens, t.Closes)
			}
			add(key, hint, "%s from the firing TDC of its cylinder, no %s valve stands on its base circle: there is no place to press it", e.DepressTurn(), side)
		}
	}
}

// validateSetting looks at what the maker asks of a side, or of its closers, and says it in
// the unit.
func validateSetting(key string, l Limits, aim Factor, ratio Ratio, u Unit, add func(key, hint, format string, args ...any)) {
	hint := "write the maker's limits, the tight one first"
	switch {
	case l.Tight > l.Loose:
		add(key+".clearance", hint, "the limits %s and %s %s are the wrong way round", u.Format(l.Tight), u.Format(l.Loose), u)
	case l.Tight == l.Loose:
		add(key+".clearance", hint, "the limits are both %s %s and leave no room", u.Format(l.Tight), u)
	case l.Tight < 0 || l.Loose > MaxClearance:
		add(key+".clearance", hint, "limits of %s to %s %s are not plausible: 0 to %s %[3]s", u.Format(l.Tight), u.Format(l.Loose), u, u.ShowDown(MaxClearance, 0, 3))
	}
	if aim < 0 || aim > One {
		add(key+".aim", "a fraction of the limits: 0 the tight one, 1 the loose one, 0.5 the middle", "an aim of %s is not possible: 0 to 1", aim)
	}
	switch {
	case ratio.Times < 0 || ratio.Over < 0:
		add(key+".ratio", "take the minus sign out; a closing shim has ratio 1, as an opening one", "a ratio of %s is not possible: a thicker shim gives less clearance, at a closing shim too", ratio)
	case !ratio.plausible():
		add(key+".ratio", "1 for a shim in a bucket, and for a closing shim; below 1, one over the follower's ratio, for a gap measured at its cam", "a ratio of %s is not possible: 0.1 to 10", ratio)
	}
}

// maxSizes bounds how many sizes a catalogue may list, all ranges together: more
// than one range in steps of a micrometre ever has.
const maxSizes = 20_000

// validate says what is wrong with a range, and in which of its keys (".step"),
// empty where it is in more than one.
func (r Range) validate() (key string, err error) {
	const step, implausible = "write the distance between neighbouring sizes, like step = 0.025", "a catalogue size of %s mm is not plausible: %s to %s mm"
	switch {
	case r.From < MinSize:
		return ".from", Fail(nil, "write sizes in the engine's units", implausible, r.From, MinSize, MaxSize)
	case r.To > MaxSize:
		return ".to", Fail(nil, "write sizes in the engine's units", implausible, r.To, MinSize, MaxSize)
	case r.From > r.To:
		return "", Fail(nil, "write the thinner size in from, the thicker in to", "the catalogue runs from %s down to %s mm", r.From, r.To)
	case r.Step <= 0:
		return ".step", Fail(nil, step, "a catalogue step of %s mm is not possible", r.Step)
	case (r.To-r.From)/r.Step >= maxSizes:
		return ".step", Fail(nil, step, "a catalogue step of %s mm gives more than %d sizes", r.Step, maxSizes)
	}
	return "", nil
}

// each reports whether the list holds every number from 1 to n once.
func each(list []int, n int) bool {
	sorted := slices.Sorted(slices.Values(list))
	for i, number := range sorted {
		if number != i+1 {
			return false
		}
	}
	return len(list) == n
}

// SortMeasurements puts a check into the engine's valve order.
func SortMeasurements(check []Measurement) {
	slices.SortFunc(check, func(a, b Measurement) int {
		return cmp.Or(a.Valve.Compare(b.Valve), cmp.Compare(a.Size(), b.Size()))
	})
}
