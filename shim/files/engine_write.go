package files

import (
	"bytes"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"

	"shimwright/shim"
)

// A keyLine writes one key of a table: its value as the file has it, empty where
// the engine has none, and a comment for those who read the file.
type keyLine[T any] struct {
	key, comment string
	value        func(of T, u shim.UnitPair) string
}

// What a file leaves to fill in.
const (
	fromManual    = "from the maker's manual, page ..."
	limitsComment = "tight and loose limit, " + fromManual
)

// The tables of an engine file, key by key in the order in which they are
// written. A table inside a table has lines of its own.
var (
	engineLines = []keyLine[*shim.Engine]{
		{"name", "", func(e *shim.Engine, _ shim.UnitPair) string { return textValue(e.Name) }},
		{"units", "of clearances, and of shims unless shim_units says another", func(_ *shim.Engine, u shim.UnitPair) string { return textValue(u.Clearance.String()) }},
		{"shim_units", "of sizes and diameters of shims", func(_ *shim.Engine, u shim.UnitPair) string {
			if !u.Mixed() {
				return ""
			}
			return textValue(u.Size.String())
		}},
		{"cylinders", "", func(e *shim.Engine, _ shim.UnitPair) string { return strconv.Itoa(e.Cylinders) }},
		{"banks", "the cylinders of each bank, from the cam-drive end", func(e *shim.Engine, _ shim.UnitPair) string {
			return listValue(e.Banks, func(bank []int) string { return listValue(bank, strconv.Itoa) })
		}},
		{"firing_order", fromManual, func(e *shim.Engine, _ shim.UnitPair) string { return listValue(e.FiringOrder, strconv.Itoa) }},
		{"firing_intervals", "degrees of the crank to the next firing", func(e *shim.Engine, _ shim.UnitPair) string { return listValue(e.FiringIntervals, degreesValue) }},
		{"access", `"camshaft": shims under the bucket; "valve": on top`, func(e *shim.Engine, _ shim.UnitPair) string { return textValue(e.Access.String()) }},
		{"depress_offset", "degrees from the firing TDC before a tappet is pressed", func(e *shim.Engine, _ shim.UnitPair) string {
			if e.DepressOffset == 0 {
				return ""
			}
			return degreesValue(e.DepressOffset)
		}},
		{"camshafts", `"per-side", or "shared" by intake and exhaust`, func(e *shim.Engine, _ shim.UnitPair) string {
			if e.SharedCams {
				return textValue("shared")
			}
			return textValue("per-side")
		}},
		{"intake_side", "in drawings, the cam-drive end at the top", func(e *shim.Engine, _ shim.UnitPair) string { return textValue(e.IntakeSide.String()) }},
		{"readings", "what two readings of a valve come to", func(e *shim.Engine, _ shim.UnitPair) string {
			if e.Readings == shim.Mean {
				return ""
			}
			return textValue(e.Readings.String())
		}},
		{"interval", "the maker's, from one check to the next", func(e *shim.Engine, _ shim.UnitPair) string {
			if e.Interval == (shim.Meter{}) {
				return ""
			}
			return textValue(e.Interval.String())
		}},
		{"state", "of the engine when it is measured, for the limits below", func(e *shim.Engine, _ shim.UnitPair) string { return textValue(e.State.String()) }},
	}
	beforeLines = []keyLine[*shim.Before]{
		{"lines", fromManual, func(b *shim.Before, _ shim.UnitPair) string { return listValue(b.Lines, textValue) }},
		{"turns", "of the crank, to seat the parts", func(b *shim.Before, _ shim.UnitPair) string {
			if b.Turns == 0 {
				return ""
			}
			return strconv.Itoa(b.Turns)
		}},
		{"temperature", "degrees Celsius to measure at", func(b *shim.Before, _ shim.UnitPair) string {
			if b.Temperature == nil {
				return ""
			}
			return listValue([]shim.Temperature{b.Temperature.From, b.Temperature.To}, shim.Temperature.Celsius)
		}},
		{"corrections", "the maker's table: degrees Celsius, how much larger the clearance is", func(b *shim.Before, u shim.UnitPair) string {
			return listValue(b.Corrections, func(c shim.Correction) string { return "[" + c.At.Celsius() + ", " + exact(c.By, u.Clearance) + "]" })
		}},
	}
	trainLines = []keyLine[shim.Train]{
		{"valves", "per cylinder", func(t shim.Train, _ shim.UnitPair) string { return strconv.Itoa(t.Valves) }},
		{"clearance", limitsComment, func(t shim.Train, u shim.UnitPair) string { return limitsValue(t.Limits, u.Clearance) }},
		{"aim", aimComment, func(t shim.Train, _ shim.UnitPair) string { return t.AimAt.String() }},
		{"ratio", "clearance that a shim takes for its thickness", func(t shim.Train, _ shim.UnitPair) string { return ratioValue(t.Ratio) }},
		{"rocker_ratio", "valve lift over cam lift, " + fromManual, func(t shim.Train, _ shim.UnitPair) string {
			if t.Ratio.Over == 0 {
				return ""
			}
			return t.Ratio.Over.String()
		}},
		{"measured_at", "where the feeler gauge goes", func(t shim.Train, _ shim.UnitPair) string {
			if t.Ratio.Over == 0 {
				return ""
			}
			return textValue("cam")
		}},
		{"timing", "opens before, closes after its dead centre, degrees", func(t shim.Train, _ shim.UnitPair) string {
			if t.Timing == nil {
				return ""
			}
			return listValue([]float64{t.Timing.Opens, t.Timing.Closes}, degreesValue)
		}},
		{"allowance", allowanceComment, func(t shim.Train, u shim.UnitPair) string { return allowanceValue(t.Allowance, u.Clearance) }},
		{"allowance_doubt", doubtComment, func(t shim.Train, u shim.UnitPair) string { return exactUnlessZero(t.Allowance.Doubt, u.Clearance) }},
		{"stem_grind_max", "the most to take off a stem tip, 0 for none, " + fromManual, func(t shim.Train, u shim.UnitPair) string {
			if t.StemGrindMax == nil {
				return ""
			}
			return exact(*t.StemGrindMax, u.Size)
		}},
		{"shim_proud_min", "the least a shim stands above its spring cup", func(t shim.Train, u shim.UnitPair) string { return exactUnlessZero(t.ShimProudMin, u.Size) }},
	}
	limitsLines = []keyLine[shim.Limits]{
		{"clearance", limitsComment, func(l shim.Limits, u shim.UnitPair) string { return limitsValue(l, u.Clearance) }},
	}
	closerLines = []keyLine[*shim.Closer]{
		{"clearance", limitsComment, func(c *shim.Closer, u shim.UnitPair) string { return limitsValue(c.Limits, u.Clearance) }},
		{"aim", aimComment, func(c *shim.Closer, _ shim.UnitPair) string { return c.AimAt.String() }},
		{"ratio", "clearance that a shim takes for its thickness", func(c *shim.Closer, _ shim.UnitPair) string { return ratioValue(c.Ratio) }},
		{"allowance", allowanceComment, func(c *shim.Closer, u shim.UnitPair) string { return allowanceValue(c.Allowance, u.Clearance) }},
		{"allowance_doubt", doubtComment, func(c *shim.Closer, u shim.UnitPair) string { return exactUnlessZero(c.Allowance.Doubt, u.Clearance) }},
	}
	shimsLines = []keyLine[shimsTable]{
		{"diameter", "shims of one diameter interchange", func(s shimsTable, u shim.UnitPair) string { return exact(s.Diameter, u.Size) }},
		{"family", "only shims of one family interchange", func(s shimsTable, _ shim.UnitPair) string {
			if s.Kind == s.usual {
				return ""
			}
			return textValue(s.Kind)
		}},
		{"marks", "what the number on a shim means, " + fromManual, func(s shimsTable, u shim.UnitPair) string {
			rules := rulesOf(s.marks, u.Size)
			if len(rules) == 1 {
				return textValue(rules[0])
			}
			return listValue(rules, textValue)
		}},
	}
	rangeLines = []keyLine[shim.Range]{
		{"from", "", func(r shim.Range, u shim.UnitPair) string { return exact(r.From, u.Size) }},
		{"to", "", func(r shim.Range, u shim.UnitPair) string { return exact(r.To, u.Size) }},
		{"step", "", func(r shim.Range, u shim.UnitPair) string { return exact(r.Step, u.Size) }},
		{"price", "a piece", func(r shim.Range, _ shim.UnitPair) string {
			if !r.Priced {
				return ""
			}
			return r.Price.String()
		}},
	}
	gaugeLines = []keyLine[*shim.Gauge]{
		{"step", "from one leaf of the set to the next", func(g *shim.Gauge, u shim.UnitPair) string { return exact(g.Step, u.Clearance) }},
		{"leaf", "a leaf may be this far from its mark, plus or minus", func(g *shim.Gauge, u shim.UnitPair) string { return exact(g.Leaf, u.Clearance) }},
		{"stamp", "a shim may be this far from its mark", func(g *shim.Gauge, u shim.UnitPair) string {
			if g.Used != 0 {
				return "" // nobody stated it
			}
			return exact(g.Stamp, u.Size)
		}},
		{"mic", "error limit of the micrometer", func(g *shim.Gauge, u shim.UnitPair) string { return exact(g.Mic, u.Size) }},
	}
)

