package report

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/crank"
)

// Positions is a list of crank positions for measuring an engine, or what can
// be measured at one angle.
type Positions struct {
	Engine *shim.Engine
	// Asked says that the one position is an angle that was asked for, which
	// says nothing of how to get there.
	Asked bool
	List  []crank.Position
}

// turning is the cautions that concern turning the crank.
func turning(e *shim.Engine) []string {
	full, _ := shim.CautionsFor(e)
	return append(full[:len(full)-3:len(full)-3],
		"Before you measure a valve, check that its lobe points away from it.",
		"Where the maker's service manual prints its own positions, use those: it and a qualified technician have the last word.")
}

// Document lays the positions out for people.
func (p *Positions) Document() *Document {
	d := &Document{}
	section := Section{Level: 1, Heading: p.Engine.Name, Lines: append(p.summary(), p.timing()...)}
	t := &Table{Kind: "positions"}
	doubtful := false
	for _, at := range p.List {
		doubtful = doubtful || len(at.Doubtful) > 0
	}
	if p.Asked {
		t.Header, t.Right = []string{"crank", "on the base circle"}, []int{0}
		for _, at := range p.List {
			t.Rows = append(t.Rows, []string{Degrees(at.Degrees), marked(at)})
		}
	} else {
		t.Header, t.Right = []string{"", "crank", "turn on", "how to find it", "measure"}, []int{0, 1, 2}
		for i, at := range p.List {
			t.Rows = append(t.Rows, []string{strconv.Itoa(i + 1), Degrees(at.Degrees), Degrees(at.Further), at.Mark, marked(at)})
		}
	}
	if press := p.press(); slices.ContainsFunc(press, func(some []shim.Valve) bool { return len(some) > 0 }) {
		t.Header = append(t.Header, "press here")
		for i := range t.Rows {
			t.Rows[i] = append(t.Rows[i], named(press[i]))
		}
	}
	section.Table = t
	if doubtful {
		section.Notes = append(section.Notes, fmt.Sprintf("* doubtful: within %d° of the timing that the engine file gives. Look at the lobe, measure again a few degrees further on, and believe the readings only if they agree.", crank.Ramp))
	}
	d.add(section)
	if windows := p.windows(); len(windows) > 0 {
		s := Section{Level: 2, Heading: "Where to press a tappet", Lines: []string{PressedAt(p.Engine, true)}}
		s.Table = &Table{Kind: "press", Header: []string{"valves", "from", "to", "at best", "how to find it"}, Right: []int{1, 2, 3}}
		for _, w := range windows {
			s.Table.Rows = append(s.Table.Rows, []string{named(w.Valves), Degrees(w.From), Degrees(w.To), Degrees(w.Degrees), w.Mark})
		}
		d.add(s)
	}
	d.add(Section{Level: 2, Heading: "Cautions", Notes: turning(p.Engine)})
	return d
}

// summary says in a line or two what the list is.
func (p *Positions) summary() []string {
	if p.Asked {
		at := p.List[0]
		return []string{fmt.Sprintf("%d of %d valves stand on their base circle %s after the firing TDC of cylinder %d.",
			len(at.Valves), len(p.Engine.Valves()), Degrees(at.Degrees), p.first())}
	}
	count := "1 position is"
	if len(p.List) != 1 {
		count = strconv.Itoa(len(p.List)) + " positions are"
	}
	return []string{
		fmt.Sprintf("%s enough to measure all %d valves. 0° is the firing TDC of cylinder %d; turn on in the running direction only.",
			count, len(p.Engine.Valves()), p.first()),
	}
}

// first is the cylinder that angles are counted from.
func (p *Positions) first() int {
	if len(p.Engine.FiringOrder) == 0 {
		return 1
	}
	return p.Engine.FiringOrder[0]
}

// timing says which timing was used, a line a side.
func (p *Positions) timing() []string {
	var lines []string
	for _, side := range shim.Sides {
		if p.Engine.Train(side).Valves == 0 {
			continue
		}
		t, given := p.Engine.Timing(side)
		opens, closes := "TDC", "BDC"
		if side == shim.Exhaust {
			opens, closes = closes, opens
		}
		from := "given"
		if !given {
			from = "assumed"
		}
		lines = append(lines, fmt.Sprintf("Timing %s: opens %s before %s, closes %s after %s (%s).", side, Degrees(t.Opens), opens, Degrees(t.Closes), closes, from))
	}
	return lines
}

// marked is the valves to measure, the doubtful with a star.
func marked(at crank.Position) string {
	if len(at.Valves) == 0 {
		return "none"
	}
	var b strings.Builder
	for i, v := range at.Valves {
		if i > 0 {
			b.WriteByte(' ')
		}
		for _, d := range at.Doubtful {
			if d == v {
				b.WriteByte('*')
			}
		}
		b.WriteString(v.String())
	}
	return b.String()
}

// named lists valves with a space between, none where there are none.
func named(valves []shim.Valve) string {
	if len(valves) == 0 {
		return "none"
	}
	return strings.ReplaceAll(names(valves), ",", "")
}

