package files

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// A document is a TOML text, the places of its values and what is wrong in it.
type document struct {
	file     string
	text     []byte
	schema   schema
	places   map[string]int // by full key, like shims.catalogue.0.from: where a value begins, or the name in a table's header
	faults   Faults
	faulty   map[string]bool // keys that a fault was reported for
	inherits bool            // the exhaust closers have the intake closers' shims
}

// A schema has the keys of each table that a kind of document may have.
type schema map[string][]string

const exampleHint = "docs/files.md shows an engine"

// readDocument reads a TOML text into a struct. It reports whether the struct has
// all of it; a fault may be in the document either way.
func readDocument(file string, r io.Reader, s schema, into any) (*document, bool) {
	d := &document{file: file, schema: s, places: map[string]int{}, faulty: map[string]bool{}}
	if d.load(r); len(d.faults) > 0 {
		return d, false
	}
	d.scan()
	d.cases()
	err := toml.NewDecoder(bytes.NewReader(d.text)).DisallowUnknownFields().Decode(into)
	var unknown *toml.StrictMissingError
	var refused *toml.DecodeError
	switch {
	case errors.As(err, &unknown):
		for i := range min(len(unknown.Errors), mostFaults) {
			d.unknown(&unknown.Errors[i])
		}
	case errors.As(err, &refused):
		d.refused(refused)
		return d, false
	case err != nil:
		d.add(0, "", "not valid TOML: "+oneLine(err.Error()), exampleHint)
		return d, false
	}
	return d, true
}

// load takes the text in, and reports what keeps it from being one of ours.
func (d *document) load(r io.Reader) {
	const look = "is it the right file? " + exampleHint
	text, err := io.ReadAll(io.LimitReader(r, mostDocument+1))
	d.text = unmark(text)
	message, hint := foreign(d.text)
	line, column, deep := nested(d.text)
	switch header := headerLine(d.text); {
	case err != nil:
		message, hint = "cannot be read: "+err.Error(), ""
	case hint == saveAsCSV:
		hint = "an engine is a TOML text; see docs/files.md"
	case message != "":
	case len(d.text) > mostDocument:
		message, hint = fmt.Sprintf("the file is larger than %d KB, more than an engine can need", mostDocument>>10), look
	case deep:
		message, hint = fmt.Sprintf("keys or lists stand in each other more than %d deep", mostNesting), look
	case work(d.text) > mostWork:
		message, hint = "there are more keys than an engine can need", look
	case !bytes.Contains(header, []byte("=")) && bytes.ContainsAny(header, ",;\t"):
		message, hint = "this is a table (CSV), not an engine (TOML)", "look at the order of the file names: the engine comes first, then the check; "+exampleHint
	}
	if message != "" {
		d.faults = Faults{newFault(d.file, line, column, "", message, hint)}
	}
}

// scan notes the places of the tables and of the keys that begin a line; a key
// in an inline table has the place of the key around it.
func (d *document) scan() {
	table, ranges, start := "", map[string]int{}, 0
	for line := range bytes.Lines(withoutTexts(d.text)) {
		if m := placeText().FindSubmatchIndex(line); m != nil {
			name, value := start+m[4], start+m[1]
			key := strings.NewReplacer(`"`, "", "'", "", " ", "").Replace(string(line[m[4]:m[5]]))
			switch header := string(line[m[2]:m[3]]); {
			case header == "":
				key = join(table, key)
			case slices.Contains(catalogueKeys, key) && header == "[[":
				d.places[key] = name
				ranges[key]++
				key = element(key, ranges[key]-1)
				fallthrough
			default:
				table, value = key, name
			}
			d.places[key] = value
			if slices.Contains(catalogueKeys, key) && table == key {
				d.add(name, key, notRanges, rangesHint(key))
			}
		}
		start += len(line)
	}
}

// cases reports keys in capitals, which the decoder takes all the same.
func (d *document) cases() {
	var all map[string]any
	if toml.Unmarshal(d.text, &all) == nil { // what else is wrong is reported later
		d.casesIn("", all)
	}
}

func (d *document) casesIn(table string, value any) {
	switch value := value.(type) {
	case []any:
		for i, v := range value {
			d.casesIn(element(table, i), v)
		}
	case map[string]any:
		for _, k := range slices.Sorted(maps.Keys(value)) {
			key := join(table, k)
			inside, last := split(strings.ToLower(key))
			if last != k && last == strings.ToLower(k) && slices.Contains(d.schema[inside], last) {
				at := d.place(table)
				written := regexp.MustCompile(`(?:^|[[{,.\s"'])(` + regexp.QuoteMeta(k) + `)["']?\s*[].=]`)
				if m := written.FindSubmatchIndex(withoutTexts(d.text)[at:]); m != nil {
					at += m[2]
				}
				d.add(at, key, "unknown key", "did you mean "+last+"?")
			}
			d.casesIn(key, value[k])
		}
	}
}

