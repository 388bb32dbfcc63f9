package paper

import (
	"fmt"
	"strings"
)

// A drawing is an SVG picture in mm: what it shows in words, and its shapes.
type drawing struct {
	ID, Title, Desc string
	Class           string
	W, H            float64
	Shapes          []shape
}

// A shape is one element of a drawing. Its class says how it looks (style.css).
type shape struct {
	Kind    string // "path" or "text"
	Class   string
	D       string // of a path
	X, Y    string // of a text: anchor on its base line
	Size    string
	Anchor  string
	Squeeze string // the length to squeeze a text into; empty where it fits
	Text    string
}

// mm writes a distance on paper to the hundredth of a mm.
func mm(x float64) string {
	text := strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.2f", x), "0"), ".")
	if text == "-0" {
		return "0"
	}
	return text
}

func (d *drawing) path(class, format string, at ...float64) {
	parts := make([]any, len(at))
	for i, x := range at {
		parts[i] = mm(x)
	}
	d.Shapes = append(d.Shapes, shape{Kind: "path", Class: class, D: fmt.Sprintf(format, parts...)})
}

func (d *drawing) line(class string, x1, y1, x2, y2 float64) {
	d.path(class, "M%s %sL%s %s", x1, y1, x2, y2)
}

func (d *drawing) rect(class string, x, y, w, h float64) {
	d.path(class, "M%s %sh%sv%sh%sz", x, y, w, h, -w)
}

func (d *drawing) circle(class string, x, y, r float64) {
	d.path(class, "M%s %sa%s %s 0 1 0 %s 0a%s %s 0 1 0 %s 0z", x-r, y, r, r, 2*r, r, r, -2*r)
}

// text writes at x on the base line y. A text wider than the width is squeezed
// into it, so that nothing ever runs into its neighbour.
func (d *drawing) text(class, anchor string, x, y, size, width float64, text string) {
	if text == "" {
		return
	}
	s := shape{Kind: "text", Class: class, X: mm(x), Y: mm(y), Size: mm(size), Anchor: anchor, Text: text}
	if size*ems(text) > width {
		s.Squeeze = mm(width)
	}
	d.Shapes = append(d.Shapes, s)
}

// ems is about how wide a text is in a bold Helvetica or a face of the same
// width, in units of its size; a little too wide rather than too narrow.
func ems(text string) float64 {
	sum := 0.0
	for _, c := range text {
		switch {
		case strings.ContainsRune(".,:;'| il", c):
			sum += 0.31
		case c == '-' || strings.ContainsRune("jtfr()", c):
			sum += 0.39
		case c >= '0' && c <= '9':
			sum += 0.57
		case c == 'm' || c == 'w' || c == 'M' || c == 'W':
			sum += 0.92
		case c >= 'A' && c <= 'Z':
			sum += 0.74
		case c > 0x2000:
			sum += 1
		default:
			sum += 0.62
		}
	}
	return sum
}

// fitting is the largest size up to most at which the text is no wider.
func fitting(text string, most, width float64) float64 {
	if text == "" {
		return most
	}
	return min(most, width/ems(text))
}