// press is by position which of its valves may be pressed there without another
// turn; nil where the engine does not say how far to turn first.
func (p *Positions) press() [][]shim.Valve {
	o := p.openings()
	if o == nil {
		return nil
	}
	list := make([][]shim.Valve, len(p.List))
	for i, at := range p.List {
		list[i] = slices.DeleteFunc(slices.Clone(at.Valves), func(v shim.Valve) bool { return !o.Open(v, at.Degrees) })
	}
	return list
}

func (p *Positions) openings() *crank.Openings {
	if p.Engine.DepressOffset == 0 {
		return nil
	}
	o, _ := crank.NewOpenings(p.Engine) // positions are of an engine with a firing order
	return o
}

// A windowJSON is where the tappets of one side of a cylinder may be pressed.
type windowJSON struct {
	Valves  []shim.Valve `json:"valves"`
	From    float64      `json:"from_deg"`
	To      float64      `json:"to_deg"`
	Degrees float64      `json:"crank_deg"`
	Mark    string       `json:"mark"`
}

func (p *Positions) windows() []windowJSON {
	o := p.openings()
	if o == nil {
		return nil
	}
	var list []windowJSON
	for _, v := range p.Engine.Valves() {
		if n := len(list); n > 0 && list[n-1].Valves[0].Side == v.Side && list[n-1].Valves[0].Cylinder == v.Cylinder {
			list[n-1].Valves = append(list[n-1].Valves, v)
			continue
		}
		from, to := o.Window(v)
		best, _ := o.Position([]shim.Valve{v}) // a sound engine has one
		list = append(list, windowJSON{[]shim.Valve{v}, from, to, best.Degrees, best.Mark})
	}
	return list
}

// Degrees writes an angle, rounded to the thousandth of a degree.
func Degrees(angle float64) string { return number(math.Round(angle*1000)/1000) + "°" }

func number(angle float64) string { return strconv.FormatFloat(angle, 'f', -1, 64) }

// positionsJSON and the types below it are the JSON contract of docs/measuring.md.
type positionsJSON struct {
	Engine    string         `json:"engine"`
	Timing    []timingJSON   `json:"timing"`
	Positions []positionJSON `json:"positions"`
	Offset    float64        `json:"depress_offset_deg,omitempty"`
	Press     []windowJSON   `json:"press,omitempty"`
	Cautions  []string       `json:"cautions"`
}

type timingJSON struct {
	Side    string  `json:"side"`
	Opens   float64 `json:"opens_deg"`
	Closes  float64 `json:"closes_deg"`
	Assumed bool    `json:"assumed"`
}

type positionJSON struct {
	Degrees  float64      `json:"crank_deg"`
	Further  *float64     `json:"further_deg"`
	Mark     string       `json:"mark"`
	Valves   []shim.Valve `json:"valves"`
	Also     []shim.Valve `json:"also"`
	Doubtful []shim.Valve `json:"doubtful"`
	Press    []shim.Valve `json:"press,omitzero"`
}

// JSON writes the positions as one JSON object, indented.
func (p *Positions) JSON(w io.Writer) error {
	out := positionsJSON{Engine: p.Engine.Name, Timing: []timingJSON{}, Positions: make([]positionJSON, len(p.List)), Offset: p.Engine.DepressOffset, Press: p.windows(), Cautions: turning(p.Engine)}
	for _, side := range shim.Sides {
		if p.Engine.Train(side).Valves > 0 {
			t, given := p.Engine.Timing(side)
			out.Timing = append(out.Timing, timingJSON{side.String(), t.Opens, t.Closes, !given})
		}
	}
	list := func(valves []shim.Valve) []shim.Valve { return append([]shim.Valve{}, valves...) }
	press := p.press()
	for i := range p.List {
		at := &p.List[i]
		out.Positions[i] = positionJSON{at.Degrees, &at.Further, at.Mark, list(at.Valves), list(at.Also), list(at.Doubtful), nil}
		if press != nil {
			out.Positions[i].Press = list(press[i])
		}
		if p.Asked {
			out.Positions[i].Further = nil
		}
	}
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(out)
}

// CSV writes one row a valve, in the order in which they are measured.
func (p *Positions) CSV(w io.Writer) error {
	out, press := csv.NewWriter(w), p.press()
	header := []string{"engine", "crank_deg", "further_deg", "mark", "valve", "doubtful"}
	if press != nil {
		header = append(header, "press")
	}
	_ = out.Write(header) // errors show in Flush
	for i, at := range p.List {
		further := number(at.Further)
		if p.Asked {
			further = ""
		}
		for _, v := range at.Valves {
			doubtful := false
			for _, d := range at.Doubtful {
				doubtful = doubtful || d == v
			}
			row := []string{shim.SheetText(p.Engine.Name), number(at.Degrees), further, at.Mark, v.String(), strconv.FormatBool(doubtful)}
			if press != nil {
				row = append(row, strconv.FormatBool(slices.Contains(press[i], v)))
			}
			_ = out.Write(row)
		}
	}
	out.Flush()
	return out.Error()
}
