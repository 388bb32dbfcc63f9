package report

import (
	"bytes"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

func textOf(t *testing.T, d *Document, color bool) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, d.Text(&b, color))
	return b.String()
}

func markdownOf(t *testing.T, d *Document) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, d.Markdown(&b))
	return b.String()
}

// TestTextFitsALine holds the table against the width of a terminal, whatever
// the names, units and reasons are.
func TestTextFitsALine(t *testing.T) {
	eachAwkward(t, func(t *testing.T, p *plan.Plan) {
		for _, line := range strings.Split(textOf(t, Plan(p, Options{}), false), "\n") {
			assert.LessOrEqual(t, text.StringWidth(line), LineWidth, "%q", line)
			assert.Equal(t, strings.TrimRight(line, " "), line, "%q", line)
		}
	})
}

var escapes = regexp.MustCompile("\x1b\\[[0-9;]*m")

// TestColorIsDecoration: what a terminal gets beyond a pipe is weight alone.
func TestColorIsDecoration(t *testing.T) {
	eachAwkward(t, func(t *testing.T, p *plan.Plan) {
		plain, colored := textOf(t, Plan(p, Options{}), false), textOf(t, Plan(p, Options{}), true)
		assert.NotContains(t, plain, "\x1b")
		assert.Contains(t, colored, "\x1b[1m")
		assert.Equal(t, plain, escapes.ReplaceAllString(colored, ""))
	})
}

// TestTextHoldsTheCells reads the tables back out of the text.
func TestTextHoldsTheCells(t *testing.T) {
	eachAwkward(t, func(t *testing.T, p *plan.Plan) {
		d := Plan(p, Options{}).visible().fitted()
		widths := d.widths()
		lines := strings.Split(textOf(t, d, false), "\n")
		for _, s := range d.Sections {
			if s.Table == nil || s.Screen != "" {
				continue
			}
			table := s.Table
			w := widths[table.Kind]
			grid := append([][]string{table.Header}, table.Rows...)
			if len(table.Footer) > 0 {
				grid = append(grid, table.Footer)
			}
			for at, row := range grid {
				want := make([]string, len(row))
				height, begins := 1, ""
				for c, cell := range row {
					want[c] = squeezed(cell)
					folded := strings.Split(fold(cell, w[c]), "\n")
					height = max(height, len(folded))
					if begins == "" {
						begins = folded[0]
					}
				}
				// The first place from here on that holds the row.
				i := 0
				for i < len(lines) && !(strings.HasPrefix(strings.TrimLeft(lines[i], " "), begins) && holds(lines[i:], want, w, height, table)) {
					i++
				}
				require.Less(t, i, len(lines), "row %d of %s: %q", at, s.Heading, row)
				lines = lines[i+height:]
			}
		}
	})
}

// holds reports whether the lines begin with the row.
func holds(lines []string, want []string, widths []int, height int, table *Table) bool {
	got := make([]string, len(want))
	for _, line := range lines[:min(len(lines), height)] {
		for c, cell := range columns(line, widths, len(table.gap(widths))) {
			got[c] += squeezed(cell)
		}
	}
	return slices.Equal(got, want)
}

// columns cuts a line at the columns' places, counted in terminal cells.
func columns(line string, widths []int, gap int) []string {
	cells := make([]string, len(widths))
	column, used := 0, 0
	for _, r := range line {
		for column+1 < len(widths) && used >= widths[column]+gap {
			used -= widths[column] + gap
			column++
		}
		cells[column] += string(r)
		used += text.StringWidth(string(r))
	}
	return cells
}

// squeezed leaves out the spaces, at which a cell may have been broken.
func squeezed(s string) string { return strings.ReplaceAll(s, " ", "") }

