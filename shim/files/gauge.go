package files

import (
	"io"

	"shimwright/shim"
)

var gaugeKeys = []string{"step", "leaf", "stamp", "mic"}

// gaugeSchema has the keys of a gauge file: the table that an engine file may
// have, in a file of its own.
var gaugeSchema = schema{"": {"units", "shim_units", "gauge"}, "gauge": gaugeKeys}

type gaugeText struct{ Step, Leaf, Stamp, Mic *text }

// ReadGauge reads a gauge file, TOML: a table [gauge] as engine files may have
// it. The error is a [Faults].
func ReadGauge(name string, r io.Reader) (shim.Gauge, []Fault, error) {
	var text struct {
		Units     *string
		ShimUnits *string `toml:"shim_units"`
		Gauge     *gaugeText
	}
	d, whole := readDocument(name, r, gaugeSchema, &text)
	if !whole {
		return shim.Gauge{}, nil, d.faults.err()
	}
	units := d.units(text.Units, text.ShimUnits)
	if text.Gauge == nil {
		d.wrong("gauge", "there is no table [gauge]", "write a line [gauge] and below it step, leaf, stamp and mic")
		return shim.Gauge{}, nil, d.faults.err()
	}
	g := d.gauge(text.Gauge, units)
	d.sound(g.Validate())
	return g, nil, d.faults.err()
}

// gauge reads the table [gauge]; what it does not say is as usual. The leaves are
// in the unit of clearances, stamps and the micrometer in that of shims.
func (d *document) gauge(t *gaugeText, u shim.UnitPair) shim.Gauge {
	usual, leaves, sizes := shim.UsualGauge, lengthsIn(u.Clearance), lengthsIn(u.Size)
	g := shim.Gauge{
		Step:  leaves.one(d, "gauge.step", t.Step, usual.Step),
		Leaf:  leaves.one(d, "gauge.leaf", t.Leaf, usual.Leaf),
		Stamp: sizes.one(d, "gauge.stamp", t.Stamp, usual.Stamp),
		Mic:   sizes.one(d, "gauge.mic", t.Mic, usual.Mic),
	}
	if t.Stamp == nil { // else it holds for used shims too
		g.Used = usual.Used
	}
	if g.Step == 0 && !d.faulty["gauge.step"] {
		d.wrong("gauge.step", "no set of leaves has steps of 0", "write the distance between neighbouring leaves, like step = 0.03 in mm or 0.001 in inches; leave step out for the usual one")
	}
	return g
}
