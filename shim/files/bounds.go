package files

import (
	"bytes"
	"fmt"
	"io"
)

// What a file may hold at most. Honest files stay far below: a check of 100,000
// valves has 3 MB, an engine with five hundred catalogue ranges 40 KB.
const (
	mostMB       = 64 // of a CSV file
	mostRows     = 1_000_000
	mostFaults   = 1000      // that are kept: nobody reads more
	mostDocument = 256 << 10 // bytes of a TOML file
	mostNesting  = 8         // brackets within each other in a TOML file, and parts of a dotted key
	mostWork     = 256 << 20 // bytes that the decoder may go through for the places of a TOML file's keys: it goes through all of it for each
)

// A bounded reader passes on so many bytes and fails at the next.
type bounded struct {
	r    io.Reader
	left int
	over error
}

func (b *bounded) Read(p []byte) (int, error) {
	if b.left < 0 {
		return 0, b.over
	}
	n, err := b.r.Read(p[:min(len(p), b.left+1)])
	if b.left -= n; b.left < 0 {
		return n - 1, b.over
	}
	return n, err
}

// Bound keeps an input to so many MB: what reads beyond gets a [Fault].
func Bound(file string, r io.Reader, megabytes int) io.Reader {
	return &bounded{r, megabytes << 20, newFault(file, 0, 0, "", fmt.Sprintf("the file is larger than %d MB", megabytes), "is it the right file? Give large jobs in several files")}
}

// work is how many bytes the decoder goes through where no key is known: for
// each it splits the text into lines and shows those around the key.
func work(text []byte) int {
	lines, longest := 0, 0
	for line := range bytes.Lines(text) {
		lines, longest = lines+1, max(longest, len(line))
	}
	keys := bytes.Count(text, []byte("=")) + bytes.Count(text, []byte("\n["))
	return keys * (len(text) + 16*lines + 8*longest)
}

// nested finds the place where a TOML text nests deeper than any document of
// ours, before a parser builds all of it: a parser's work grows with the square
// of the depth. It knows texts in quotation marks and comments; where the text
// is not sound, the parser tells.
func nested(text []byte) (line, column int, deep bool) {
	depth, dots, start := 0, 0, 0
	line = 1
	for i := 0; i < len(text); i++ {
		switch c := text[i]; c {
		case '\n':
			line, start, dots = line+1, i+1, 0
		case '#':
			for i+1 < len(text) && text[i+1] != '\n' {
				i++
			}
		case '"', '\'':
			i = quotedEnd(text, i, &line, &start)
		case '[', '{':
			depth, dots = depth+1, 0
		case ']', '}':
			depth, dots = max(0, depth-1), 0
		case '=', ',':
			dots = 0
		case '.':
			dots++
		}
		if depth > mostNesting || dots >= mostNesting {
			return line, i - start + 1, true
		}
	}
	return 0, 0, false
}

// quotedEnd is where the text in quotation marks that begins at i ends.
func quotedEnd(text []byte, i int, line, start *int) int {
	mark := text[i]
	long := i+2 < len(text) && text[i+1] == mark && text[i+2] == mark
	if long {
		i += 2
	}
	for i++; i < len(text); i++ {
		switch c := text[i]; {
		case c == '\\' && mark == '"':
			i++
		case c == '\n' && !long:
			return i - 1 // not closed: the parser tells
		case c == '\n':
			*line, *start = *line+1, i+1
		case c == mark && !long:
			return i
		case c == mark && i+2 < len(text) && text[i+1] == mark && text[i+2] == mark:
			return i + 2
		}
	}
	return i
}
