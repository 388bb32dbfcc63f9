package files

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"sort"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// A document is a TOML text as flat keys with their values and places.
type document struct {
	file   string
	schema schema
	keys   map[string]*value // by full key, like shims.catalogue.0.from
	order  []string          // keys as they stand in the file
	tables map[string]spot   // where each table begins, in whatever form it is written
	heads  []string          // tables as they stand in the file
	faults Faults
	faulty map[string]bool // keys that a fault was reported for
}

// A schema has the keys of each table that a kind of document may have.
type schema map[string][]string

// A spot is a place in the text.
type spot struct{ line, column int }

// A value is one value as its text says it, so that a number is read exactly.
type value struct {
	kind  unstable.Kind
	text  string  // of a string what it stands for, of others the text itself
	items []value // of an array
	key   spot    // where the key stands
	spot          // where the value stands
}

// readDocument reads a TOML text. Faults of syntax are in the document.
func readDocument(file string, r io.Reader) *document {
	d := &document{file: file, keys: map[string]*value{}, tables: map[string]spot{"": {1, 1}}, faulty: map[string]bool{}}
	text, err := io.ReadAll(io.LimitReader(r, mostDocument+1))
	if err != nil {
		d.add(spot{}, "", "cannot be read: "+err.Error(), "")
		return d
	}
	text = unmark(text)
	if message, hint := foreign(text); message != "" {
		if hint == saveAsCSV {
			hint = "an engine is a TOML text; see docs/files.md"
		}
		d.add(spot{}, "", message, hint)
		return d
	}
	if len(text) > mostDocument {
		d.add(spot{}, "", fmt.Sprintf("the file is larger than %d KB, more than an engine can need", mostDocument>>10), "is it the right file?")
		return d
	}
	if line, column, deep := nested(text); deep {
		d.add(spot{line, column}, "", fmt.Sprintf("keys or lists stand in each other more than %d deep", mostNesting), "is it the right file? docs/files.md shows an engine")
		return d
	}
	if header := headerLine(text); !bytes.Contains(header, []byte("=")) && bytes.ContainsAny(header, ",;\t") {
		d.add(spot{}, "", "this is a table (CSV), not an engine (TOML)", "look at the order of the file names: the engine comes first, then the check; docs/files.md shows an engine")
		return d
	}
	// The plain reading finds what is wrong with the text as TOML, keys that
	// are doubled included; the walk below then meets sound text only.
	var plain map[string]any
	if err := toml.Unmarshal(text, &plain); err != nil {
		var at spot
		var syntax *toml.DecodeError
		if errors.As(err, &syntax) {
			at.line, at.column = syntax.Position()
			if comma := decimalComma(text, at); comma != "" {
				d.add(at, "", "a decimal comma: TOML writes "+comma, "numbers take a decimal point here, whatever the check files use")
				return d
			}
		}
		d.add(at, "", "not valid TOML: "+oneLine(strings.TrimPrefix(err.Error(), "toml: ")), `write key = value, with texts in quotation marks, like name = "Heron"`)
		return d
	}
	w := walker{document: d, source: text, lines: lineStarts(text), arrays: map[string]int{}}
	w.walk()
	return d
}

// decimalComma is the number with a point, where the place is the comma of a
// number like 1,4 that is a key's whole value.
func decimalComma(text []byte, at spot) string {
	lines := bytes.Split(text, []byte("\n"))
	if at.line < 1 || at.line > len(lines) {
		return ""
	}
	found := commaValue.FindSubmatchIndex(lines[at.line-1])
	if found == nil || found[3]+1 != at.column {
		return ""
	}
	line := lines[at.line-1]
	return string(line[found[2]:found[3]]) + "." + string(line[found[4]:found[5]])
}

var commaValue = regexp.MustCompile(`^\s*[\w."-]+\s*=\s*([+-]?\d*),(\d+)\s*(?:#.*)?\r?$`)

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// add reports a fault at a place.
func (d *document) add(at spot, key, message, hint string) {
	d.faulty[key] = true
	d.faults = append(d.faults, Fault{d.file, at.line, at.column, key, message, hint})
}

// place is where the key's value stands, else its table, else the beginning.
func (d *document) place(key string) spot {
	if v, found := d.keys[key]; found {
		return v.spot
	}
	for {
		if at, found := d.tables[key]; found {
			return at
		}
		i := strings.LastIndexByte(key, '.')
		if i < 0 {
			return d.tables[""]
		}
		key = key[:i]
	}
}

// A walker goes through a TOML text and fills the document.
type walker struct {
	*document
	source []byte
	lines  []int // offset of each line
	arrays map[string]int
	parser unstable.Parser
}

func (w *walker) walk() {
	w.parser.Reset(w.source)
	prefix := ""
	for w.parser.NextExpression() && len(w.faults) == 0 {
		node := w.parser.Expression()
		switch node.Kind {
		case unstable.Table:
			prefix = w.path(node.Key(), false)
			w.table(prefix, w.start(node.Key()))
		case unstable.ArrayTable:
			prefix = w.path(node.Key(), true)
			w.table(prefix, w.start(node.Key()))
		case unstable.KeyValue:
			w.keyValue(prefix, node)
		}
	}
	if err := w.parser.Error(); err != nil { // not met: the text was read before
		w.add(spot{}, "", "not valid TOML: "+oneLine(err.Error()), "")
	}
}

