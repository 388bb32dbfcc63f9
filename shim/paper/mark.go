package paper

import (
	"fmt"
	"image"
	"strings"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/code128"
	"github.com/boombuler/barcode/qr"
)

// Marks lists the words for the machine-readable mark of a label, the default
// first.
var Marks = []string{"qr", "code128", "none"}

// encode makes the mark of a text.
func encode(mark, text string) (barcode.Barcode, error) {
	if mark == "code128" {
		return code128.Encode(text)
	}
	return qr.Encode(text, qr.M, qr.Auto)
}

// Quiet zones in modules: ISO/IEC 18004 asks for 4 around a QR code, ISO/IEC
// 15417 for 10 at each end of a Code 128.
const (
	quietQR  = 4
	quiet128 = 10
)

// seam is how far rows of modules overlap, in modules: where two edges meet,
// a renderer that smooths them leaves a hair of white.
const seam = 0.04

// modules draws the dark modules of a code as one path, a rectangle for each
// run: the upper left module begins at x and y, a module is w wide and h high.
func (d *drawing) modules(code barcode.Barcode, x, y, w, h float64) {
	var b strings.Builder
	bounds := code.Bounds()
	for row := bounds.Min.Y; row < bounds.Max.Y; row++ {
		for from := bounds.Min.X; from < bounds.Max.X; from++ {
			to := from
			for to < bounds.Max.X && dark(code, to, row) {
				to++
			}
			if to > from {
				fmt.Fprintf(&b, "M%.4f %.4fh%.4fv%.4fh%.4fz", x+float64(from-bounds.Min.X)*w, y+float64(row-bounds.Min.Y)*h, float64(to-from)*w, h*(1+seam), -float64(to-from)*w)
				from = to
			}
		}
	}
	d.Shapes = append(d.Shapes, shape{Kind: "path", Class: "module", D: b.String()})
}

func dark(code image.Image, x, y int) bool {
	r, g, b, _ := code.At(x, y).RGBA()
	return r+g+b < 3*0x8000
}
