package files

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"shimwright/shim"
)

// A column is one that a form may have.
type column struct {
	name     string
	required bool
	length   bool // whether its name may end in a unit: size_mm, clearance_in
}

// unitEndings are what the name of a column of lengths may end in.
var unitEndings = []struct {
	text string
	unit shim.Unit
}{{"_mm", shim.MM}, {"_in", shim.IN}}

// called reports whether the name in a header is the column's, and which unit it states.
func (c column) called(name string) (stated *shim.Unit, is bool) {
	if name == c.name {
		return nil, true
	}
	for _, e := range unitEndings {
		if c.length && name == c.name+e.text {
			return &e.unit, true
		}
	}
	return nil, false
}

// A table reads a CSV form row by row. It meets the habits of spreadsheets and
// collects faults and warnings with their places.
type table struct {
	file      string
	columns   []column
	form      *Form // of a spreadsheet that is not ours, else nil
	csv       *csv.Reader
	place     []int        // of each column in a record, -1 where the file lacks it
	units     []*shim.Unit // that columns state by their names; nil for those that do not
	typed     bool         // whether a cell may state its unit
	width     int          // cells of the header
	headline  int          // the header's line
	nameless  []int        // cells of the header without a name
	record    []string
	ragged    bool // the record has too few or too many cells
	rows      int
	broken    bool // some of the text could not be read as rows
	encoded   bool // a cell that is not UTF-8 was reported
	commas    bool // decimal commas are read
	exchanged bool // cells in each other's columns were reported
	faults    Faults
	warnings  Faults
	lengths   [2]map[string]shim.Length // by unit: cells that were read before
}

// newTable reads up to the header. The faults say whether rows can be read.
func newTable(file string, r io.Reader, columns []column) *table {
	return newSheet(file, r, columns, nil)
}

// newSheet is newTable for a spreadsheet of any form; nil is ours.
func newSheet(file string, r io.Reader, columns []column, form *Form) *table {
	t := &table{file: file, columns: columns, form: form, typed: form != nil}
	for u := range t.lengths {
		t.lengths[u] = map[string]shim.Length{}
	}
	r = Bound(file, r, mostMB)
	if form != nil {
		raw, err := io.ReadAll(Bound(file, r, mostSheet))
		if err != nil {
			t.unreadable(err)
			return t
		}
		r = bytes.NewReader(form.text(raw))
	}
	text, start, err := open(r)
	if err != nil {
		t.unreadable(err)
		return t
	}
	if message, hint := foreign(start); message != "" {
		t.add(0, 0, "", message, hint)
		return t
	}
	g := &guard{r: text, file: file, lone: loneReturns(start)}
	if g.lone {
		start = []byte(strings.ReplaceAll(string(start), "\r", "\n"))
	}
	header := headerLine(start)
	if form != nil {
		header = form.header(start, columns)
	}
	separator := separatorOf(header)
	if named, ok := strings.CutPrefix(strings.ToLower(string(header)), "sep="); ok && len(named) == 1 && strings.Contains(",;\t|", named) {
		separator = rune(named[0])
	}
	if !utf8.Valid(header) && len(header) < longestLine || strings.ContainsFunc(string(header), isGarbage) {
		t.add(0, 0, "", "this is not text in UTF-8", saveAsCSV)
		return t
	}
	if form != nil && form.Delimiter != "" {
		separator = rune(form.Delimiter[0])
	}
	if tomlLine().Match(header) {
		t.add(0, 0, "", "this is an engine (TOML), by its first line, not a table (CSV)", "look at the order of the file names, and which flag each stands behind; needed here: "+t.example())
		return t
	}
	t.commas = separator != ','
	t.csv = csv.NewReader(g)
	t.csv.Comma, t.csv.Comment = separator, '#'
	t.csv.FieldsPerRecord, t.csv.ReuseRecord = -1, true
	t.csv.TrimLeadingSpace = separator != '\t'
	if form != nil {
		t.csv.Comment = 0 // a heading may begin with one
		t.readSheetHeader()
		return t
	}
	t.readHeader()
	return t
}

// tomlLine is what a TOML file begins with: a key with its value, or a table's name.
var tomlLine = pattern(`^\s*(\[+[\w. -]+\]+\s*(#.*)?$|[\w.-]+\s*=\s*(["'\[{\d]|true|false))`)

func isGarbage(c rune) bool { return c < ' ' && c != '\t' && c != '\r' }