// withoutTexts is the document with blanks for comments and for texts that run over
// lines: what looks like a key in them is none.
func withoutTexts(text []byte) []byte {
	blank := bytes.Clone(text)
	for i := 0; i < len(text); i++ {
		switch c := text[i]; c {
		case '#':
			for ; i+1 < len(text) && text[i+1] != '\n'; i++ {
				blank[i+1] = ' '
			}
		case '"', '\'':
			var line, begin int
			end := quotedEnd(text, i, &line, &begin)
			for k := i; line > 0 && k <= min(end, len(text)-1); k++ {
				if blank[k] != '\n' {
					blank[k] = ' '
				}
			}
			i = end
		}
	}
	return blank
}

const notRanges = "the catalogue is not a list of ranges"

func rangesHint(key string) string {
	return "begin each range with a line [[" + key + "]] in double brackets"
}

var (
	placeText   = pattern(`^\s*(\[{0,2})\s*([\w.'" -]+?)\s*(?:\]|=\s*)`)
	plainKey    = pattern(`^[A-Za-z_-][\w-]{0,99}$`)
	mismatch    = pattern(`cannot (?:decode TOML|store an?) (.*?) in(?:to)? .*?(\S+)$`)
	valueText   = pattern(`^("[^"\n]*"|'[^'\n]*'|\[(?:.{0,80}\])?|[^][,}\s#]{0,40})`)
	commaValue  = pattern(`^[ \t]*[\w."-]+[ \t]*=[ \t]*([+-]?\d*),(\d+)[ \t]*(?:#.*)?\r?(?:\n|$)`)
	commaFigure = pattern(`^[^\d.]0,(0\d+)`) // in a list, two figures
	rangeKey    = pattern(`^(.*\bcatalogue)\.(\d{1,9})(?:\.(.+))?$`)
	keyAndValue = pattern(`^\s*([A-Za-z_][\w.-]*)\s*=\s*(\S.*)$`)
	rangeValue  = pattern(`^(\d*\.?\d+)\s*(?:-|–|to|\.\.)\s*(\d*\.?\d+)\s*["']?\s*(?:#.*)?$`)
	wordValue   = pattern(`^[A-Za-z][^"'=,\[\]{}#]*$`)
	bareValue   = pattern(`^[^\d+-]?([+-]?)(\.\d+)`)
)

// pointHint is for a decimal comma.
const pointHint = "numbers take a decimal point here, whatever the check files use"

// unknown reports a key or a table that the decoder did not know.
func (d *document) unknown(e *toml.DecodeError) {
	begin, at := d.offsets(e)
	parts := e.Key()
	for i, part := range parts {
		if !plainKey().MatchString(part) {
			parts[i] = quoted(part)
		}
	}
	key, message, hint := strings.Join(parts, "."), "unknown key", exampleHint
	if strings.HasSuffix(e.Error(), "missing table") {
		message = "unknown table"
	} else if len(bytes.TrimSpace(d.text[begin:at])) > 0 { // in an inline table: the decoder does not say in which
		around := ""
		for k, place := range d.places {
			if place <= at && place > d.places[around] {
				around = k
			}
		}
		key = join(around, parts[len(parts)-1])
	}
	table, last := split(key)
	if keys := d.schema[table]; keys != nil {
		hint = hints(didYouMean(strings.ToLower(last), keys), "the keys here are "+strings.Join(keys, ", "))
	}
	if !d.follows(key) {
		d.add(at, key, message, hint)
	}
	if message == "unknown table" && slices.Contains(catalogueKeys, table) {
		d.faulty[table] = true // the decoder took it for a range
	}
}

