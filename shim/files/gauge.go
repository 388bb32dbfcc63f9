package files

import (
	"io"

	"shimwright/shim"
)

var gaugeKeys = []string{"step", "leaf", "stamp", "mic"}

// gaugeSchema has the keys of a gauge file: the table that an engine file may
// have, in a file of its own.
var gaugeSchema = schema{"": {"units", "gauge"}, "gauge": gaugeKeys}

// ReadGauge reads a gauge file, TOML: a table [gauge] as engine files may have
// it. The error is a [Faults].
func ReadGauge(name string, r io.Reader) (shim.Gauge, []Fault, error) {
	d := readDocument(name, r)
	d.schema = gaugeSchema
	if err := d.faults.err(); err != nil {
		return shim.Gauge{}, nil, err
	}
	d.strange()
	units := shim.MM
	if d.word("units", "mm", "in") == "in" {
		units = shim.IN
	}
	if _, found := d.tables["gauge"]; !found && !d.faulty["gauge"] {
		d.wrong("gauge", "there is no table [gauge]", "write a line [gauge] and below it step, leaf, stamp and mic")
	}
	g := d.gauge(units)
	for _, problem := range g.Validate() {
		if !d.follows(problem.Key) {
			d.add(d.place(problem.Key), problem.Key, problem.Message, problem.Hint)
		}
	}
	return g, nil, d.faults.err()
}

// gauge reads the table [gauge]; what it does not say is as usual.
func (d *document) gauge(u shim.Unit) shim.Gauge {
	g := shim.UsualGauge
	for key, value := range map[string]*shim.Length{"step": &g.Step, "leaf": &g.Leaf, "stamp": &g.Stamp, "mic": &g.Mic} {
		if _, found := d.keys["gauge."+key]; found {
			*value = d.length("gauge."+key, u, false)
		}
	}
	return g
}
