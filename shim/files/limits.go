package files

import (
	"fmt"
	"strings"

	"shimwright/shim"
)

// units reads the two units of a file: that of clearances and that of shims, which
// is the same one where it is not stated.
func (d *document) units(units, shims *string) shim.UnitPair {
	u, _ := shim.ParseUnit(d.word("units", units, "mm", "in")) // one of the words
	pair := u.Both()
	if shims != nil {
		pair.Size, _ = shim.ParseUnit(d.word("shim_units", shims, "mm", "in"))
	}
	return pair
}

// A limitsForm is the limits as one key has them.
type limitsForm struct {
	key  string
	unit shim.Unit
	text []text
	read shim.Limits
}

// printed is one of the limits as the file has it.
func (f limitsForm) printed(i int) shim.Printed {
	return shim.Printed{Text: strings.ReplaceAll(string(f.text[i]), "_", ""), Unit: f.unit}
}

// given reports whether there are limits in any form.
func (t *limitsText) given() bool {
	return t.Clearance != nil || t.ClearanceMM != nil || t.ClearanceIN != nil
}

// limits reads the tight and the loose limit of a table. Where they are there in
// several forms, the first counts, in the file's unit if it has one, and the others
// have to be the same but for rounding.
func (d *document) limits(table string, t *limitsText, u shim.Unit) shim.Limits {
	key := table + ".clearance"
	mm, in := limitsForm{key: key + "_mm", unit: shim.MM, text: t.ClearanceMM}, limitsForm{key: key + "_in", unit: shim.IN, text: t.ClearanceIN}
	forms := []limitsForm{{key: key, unit: u, text: t.Clearance}, mm, in}
	if u == shim.IN {
		forms[1], forms[2] = in, mm
	}
	var read []limitsForm
	for _, f := range forms {
		_, name := split(f.key)
		pair := lengthsIn(f.unit).pair(d, f.key, f.text, fmt.Sprintf("two limits are needed, this is a list of %d", len(f.text)),
			"write the tight and the loose limit, like "+name+" = ["+f.unit.Example("0.14, 0.21", "0.006, 0.008")+"]")
		if d.faulty[f.key] {
			d.faulty[key] = true // limits that cannot be read are not called impossible as well
		}
		if pair == nil || d.faulty[f.key] {
			continue
		}
		f.read = shim.Limits{Tight: pair[0], Loose: pair[1]}
		if len(read) > 0 {
			d.same(read[0], f)
		}
		read = append(read, f)
	}
	if len(read) == 0 {
		return shim.Limits{}
	}
	return read[0].read
}

// same reports limits that the file has in two forms and that are not the same.
func (d *document) same(a, b limitsForm) {
	for i, is := range []string{"tight", "loose"} {
		one, other := a.printed(i), b.printed(i)
		right, slip, differ := one.Slip(other)
		if !differ {
			continue
		}
		_, first := split(a.key)
		_, second := split(b.key)
		message := fmt.Sprintf("%s and %s name two %s limits: %s %s is %s %s, not %s", first, second, is, one.Text, one.Unit, right, other.Unit, other.Text)
		if one.Unit == other.Unit {
			message = fmt.Sprintf("%s and %s name two %s limits: %s and %s %s", first, second, is, one.Text, other.Text, one.Unit)
		}
		d.wrong(b.key, message, strings.TrimPrefix(slip+"; ", "; ")+"see which one the engine is meant to have, and leave the other out")
		d.faulty[a.key] = true // what follows from it is not reported as well
		return
	}
}
