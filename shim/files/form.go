package files

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"shimwright/shim"
)

// A Form says how to read a spreadsheet of any form: what its columns are called,
// and how it writes figures. The zero Form is a spreadsheet with our names.
type Form struct {
	// Columns says which column of ours each of the spreadsheet's is. Columns that it
	// does not name count under our own names; others are left out.
	Columns []Named `json:",omitempty"`
	// Words says what a cell means that reads so: "gebraucht" yes.
	Words []Named `json:",omitempty"`
	// Delimiter stands between cells; empty is the one that the header uses most.
	Delimiter string `json:",omitempty"`
	// Decimal is "comma" or "point"; empty is as each cell has it.
	Decimal string    `json:",omitempty"`
	Units   shim.Unit `json:",omitzero"` // of lengths that do not state theirs
}

// A Named is what the spreadsheet calls something, and what it is here.
type Named struct{ There, Here string }

// MostForm bounds the columns and the words that a form names.
const MostForm = 100

// mostSheet bounds a spreadsheet, which is read as a whole.
const mostSheet = 16 // MB

// The columns that a spreadsheet of shims in the box has: a box's, and what a piece
// cost.
const boxPrice = boxMark + 1

var sheetColumns = append(slices.Clip(boxColumns), column{"price", false, false})

// ParseNamed reads Dicke=size, what is there and what is here.
func ParseNamed(text string) (Named, error) {
	at := strings.LastIndexByte(text, '=')
	if at < 0 {
		return Named{}, shim.Fail(nil, "write it like Dicke=size, the spreadsheet's name first", "%q names nothing", text)
	}
	n := Named{strings.TrimSpace(text[:at]), strings.TrimSpace(text[at+1:])}
	if n.There == "" || len(text) > 200 {
		return n, shim.Fail(nil, "write it like Dicke=size, the spreadsheet's name first", "%q names nothing", text)
	}
	if err := shim.ImplausibleText(text); err != nil {
		return n, err
	}
	return n, nil
}

// delimiters are the names of what may stand between cells.
var delimiters = map[string]string{"": "", "comma": ",", ",": ",", "semicolon": ";", ";": ";", "tab": "\t", "\t": "\t", "bar": "|", "|": "|"}

// ParseDelimiter reads what stands between cells: by name, or itself.
func ParseDelimiter(text string) (string, error) {
	if d, known := delimiters[strings.ToLower(text)]; known {
		return d, nil
	}
	return "", shim.Fail(nil, "comma, semicolon, tab or bar", "%q cannot stand between cells", text)
}

// OfBox checks the form of a spreadsheet of shims in the box, OfPrices one of a price list.
func (f Form) OfBox() error    { return f.check(sheetColumns) }
func (f Form) OfPrices() error { return f.check(catalogueColumns) }

func (f Form) check(columns []column) error {
	if len(f.Columns) > MostForm || len(f.Words) > MostForm {
		return shim.Fail(nil, "", "more than %d columns or words are named", MostForm)
	}
	names := make([]string, len(columns))
	for i, c := range columns {
		names[i] = c.name
	}
	seen := map[string]string{}
	for _, n := range f.Columns {
		here := plainName(n.Here)
		at := slices.IndexFunc(columns, func(c column) bool { _, is := c.called(here); return is })
		if at < 0 {
			return shim.Fail(nil, hints(didYouMean(here, names), "the columns are "+strings.Join(names, ", ")), "%s=%s: there is no column %q", n.There, n.Here, n.Here)
		}
		for key, what := range map[string]string{"here " + columns[at].name: columns[at].name, "there " + plainName(n.There): quoted(n.There)} {
			if _, twice := seen[key]; twice {
				return shim.Fail(nil, "leave one of them out", "%s is named twice", what)
			}
			seen[key] = what
		}
	}
	return nil
}

// plainName is what names in headers are compared by.
func plainName(text string) string {
	return strings.Join(strings.Fields(strings.ToLower(text)), "")
}

