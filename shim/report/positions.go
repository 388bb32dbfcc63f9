package report

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/crank"
)

// Positions is a list of crank positions for measuring an engine, or what can
// be measured at one angle.
type Positions struct {
	Engine *shim.Engine
	// Asked tells that the one position is an angle that was asked for, which
	// says nothing of how to get there.
	Asked bool
	List  []crank.Position
}

// turning is the cautions that concern turning the crank.
var turning = []string{
	shim.Cautions[0],
	shim.Cautions[1],
	"Before you measure a valve, check that its lobe points away from it.",
	"Where the maker's service manual prints its own positions, use those: it and a qualified technician have the last word.",
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
	section.Table = t
	if doubtful {
		section.Notes = append(section.Notes, fmt.Sprintf("* doubtful: within %d° of the timing that the engine file gives. Look at the lobe, measure again a few degrees further on, and believe the readings only if they agree.", crank.Ramp))
	}
	d.add(section)
	d.add(Section{Level: 2, Heading: "Cautions", Notes: turning})
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

// Degrees writes an angle, rounded to the thousandth of a degree.
func Degrees(angle float64) string { return number(math.Round(angle*1000)/1000) + "°" }

func number(angle float64) string { return strconv.FormatFloat(angle, 'f', -1, 64) }

// positionsJSON and the types below it are the JSON contract of docs/measuring.md.
type positionsJSON struct {
	Engine    string         `json:"engine"`
	Timing    []timingJSON   `json:"timing"`
	Positions []positionJSON `json:"positions"`
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
}

// JSON writes the positions as one JSON object, indented.
func (p *Positions) JSON(w io.Writer) error {
	out := positionsJSON{Engine: p.Engine.Name, Timing: []timingJSON{}, Positions: make([]positionJSON, len(p.List)), Cautions: turning}
	for _, side := range shim.Sides {
		if p.Engine.Train(side).Valves > 0 {
			t, given := p.Engine.Timing(side)
			out.Timing = append(out.Timing, timingJSON{side.String(), t.Opens, t.Closes, !given})
		}
	}
	list := func(valves []shim.Valve) []shim.Valve { return append([]shim.Valve{}, valves...) }
	for i := range p.List {
		at := &p.List[i]
		out.Positions[i] = positionJSON{at.Degrees, &at.Further, at.Mark, list(at.Valves), list(at.Also), list(at.Doubtful)}
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
	out := csv.NewWriter(w)
	_ = out.Write([]string{"engine", "crank_deg", "further_deg", "mark", "valve", "doubtful"}) // errors show in Flush
	for _, at := range p.List {
		further := number(at.Further)
		if p.Asked {
			further = ""
		}
		for _, v := range at.Valves {
			doubtful := false
			for _, d := range at.Doubtful {
				doubtful = doubtful || d == v
			}
			_ = out.Write([]string{shim.SheetText(p.Engine.Name), number(at.Degrees), further, at.Mark, v.String(), strconv.FormatBool(doubtful)})
		}
	}
	out.Flush()
	return out.Error()
}
