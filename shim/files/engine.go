package files

import (
	"fmt"
	"io"
	"strings"

	"shimwright/shim"
)

// The lists of ranges: the engine's, and those of closers.
const catalogueKey = "shims.catalogue"

var catalogueKeys = []string{catalogueKey, "intake.closer." + catalogueKey, "exhaust.closer." + catalogueKey}

// An engineText is an engine file as it stands; what is nil is not in it.
type engineText struct {
	Name, Units, Access, Camshafts *string
	ShimUnits                      *string `toml:"shim_units"`
	Cylinders                      *text
	FiringOrder                    []text  `toml:"firing_order"`
	FiringIntervals                []text  `toml:"firing_intervals"`
	IntakeSide                     *string `toml:"intake_side"`
	DepressOffset                  *text   `toml:"depress_offset"`
	Readings, State, Interval      *string
	Before                         *beforeText
	Banks                          [][]text
	Intake, Exhaust                *trainText
	Gauge                          *gaugeText
	Shims                          shimsText
}

type shimsText struct {
	Family    *string
	Diameter  *text
	Marks     any // a rule, a list of rules, or a table of marks
	Catalogue []struct{ From, To, Step, Price *text }
}

type trainText struct {
	Valves, Aim, Ratio *text
	Timing             []text
	limitsText
	Cold, Warm     *limitsText
	RockerRatio    *text   `toml:"rocker_ratio"`
	MeasuredAt     *string `toml:"measured_at"`
	Allowance      *text
	AllowanceDoubt *text `toml:"allowance_doubt"`
	StemGrindMax   *text `toml:"stem_grind_max"`
	ShimProudMin   *text `toml:"shim_proud_min"`
	Closer         *closerText
}

// A limitsText is the limits in up to three forms: in the file's unit, and in one
// that the key states.
type limitsText struct {
	Clearance   []text
	ClearanceMM []text `toml:"clearance_mm"`
	ClearanceIN []text `toml:"clearance_in"`
}

type closerText struct {
	limitsText
	Aim, Ratio *text

	Allowance      *text
	AllowanceDoubt *text `toml:"allowance_doubt"`
	Shims          *shimsText
}

type beforeText struct {
	Lines       []string
	Turns       *text
	Temperature []text
	Corrections [][]text
}

// engineSchema has the keys of each table of an engine file.
var engineSchema = schema{
	"":           {"name", "units", "shim_units", "cylinders", "firing_order", "firing_intervals", "access", "depress_offset", "camshafts", "banks", "intake_side", "readings", "state", "interval", "before", "intake", "exhaust", "shims", "gauge"},
	"intake":     trainKeys,
	"exhaust":    trainKeys,
	"shims":      shimsKeys,
	catalogueKey: rangeKeys,
	"gauge":      gaugeKeys,
	"before":     {"lines", "turns", "temperature", "corrections"},

	"intake.cold":  limitsKeys,
	"intake.warm":  limitsKeys,
	"exhaust.cold": limitsKeys,
	"exhaust.warm": limitsKeys,

	"intake.closer":        closerKeys,
	"intake.closer.shims":  shimsKeys,
	catalogueKeys[1]:       rangeKeys,
	"exhaust.closer":       closerKeys,
	"exhaust.closer.shims": shimsKeys,
	catalogueKeys[2]:       rangeKeys,
}

var (
	trainKeys  = []string{"valves", "clearance", "clearance_mm", "clearance_in", "aim", "ratio", "rocker_ratio", "measured_at", "timing", "allowance", "allowance_doubt", "stem_grind_max", "shim_proud_min", "closer", "cold", "warm"}
	limitsKeys = []string{"clearance", "clearance_mm", "clearance_in"}
	closerKeys = []string{"clearance", "clearance_mm", "clearance_in", "aim", "ratio", "allowance", "allowance_doubt", "shims"}
	shimsKeys  = []string{"diameter", "family", "marks", "catalogue"}
	rangeKeys  = []string{"from", "to", "step", "price"}
)

// ReadEngine reads an engine, TOML. The engine is sound: it passes
// [shim.Engine.Validate]. The second result are warnings; the error is a
// [Faults].
func ReadEngine(name string, r io.Reader) (*shim.Engine, []Fault, error) {
	var text engineText
	d, whole := readDocument(name, r, engineSchema, &text)
	if !whole {
		return nil, nil, d.faults.err()
	}
	e := d.engine(&text)
	d.sound(e.Validate())
	if err := d.faults.err(); err != nil {
		return nil, nil, err
	}
	return e, d.warnings(e), nil
}

