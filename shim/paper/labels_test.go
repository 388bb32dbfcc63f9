package paper

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

func labelsOf(n int) []Label {
	var labels []Label
	for i := range n {
		labels = append(labels, Label{Size: shim.Length(1200+25*i) * shim.Micrometre, Family: shim.Family{Diameter: 8900 * shim.Micrometre}, Bin: "A" + strconv.Itoa(i)})
	}
	return labels
}

// The code has the family of shims that are no plain discs, and keeps its place
// where the diameter is not known.
func TestLabelText(t *testing.T) {
	size := 2900 * shim.Micrometre
	for want, l := range map[string]Label{
		"2.900":          {Size: size},
		"2.900;7":        {Size: size, Family: shim.Family{Diameter: 7 * shim.Millimetre}},
		"2.900;7;closer": {Size: size, Family: shim.Family{Diameter: 7 * shim.Millimetre, Kind: "closer"}},
		"2.900;;closer":  {Size: size, Family: shim.Family{Kind: "closer"}},
	} {
		assert.Equal(t, want, l.text())
	}
}

// gridText is the grid as [ParseLabelGrid] reads it.
func gridText(g LabelGrid) string {
	text := fmt.Sprintf("%s-%dx%d-%sx%s", strings.ToLower(g.Paper), g.Columns, g.Rows, g.Width, g.Height)
	if g.GapX != 0 || g.GapY != 0 {
		text += fmt.Sprintf("-%sx%s", g.GapX, g.GapY)
	}
	return text
}

// Every common grid fits its paper, has a name that reads back, and takes a QR
// code.
func TestLabelGrids(t *testing.T) {
	for _, name := range LabelGrids {
		g, err := ParseLabelGrid(name)
		require.NoError(t, err, name)
		assert.Equal(t, name, gridText(g))
		short := strings.Join(strings.Split(name, "-")[:3], "-")
		same, err := ParseLabelGrid(strings.ToUpper(short))
		require.NoError(t, err, short)
		assert.Equal(t, g, same, short)
		assert.NoError(t, Labels(io.Discard, labelsOf(3), LabelOptions{Grid: g, Start: 1, Mark: "qr"}), name)
	}
	own, err := ParseLabelGrid(" letter-2x3-60x50-10x12.7 ")
	require.NoError(t, err)
	left, top := own.margins()
	// 215.9 - 2*60 - 10 = 85.9 and 279.4 - 3*50 - 2*12.7 = 104, halved.
	assert.Equal(t, [2]string{"42.95", "52"}, [2]string{left.String(), top.String()})
	for _, bad := range []string{"", "a4", "a5-3x8-70x36", "a4-3x8", "a4-0x8-70x36", "a4-3x8-70", "a4-3x8-71x36", "a4-3x9-70x36", "a4-3x8-70x36-1", "a4-3x8-20x36", "a4-axb-70x36", "a4-3x8-70x36-0x0-0x0", "a4-3x8-70x36--1x0"} {
		_, err := ParseLabelGrid(bad)
		assert.Error(t, err, bad)
	}
}

// Labels go along the rows from the first one that is free; each page is full
// before the next begins.
func TestLabelPlaces(t *testing.T) {
	g, err := ParseLabelGrid("a4-3x7-63.5x38.1")
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, Labels(&b, labelsOf(21), LabelOptions{Grid: g, Start: 5, Mark: "none"}))
	var got []string
	for _, m := range regexp.MustCompile(`<section|<div style="left: ([\d.]+)mm; top: ([\d.]+)mm"|<title id="[^"]+">([^<]+)`).FindAllStringSubmatch(b.String(), -1) {
		switch {
		case m[1] != "":
			got = append(got, m[1]+" "+m[2])
		case m[3] != "":
			got[len(got)-1] += " " + m[3]
		default:
			got = append(got, "page")
		}
	}
	var want []string
	for i := range 21 {
		at := i + 4
		if i == 0 || at == 21 {
			want = append(want, "page")
		}
		// 7.25 and 15.15 mm are left around three columns and seven rows.
		want = append(want, fmt.Sprintf("%.5g %.5g Shim %.3f mm", 7.25+66*float64(at%3), 15.15+38.1*float64(at%21/3), 1.2+0.025*float64(i)))
	}
	assert.Equal(t, want, got)
}

func TestLabelErrors(t *testing.T) {
	g, err := ParseLabelGrid("a4-5x13-38.1x21.2")
	require.NoError(t, err)
	for name, c := range map[string]struct {
		labels []Label
		o      LabelOptions
	}{
		"none":              {nil, LabelOptions{Grid: g, Start: 1, Mark: "qr"}},
		"before the first":  {labelsOf(1), LabelOptions{Grid: g, Start: 0, Mark: "qr"}},
		"behind the last":   {labelsOf(1), LabelOptions{Grid: g, Start: 66, Mark: "qr"}},
		"bars too narrow":   {labelsOf(1), LabelOptions{Grid: g, Start: 1, Mark: "code128"}},
		"code beyond reach": {labelsOf(1), LabelOptions{Grid: LabelGrid{Paper: "A4", Columns: 1, Rows: 1, Width: 25 * shim.Millimetre, Height: 8 * shim.Millimetre}, Start: 1, Mark: "qr"}},
	} {
		var b bytes.Buffer
		assert.ErrorIs(t, Labels(&b, c.labels, c.o), ErrLabels, name)
		assert.Empty(t, b.String(), name)
	}
}

// The path of a mark is the code that the library made, module by module: a
// point in the middle of each module lies in a rectangle where it is dark.
func TestModules(t *testing.T) {
	for _, mark := range []string{"qr", "code128"} {
		code, err := encode(mark, "2.425;8.9")
		require.NoError(t, err)
		var d drawing
		d.modules(code, 2, 3, 0.5, 0.5)
		type box struct{ x, y, w, h float64 }
		var boxes []box
		for _, m := range regexp.MustCompile(`M([\d.]+) ([\d.]+)h([\d.]+)v([\d.]+)h-[\d.]+z`).FindAllStringSubmatch(d.Shapes[0].D, -1) {
			var n [4]float64
			for i := range n {
				n[i], err = strconv.ParseFloat(m[i+1], 64)
				require.NoError(t, err)
			}
			boxes = append(boxes, box{n[0], n[1], n[2], n[3]})
		}
		require.NotEmpty(t, boxes)
		size := code.Bounds()
		for row := range size.Dy() {
			for column := range size.Dx() {
				x, y := 2.25+0.5*float64(column), 3.25+0.5*float64(row)
				inside := false
				for _, b := range boxes {
					inside = inside || b.x < x && x < b.x+b.w && b.y < y && y < b.y+b.h
				}
				r, _, _, _ := code.At(column, row).RGBA()
				require.Equal(t, r == 0, inside, "%s: %d %d", mark, column, row)
			}
		}
	}
}

// The page about paper lists every common grid with its number of labels.
func TestDocumentListsGrids(t *testing.T) {
	page, err := os.ReadFile(filepath.Join("..", "..", "docs", "paper.md"))
	require.NoError(t, err)
	for _, name := range LabelGrids {
		g, err := ParseLabelGrid(name)
		require.NoError(t, err)
		assert.Regexp(t, fmt.Sprintf(`(?m)^\| .%s.[^|]* \| %d\b`, regexp.QuoteMeta(name), g.Columns*g.Rows), string(page))
	}
}
