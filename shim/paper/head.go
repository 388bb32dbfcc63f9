package paper

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
)

// The head is drawn in slices as seen from above, cam-drive end at the top: a
// band with the camshafts and limits, then a rank of cylinders each. Pages may
// break between slices, never in one.

// Measures of the head in mm on paper.
const (
	headWidth = 190.0 // what A4 and Letter leave between margins of 10
	bankGap   = 4.0
	rankPad   = 2.2 // above and below the valves of a rank
	tightPad  = 0.9 // the same where it brings the head onto a form's first page
)

// A place is where one valve's boxes go: x is the edge next to the cylinder,
// and dir is the way from there outwards, -1 or 1.
type place struct {
	valve  shim.Valve
	x, y   float64 // y is the top
	dir    float64
	width  float64
	height float64
}

// span is a stretch of the place from a to b, counted outwards from the
// cylinder, as left edge and width.
func (p place) span(a, b float64) (x, w float64) {
	if p.dir < 0 {
		return p.x - b, b - a
	}
	return p.x + a, b - a
}

// A plotter draws one valve into its place.
type plotter func(d *drawing, at place)

// A head draws an engine.
type head struct {
	engine *shim.Engine
	units  shim.Unit
	intake shim.Placing
	row    float64 // height of a valve's place
	whole  float64 // a pair lower than this stays on one page
	plot   plotter
	about  func(v shim.Valve) string // a valve in words, for the description
	over   func(bank int, s shim.Side) string
	prefix string // of the drawings' ids
}

// double reports whether banks stand side by side.
func (h *head) double() bool { return len(h.engine.BankList()) > 1 }

// column is half the width of the strip in which the cylinders stand.
func (h *head) column() float64 {
	if h.double() {
		return 6.5
	}
	return 11
}

func (h *head) bankWidth() float64 {
	if h.double() {
		return (headWidth - bankGap) / 2
	}
	return headWidth
}

// A pair is one or two banks drawn side by side.
type pair struct {
	Bands drawing
	Ranks []drawing
	Whole bool // stays on one page; a higher one may break between ranks
}

// Heights in mm: one that fits any page beside nothing else, what a card's
// first page has left for the head, and what may go to the next page without
// leaving the card's first one more than half empty.
const (
	onePage   = 225.0
	firstPage = 180.0
	movable   = 125.0
)

// First is the rank that keeps with the band.
func (p pair) First() drawing { return p.Ranks[0] }

// Others are the other ranks.
func (p pair) Others() []drawing { return p.Ranks[1:] }

// pairs draws the engine.
func (h *head) pairs() []pair {
	banks := h.engine.BankList()
	var pairs []pair
	for first := 0; first < len(banks); first += 2 {
		pair := pair{Bands: h.band(first)}
		ranks := 0
		for _, bank := range banks[first:min(first+2, len(banks))] {
			ranks = max(ranks, len(bank))
		}
		pad := rankPad
		if room := firstPage - pair.Bands.H; float64(ranks)*h.rankHeight(rankPad) > room && float64(ranks)*h.rankHeight(tightPad) <= room {
			pad = tightPad
		}
		for i := range ranks {
			pair.Ranks = append(pair.Ranks, h.rank(first, i, i == ranks-1, pad))
		}
		pair.Whole = pair.Bands.H+float64(ranks)*h.rankHeight(pad) < h.whole
		pairs = append(pairs, pair)
	}
	return pairs
}

// left is the left edge of a bank.
func (h *head) left(bank int) float64 {
	return float64(bank%2) * (h.bankWidth() + bankGap)
}

// side is on which side of its bank a train is drawn, -1 or 1.
func (h *head) side(bank int, s shim.Side) float64 {
	if h.engine.IntakeOnLeft(h.intake, bank) == (s == shim.Intake) {
		return -1
	}
	return 1
}

// bandHeight leaves room for the camshafts where they are named.
func (h *head) bandHeight() float64 {
	height := 19.0
	if h.over != nil {
		height += 4.5
	}
	if h.engine.Closers() {
		height += closerLine
	}
	return height
}

// closerLine is the height of a line with the closers' limits.
const closerLine = 4.0

