package files

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"shimwright/shim"
)

// A Fault is one thing wrong with a file, or one warning about it. Line and
// Column count from 1, the column in bytes; either is 0 where the fault has no
// such place. Subject is what it is about: a valve, a column or a key.
type Fault struct {
	File         string
	Line, Column int
	Subject      string
	shim.Hinted
}

func newFault(file string, line, column int, subject, message, hint string) Fault {
	return Fault{file, line, column, subject, shim.Hinted{Message: message, Hint: hint}}
}

// Error is the fault on one line, without its hint.
func (f Fault) Error() string {
	var b strings.Builder
	b.WriteString(f.File)
	if f.Line > 0 {
		b.WriteByte(':')
		b.WriteString(strconv.Itoa(f.Line))
		if f.Column > 0 {
			b.WriteByte(':')
			b.WriteString(strconv.Itoa(f.Column))
		}
	}
	b.WriteString(": ")
	if f.Subject != "" {
		b.WriteString(f.Subject)
		b.WriteString(": ")
	}
	b.WriteString(f.Message)
	return b.String()
}

// Unwrap gives the fault without its place.
func (f Fault) Unwrap() error { return &f.Hinted }

// Faults are all the faults of one file, by line.
type Faults []Fault

// Error is one line a fault.
func (f Faults) Error() string {
	lines := make([]string, len(f))
	for i, fault := range f {
		lines[i] = fault.Error()
	}
	return strings.Join(lines, "\n")
}

// sorted puts the faults in the order of the file, keeping the order in which
// they were found where they share a place.
func (f Faults) sorted() Faults {
	slices.SortStableFunc(f, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return f
}

// err is the faults as an error, nil where there are none.
func (f Faults) err() error {
	if len(f) == 0 {
		return nil
	}
	return f.sorted()
}

// quoted shows text from a file on one line, cut where it is long.
func quoted(text string) string {
	const longest = 40
	if utf8.RuneCountInString(text) > longest {
		text = string([]rune(text)[:longest-1]) + "…"
	}
	return strconv.Quote(text)
}

// didYouMean is a hint that names the known word closest to the given one, or
// the empty string where none is close.
func didYouMean(word string, known []string) string {
	if best := Closest(word, known); best != "" {
		return "did you mean " + best + "?"
	}
	return ""
}

// Closest is the known word that is the fewest typing mistakes away, the
// empty string where it takes more than a third of the word.
func Closest(word string, known []string) string {
	best, least := "", max(1, min(len(word), 12)/3)+1
	if len(word) > 40 {
		return ""
	}
	for _, candidate := range known {
		if d := distance(word, candidate); d < least {
			best, least = candidate, d
		}
	}
	return best
}

// distance counts the insertions, deletions, substitutions and swaps of
// neighbours that turn a into b (optimal string alignment, Damerau 1964).
func distance(a, b string) int {
	before, last, now := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		now[0] = i
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			now[j] = min(last[j]+1, now[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				now[j] = min(now[j], before[j-2]+1)
			}
		}
		before, last, now = last, now, before
	}
	return last[len(b)]
}

// hints joins what there is to say.
func hints(parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), "; ")
}