// engine reads every key. What cannot be read is reported and left at zero.
func (d *document) engine(t *engineText) *shim.Engine {
	d.need("name", t.Name != nil)
	e := &shim.Engine{
		Cylinders:       wholes.need(d, "cylinders", t.Cylinders),
		FiringOrder:     wholes.list(d, "firing_order", t.FiringOrder),
		FiringIntervals: degrees.list(d, "firing_intervals", t.FiringIntervals),
		SharedCams:      d.word("camshafts", t.Camshafts, "per-side", "shared") == "shared",
	}
	e.Units = d.units(t.Units, t.ShimUnits)
	if t.Name != nil {
		e.Name = oneLine(*t.Name)
	}
	for _, bank := range t.Banks {
		e.Banks = append(e.Banks, wholes.list(d, "banks", bank))
	}
	if d.word("access", t.Access, "camshaft", "valve") == "valve" {
		e.Access = shim.ByValve
	}
	e.DepressOffset = degrees.one(d, "depress_offset", t.DepressOffset, 0)
	e.IntakeSide, _ = shim.ParsePlacing(d.word("intake_side", t.IntakeSide, shim.Placings...)) // one of the words
	if t.Interval != nil {
		m, known := shim.ParseMeter(*t.Interval)
		if !known || m.Kind == "" || m.Hundredths == 0 {
			d.wrong("interval", fmt.Sprintf("%q is no distance or time with its unit", *t.Interval), `like "24,000 km", "15,000 mi" or "100 h"`)
		}
		e.Interval = m
	}
	if d.word("readings", t.Readings, shim.Combinings...) == shim.Tighter.String() {
		e.Readings = shim.Tighter
	}
	if d.word("state", t.State, shim.States...) == shim.Warm.String() {
		e.State = shim.Warm
	}
	e.Before = d.before(t.Before, lengthsIn(e.Units.Clearance))
	e.Intake, e.Exhaust = d.train("intake", t.Intake, e.Units), d.train("exhaust", t.Exhaust, e.Units)
	e.Intake.OtherLimits, e.Exhaust.OtherLimits = d.otherLimits("intake", t.Intake, e.State, e.Units.Clearance), d.otherLimits("exhaust", t.Exhaust, e.State, e.Units.Clearance)
	if e.Exhaust.Closer != nil && t.Exhaust.Closer.Shims == nil {
		d.sharedCloser(e)
	}
	var family shim.Family
	family, e.Catalogue, e.Marks = d.shims("shims", &t.Shims, "", lengthsIn(e.Units.Size))
	e.Kind, e.Diameter = family.Kind, family.Diameter
	if t.Gauge != nil {
		gauge := d.gauge(t.Gauge, e.Units)
		e.Gauge = &gauge
	}
	return e
}

// shims reads a table of shims, whose family has this name where it has none of
// its own.
func (d *document) shims(key string, t *shimsText, kind string, lengths number[shim.Length]) (shim.Family, []shim.Range, shim.MarkList) {
	f := shim.Family{Kind: kind, Diameter: lengths.need(d, key+".diameter", t.Diameter)}
	if t.Family != nil {
		f.Kind = FamilyName(*t.Family)
	}
	var catalogue []shim.Range
	for i, r := range t.Catalogue {
		key := element(key+".catalogue", i)
		catalogue = append(catalogue, shim.Range{
			From: lengths.need(d, key+".from", r.From), To: lengths.need(d, key+".to", r.To), Step: lengths.need(d, key+".step", r.Step),
			Quote: shim.Quote{Price: prices.one(d, key+".price", r.Price, 0), Priced: r.Price != nil},
		})
	}
	return f, catalogue, d.marks(key+".marks", t.Marks, lengths, catalogue)
}

// FamilyName is the name of a family as it is kept: without regard to case and
// surrounding space.
func FamilyName(text string) string { return strings.ToLower(oneLine(text)) }

// closer reads the closing end of a side's valves.
func (d *document) closer(key string, t *closerText, u shim.UnitPair) *shim.Closer {
	c := &shim.Closer{
		AimAt: factors.one(d, key+".aim", t.Aim, shim.One/2),
		Ratio: shim.Ratio{Times: factors.one(d, key+".ratio", t.Ratio, shim.One)},
	}
	d.need(key+".clearance", t.given())
	c.Limits = d.limits(key, &t.limitsText, u.Clearance)
	c.Allowance = d.allowance(key, t.Allowance, t.AllowanceDoubt, lengthsIn(u.Clearance))
	if t.Shims != nil {
		c.Family, c.Catalogue, c.Marks = d.shims(key+".shims", t.Shims, shim.CloserKind, lengthsIn(u.Size))
	}
	return c
}