// readHeader finds out where each column stands.
func (t *table) readHeader() {
	if !t.read() {
		if len(t.faults) == 0 {
			t.add(0, 0, "", "the file is empty", "begin it with the line "+t.example())
		}
		return
	}
	t.width = len(t.record)
	t.place = make([]int, len(t.columns))
	for c := range t.place {
		t.place[c] = -1
	}
	t.units = make([]*shim.Unit, len(t.columns))
	known := 0
	var unknown, doubled Faults
	for i, cell := range t.record {
		name := strings.Join(strings.Fields(strings.ToLower(cell)), "")
		if name == "" {
			t.nameless = append(t.nameless, i)
			continue
		}
		line, col := t.pos(i)
		var unit *shim.Unit
		c := slices.IndexFunc(t.columns, func(c column) (is bool) { unit, is = c.called(name); return is })
		switch {
		case c < 0:
			unknown = append(unknown, newFault(t.file, line, col, name,
				"unknown column "+quoted(strings.TrimSpace(cell)), hints(didYouMean(name, t.names()), "the columns are "+strings.Join(t.names(), ", "))))
		case t.place[c] >= 0:
			_, first := t.pos(t.place[c])
			message := fmt.Sprintf("duplicate column %s, first at column %d", name, first)
			if had := t.headed(c); had != name {
				message = fmt.Sprintf("%s and %s, at column %d, are one column in two forms", name, had, first)
			}
			doubled = append(doubled, newFault(t.file, line, col, name, message, "leave one of them out"))
		default:
			known++
			t.place[c], t.units[c] = i, unit
		}
	}
	line, col := t.pos(0)
	t.headline = line
	if form := t.another(); known == 0 && form == "" {
		t.add(line, col, "", "the first line is not a header of ours: "+quoted(strings.Join(t.record, string(t.csv.Comma))),
			hints("begin the file with the line "+t.example(), "the columns are "+strings.Join(t.names(), ", ")))
		return
	}
	if form := t.another(); form != "" {
		t.add(line, col, "", "this is "+form+", by its columns", "look at the order of the file names, and which flag each stands behind; needed here: "+t.example())
		t.place = nil
		return
	}
	t.faults = append(append(t.faults, unknown...), doubled...)
	for c, column := range t.columns {
		if column.required && t.place[c] < 0 {
			t.add(line, 0, column.name, "the column "+column.name+" is missing", "the header needs "+t.example())
		}
	}
}

// another names the form that the header is of, where it is not the one that
// is wanted.
func (t *table) another() string {
	fits := func(columns []column) bool {
		for _, c := range columns {
			if c.required && !slices.ContainsFunc(t.record, func(cell string) bool {
				_, is := c.called(strings.Join(strings.Fields(strings.ToLower(cell)), ""))
				return is
			}) {
				return false
			}
		}
		return true
	}
	if fits(t.columns) {
		return ""
	}
	for _, form := range []struct {
		name    string
		columns []column
	}{{"a check", checkColumns[:checkShim]}, {"a box", boxColumns}, {"a catalogue", catalogueColumns}} {
		if fits(form.columns) && form.columns[0].name+form.columns[1].name != t.columns[0].name+t.columns[1].name {
			return form.name
		}
	}
	return ""
}

// readable reports whether the header allows to read rows.
func (t *table) readable() bool {
	if t.place == nil {
		return false
	}
	for c, column := range t.columns {
		if t.place[c] < 0 && column.required && (t.form == nil || c > 0 || !t.otherSize()) {
			return false
		}
	}
	return slices.Max(t.place) >= 0
}

func (t *table) names() []string {
	names := make([]string, len(t.columns))
	for i, c := range t.columns {
		names[i] = c.name
	}
	return names
}

// example is the shortest header that will do.
func (t *table) example() string {
	var names []string
	for _, c := range t.columns {
		if c.required {
			names = append(names, c.name)
		}
	}
	return strings.Join(names, ",")
}

// read takes the next record that is more than empty cells, a comment, or a
// line that names the separator. It is false at the end.
func (t *table) read() bool {
	for {
		record, err := t.csv.Read()
		if err == io.EOF {
			return false
		}
		if err != nil {
			t.broken = true
			if !t.unreadable(err) {
				return false
			}
			continue
		}
		t.record = record
		if !t.blank() {
			return true
		}
	}
}

// blank reports whether the record is empty.
func (t *table) blank() bool {
	first := strings.TrimSpace(t.record[0])
	if t.place == nil && strings.HasPrefix(strings.ToLower(first), "sep=") && len(first) <= len("sep=;") {
		return true
	}
	// A spreadsheet puts quotes around a comment that holds a separator.
	if first != "" && (first[0] != '#' || t.form != nil) {
		return false
	}
	for _, cell := range t.record[1:] {
		if strings.TrimSpace(cell) != "" {
			return false
		}
	}
	return true
}

