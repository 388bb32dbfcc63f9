package report

import (
	"cmp"
	"io"
	"slices"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"

	"shimwright/shim"
)

// A Document is what a plan or a listing says, before its decoration.
type Document struct {
	Sections []Section
	line     int // places in a line; 0 is [LineWidth]
}

// Narrow makes the document keep to a line of fewer places than [LineWidth];
// more, and 0, change nothing. A table that cannot is written row by row.
func (d *Document) Narrow(places int) *Document {
	if places > 0 && places < LineWidth {
		d.line = max(places, 20)
	}
	return d
}

// places are those of a line.
func (d *Document) places() int { return cmp.Or(d.line, LineWidth) }

// A Section is a heading with lines, a table and notes below it; any may be
// missing. Level is 1 for the document's title, 2 for its parts, 3 for blocks.
type Section struct {
	Level   int
	Heading string
	Lines   []string
	Table   *Table
	Chart   *Chart
	Notes   []string
	RunIn   bool     // on a terminal the heading stands in front of the lines, with no blank line between such sections
	Screen  string   // on a terminal in place of heading and notes
	Briefer []string // in place of Screen, the first that takes three lines at most
}

// A Table is a grid of cells. Columns of sections with the same Kind get the
// same width, so that blocks line up.
type Table struct {
	Kind   string
	Header []string
	Rows   [][]string
	Footer []string
	Right  []int        // columns that are set flush right, counted from 0
	Strong map[int]bool // columns whose upper-case words are set off
	Breaks []int        // rows with a blank line above them on a terminal
	// Narrower are forms of the table with shorter headers and fewer columns, each
	// narrower than the one before, for a terminal that has no room for it.
	Narrower []*Table
	Note     string // below it on a terminal
	Unsaid   string // how a note begins on a terminal that goes with a column left out
	// say words a row for a terminal that has no room for its columns, a line each; nil
	// sets every cell behind its column's name.
	say  func(row []string) []string
	line int // places in a line; 0 is [LineWidth]
}

// add appends a section.
func (d *Document) add(s Section) { d.Sections = append(d.Sections, s) }

// visible is the document with everything in it made [shim.Visible].
func (d *Document) visible() *Document {
	shown := &Document{Sections: slices.Clone(d.Sections), line: d.line}
	for i := range shown.Sections {
		s := &shown.Sections[i]
		s.Heading, s.Lines, s.Notes = shim.Visible(s.Heading), visible(s.Lines), visible(s.Notes)
		if s.Table != nil {
			t := s.Table.visible()
			t.line = d.line
			t.Narrower = slices.Clone(t.Narrower)
			for k, n := range t.Narrower {
				shown := n.visible()
				t.Narrower[k] = &shown
			}
			s.Table = &t
		}
	}
	return shown
}

func (t Table) visible() Table {
	t.Header, t.Footer, t.Rows = visible(t.Header), visible(t.Footer), slices.Clone(t.Rows)
	for k := range t.Rows {
		t.Rows[k] = visible(t.Rows[k])
	}
	return t
}

// visible is the texts made visible; it copies where something has to change.
func visible(texts []string) []string {
	for i, text := range texts {
		if shown := shim.Visible(text); shown != text {
			texts = slices.Clone(texts)
			for k := i; k < len(texts); k++ {
				texts[k] = shim.Visible(texts[k])
			}
			return texts
		}
	}
	return texts
}

// LineWidth is the width that tables and text keep to, in characters.
const LineWidth = 80

