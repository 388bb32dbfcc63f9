package files

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"regexp"
	"sync"
)

// longestLine bounds a line of any file. It also is how much of a file is
// looked at to find its header.
const longestLine = 1 << 16

const saveAsCSV = "save it as CSV in UTF-8"

// foreign says what is wrong with a text that is no text of ours, judged by
// its beginning; nothing where it may be one.
func foreign(start []byte) (message, hint string) {
	has := func(signature string) bool { return bytes.HasPrefix(start, []byte(signature)) }
	switch {
	case len(bytes.TrimSpace(start)) == 0:
		return "the file is empty", "is it the right file?"
	case has("PK"), has("\xd0\xcf\x11\xe0"):
		return "this looks like a spreadsheet file", saveAsCSV
	case has("\xff\xfe"), has("\xfe\xff"):
		return "this is text in UTF-16", saveAsCSV
	case bytes.IndexByte(start, 0) >= 0:
		return "this is not text: it holds a NUL byte; it looks like a spreadsheet file", saveAsCSV
	}
	return "", ""
}

// unmark drops the byte order mark that spreadsheets put first.
func unmark(start []byte) []byte { return bytes.TrimPrefix(start, []byte("\ufeff")) }

// open gives the text after a byte order mark and a look at its beginning.
func open(r io.Reader) (text *bufio.Reader, start []byte, err error) {
	text = bufio.NewReaderSize(r, longestLine)
	start, err = text.Peek(longestLine)
	if err == io.EOF || err == bufio.ErrBufferFull {
		err = nil
	}
	if bare := unmark(start); len(bare) < len(start) {
		_, _ = text.Discard(len(start) - len(bare)) // cannot fail: it was peeked
		start = bare
	}
	return text, start, err
}

// A guard passes a text on and stops at what would harm: a NUL byte, and a
// line without end. It makes line ends of lone carriage returns where asked.
type guard struct {
	r       io.Reader
	file    string
	lone    bool // carriage returns stand alone
	line    int  // complete lines so far
	run     int  // bytes of the line so far
	stopped error
}

func (g *guard) Read(p []byte) (int, error) {
	if g.stopped != nil {
		return 0, g.stopped
	}
	n, err := g.r.Read(p)
	if g.lone {
		for i, c := range p[:n] {
			if c == '\r' {
				p[i] = '\n'
			}
		}
	}
	nul := bytes.IndexByte(p[:n], 0)
	rest := p[:n]
	if nul >= 0 {
		rest = p[:nul]
	}
	for {
		i := bytes.IndexByte(rest, '\n')
		if i < 0 {
			g.run += len(rest)
		} else {
			g.run += i
		}
		if g.run > longestLine {
			return 0, g.stop(fmt.Sprintf("the line is longer than %d bytes", longestLine), "is it the right file?")
		}
		if i < 0 {
			break
		}
		g.line, g.run, rest = g.line+1, 0, rest[i+1:]
	}
	if nul >= 0 {
		return 0, g.stop(foreign([]byte("\x00")))
	}
	return n, err
}

func (g *guard) stop(message, hint string) error {
	g.stopped = newFault(g.file, g.line+1, 0, "", message, hint)
	return g.stopped
}

// headerLine is the first line that is neither blank nor a comment.
func headerLine(start []byte) []byte {
	for len(start) > 0 {
		line, rest, _ := bytes.Cut(start, []byte("\n"))
		line = bytes.TrimRight(line, "\r")
		// A spreadsheet puts quotes around a comment that holds a separator.
		comment := bytes.HasPrefix(line, []byte("#")) || bytes.HasPrefix(line, []byte(`"#`))
		if len(bytes.TrimSpace(line)) > 0 && !comment {
			return line
		}
		start = rest
	}
	return nil
}

// separatorOf is the separator that the header line uses most, a comma where
// it uses none.
func separatorOf(header []byte) rune {
	count := map[byte]int{}
	inQuotes := false
	for _, c := range header {
		if c == '"' {
			inQuotes = !inQuotes
		}
		if !inQuotes {
			count[c]++
		}
	}
	best := byte(',')
	for _, c := range []byte{';', '\t'} {
		if count[c] > count[best] {
			best = c
		}
	}
	return rune(best)
}

// loneReturns reports whether the lines end in carriage returns alone.
func loneReturns(start []byte) bool {
	return bytes.IndexByte(start, '\r') >= 0 && bytes.IndexByte(start, '\n') < 0
}

// pattern compiles an expression when it is first used: most commands do not
// need it.
func pattern(expression string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expression) })
}
