package main

import (
	"io"
	"strings"
	"unicode/utf8"

	"shimwright/shim"
)

// A talkWriter passes on lines of talk made [shim.VisibleLines], broken at
// spaces to the places of a terminal's line; 0 leaves them whole.
type talkWriter struct {
	w      io.Writer
	places int
}

func (t talkWriter) Write(text []byte) (int, error) {
	if _, err := io.WriteString(t.w, breakLines(shim.VisibleLines(string(text)), t.places)); err != nil {
		return 0, err
	}
	return len(text), nil
}

// breakLines breaks each line that is longer than the places; what follows is
// set in. A long word, a path or a command, stays whole.
func breakLines(text string, places int) string {
	if places == 0 {
		return text
	}
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		if utf8.RuneCountInString(line) > places {
			lines[i] = breakLine(line, places)
		}
	}
	return strings.Join(lines, "\n")
}

// breakLine breaks a line. A gap parts an entry from what is said of it, which
// begins a line of its own where it does not fit.
func breakLine(line string, places int) string {
	body := strings.TrimLeft(line, " ")
	indent := line[:len(line)-len(body)]
	further := "\n" + indent + "  "
	var b strings.Builder
	b.WriteString(indent)
	at, gap := len(indent), 0 // the column, and the spaces before the next word
	for body != "" {
		word, rest, _ := strings.Cut(body, " ")
		n := utf8.RuneCountInString(word)
		fits := n
		if gap > 1 {
			part, _, _ := strings.Cut(body, "  ")
			fits = utf8.RuneCountInString(part)
		}
		switch {
		case gap > 0 && at+gap+fits > places:
			b.WriteString(further)
			at = len(indent) + 2
		default:
			b.WriteString(strings.Repeat(" ", gap))
			at += gap
		}
		b.WriteString(word)
		at += n
		body = strings.TrimLeft(rest, " ")
		gap = 1 + len(rest) - len(body)
	}
	if strings.HasSuffix(line, " ") {
		b.WriteByte(' ') // of a prompt
	}
	return b.String()
}