// band draws the cam-drive end, and over each side of a bank what it is, its
// limits and its camshaft.
func (h *head) band(first int) drawing {
	d := drawing{ID: fmt.Sprintf("%s-band-%d", h.prefix, first+1), Class: "band", W: headWidth, H: h.bandHeight(),
		Title: "Cam-drive end", Desc: "The engine is seen from above, its cam-drive end at the top."}
	const chain = 7.0 // height of the cam drive
	d.rect("frame", 0.3, 0.3, headWidth-0.6, chain-0.3)
	for x := 2.5; x < headWidth-2; x += 4 {
		if math.Abs(x-headWidth/2) > 38 {
			d.circle("thin", x, 3.6, 1.2)
		}
	}
	d.text("strong", "middle", headWidth/2, 5.2, 4, 74, "CAM-DRIVE END, seen from above")
	banks := h.engine.BankList()
	for bank := first; bank < min(first+2, len(banks)); bank++ {
		x, w := h.left(bank), h.bankWidth()
		d.rect("frame", x+0.3, chain+0.8, w-0.6, d.H-chain-0.8)
		middle, half := x+w/2, w/2-h.column()
		if h.double() {
			d.text("strong", "middle", middle, chain+6, 3.2, 2*h.column()-1, "bank")
			d.text("strong", "middle", middle, chain+11, 4.6, 2*h.column()-1, strconv.Itoa(bank+1))
		}
		for _, side := range shim.Sides {
			train := h.engine.Train(side)
			at := middle + h.side(bank, side)*(h.column()+half/2)
			d.text("strong", "middle", at, chain+5.4, 4, half-2, strings.ToUpper(side.String()))
			if train.Valves == 0 {
				d.text("plain", "middle", at, chain+10, 3, half-2, "nothing to adjust")
				d.Desc += fmt.Sprintf(" %s: nothing to adjust.", side)
				continue
			}
			limits := limitsOf(h.units, train.Limits)
			d.text("strong", "middle", at, chain+10.3, 4, half-2, limits)
			below := chain + 14.6
			if train.Closer != nil {
				closer := "closer " + limitsOf(h.units, train.Closer.Limits)
				d.text("strong", "middle", at, below, 3.4, half-2, closer)
				limits += ", " + closer
				below += closerLine
			}
			d.Desc += fmt.Sprintf(" Bank %d, %s side, on the %s: limits %s.", bank+1, side, map[float64]string{-1: "left", 1: "right"}[h.side(bank, side)], limits)
			if h.over != nil {
				over := h.over(bank+1, side)
				d.text("plain", "middle", at, below, 3, half-4, over)
				d.Desc += " " + over + "."
			}
		}
	}
	return d
}

// rankHeight is the height of a rank with so much above and below its valves.
func (h *head) rankHeight(pad float64) float64 {
	rows := max(len(h.valves(shim.Intake, 1)), len(h.valves(shim.Exhaust, 1)))
	return max(float64(rows)*h.row+2*pad, 14)
}

// valves lists what one side of a cylinder has: each opener before its closer.
func (h *head) valves(s shim.Side, cylinder int) []shim.Valve {
	return slices.DeleteFunc(h.engine.Valves(), func(v shim.Valve) bool { return v.Side != s || v.Cylinder != cylinder })
}

// nameAt is how a valve is called in the drawing, where a closer stands below its
// opener.
func nameAt(v shim.Valve) string {
	if v.Closer {
		return "closer"
	}
	return v.String()
}

// rank draws the cylinders that stand side by side at one place of their banks.
func (h *head) rank(first, i int, last bool, pad float64) drawing {
	d := drawing{ID: fmt.Sprintf("%s-rank-%d-%d", h.prefix, first+1, i+1), Class: "rank", W: headWidth,
		H: h.rankHeight(pad)}
	banks := h.engine.BankList()
	var names []string
	for bank := first; bank < min(first+2, len(banks)); bank++ {
		x, w := h.left(bank), h.bankWidth()
		for _, edge := range []float64{x + 0.3, x + w - 0.3} {
			d.line("frame", edge, -0.3, edge, d.H-0.3) // overlaps the slice above
		}
		if last {
			d.line("frame", x+0.3, d.H-0.3, x+w-0.3, d.H-0.3)
		}
		if i >= len(banks[bank]) {
			continue
		}
		d.line("thin", x+0.6, 0, x+w-0.6, 0)
		cylinder := banks[bank][i]
		names = append(names, strconv.Itoa(cylinder))
		middle := x + w/2
		r := min(h.column()-0.8, d.H/2-1.5)
		d.circle("frame", middle, d.H/2, r)
		d.text("strong", "middle", middle, d.H/2+r*0.36, r*1.05, 1.7*r, strconv.Itoa(cylinder))
		for _, side := range shim.Sides {
			dir := h.side(bank, side)
			valves := h.valves(side, cylinder)
			top := (d.H - float64(len(valves))*h.row) / 2
			for k, v := range valves {
				h.plot(&d, place{valve: v, x: middle + dir*h.column(), y: top + float64(k)*h.row, dir: dir,
					width: w/2 - h.column() - 1.7, height: h.row})
				d.Desc += h.about(v) + " "
			}
		}
	}
	d.Title = "Cylinder " + strings.Join(names, " and cylinder ")
	d.Desc = strings.TrimSpace(d.Desc)
	return d
}