// sharedCloser gives the exhaust closers the shims of the intake closers.
func (d *document) sharedCloser(e *shim.Engine) {
	if e.Intake.Closer == nil {
		d.need("exhaust.closer.shims.diameter", false)
		return
	}
	d.inherits = true
	from, to := e.Intake.Closer, e.Exhaust.Closer
	to.Family, to.Catalogue, to.Marks = from.Family, from.Catalogue, from.Marks
}

// allowance reads by how much clearances change that were measured in a fresh build.
func (d *document) allowance(key string, by, doubt *text, lengths number[shim.Length]) shim.Allowance {
	if doubt != nil && by == nil {
		d.wrong(key+".allowance_doubt", "there is no allowance that it is the doubt of", "write allowance = 0 if the clearance may change either way")
	}
	return shim.Allowance{By: lengths.one(d, key+".allowance", by, 0), Doubt: lengths.one(d, key+".allowance_doubt", doubt, 0)}
}

// train reads one side, which may be left out.
func (d *document) train(side string, t *trainText, u shim.UnitPair) shim.Train {
	if t == nil {
		return shim.Train{}
	}
	train := shim.Train{
		Valves: wholes.need(d, side+".valves", t.Valves),
		AimAt:  factors.one(d, side+".aim", t.Aim, shim.One/2),
		Ratio:  d.ratio(side, t),
	}
	d.need(side+".clearance", t.given() || train.Valves <= 0)
	train.Limits = d.limits(side, &t.limitsText, u.Clearance)
	clearances, sizes := lengthsIn(u.Clearance), lengthsIn(u.Size)
	train.Allowance = d.allowance(side, t.Allowance, t.AllowanceDoubt, clearances)
	train.ShimProudMin = sizes.one(d, side+".shim_proud_min", t.ShimProudMin, 0)
	if t.StemGrindMax != nil {
		most := sizes.one(d, side+".stem_grind_max", t.StemGrindMax, 0)
		train.StemGrindMax = &most
	}
	if t.Closer != nil {
		train.Closer = d.closer(side+".closer", t.Closer, u)
	}
	if pair := degrees.pair(d, side+".timing", t.Timing, "two figures are needed, when the valves open and when they close", "degrees of the crank, like timing = [15, 45]"); pair != nil {
		train.Timing = &shim.Timing{Opens: pair[0], Closes: pair[1]}
	}
	return train
}

// otherLimits reads a side's limits in the state that is not the engine's own.
func (d *document) otherLimits(side string, t *trainText, own shim.State, u shim.Unit) *shim.Limits {
	if t == nil {
		return nil
	}
	tables := [2]*limitsText{shim.Cold: t.Cold, shim.Warm: t.Warm}
	if tables[own] != nil {
		d.wrong(side+"."+own.String(), fmt.Sprintf("the limits of the %s engine are those of [%s]: state says so", own, side), fmt.Sprintf("leave the table out, or name it [%s.%s]", side, own.Other()))
	}
	other := tables[own.Other()]
	if other == nil {
		return nil
	}
	key := side + "." + own.Other().String()
	d.need(key+".clearance", other.given())
	limits := d.limits(key, other, u)
	if limits == (shim.Limits{}) {
		return nil // not to be read
	}
	return &limits
}

// before reads what is to be done before measuring.
func (d *document) before(t *beforeText, lengths number[shim.Length]) *shim.Before {
	if t == nil {
		return nil
	}
	b := &shim.Before{Turns: wholes.one(d, "before.turns", t.Turns, 0)}
	for _, line := range t.Lines {
		if line = oneLine(line); line != "" {
			b.Lines = append(b.Lines, line)
		}
	}
	if pair := celsius.pair(d, "before.temperature", t.Temperature, "two temperatures are needed", "write the window in degrees Celsius, like temperature = [15, 25]"); pair != nil {
		b.Temperature = &shim.Window{From: pair[0], To: pair[1]}
	}
	for _, row := range t.Corrections {
		if len(row) != 2 {
			d.wrong("before.corrections", fmt.Sprintf("a row needs a temperature and a length, this is a list of %d", len(row)), "write rows like corrections = [[20, 0], [30, 0.02]]")
			continue
		}
		b.Corrections = append(b.Corrections, shim.Correction{At: celsius.read(d, "before.corrections", row[0]), By: lengths.read(d, "before.corrections", row[1])})
	}
	return b
}