// unreadable reports what csv could not read. It is false where nothing more
// can be read.
func (t *table) unreadable(err error) bool {
	var fault Fault
	if errors.As(err, &fault) {
		t.faults = append(t.faults, fault)
		return false
	}
	var syntax *csv.ParseError
	if !errors.As(err, &syntax) {
		t.add(0, 0, "", "cannot be read: "+err.Error(), "")
		return false
	}
	line, col := syntax.Line, syntax.Column
	message := "there is a quotation mark in the middle of a cell"
	if errors.Is(err, csv.ErrQuote) {
		message = "a quotation mark does not close its cell"
		if syntax.Line > syntax.StartLine { // it took the rows below with it
			line, col = syntax.StartLine, 0
		}
	}
	t.add(line, col, "", message, `put the cell in quotation marks and double those inside it, like "1/4"" leaf"`)
	return true
}

// next takes the next row. It is false at the end.
func (t *table) next() bool {
	if !t.read() {
		return false
	}
	if t.rows++; t.rows > mostRows {
		line, _ := t.pos(0)
		t.broken = true
		t.add(line, 0, "", fmt.Sprintf("the file has more than %d rows", mostRows), "is it the right file? Give equal shims in one row, and large jobs in several files")
		return false
	}
	if len(t.faults) >= mostFaults {
		t.broken = true
		return false
	}
	n := len(t.record)
	t.ragged = n != t.width
	if t.form != nil { // cells beyond the header, or none at the end, are usual if empty
		t.ragged = n > t.width && strings.Join(t.record[t.width:], "") != ""
	}
	if t.ragged {
		t.wrongWidth(n)
	}
	for _, i := range t.nameless {
		if i < n && strings.TrimSpace(t.record[i]) != "" && !t.ragged {
			line, col := t.pos(i)
			t.add(line, col, "", quoted(t.record[i])+" stands under no column", "give the column a name, or leave the cell out")
		}
	}
	for i, cell := range t.record {
		if !t.encoded && !utf8.ValidString(cell) {
			t.encoded = true
			line, col := t.pos(i)
			t.add(line, col, "", "the text is not UTF-8", saveAsCSV)
		}
	}
	return true
}

// wrongWidth reports a row whose cells cannot be told to their columns. An
// empty cell too many counts as well: a decimal comma makes one of a cell.
func (t *table) wrongWidth(n int) {
	i, hint := n-1, "leave a cell empty where there is nothing to say"
	if n > t.width {
		i, hint = t.width, "leave out cells beyond the last column"
		if !t.commas {
			hint += "; with decimal commas, put semicolons between the columns"
		}
	}
	line, col := t.pos(i)
	t.add(line, col, "", fmt.Sprintf("the row has %s where the header has %d", shim.Count(n, "cell"), t.width), hint)
}

// ended reports a file without rows.
func (t *table) ended() {
	if t.rows == 0 && len(t.faults) == 0 {
		t.add(0, 0, "", "the file has a header and no rows", "is it the right file?")
	}
}

// headed is the column's name as the header has it.
func (t *table) headed(c int) string {
	if u := t.units[c]; u != nil {
		return t.columns[c].name + "_" + u.String()
	}
	return t.columns[c].name
}

// in is the unit of the column: the one that its name states, else the given one.
func (t *table) in(c int, u shim.Unit) shim.Unit {
	if stated := t.units[c]; stated != nil {
		return *stated
	}
	return u
}

// has reports whether the file has the column.
func (t *table) has(c int) bool { return t.place[c] >= 0 }

// pos is where the record's cell stands.
func (t *table) pos(i int) (line, col int) { return t.csv.FieldPos(i) }

// at is where the row's cell in the column stands, or would.
func (t *table) at(c int) (line, col int) {
	if i := t.place[c]; i >= 0 && i < len(t.record) {
		return t.pos(i)
	}
	line, _ = t.pos(0)
	return line, 0
}

func (t *table) add(line, col int, subject, message, hint string) {
	t.faults = append(t.faults, newFault(t.file, line, col, subject, message, hint))
}

// fault reports what is wrong with a cell, under the column's name where
// there is no better subject.
func (t *table) fault(c int, subject, message, hint string) {
	if subject == "" {
		subject = t.columns[c].name
	}
	line, col := t.at(c)
	t.add(line, col, subject, message, hint)
}

func (t *table) faultOf(c int, subject string, err error) {
	t.fault(c, subject, err.Error(), shim.HintOf(err))
}

func (t *table) warn(c int, subject, message, hint string) {
	if subject == "" {
		subject = t.columns[c].name
	}
	if len(t.warnings) >= mostFaults {
		return
	}
	line, col := t.at(c)
	t.warnings = append(t.warnings, newFault(t.file, line, col, subject, message, hint))
}
