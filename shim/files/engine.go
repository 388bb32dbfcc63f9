package files

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"shimwright/shim"
)

const catalogueKey = "shims.catalogue"

// engineSchema has the keys of each table of an engine file.
var engineSchema = schema{
	"":                  {"name", "units", "cylinders", "firing_order", "firing_intervals", "access", "camshafts", "banks", "intake_side", "intake", "exhaust", "shims", "gauge"},
	"intake":            trainKeys,
	"exhaust":           trainKeys,
	"shims":             {"diameter", "catalogue"},
	catalogueKey + ".0": {"from", "to", "step", "price"},
	"gauge":             gaugeKeys,
}

var trainKeys = []string{"valves", "clearance", "aim", "ratio", "rocker_ratio", "measured_at", "timing"}

// ReadEngine reads an engine, TOML. The engine is sound: it passes
// [shim.Engine.Validate]. The second result are warnings; the error is a
// [Faults].
func ReadEngine(name string, r io.Reader) (*shim.Engine, []Fault, error) {
	d := readDocument(name, r)
	d.schema = engineSchema
	if err := d.faults.err(); err != nil {
		return nil, nil, err
	}
	d.strange()
	e := d.engine()
	d.sound(e)
	if err := d.faults.err(); err != nil {
		return nil, nil, err
	}
	return e, append(d.steep(e), d.unevenRanges(e)...), nil
}

// engine reads every key. What cannot be read is reported and left at zero.
func (d *document) engine() *shim.Engine {
	e := &shim.Engine{Name: strings.TrimSpace(d.text("name", true))}
	if word := d.word("units", "mm", "in"); word == "in" {
		e.Units = shim.IN
	}
	e.Cylinders = d.whole("cylinders", true)
	e.FiringOrder = d.wholes("firing_order")
	e.FiringIntervals = d.degrees("firing_intervals")
	if d.word("access", "camshaft", "valve") == "valve" {
		e.Access = shim.ByValve
	}
	e.SharedCams = d.word("camshafts", "per-side", "shared") == "shared"
	e.Banks = d.banks()
	e.IntakeSide, _ = shim.ParsePlacing(d.word("intake_side", shim.Placings...)) // one of the words
	e.Intake = d.train("intake", e.Units)
	e.Exhaust = d.train("exhaust", e.Units)
	e.Diameter = d.length("shims.diameter", e.Units, true)
	if _, found := d.tables["gauge"]; found {
		gauge := d.gauge(e.Units)
		e.Gauge = &gauge
	}
	for i := 0; ; i++ {
		key := element(catalogueKey, i)
		if _, found := d.tables[key]; !found {
			return e
		}
		r := shim.Range{
			From: d.length(key+".from", e.Units, true),
			To:   d.length(key+".to", e.Units, true),
			Step: d.length(key+".step", e.Units, true),
		}
		r.Price, r.Priced = d.price(key + ".price")
		e.Catalogue = append(e.Catalogue, r)
	}
}

// train reads one side, which may be left out.
func (d *document) train(side string, u shim.Unit) shim.Train {
	if _, found := d.tables[side]; !found {
		return shim.Train{}
	}
	t := shim.Train{Valves: d.whole(side+".valves", true)}
	t.AimAt = d.factor(side+".aim", shim.One/2)
	t.Ratio = d.ratio(side)
	if pair := d.lengths(side+".clearance", u, t.Valves > 0); len(pair) == 2 {
		t.Limits = shim.Limits{Tight: pair[0], Loose: pair[1]}
	}
	if _, found := d.keys[side+".timing"]; found {
		switch pair := d.degrees(side + ".timing"); {
		case len(pair) == 2:
			t.Timing = &shim.Timing{Opens: pair[0], Closes: pair[1]}
		case !d.faulty[side+".timing"]:
			d.wrong(side+".timing", "two figures are needed, when the valves open and when they close", "degrees of the crank, like timing = [15, 45]")
		}
	}
	return t
}

// ratio is how much clearance a side's shims take for their thickness: given
// by itself, or by the ratio of the rocker and where the clearance is measured.
func (d *document) ratio(side string) shim.Ratio {
	const measured = `where the feeler gauge goes: measured_at = "cam" or measured_at = "valve"`
	ratioKey, rockerKey, atKey := side+".ratio", side+".rocker_ratio", side+".measured_at"
	_, plain := d.keys[ratioKey]
	_, rocker := d.keys[rockerKey]
	_, at := d.keys[atKey]
	ratio, rockerRatio, where := d.factor(ratioKey, shim.One), d.factor(rockerKey, shim.One), d.word(atKey, "valve", "cam")
	switch {
	case plain && (rocker || at):
		key := rockerKey
		if !rocker {
			key = atKey
		}
		d.wrong(key, "ratio says the same in another way", `leave ratio out, and write rocker_ratio and measured_at; or the other way round`)
	case rocker && !at:
		d.wrong(rockerKey, "the side does not say where its clearance is measured", measured)
	case at && !rocker && where == "cam":
		d.wrong(atKey, "the side does not say how far its rocker multiplies the lift", "write rocker_ratio = 1.4, or what the maker gives; 1 for none")
	case rocker && (rockerRatio < shim.One/10 || rockerRatio > 10*shim.One):
		if !d.faulty[rockerKey] {
			d.wrong(rockerKey, "a rocker ratio of "+rockerRatio.String()+" cannot be: 0.1 to 10", "valve lift over cam lift, like 1.4")
		}
	case rocker && where == "cam":
		return shim.RockerRatio(rockerRatio)
	case !rocker:
		return shim.Ratio{Times: ratio}
	}
	return shim.Ratio{Times: shim.One}
}