// ratio is how much clearance a side's shims take for their thickness: given
// by itself, or by the ratio of the rocker and where the clearance is measured.
func (d *document) ratio(side string, t *trainText) shim.Ratio {
	const twice, twiceHint = "ratio says the same in another way", "leave ratio out, and write rocker_ratio and measured_at; or the other way round"
	ratioKey, rockerKey, atKey := side+".ratio", side+".rocker_ratio", side+".measured_at"
	ratio, rocker := factors.one(d, ratioKey, t.Ratio, shim.One), factors.one(d, rockerKey, t.RockerRatio, shim.One)
	atCam := d.word(atKey, t.MeasuredAt, "valve", "cam") == "cam"
	switch {
	case t.Ratio != nil && t.RockerRatio != nil:
		d.wrong(rockerKey, twice, twiceHint)
	case t.Ratio != nil && t.MeasuredAt != nil:
		d.wrong(atKey, twice, twiceHint)
	case t.RockerRatio != nil && t.MeasuredAt == nil:
		d.wrong(rockerKey, "the side does not say where its clearance is measured", `where the feeler gauge goes: measured_at = "cam" or measured_at = "valve"`)
	case t.RockerRatio == nil && atCam:
		d.wrong(atKey, "the side does not say how far its rocker multiplies the lift", "write rocker_ratio = 1.4, or what the maker gives; 1 for none")
	case d.faulty[rockerKey]:
	case rocker < shim.One/10 || rocker > 10*shim.One:
		d.wrong(rockerKey, "a rocker ratio of "+rocker.String()+" cannot be: 0.1 to 10", "valve lift over cam lift, like 1.4")
	case atCam:
		return shim.RockerRatio(rocker)
	default:
		return shim.Ratio{Times: ratio}
	}
	return shim.Ratio{Times: shim.One}
}

// warnings are ratios above 1, which hardly any engine has, temperatures of a cold
// engine in Fahrenheit, and catalogue ranges that do not reach their end.
func (d *document) warnings(e *shim.Engine) []Fault {
	var list Faults
	warn := func(key, message, hint string) { list = append(list, d.fault(d.place(key), key, message, hint)) }
	for _, side := range shim.Sides {
		if ratio := e.Train(side).Ratio; ratio.Times > shim.One {
			warn(side.String()+".ratio", fmt.Sprintf("a ratio of %s says that clearance changes by more than the shim", ratio),
				fmt.Sprintf("is it the rocker's? Then write rocker_ratio = %s and measured_at = \"cam\" in its place", ratio))
		}
	}
	for _, side := range shim.Sides {
		if c := e.Train(side).Closer; c != nil && c.Family == (shim.Family{Kind: e.Kind, Diameter: e.Diameter}) {
			warn(side.String()+".closer.shims.family", "openers and closers have shims of one family and diameter: each may get the other's",
				`leave family out, or name the closers' own, like family = "closer", where they do not interchange`)
		}
	}
	if b := e.Before; b != nil && b.Temperature != nil && b.Temperature.From.Fahrenheit(e.State) {
		warn("before.temperature", fmt.Sprintf("%s is no cold engine: degrees Fahrenheit?", b.Temperature), "write degrees Celsius, like temperature = [15, 25]")
	}
	for i, r := range e.Catalogue {
		if rest := (r.To - r.From) % r.Step; rest != 0 {
			u := e.Units.Size
			warn(element(catalogueKey, i)+".to", fmt.Sprintf("the range is not a whole number of steps: its last size is %s, not %s %s", u.Format(r.To-rest), u.Format(r.To), u), "check from, to and step")
		}
	}
	return list.sorted()
}

// sound reports what the trade's own rules find wrong, where it does not
// follow from a fault that is known.
func (d *document) sound(problems []shim.Problem) {
	for _, p := range problems {
		if !d.follows(p.Key) {
			d.wrong(p.Key, p.Message, p.Hint)
		}
	}
}

// follows reports whether a problem with the key follows from a known fault.
func (d *document) follows(key string) bool {
	for known := range d.faulty {
		if strings.HasPrefix(known+".", key+".") || strings.HasPrefix(key+".", known+".") {
			return true
		}
	}
	return d.inherits && strings.HasPrefix(key, "exhaust.closer.shims") || // said of the intake's
		key == "depress_offset" && (d.faulty["intake"] || d.faulty["exhaust"] || d.faulty["intake.timing"] || d.faulty["exhaust.timing"] || d.faulty["access"]) ||
		key == "intake.valves" && (d.faulty["exhaust.valves"] || d.faulty["exhaust"]) || // the engine has no valves
		d.faulty["cylinders"] && (key == "banks" || strings.HasPrefix(key, "firing"))
}