// text makes UTF-8 of a spreadsheet's bytes: what is none is Latin-1, with the signs
// that Windows puts in its gaps.
func (f *Form) text(raw []byte) []byte {
	if utf8.Valid(raw) || bytes.HasPrefix(raw, []byte("\xff\xfe")) || bytes.HasPrefix(raw, []byte("\xfe\xff")) {
		return raw
	}
	out := make([]byte, 0, len(raw)+len(raw)/8)
	for _, c := range unmark(raw) {
		r := rune(c)
		if c >= 0x80 && c < 0xa0 {
			r = windows1252[c-0x80]
		}
		out = utf8.AppendRune(out, r)
	}
	return out
}

// windows1252 are the signs from 0x80 to 0x9f (the WHATWG Encoding Standard, index
// windows-1252).
var windows1252 = [32]rune{
	0x20ac, 0x81, 0x201a, 0x192, 0x201e, 0x2026, 0x2020, 0x2021, 0x2c6, 0x2030, 0x160, 0x2039, 0x152, 0x8d, 0x17d, 0x8f,
	0x90, 0x2018, 0x2019, 0x201c, 0x201d, 0x2022, 0x2013, 0x2014, 0x2dc, 0x2122, 0x161, 0x203a, 0x153, 0x9d, 0x17e, 0x178,
}

// needs are the columns that the header has to have: those that the form names, and
// those of ours without which there is no shim.
func (f *Form) needs(columns []column) (list []column) {
	named, told := map[string]bool{}, false
	for _, n := range f.Columns {
		list = append(list, column{name: plainName(n.There)})
		for _, c := range columns {
			if _, is := c.called(plainName(n.Here)); is {
				named[c.name] = true
				told = told || c.name == "mark" || c.name == "mic" // which tell the size
			}
		}
	}
	for i, c := range columns {
		if c.required && !named[c.name] && (i > 0 || !told) {
			list = append(list, c)
		}
	}
	return list
}

// header finds the line with the names of the columns: the first that has all that
// are needed, else the first of all.
func (f *Form) header(start []byte, columns []column) []byte {
	needs := f.needs(columns)
	for line := range bytes.Lines(start) {
		plain := plainName(string(line))
		if !slices.ContainsFunc(needs, func(c column) bool { return !strings.Contains(plain, c.name) }) {
			return bytes.TrimRight(line, "\r\n")
		}
	}
	return headerLine(start)
}

// mostAbove is how many rows may stand above the header.
const mostAbove = 100

// readSheetHeader finds the header of a spreadsheet, below a title where it has one,
// and out of which of its columns each of ours comes.
func (t *table) readSheetHeader() {
	needs := t.form.needs(t.columns)
	var first []string
	firstLine := 0
	for range mostAbove {
		if !t.read() {
			break
		}
		var names []string
		for _, cell := range t.record {
			names = append(names, plainName(cell))
		}
		if first == nil {
			first = slices.Clone(t.record)
			firstLine, _ = t.pos(0)
		}
		if !slices.ContainsFunc(needs, func(c column) bool {
			return !slices.ContainsFunc(names, func(name string) bool { _, is := c.called(name); return is })
		}) {
			t.placeColumns(names)
			return
		}
	}
	switch {
	case len(t.faults) > 0:
	case first == nil:
		t.add(0, 0, "", "the file is empty", "is it the right file?")
	default:
		var there []string
		for _, c := range needs {
			name := c.name
			for _, n := range t.form.Columns {
				if plainName(n.There) == c.name {
					name = n.There
				}
			}
			there = append(there, quoted(name))
		}
		t.add(firstLine, 0, "", "no row has the columns "+strings.Join(there, ", "), "the first row reads: "+quoted(strings.Join(first, " "+string(t.csv.Comma)+" "))+"; name its columns with --map")
	}
}

