package files

import (
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"shimwright/shim"
)

// The functions of this file read one key of an engine as one type. What is
// wrong or missing is reported at its place.

// wrong reports what is wrong with a key's value.
func (d *document) wrong(key, message, hint string) { d.add(d.place(key), key, message, hint) }

// value is the key's value, nil where there is none.
func (d *document) value(key string, required bool) *value {
	v, found := d.keys[key]
	if found {
		return v
	}
	if required && !d.faulty[key] && !d.within(key) {
		_, last := split(key)
		d.wrong(key, "the key is missing", "write "+last+" = and its value")
	}
	return nil
}

// text is a text, empty where it is missing.
func (d *document) text(key string, required bool) string {
	v := d.value(key, required)
	if v == nil {
		return ""
	}
	if v.kind != unstable.String {
		d.wrong(key, "a text is needed, this is "+v.describe(), "put it in quotation marks")
		return ""
	}
	return oneLine(v.text)
}

// word is one of the given words, the first where the key is missing.
func (d *document) word(key string, words ...string) string {
	v := d.value(key, false)
	if v == nil {
		return words[0]
	}
	word := strings.ToLower(strings.TrimSpace(v.text))
	if v.kind == unstable.String && slices.Contains(words, word) {
		return word
	}
	d.wrong(key, "this is "+v.describe(), hints(didYouMean(word, words), `write "`+strings.Join(words, `" or "`)+`"`))
	return words[0]
}

// figure is the text of a number, false where the value is none.
func (d *document) figure(key string, v *value) (string, bool) {
	switch v.kind {
	case unstable.Integer, unstable.Float:
		return strings.ReplaceAll(v.text, "_", ""), true
	case unstable.String:
		return v.text, true
	}
	d.add(v.spot, key, "a number is needed, this is "+v.describe(), "")
	return "", false
}

// whole is a whole number, 0 where it is missing.
func (d *document) whole(key string, required bool) int {
	v := d.value(key, required)
	if v == nil {
		return 0
	}
	return d.wholeOf(key, v)
}

func (d *document) wholeOf(key string, v *value) int {
	text, ok := d.figure(key, v)
	if !ok {
		return 0
	}
	n, err := strconv.ParseInt(strings.TrimSpace(text), 10, 32)
	if err != nil {
		d.add(v.spot, key, quoted(text)+" is not a whole number", "write a whole number, like 4")
		return 0
	}
	return int(n)
}

// list are the items of a list, nil where it is missing.
func (d *document) list(key string, required bool) []value {
	v := d.value(key, required)
	if v == nil {
		return nil
	}
	if v.kind != unstable.Array {
		d.wrong(key, "a list is needed, this is "+v.describe(), "put it in brackets, with commas between")
		return nil
	}
	return v.items
}

// wholes is a list of whole numbers.
func (d *document) wholes(key string) []int {
	var list []int
	for _, v := range d.list(key, false) {
		list = append(list, d.wholeOf(key, &v))
	}
	return list
}

// banks is the list of lists of cylinders.
func (d *document) banks() [][]int {
	const key = "banks"
	var banks [][]int
	for _, v := range d.list(key, false) {
		if v.kind != unstable.Array {
			d.add(v.spot, key, "a list is needed for each bank, this is "+v.describe(), "list the cylinders of each bank, like banks = [[1, 2, 3], [4, 5, 6]]")
			continue
		}
		bank := []int{}
		for _, cylinder := range v.items {
			bank = append(bank, d.wholeOf(key, &cylinder))
		}
		if len(bank) == 0 {
			d.add(v.spot, key, "a bank is empty", "list the cylinders of each bank, like banks = [[1, 2, 3], [4, 5, 6]]")
		}
		banks = append(banks, bank)
	}
	return banks
}

// degrees is a list of angles of the crank. They are the only floats of a file.
func (d *document) degrees(key string) []float64 {
	var list []float64
	for _, v := range d.list(key, false) {
		text, ok := d.figure(key, &v)
		if !ok {
			continue
		}
		n, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
		if err != nil || n != n || n > 720 || n < -720 {
			d.add(v.spot, key, quoted(text)+" is not a number of degrees", "write degrees of the crank, -720 to 720")
		}
		list = append(list, n)
	}
	return list
}

// length is a length in the unit, 0 where it is missing.
func (d *document) length(key string, u shim.Unit, required bool) shim.Length {
	v := d.value(key, required)
	if v == nil {
		return 0
	}
	return d.lengthOf(key, v, u)
}

func (d *document) lengthOf(key string, v *value, u shim.Unit) shim.Length {
	text, ok := d.figure(key, v)
	if !ok {
		return 0
	}
	l, err := u.Parse(text)
	if err != nil {
		d.add(v.spot, key, numberFault(text, err), "write a length in "+u.String()+" without its unit, like "+u.Format(2450*shim.Micrometre))
	}
	return l
}

// lengths is a pair of lengths, nil where it is none.
func (d *document) lengths(key string, u shim.Unit, required bool) []shim.Length {
	items := d.list(key, required)
	if items == nil && (d.keys[key] == nil || d.faulty[key]) {
		return nil
	}
	if len(items) != 2 {
		d.wrong(key, "two limits are needed, this is a list of "+strconv.Itoa(len(items)), "write the tight and the loose limit, like clearance = [0.14, 0.21]")
		return nil
	}
	return []shim.Length{d.lengthOf(key, &items[0], u), d.lengthOf(key, &items[1], u)}
}

// factor is an exact decimal, the given one where it is missing or wrong.
func (d *document) factor(key string, missing shim.Factor) shim.Factor {
	v := d.value(key, false)
	if v == nil {
		return missing
	}
	text, ok := d.figure(key, v)
	if !ok {
		return missing
	}
	f, err := shim.ParseFactor(text)
	if err != nil {
		d.add(v.spot, key, numberFault(text, err), "write a decimal number of at most six decimals, like 0.5")
		return missing
	}
	return f
}

// price is an exact price, false where it is missing.
func (d *document) price(key string) (shim.Price, bool) {
	v := d.value(key, false)
	if v == nil {
		return 0, false
	}
	text, ok := d.figure(key, v)
	if !ok {
		return 0, false
	}
	p, err := shim.ParsePrice(text)
	if err != nil {
		d.add(v.spot, key, numberFault(text, err), "write the price of one piece without its currency, like 7.80")
		return 0, false
	}
	return p, true
}