// TestMarkdownHoldsTheCells reads headings, notes and tables back out of the
// Markdown and finds the document.
func TestMarkdownHoldsTheCells(t *testing.T) {
	eachAwkward(t, func(t *testing.T, p *plan.Plan) {
		d := Plan(p, Options{})
		lines := strings.Split(markdownOf(t, d), "\n")
		next := func() string { // the next line with anything on it
			for len(lines) > 0 {
				line := lines[0]
				lines = lines[1:]
				if strings.TrimSpace(line) != "" {
					return line
				}
			}
			return ""
		}
		for _, s := range d.Sections {
			if s.Heading != "" {
				require.Equal(t, oneSpace(strings.Repeat("#", s.Level)+" "+s.Heading), oneSpace(unescape(next())))
			}
			for _, want := range s.Lines {
				require.Equal(t, want, unescape(next()))
			}
			if s.Table != nil {
				require.Equal(t, s.Table.Header, cells(next()))
				rule := next()
				require.Regexp(t, `^\|( ?:?-+:? ?\|)+$`, rule)
				require.Equal(t, len(s.Table.Header)+1, strings.Count(rule, "|"))
				for _, row := range s.Table.Rows {
					require.Equal(t, trimmed(row), cells(next()))
				}
				if len(s.Table.Footer) > 0 {
					require.Equal(t, s.Table.Footer, cells(next()))
				}
			}
			for _, want := range s.Notes {
				require.Equal(t, "- "+want, unescape(next()))
			}
		}
		assert.Empty(t, next(), "nothing follows")
	})
}

var escaped = regexp.MustCompile("\\\\([!-/:-@\\[-`{-~])")

// unescape undoes CommonMark's backslashes: any ASCII punctuation may have one
// (CommonMark 0.31.2, section 2.4). What markup it finds without one fails.
func unescape(s string) string { return escaped.ReplaceAllString(s, "$1") }

// cells are those of a table's line: GitHub's extension parts them at bars
// without a backslash.
func cells(line string) []string {
	line = strings.TrimSuffix(strings.TrimPrefix(line, "|"), "|")
	var list []string
	from := 0
	for i := range len(line) {
		if line[i] == '|' && !strings.HasSuffix(escaped.ReplaceAllString(line[from:i], "."), `\`) {
			list = append(list, line[from:i])
			from = i + 1
		}
	}
	list = append(list, line[from:])
	for i := range list {
		list[i] = unescape(strings.TrimSpace(list[i]))
	}
	return list
}

func oneSpace(s string) string { return strings.Join(strings.Fields(s), " ") }

func trimmed(row []string) []string {
	list := make([]string, len(row))
	for i := range row {
		list[i] = strings.TrimSpace(row[i])
	}
	return list
}

// TestMarkdownEscapesMarkup: nothing that people wrote is read as markup.
func TestMarkdownEscapesMarkup(t *testing.T) {
	e := single(t, `*_<b>`+"`x`"+`|[y](z)&amp;~~\`)
	p := made(t, plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "0.12 2.5", "<0.05 2.5")}}})
	markdown := markdownOf(t, Plan(p, Options{}))
	heading, _, _ := strings.Cut(markdown, "\n")
	assert.Equal(t, "# \\*\\_\\<b>\\`x\\`\\|\\[y](z)\\&amp;\\~\\~\\\\ (mm)", heading)
	assert.Contains(t, markdown, `| \<0.05 |`)
}

func TestFold(t *testing.T) {
	for _, c := range []struct {
		cell  string
		width int
		want  string
	}{
		{"swap from in11a", 15, "swap from in11a"},
		{"swap from in11a", 11, "swap from\nin11a"},
		{"swap from in11a", 5, "swap\nfrom\nin11a"},
		{"0.00775-0.01125", 14, "0.00775-\n0.01125"},
		{"", 5, ""},
		{"unbroken", 3, "unb\nrok\nen"},
		{"三気筒", 4, "三気\n筒"}, // each takes two places
	} {
		assert.Equal(t, c.want, fold(c.cell, c.width), "%q to %d", c.cell, c.width)
	}
}

// TestRingNamesTheRow: in a ring of swaps the first valve waits, and its row
// says until when; in a chain no row does.
func TestRingNamesTheRow(t *testing.T) {
	e := single(t, "Plover 250")
	ring := made(t, plan.Request{NoBuy: true, Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "0.05 2.5", "0.30 2.425")}}})
	require.Len(t, ring.Jobs[0].Moves, 2)
	ringText := textOf(t, Plan(ring, Options{}), false)
	assert.Contains(t, ringText, "  ex1, row 2\n")
	assert.Contains(t, ringText, "  in1\n")

	chain := made(t, plan.Request{NoBuy: true, Margin: plan.DefaultMargin, Box: []shim.BoxRow{{Marks: shim.Marks{Stamp: mm(t, "2.425")}, Count: 1}},
		Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "0.05 2.5", "0.32 2.4")}}})
	require.Len(t, chain.Jobs[0].Moves, 2)
	assert.NotContains(t, textOf(t, Plan(chain, Options{}), false), ", row ")
}