// Text writes the document for a terminal. With color, what stands out in
// words stands out in weight too; the content is the same.
func (d *Document) Text(w io.Writer, color bool) error {
	d = d.visible().fitted()
	widths := d.widths()
	var b strings.Builder
	for i, s := range d.Sections {
		if i > 0 && !(s.RunIn && d.Sections[i-1].RunIn) {
			b.WriteString("\n")
		}
		if s.Screen != "" {
			b.WriteString(s.screen(d.places()) + "\n")
			continue
		}
		if s.RunIn {
			line := wrap(s.Heading+": "+strings.Join(s.Lines, " "), "", d.places())
			if rest, ok := strings.CutPrefix(line, s.Heading); ok && color {
				line = bold(s.Heading) + rest
			}
			b.WriteString(line + "\n")
			continue
		}
		if s.Heading != "" {
			for _, heading := range strings.Split(text.WrapSoft(s.Heading, d.places()), "\n") {
				heading = strings.TrimRight(heading, " ")
				if color {
					heading = bold(heading)
				}
				b.WriteString(heading + "\n")
			}
		}
		for _, line := range s.Lines {
			b.WriteString(wrap(line, "", d.places()) + "\n")
		}
		if s.Table != nil {
			b.WriteString(s.Table.text(widths[s.Table.Kind], color) + "\n")
			if s.Table.Note != "" {
				b.WriteString(wrap(s.Table.Note, "  ", d.places()) + "\n")
			}
		}
		if s.Chart != nil {
			b.WriteString(strings.Join(s.Chart.Lines(d.places()), "\n") + "\n")
		}
		for _, note := range s.Notes {
			if s.Table == nil || s.Table.Unsaid == "" || !strings.HasPrefix(note, s.Table.Unsaid) {
				b.WriteString(wrap(note, "  ", d.places()) + "\n")
			}
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// screen is what a terminal gets in place of heading and notes.
func (s *Section) screen(places int) string {
	lines := wrap(s.Screen, "", places)
	for i := 0; i < len(s.Briefer) && strings.Count(lines, "\n") >= 3; i++ {
		lines = wrap(s.Briefer[i], "", places)
	}
	return lines
}

// Markdown writes the document as Markdown.
func (d *Document) Markdown(w io.Writer) error {
	d = d.visible()
	var b strings.Builder
	for i, s := range d.Sections {
		if i > 0 {
			b.WriteString("\n")
		}
		if s.Heading != "" {
			b.WriteString(strings.Repeat("#", s.Level) + " " + escapeMarkdown(s.Heading) + "\n\n")
		}
		for _, line := range s.Lines {
			b.WriteString(escapeMarkdown(line) + "\n\n")
		}
		if s.Table != nil {
			t := s.Table.writer(nil, false, escapeCell)
			b.WriteString(t.RenderMarkdown() + "\n")
		}
		if s.Chart != nil {
			b.WriteString("```text\n" + strings.Join(s.Chart.Lines(d.places()), "\n") + "\n```\n")
		}
		for _, note := range s.Notes {
			b.WriteString("\n- " + escapeMarkdown(note) + "\n")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// escapeMarkdown keeps what people wrote from being read as markup.
func escapeMarkdown(s string) string { return strings.ReplaceAll(escapeCell(s), "|", `\|`) }

var markup = strings.NewReplacer(`\`, `\\`, "*", `\*`, "_", `\_`, "<", `\<`, "[", `\[`, "&", `\&`, "~", `\~`, "`", "\\`")

// escapeCell is [escapeMarkdown] for a table, whose writer sees to the bars.
func escapeCell(s string) string { return markup.Replace(s) }

// wrap breaks a line at spaces to the line width, further lines indented.
func wrap(line, indent string, places int) string {
	lines := strings.Split(text.WrapSoft(line, places-len(indent)-2), "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
		if i > 0 {
			lines[i] = indent + "  " + lines[i]
		} else {
			lines[i] = indent + lines[i]
		}
	}
	return strings.Join(lines, "\n")
}

// widths finds the width of each column over all tables of a kind, narrowed to
// the line.
func (d *Document) widths() map[string][]int {
	widths := d.natural()
	for kind, w := range widths {
		d.squeeze(kind, w)
	}
	return widths
}

// natural is the width of each column over all tables of a kind, unfolded.
func (d *Document) natural() map[string][]int {
	widths := map[string][]int{}
	for _, s := range d.Sections {
		if s.Table == nil {
			continue
		}
		for _, row := range s.Table.grid() {
			for column, cell := range row {
				w := widths[s.Table.Kind]
				for len(w) <= column {
					w = append(w, 0)
				}
				w[column] = max(w[column], width(cell))
				widths[s.Table.Kind] = w
			}
		}
	}
	return widths
}

// grid is the header, the footer and the rows.
func (t *Table) grid() [][]string { return append([][]string{t.Header, t.Footer}, t.Rows...) }

func (t *Table) text(widths []int, color bool) string {
	if t.line > 0 && t.stacks(widths) {
		return t.stacked()
	}
	lines := strings.Split(strings.TrimRight(t.writer(widths, color, nil).Render(), "\n"), "\n")
	gap := len(t.gap(widths))
	for i, line := range lines {
		if rule := strings.TrimRight(line, "-"); rule == "" && line != "" {
			lines[i] = line[gap:] // the last column needs no gap behind it
		}
	}
	return strings.Join(lines, "\n")
}

// stacks reports whether the columns do not fit a line, however folded.
func (t *Table) stacks(widths []int) bool {
	total := len(widths) - 1
	for _, w := range widths {
		total += w
	}
	return total > t.line
}

// stacked is the table row by row: as it says them itself, else each cell behind its
// column's name, but for what the row is about.
func (t *Table) stacked() string {
	var b strings.Builder
	for i, row := range append(slices.Clip(t.Rows), t.Footer) {
		if len(row) == 0 {
			continue
		}
		if slices.Contains(t.Breaks, i) {
			b.WriteString("\n")
		}
		if t.say != nil && i < len(t.Rows) {
			for k, line := range t.say(row) {
				indent := ""
				if k > 0 {
					indent = "  "
				}
				b.WriteString(wrap(line, indent, t.line) + "\n")
			}
			continue
		}
		var head, parts []string
		for column, cell := range row {
			if strings.TrimSpace(cell) == "" {
				continue
			}
			line := strings.Join(strings.Fields(cell), " ")
			switch {
			case column >= len(t.Header):
			case len(parts) == 0 && (t.Header[column] == "" || t.Header[column] == "valve"):
				head = append(head, line)
				continue
			case t.Header[column] != "":
				line = t.Header[column] + " " + line
			}
			parts = append(parts, line)
		}
		text := strings.Join(parts, ", ")
		if len(head) > 0 && text != "" {
			text = strings.Join(head, " ") + ": " + text
		}
		b.WriteString(wrap(text, "", t.line) + "\n")
	}
	return strings.TrimRight(b.String(), "\n")
}

// gap is what stands between two columns: two spaces, or one where the table
// would be too wide for a line.
func (t *Table) gap(widths []int) string {
	total := 2 * (len(widths) - 1)
	for _, w := range widths {
		total += w
	}
	if total > cmp.Or(t.line, LineWidth) {
		return " "
	}
	return "  "
}

// writer fills a go-pretty table, which upper-cases headers and colours pipes
// unless told otherwise. Cells are folded to the widths, and escaped.
func (t *Table) writer(widths []int, color bool, escape func(string) string) table.Writer {
	w := table.NewWriter()
	style := table.StyleDefault
	style.Format = table.FormatOptions{Header: text.FormatDefault, Footer: text.FormatDefault, Row: text.FormatDefault}
	style.Options = table.Options{SeparateHeader: true, SeparateFooter: len(t.Footer) > 0}
	style.Box.PaddingLeft, style.Box.PaddingRight = "", t.gap(widths)
	style.Box.MiddleHorizontal, style.Box.MiddleSeparator = "-", "-"
	w.SetStyle(style)
	w.SuppressTrailingSpaces()
	row := func(cells []string) table.Row {
		r := make(table.Row, len(cells))
		for i, cell := range cells {
			if i < len(widths) {
				cell = fold(cell, widths[i])
			}
			if escape != nil {
				cell = escape(cell)
			}
			r[i] = cell
		}
		return r
	}
	w.AppendHeader(row(t.Header))
	for i, r := range t.Rows {
		if escape == nil && slices.Contains(t.Breaks, i) {
			w.AppendRow(table.Row{""})
		}
		w.AppendRow(row(r))
	}
	if len(t.Footer) > 0 {
		w.AppendFooter(row(t.Footer))
	}
	var configs []table.ColumnConfig
	for column := range t.Header {
		c := table.ColumnConfig{Number: column + 1}
		if column < len(widths) {
			c.WidthMin = widths[column]
		}
		for _, right := range t.Right {
			if right == column {
				c.Align, c.AlignHeader, c.AlignFooter = text.AlignRight, text.AlignRight, text.AlignRight
			}
		}
		if color && t.Strong[column] {
			c.Transformer = func(cell any) string {
				s, _ := cell.(string)
				if s != "" && s == strings.ToUpper(s) && s != strings.ToLower(s) {
					return bold(s)
				}
				return s
			}
		}
		configs = append(configs, c)
	}
	w.SetColumnConfigs(configs)
	return w
}

func bold(s string) string { return "\x1b[1m" + s + "\x1b[0m" }