// steep warns of ratios above 1, which hardly any engine has.
func (d *document) steep(e *shim.Engine) []Fault {
	var warnings Faults
	for _, side := range shim.Sides {
		key := side.String() + ".ratio"
		if ratio := e.Train(side).Ratio; d.keys[key] != nil && ratio.Times > shim.One {
			at := d.place(key)
			warnings = append(warnings, Fault{d.file, at.line, at.column, key,
				fmt.Sprintf("a ratio of %s says that clearance changes by more than the shim", ratio),
				fmt.Sprintf("is it the rocker's? Then write rocker_ratio = %s and measured_at = \"cam\" in its place", ratio)})
		}
	}
	return warnings.sorted()
}

// sound reports what the trade's own rules find wrong with the engine, where
// it does not follow from a fault that is known.
func (d *document) sound(e *shim.Engine) {
	for _, problem := range e.Validate() {
		if !d.follows(problem.Key) {
			d.add(d.place(problem.Key), problem.Key, problem.Message, problem.Hint)
		}
	}
}

// follows tells whether a problem with the key follows from a known fault.
func (d *document) follows(key string) bool {
	for known := range d.faulty {
		switch {
		case known == key, strings.HasPrefix(known, key+"."), known != "" && strings.HasPrefix(key, known+"."):
			return true
		case key == "intake.valves" && (known == "exhaust.valves" || known == "exhaust" || known == "intake"):
			return true // the engine has no valves
		case known == "cylinders" && (key == "banks" || strings.HasPrefix(key, "firing")):
			return true
		}
	}
	return false
}

// strange reports keys and tables that the schema does not have.
func (d *document) strange() {
	for _, key := range d.heads {
		if !d.known(key, true) && !d.within(key) {
			d.unknown(key, d.tables[key], true)
		}
	}
	for _, key := range d.order {
		if !d.known(key, false) && !d.within(key) {
			d.unknown(key, d.keys[key].key, false)
		}
	}
}

// within tells whether a table around the key was reported already.
func (d *document) within(key string) bool {
	for i := range key {
		if key[i] == '.' && d.faulty[key[:i]] {
			return true
		}
	}
	return false
}

// split parts a key into its table's kind and its last part.
func split(key string) (table, last string) {
	i := strings.LastIndexByte(key, '.')
	if i < 0 {
		return "", key
	}
	table, last = key[:i], key[i+1:]
	if number, ok := strings.CutPrefix(table, catalogueKey+"."); ok && digits(number) == len(number) {
		table = catalogueKey + ".0"
	}
	return table, last
}

// known tells whether the schema has the table, or the key with a value of its own.
func (d *document) known(key string, isTable bool) bool {
	if isTable {
		table, _ := split(key + ".")
		return d.schema[table] != nil
	}
	if key == catalogueKey {
		return d.keys[key].kind == unstable.Array && len(d.keys[key].items) == 0 // no ranges
	}
	table, last := split(key)
	return d.schema[key] == nil && slices.Contains(d.schema[table], last)
}

// unknown reports a key or a table that the schema does not have.
func (d *document) unknown(key string, at spot, isTable bool) {
	table, last := split(key)
	keys := d.schema[table]
	hint := ""
	if keys != nil {
		hint = hints(didYouMean(strings.ToLower(last), keys), "the keys here are "+strings.Join(keys, ", "))
	}
	switch {
	case key == catalogueKey:
		d.add(at, key, "the catalogue is not a list of ranges", "begin each range with a line [["+catalogueKey+"]] in double brackets")
	case !isTable && d.schema[key] != nil:
		d.add(at, key, key+" is a table of its own", "write a line ["+key+"] and its keys below")
	case isTable && keys != nil && slices.Contains(keys, last):
		d.add(at, key, key+" is a key, not a table", "write "+last+" = and its value")
	case isTable:
		d.add(at, key, "unknown table", hint)
	default:
		d.add(at, key, "unknown key", hint)
	}
}

// unevenRanges warns of catalogue ranges that do not reach their end.
func (d *document) unevenRanges(e *shim.Engine) []Fault {
	var warnings Faults
	for i, r := range e.Catalogue {
		if rest := (r.To - r.From) % r.Step; rest != 0 {
			key := element(catalogueKey, i) + ".to"
			at := d.place(key)
			u := e.Units
			warnings = append(warnings, Fault{d.file, at.line, at.column, key,
				fmt.Sprintf("the range is not a whole number of steps: its last size is %s, not %s %s", u.Format(r.To-rest), u.Format(r.To), u), "check from, to and step"})
		}
	}
	return warnings.sorted()
}

// numberFault is the message for a text that is no number.
func numberFault(text string, err error) string {
	switch {
	case errors.Is(err, shim.ErrTooFine):
		return quoted(text) + " has too many decimals"
	case errors.Is(err, shim.ErrTooLarge):
		return quoted(text) + " is too large"
	case errors.Is(err, strconv.ErrSyntax), errors.Is(err, shim.ErrNotNumber):
		return quoted(text) + " is not a plain decimal number"
	}
	return oneLine(err.Error())
}
