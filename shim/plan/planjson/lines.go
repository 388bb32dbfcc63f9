package planjson

import (
	"bytes"
	"encoding/json"
	"io"
)

// A lineWriter writes one JSON object, indented, whose lists have a line for each
// element. It keeps the first error.
type lineWriter struct {
	w       io.Writer
	text    bytes.Buffer  // not yet written
	encoder *json.Encoder // into text
	fields  int
	err     error
}

func newLineWriter(w io.Writer) *lineWriter {
	l := &lineWriter{w: w}
	l.encoder = json.NewEncoder(&l.text)
	l.encoder.SetEscapeHTML(false)
	return l.add("{")
}

// add writes text as it is.
func (l *lineWriter) add(text string) *lineWriter {
	l.text.WriteString(text)
	return l
}

// value writes a value on the line at hand.
func (l *lineWriter) value(v any) {
	if err := l.encoder.Encode(v); err != nil && l.err == nil {
		l.err = err
	}
	l.cut() // the end of the line
}

// cut takes the last character back.
func (l *lineWriter) cut() { l.text.Truncate(max(0, l.text.Len()-1)) }

// field begins a field of the object.
func (l *lineWriter) field(name string) *lineWriter {
	if l.fields++; l.fields > 1 {
		l.add(",")
	}
	return l.add("\n  \"" + name + "\": ")
}

// list writes a list on lines of its own, inside lines of that indent.
func (l *lineWriter) list(n int, indent string, element func(i int)) {
	l.add("[")
	for i := range n {
		if i > 0 {
			l.add(",")
		}
		l.add("\n" + indent + "  ")
		element(i)
		if l.text.Len() > 1<<16 {
			l.flush()
		}
	}
	if n > 0 {
		l.add("\n" + indent)
	}
	l.add("]")
}

func (l *lineWriter) flush() {
	if l.err == nil {
		_, l.err = l.text.WriteTo(l.w)
	}
	l.text.Reset()
}

func (l *lineWriter) close() error {
	l.add("\n}\n").flush()
	return l.err
}
