package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"shimwright/inventory/work"
	"shimwright/shim"
)

// A talkWriter makes text visible by [shim.VisibleLines] and breaks lines at spaces
// to the width of a terminal; 0 does not break them.
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

// breakLines breaks each line that is too long and indents the rest. A long word,
// like a path, is not broken.
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

// breakLine breaks a line. Two spaces separate an entry from its description,
// which gets its own line if it does not fit.
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

// errDeclined ends a command after the answer no.
var errDeclined = shim.Fail(nil, "nothing was changed", "not confirmed")

// lines is standard input, line by line.
func (a *app) lines() *bufio.Reader {
	if a.typed == nil {
		a.inUsed = true
		a.typed = bufio.NewReader(a.in)
	}
	return a.typed
}

// prompt asks for a line on standard error. The error is io.EOF at the end of the
// input.
func (a *app) prompt(question string) (string, error) {
	fmt.Fprint(a.err, question)
	line, err := a.lines().ReadString('\n')
	io.WriteString(a.reading(), line) // a hash takes everything
	if err != nil && line == "" {
		if question != "" {
			fmt.Fprintln(a.err)
		}
		return "", err
	}
	return strings.TrimSpace(line), nil
}

// doubt warns of a likely typing mistake without stopping.
func (a *app) doubt(message, way string) {
	fmt.Fprintf(a.err, "warning: %s\n  hint: %s\n", message, way)
}

// A doubtful entry looks like a typing mistake but may be right.
type doubtful struct{ message, way string }

// confirm shows doubtful entries and asks whether to go on. With none it asks
// nothing.
func (a *app) confirm(list []doubtful, yes bool) error {
	for _, d := range list {
		a.doubt(d.message, d.way)
	}
	if len(list) == 0 {
		return nil
	}
	if !yes && !a.person {
		return wrong("correct it, or add --yes if it is right", "this needs confirmation, but there is no terminal to ask on")
	}
	return a.agree("Book it anyway?", yes)
}

// agree asks whether to go on, unless --yes was given. Without a terminal it
// prints the question and fails.
func (a *app) agree(question string, yes bool) error {
	if yes {
		return nil
	}
	if !a.person {
		fmt.Fprintln(a.err, question)
		return wrong("check with --dry-run, then add --yes", "this needs confirmation, but there is no terminal to ask on")
	}
	answer, err := a.prompt(question + " [y/N] ")
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	switch strings.ToLower(answer) {
	case "y", "yes":
		return nil
	}
	return errDeclined
}

// doubtWords describes what is doubtful about a delivery; from names the supplier
// if the call does.
func doubtWords(list []work.Doubt, from string, u shimText) []doubtful {
	var words []doubtful
	for _, d := range list {
		size := u.size(d.Disc) + " " + u.String()
		if d.Kind != work.NoSuchSize && d.Disc.Kind != "" { // which names the family
			size += " (" + d.Disc.Kind + ")"
		}
		w := doubtful{way: "to buy for the shop, use box receive"}
		switch d.Kind {
		case work.NoSuchSize:
			w = doubtful{fmt.Sprintf("no catalogue in the shop for %s has a shim of %s", familyText(d.Family, u.Unit), size),
				"the nearest is " + u.size(d.Family.Of(d.Nearest)) + "; give a worn or measured size with --mic"}
		case work.VeryMany:
			w = doubtful{fmt.Sprintf("%d shims of %s is a lot", d.Count, size), "type a size with a count like 2.400x3"}
		case work.ComesTwice:
			w = doubtful{fmt.Sprintf("the fit of job %d already booked in a new %s (booking %d)", d.Fitted.Job, size, d.Fitted.Batch),
				"book in only what arrived besides it"}
		case work.UsedAsNew:
			w = doubtful{size + " is to be booked as new, but its note says used", "book used shims with --used"}
		case work.NotFromHere:
			w.message = size + " is not on order" + from + " and no job needs it from there"
		case work.NotOrdered:
			w.message = size + " is not on order, and no job needs it"
		case work.TooMany:
			w.message = fmt.Sprintf("%s of %s arrived, but only %d on order or needed", shim.Count(d.Count, "shim"), size, d.Open)
		}
		words = append(words, w)
	}
	return words
}