// refused reports what the decoder stopped at.
func (d *document) refused(e *toml.DecodeError) {
	begin, at := d.offsets(e)
	key, kinds := strings.Join(e.Key(), "."), mismatch().FindStringSubmatch(e.Error()) // the kind of the value, the type it should have
	if at == 0 {                                                                       // it does not say where a list in a list is
		at = d.place(key)
	}
	is := ", this is " + string(valueText().Find(d.text[at:]))
	comma, figure, bare := commaValue().FindSubmatch(d.text[begin:]), commaFigure().FindSubmatch(d.text[max(0, at-3):]), bareValue().FindSubmatch(d.text[max(0, at-1):])
	switch {
	case kinds == nil && d.slip(begin):
	case kinds == nil && comma != nil:
		d.add(at, "", fmt.Sprintf("a decimal comma: TOML writes %s.%s", comma[1], comma[2]), pointHint)
	case kinds == nil && figure != nil:
		d.add(at, "", fmt.Sprintf("a decimal comma: TOML writes 0.%s", figure[1]), pointHint)
	case kinds == nil && bare != nil:
		d.add(at, "", fmt.Sprintf("a figure without its zero: TOML writes %s0%s", bare[1], bare[2]), "numbers have a figure before the decimal point here; check files need none")
	case kinds == nil:
		d.add(at, "", "not valid TOML: "+oneLine(strings.TrimPrefix(e.Error(), "toml: ")), `write key = value, with texts in quotation marks, like name = "Heron"`)
	case slices.Contains(catalogueKeys, key):
		d.add(begin, key, notRanges, rangesHint(key))
	case d.schema[key] != nil:
		d.add(begin, key, key+" is a table of its own", "write a line ["+key+"] and its keys below")
	case strings.HasSuffix(kinds[1], "table"):
		d.add(at, key, key+" is a key, not a table", "write "+key+" = and its value")
	case strings.HasPrefix(kinds[2], "[]"):
		if given := rangeValue().FindStringSubmatch(strings.TrimLeft(string(valueText().Find(d.text[at:])), `"'`)); given != nil {
			d.add(at, key, aRange, rangeAsList(given))
			return
		}
		d.add(at, key, "a list is needed"+is, "put it in brackets, with commas between")
	case strings.HasSuffix(kinds[2], "string"):
		d.add(at, key, "a text is needed"+is, "put it in quotation marks")
	default:
		d.add(at, key, "a number is needed"+is, exampleHint)
	}
}

// slip reports a usual slip in the line of an error: a text without quotation
// marks, one that is not closed, a range for a list. It reports whether it was one.
func (d *document) slip(begin int) bool {
	line, _, _ := bytes.Cut(d.text[begin:], []byte("\n"))
	m := keyAndValue().FindSubmatchIndex(line)
	if m == nil {
		return false
	}
	at, key, value := begin+m[4], string(line[m[2]:m[3]]), strings.TrimSpace(string(line[m[4]:m[5]]))
	switch given := rangeValue().FindStringSubmatch(value); {
	case given != nil:
		d.add(at, key, aRange, rangeAsList(given))
	case value[0] == '"' && strings.Count(value, `"`) == 1, value[0] == '\'' && strings.Count(value, "'") == 1:
		d.add(at, key, "the quotation mark is not closed", "write "+key+" = "+quoted(strings.Trim(value, `"'`)))
	case wordValue().MatchString(value):
		d.add(at, key, "this is neither a number nor a text in quotation marks", "write a number, or a text like "+key+" = "+quoted(value))
	default:
		return false
	}
	return true
}

const aRange = "a range is a list here"

// rangeAsList says how a range is written as a list.
func rangeAsList(given []string) string {
	figure := func(s string) string {
		if strings.HasPrefix(s, ".") {
			return "0" + s
		}
		return s
	}
	return "write [" + figure(given[1]) + ", " + figure(given[2]) + "]"
}

// offsets are where the line of an error begins, and where the error is.
func (d *document) offsets(e *toml.DecodeError) (begin, at int) {
	line, column := e.Position()
	for range line - 1 {
		begin += bytes.IndexByte(d.text[begin:], '\n') + 1
	}
	return begin, begin + column - 1
}

// place is where the key stands, else its table, else the beginning.
func (d *document) place(key string) int {
	at, found := d.places[key]
	for !found && key != "" {
		key = key[:max(0, strings.LastIndexByte(key, '.'))]
		at, found = d.places[key]
	}
	return at
}

// fault is one at an offset.
func (d *document) fault(at int, key, message, hint string) Fault {
	before := d.text[:at]
	return newFault(d.file, bytes.Count(before, []byte("\n"))+1, at-bytes.LastIndexByte(before, '\n'), counted(key), message, hint)
}

// counted is a key for people: a range of a catalogue has a number from 1.
func counted(key string) string {
	m := rangeKey().FindStringSubmatch(key)
	if m == nil {
		return key
	}
	i, _ := strconv.Atoi(m[2]) // digits
	text := m[1] + ", range " + strconv.Itoa(i+1)
	if m[3] != "" {
		text += ", " + m[3]
	}
	return text
}

func (d *document) add(at int, key, message, hint string) {
	d.faulty[key] = true
	d.faults = append(d.faults, d.fault(at, key, message, hint))
}

// wrong reports what is wrong with a key's value.
func (d *document) wrong(key, message, hint string) { d.add(d.place(key), key, message, hint) }

// split parts a key into its table and its last part; all ranges of a
// catalogue are one table.
func split(key string) (table, last string) {
	i := strings.LastIndexByte(key, '.')
	for _, catalogue := range catalogueKeys {
		if strings.HasPrefix(key, catalogue+".") {
			return catalogue, key[i+1:]
		}
	}
	return key[:max(0, i)], key[i+1:]
}

// element is the key of an array's table, counted from 0.
func element(key string, i int) string { return key + "." + strconv.Itoa(i) }

func join(table, key string) string { return strings.TrimPrefix(table+"."+key, ".") }

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