// placeColumns finds the columns in the header, whose plain names are given.
func (t *table) placeColumns(names []string) {
	t.width = len(names)
	t.headline, _ = t.pos(0)
	t.place, t.units = make([]int, len(t.columns)), make([]*shim.Unit, len(t.columns))
	for c := range t.columns {
		t.place[c] = -1
		column := t.columns[c]
		take := func(there, here string) {
			unit, is := column.called(here)
			if !is {
				return
			}
			for i, name := range names {
				if name != there {
					continue
				}
				if t.place[c] >= 0 {
					line, col := t.pos(i)
					t.add(line, col, "", fmt.Sprintf("two columns are %s", column.name), "give one of them another name in the spreadsheet")
					continue
				}
				t.place[c], t.units[c] = i, unit
			}
		}
		for _, n := range t.form.Columns {
			take(plainName(n.There), plainName(n.Here))
		}
		if t.place[c] >= 0 {
			continue
		}
		for _, name := range slices.Compact(slices.Sorted(slices.Values(names))) {
			if !slices.ContainsFunc(t.form.Columns, func(n Named) bool { return plainName(n.There) == name }) {
				take(name, name)
			}
		}
	}
}

// otherSize reports whether a shim's size is told by a mark or a micrometer.
func (t *table) otherSize() bool {
	return slices.ContainsFunc(t.columns, func(c column) bool {
		at := slices.Index(t.columns, c)
		return (c.name == "mark" || c.name == "mic") && t.place[at] >= 0
	})
}

// said is the cell as the form's words have it.
func (f *Form) said(cell string) string {
	for _, n := range f.Words {
		if strings.EqualFold(n.There, cell) {
			return n.Here
		}
	}
	return cell
}

// currencies are what may stand around a price, beside the currency signs.
var currencies = []string{"EUR", "USD", "GBP", "CHF", "JPY", "AUD", "CAD", "NZD", "SEK", "NOK", "DKK", "PLN", "CZK", "Fr.", "kr"}

// money is a price without its currency.
func (f *Form) money(cell string) string {
	bare := func(text string) string {
		return strings.TrimFunc(text, func(r rune) bool { return unicode.IsSpace(r) || unicode.Is(unicode.Sc, r) })
	}
	cell = bare(cell)
	for _, c := range currencies {
		for _, at := range []int{0, len(cell) - len(c)} {
			if at >= 0 && len(cell) > len(c) && strings.EqualFold(cell[at:at+len(c)], c) {
				return bare(cell[:at] + cell[at+len(c):])
			}
		}
	}
	return cell
}

// eitherWay reports whether a figure can be read with its sign as a decimal one and
// as one that groups thousands: 1.234 is both.
func (f *Form) eitherWay(cell string) bool {
	return f.Decimal == "" && grouped().MatchString(cell)
}

var grouped = pattern(`^[1-9][0-9]{0,2}[.,][0-9]{3}$`)

// figure is a number with a decimal point and nothing that groups its digits. One
// that is grouped otherwise than by threes stays as it is, and is no number.
func (f *Form) figure(cell string) string {
	plain := strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || r == '\'' || r == '’' {
			return -1
		}
		return r
	}, strings.TrimLeft(cell, "Øø⌀ "))
	point, comma := strings.LastIndexByte(plain, '.'), strings.LastIndexByte(plain, ',')
	decimal, group := ".", ","
	switch {
	case f.Decimal == "comma", f.Decimal == "" && comma > point && strings.Count(plain, ",") == 1, f.Decimal == "" && strings.Count(plain, ".") > 1:
		decimal, group = ",", "."
	}
	if f.Decimal == "" && point < 0 && strings.Count(plain, ",") > 1 {
		decimal, group = ".", ","
	}
	if strings.Contains(plain, group) {
		whole, _, _ := strings.Cut(plain, decimal)
		if strings.Count(plain, group) != strings.Count(whole, group) || !thousands().MatchString(strings.ReplaceAll(whole, group, "'")) {
			return cell
		}
		plain = strings.ReplaceAll(plain, group, "")
	}
	return strings.Replace(plain, decimal, ".", 1)
}

var thousands = pattern(`^[-+]?[0-9]{1,3}('[0-9]{3})+$`)
