package paper

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
)

// A LabelGrid is how a sheet of labels is cut: so many columns and rows of
// labels of one size with gaps between them, centred on the paper.
type LabelGrid struct {
	Paper         string // "A4" or "letter"
	Columns, Rows int
	Width, Height shim.Length // of a label
	GapX, GapY    shim.Length // between neighbours
}

// papers are the sizes of paper: ISO 216, ANSI/ASME Y14.1 size A.
var papers = map[string][2]shim.Length{
	"A4":     {210 * shim.Millimetre, 297 * shim.Millimetre},
	"letter": {17 * shim.Inch / 2, 11 * shim.Inch},
}

// LabelGrids are grids in common use, the default first. Dimensions from
// memory; hold a print on plain paper over the labels first.
var LabelGrids = []string{
	"a4-3x8-70x36",
	"a4-3x7-63.5x38.1-2.5x0",
	"a4-2x7-99.1x38.1-2.5x0",
	"a4-4x10-48.5x25.4",
	"a4-5x13-38.1x21.2-2.5x0",
	"letter-3x10-66.675x25.4-3.175x0",
	"letter-2x5-101.6x50.8-4.7625x0",
	"letter-2x7-101.6x33.8667-4.7625x0",
	"letter-4x20-44.45x12.7-7.62x0",
}

// ParseLabelGrid reads a grid as paper, columns x rows, width x height of a
// label and gaps between labels, in mm: "a4-3x7-63.5x38.1-2.5x0". Without the
// gaps it is the listed grid that begins so, or one without gaps. The error
// says what does not fit.
func ParseLabelGrid(text string) (LabelGrid, error) {
	name := strings.ToLower(strings.TrimSpace(text))
	if !slices.Contains(LabelGrids, name) {
		for _, known := range LabelGrids {
			if strings.HasPrefix(known, name+"-") && strings.Count(name, "-") == 2 {
				name = known
			}
		}
	}
	fail := func(what string) (LabelGrid, error) {
		return LabelGrid{}, fmt.Errorf("%q is no grid of labels: %s", text, what)
	}
	parts := strings.Split(name, "-")
	if len(parts) < 3 || len(parts) > 4 {
		return fail("paper, columns x rows, width x height in mm and, if there are any, gaps, like " + LabelGrids[1])
	}
	g := LabelGrid{Paper: parts[0]}
	if g.Paper == "a4" {
		g.Paper = "A4"
	}
	if _, known := papers[g.Paper]; !known {
		return fail("the paper is a4 or letter")
	}
	columns, rows, _ := strings.Cut(parts[1], "x")
	var err1, err2 error
	g.Columns, err1 = strconv.Atoi(columns)
	g.Rows, err2 = strconv.Atoi(rows)
	if err1 != nil || err2 != nil || g.Columns < 1 || g.Rows < 1 || g.Columns > 20 || g.Rows > 50 {
		return fail(parts[1] + " are not columns x rows")
	}
	lengths := func(part string, x, y *shim.Length) bool {
		a, b, _ := strings.Cut(part, "x")
		*x, err1 = shim.MM.Parse(a)
		*y, err2 = shim.MM.Parse(b)
		return err1 == nil && err2 == nil && *x >= 0 && *y >= 0
	}
	if !lengths(parts[2], &g.Width, &g.Height) || g.Width < 25*shim.Millimetre || g.Height < 12*shim.Millimetre {
		return fail(parts[2] + " is not a width x height in mm, at least 25x12")
	}
	if len(parts) == 4 && !lengths(parts[3], &g.GapX, &g.GapY) {
		return fail(parts[3] + " are not gaps in mm")
	}
	if left, top := g.margins(); left < 0 || top < 0 {
		return fail("the labels do not fit on the paper")
	}
	return g, nil
}

// margins is what the centred labels leave at the left and at the top.
func (g LabelGrid) margins() (left, top shim.Length) {
	paper := papers[g.Paper]
	n, m := shim.Length(g.Columns), shim.Length(g.Rows)
	return (paper[0] - n*g.Width - (n-1)*g.GapX) / 2, (paper[1] - m*g.Height - (m-1)*g.GapY) / 2
}