// table notes where a table begins, in its first place.
func (w *walker) table(key string, at spot) {
	if _, found := w.tables[key]; !found {
		w.tables[key] = at
		w.heads = append(w.heads, key)
	}
}

// path is the full key of a table's header. The header of an array of tables
// begins a new one.
func (w *walker) path(parts unstable.Iterator, begin bool) string {
	key := ""
	for w.short(parts) && parts.Next() {
		part := string(parts.Node().Data)
		if begin && parts.IsLast() {
			w.arrays[join(key, part)]++
		}
		key = w.step(key, part)
	}
	return key
}

// short tells whether all parts of a key are short enough to be known, and
// reports one that is not: every key below it would repeat it.
func (w *walker) short(parts unstable.Iterator) bool {
	for parts.Next() {
		if part := parts.Node(); len(part.Data) > mostKey {
			w.add(w.spotOf(int(part.Raw.Offset)), "", fmt.Sprintf("a key is longer than %d bytes", mostKey), "is it the right file? docs/files.md shows an engine")
			return false
		}
	}
	return true
}

// step is the key one part further. An array of tables stands for its last table.
func (w *walker) step(key, part string) string {
	key = join(key, part)
	if n := w.arrays[key]; n > 0 {
		key = element(key, n-1)
	}
	return key
}

// element is the key of an array's table, counted from 0.
func element(key string, i int) string { return key + "." + strconv.Itoa(i) }

// join puts a part behind a key, in quotation marks where its text could be
// taken for several parts or for an element.
func join(key, part string) string {
	if part == "" || digits(part) == len(part) || strings.ContainsFunc(part, func(c rune) bool { return c == '.' || c == '"' || c < ' ' || c > '~' }) {
		part = quoted(part)
	}
	if key == "" {
		return part
	}
	return key + "." + part
}

// start is where a dotted key begins.
func (w *walker) start(parts unstable.Iterator) spot {
	if parts.Next() {
		return w.spotOf(int(parts.Node().Raw.Offset))
	}
	return spot{}
}

func (w *walker) keyValue(prefix string, node *unstable.Node) {
	at := w.start(node.Key())
	if !w.short(node.Key()) {
		return
	}
	key, end := prefix, 0
	for parts := node.Key(); parts.Next(); {
		part := parts.Node()
		key, end = w.step(key, string(part.Data)), int(part.Raw.Offset+part.Raw.Length)
		if !parts.IsLast() {
			w.table(key, at)
		}
	}
	// Arrays and inline tables do not tell their place: it follows the equals sign.
	for end < len(w.source) && bytes.IndexByte([]byte(" \t="), w.source[end]) >= 0 {
		end++
	}
	w.value(key, node.Value(), at, w.spotOf(end))
}

// value notes a value, the inline tables in it as tables.
func (w *walker) value(key string, node *unstable.Node, keyAt, at spot) {
	if node.Kind == unstable.InlineTable {
		w.table(key, keyAt)
		for children := node.Children(); children.Next(); {
			if child := children.Node(); child.Kind == unstable.KeyValue {
				w.keyValue(key, child)
			}
		}
		return
	}
	if node.Kind == unstable.Array && allTables(node) {
		i := 0
		for children := node.Children(); children.Next(); i++ {
			w.value(element(key, i), children.Node(), keyAt, at)
		}
		return
	}
	if _, found := w.keys[key]; found { // not met: doubled keys are no TOML
		return
	}
	v := w.leaf(node, at)
	v.key = keyAt
	w.keys[key] = &v
	w.order = append(w.order, key)
}

// allTables tells whether the array holds inline tables and nothing else.
func allTables(array *unstable.Node) bool {
	n := 0
	for children := array.Children(); children.Next(); n++ {
		if children.Node().Kind != unstable.InlineTable {
			return false
		}
	}
	return n > 0
}

// leaf copies a value out of the parser.
func (w *walker) leaf(node *unstable.Node, at spot) value {
	if node.Raw.Length > 0 {
		at = w.spotOf(int(node.Raw.Offset))
	}
	v := value{kind: node.Kind, spot: at, text: string(node.Data)}
	if node.Kind == unstable.Array {
		for children := node.Children(); children.Next(); {
			v.items = append(v.items, w.leaf(children.Node(), at))
		}
	}
	return v
}

func lineStarts(text []byte) []int {
	starts := []int{0}
	for i, c := range text {
		if c == '\n' {
			starts = append(starts, i+1)
		}
	}
	return starts
}

func (w *walker) spotOf(offset int) spot {
	line := sort.SearchInts(w.lines, offset+1)
	return spot{line, offset - w.lines[line-1] + 1}
}

// describe says what a value is, for messages.
func (v *value) describe() string {
	switch v.kind {
	case unstable.String:
		return "the text " + quoted(v.text)
	case unstable.Array:
		return fmt.Sprintf("a list of %d", len(v.items))
	case unstable.InlineTable:
		return "a table"
	}
	return oneLine(v.text)
}