// A shimsTable is a family of shims, and what it is called where its table does
// not say.
type shimsTable struct {
	shim.Family
	usual string
	marks shim.MarkList
}

const (
	aimComment       = "0 the tight limit, 1 the loose"
	allowanceComment = "added to what is measured in a fresh build"
	doubtComment     = "how far off the allowance may be"
)

// allowanceValue is nothing where there is no allowance; a doubt needs one.
func allowanceValue(a shim.Allowance, u shim.Unit) string {
	if a == (shim.Allowance{}) {
		return ""
	}
	return exact(a.By, u)
}

func exactUnlessZero(l shim.Length, u shim.Unit) string {
	if l == 0 {
		return ""
	}
	return exact(l, u)
}

// WriteEngine writes a sound engine in the form that [ReadEngine] reads, with a
// comment beside each key. What is read again is the same engine.
func WriteEngine(w io.Writer, e *shim.Engine) error {
	var b bytes.Buffer
	b.WriteString("# The maker's service manual has the last word: note where each figure stands.\n")
	u := e.Units
	writeLines(&b, engineLines, e, u)
	if e.Before != nil {
		writeHeader(&b, "[before]")
		writeLines(&b, beforeLines, e.Before, u)
	}
	for _, side := range shim.Sides {
		t, name := e.Train(side), side.String()
		if reflect.DeepEqual(t, shim.Train{}) {
			continue
		}
		writeHeader(&b, "["+name+"]")
		writeLines(&b, trainLines, t, u)
		if l := t.OtherLimits; l != nil {
			writeHeader(&b, "["+name+"."+e.State.Other().String()+"]")
			writeLines(&b, limitsLines, *l, u)
		}
		if c := t.Closer; c != nil {
			writeHeader(&b, "["+name+".closer]")
			writeLines(&b, closerLines, c, u)
			if !takesIntake(e, side) {
				writeShims(&b, name+".closer.shims", shimsTable{c.Family, shim.CloserKind, c.Marks}, c.Catalogue, u)
			}
		}
	}
	writeShims(&b, "shims", shimsTable{shim.Family{Kind: e.Kind, Diameter: e.Diameter}, "", e.Marks}, e.Catalogue, u)
	if e.Gauge != nil {
		writeHeader(&b, "[gauge]")
		writeLines(&b, gaugeLines, e.Gauge, u)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// takesIntake reports whether the side's closers are those of the exhaust and
// take the shims of the intake closers, which the file need not repeat.
func takesIntake(e *shim.Engine, side shim.Side) bool {
	in, ex := e.Intake.Closer, e.Exhaust.Closer
	return side == shim.Exhaust && in != nil && ex != nil && in.Diameter != 0 && in.Family == ex.Family && reflect.DeepEqual(in.Catalogue, ex.Catalogue) && reflect.DeepEqual(in.Marks, ex.Marks)
}

// writeShims writes a table of shims and its ranges.
func writeShims(b *bytes.Buffer, name string, s shimsTable, catalogue []shim.Range, u shim.UnitPair) {
	writeHeader(b, "["+name+"]")
	writeLines(b, shimsLines, s, u)
	if len(s.marks) > 0 && rulesOf(s.marks, u.Size) == nil {
		writeHeader(b, "["+name+".marks]")
		writeMarks(b, s.marks, u.Size)
	}
	for _, r := range catalogue {
		writeHeader(b, "[["+name+".catalogue]]")
		writeLines(b, rangeLines, r, u)
	}
}

func writeHeader(b *bytes.Buffer, header string) { fmt.Fprintf(b, "\n%s\n", header) }

// writeLines writes the keys that the table has, their comments in one column.
func writeLines[T any](b *bytes.Buffer, list []keyLine[T], of T, u shim.UnitPair) {
	const column, widest = 34, 100
	for _, l := range list {
		value := l.value(of, u)
		if value == "" {
			continue
		}
		text := l.key + " = " + value
		if beside := fmt.Sprintf("%-*s # %s", column, text, l.comment); l.comment != "" && len(beside) <= widest {
			text = beside
		} else if l.comment != "" {
			text = "# " + l.comment + "\n" + text
		}
		b.WriteString(text + "\n")
	}
}

// textValue is a text of one line as TOML has it.
func textValue(text string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(text) + `"`
}

// listValue is a list, empty for one that has nothing in it.
func listValue[T any](list []T, value func(T) string) string {
	if len(list) == 0 {
		return ""
	}
	texts := make([]string, len(list))
	for i, of := range list {
		texts[i] = value(of)
	}
	return "[" + strings.Join(texts, ", ") + "]"
}

func degreesValue(degrees float64) string { return strconv.FormatFloat(degrees, 'f', -1, 64) }

func limitsValue(l shim.Limits, u shim.Unit) string {
	if l == (shim.Limits{}) {
		return "" // of a side without valves
	}
	return "[" + exact(l.Tight, u) + ", " + exact(l.Loose, u) + "]"
}

// ratioValue is a ratio that is given by itself and is not 1.
func ratioValue(r shim.Ratio) string {
	if r.Over != 0 || r.Times == shim.One {
		return ""
	}
	return r.Times.String()
}
