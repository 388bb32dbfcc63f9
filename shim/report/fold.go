package report

import (
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"
)

// width is how many places the text takes on a terminal. Nearly all of it is
// plain ASCII, for which the general way is slow.
func width(s string) int {
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' {
			return text.StringWidth(s)
		}
	}
	return len(s)
}

// squeeze narrows the columns of one kind of table until its rows fit a line:
// first those of words, broken at spaces, then those of ranges, broken behind
// a hyphen. They give way evenly, the one with most to spare first. Columns that are set flush right are figures and stay whole.
func (d *Document) squeeze(kind string, widths []int) {
	excess := len(widths) - 1 - d.places()
	for _, w := range widths {
		excess += w
	}
	for _, breaks := range []string{" ", " -"} {
		if excess <= 0 {
			return
		}
		least := d.least(kind, len(widths), breaks)
		for excess > 0 {
			widest := -1
			for column, w := range widths {
				if w > least[column] && (widest < 0 || w-least[column] > widths[widest]-least[widest]) {
					widest = column
				}
			}
			if widest < 0 {
				break
			}
			widths[widest]--
			excess--
		}
	}
}

// longestPiece is what is broken anywhere where nothing else helps.
const longestPiece = 12

// least finds how narrow each column of a kind of table can be where cells are
// broken at the given characters.
func (d *Document) least(kind string, columns int, breaks string) []int {
	least := make([]int, columns)
	for _, s := range d.Sections {
		if s.Table == nil || s.Table.Kind != kind {
			continue
		}
		figures := map[int]bool{}
		for _, column := range s.Table.Right {
			figures[column] = true
		}
		for _, row := range s.Table.grid() {
			for column, cell := range row {
				if figures[column] {
					least[column] = max(least[column], width(cell))
					continue
				}
				for _, piece := range pieces(cell, breaks) {
					w := width(strings.TrimRight(piece, " "))
					if breaks != " " {
						w = min(w, longestPiece)
					}
					least[column] = max(least[column], w)
				}
			}
		}
	}
	return least
}

// pieces cuts a cell behind each of the characters.
func pieces(cell, breaks string) []string {
	var list []string
	from := 0
	for i := range len(cell) {
		if strings.IndexByte(breaks, cell[i]) >= 0 {
			list = append(list, cell[from:i+1])
			from = i + 1
		}
	}
	return append(list, cell[from:])
}

// fold breaks a cell into lines of at most so many places: at spaces, else behind a hyphen,
// else anywhere.
func fold(cell string, most int) string {
	if width(cell) <= most {
		return cell
	}
	var lines []string
	line := ""
	put := func(piece string) {
		if line != "" && width(strings.TrimRight(line+piece, " ")) > most {
			lines = append(lines, strings.TrimRight(line, " "))
			line = ""
		}
		line += piece
	}
	fits := func(piece string) bool { return width(strings.TrimRight(piece, " ")) <= most }
	for _, word := range pieces(cell, " ") {
		if fits(word) {
			put(word)
			continue
		}
		for _, part := range pieces(word, "-") {
			if fits(part) {
				put(part)
				continue
			}
			for _, r := range part {
				put(string(r))
			}
		}
	}
	return strings.Join(append(lines, strings.TrimRight(line, " ")), "\n")
}
