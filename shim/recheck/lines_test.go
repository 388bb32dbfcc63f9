package recheck

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/shim"
)

// Explanations that differ only in the kind of one valve's own fault are one line:
// they count and stand together. What differs otherwise stays apart.
func TestLines(t *testing.T) {
	e, _ := four()
	v := e.Valves()
	wrong := func(i int, size shim.Length) Fault {
		return Fault{Kind: WrongSize, Valves: v[i : i+1], Sizes: []shim.Length{size}, Shift: -50_000}
	}
	high := func(i int) Fault { return Fault{Kind: Unseated, Valves: v[i : i+1], Shift: -52_000} }
	pair := Fault{Kind: Exchanged, Valves: v[2:4], Sizes: []shim.Length{2_450_000, 2_500_000}}
	moved := Fault{Kind: WrongSize, Valves: v[0:2], Sizes: []shim.Length{2_450_000}}
	one := func(p float64, faults ...Fault) Explanation { return Explanation{Faults: faults, Probability: p} }
	for name, c := range map[string]struct {
		list, ranked []Explanation
		lines        []Line
	}{
		"both kinds against none": {
			[]Explanation{one(0.4), one(0.3, high(0)), one(0.2, wrong(0, 2_450_000))},
			[]Explanation{one(0.3, high(0)), one(0.2, wrong(0, 2_450_000)), one(0.4)},
			[]Line{{0.5, [][]Fault{{high(0), wrong(0, 2_450_000)}}}, {0.4, [][]Fault{}}},
		},
		"beside an exchange": {
			[]Explanation{one(0.3, pair, wrong(0, 2_450_000)), one(0.25, pair, high(0)), one(0.2, pair)},
			[]Explanation{one(0.3, pair, wrong(0, 2_450_000)), one(0.25, pair, high(0)), one(0.2, pair)},
			[]Line{{0.55, [][]Fault{{pair}, {wrong(0, 2_450_000), high(0)}}}, {0.2, [][]Fault{{pair}}}},
		},
		"another valve": {
			[]Explanation{one(0.5, high(0)), one(0.25, wrong(1, 2_450_000))},
			[]Explanation{one(0.5, high(0)), one(0.25, wrong(1, 2_450_000))},
			[]Line{{0.5, [][]Fault{{high(0)}}}, {0.25, [][]Fault{{wrong(1, 2_450_000)}}}},
		},
		"a shim that moved between two": {
			[]Explanation{one(0.5, high(0)), one(0.25, moved)},
			[]Explanation{one(0.5, high(0)), one(0.25, moved)},
			[]Line{{0.5, [][]Fault{{high(0)}}}, {0.25, [][]Fault{{moved}}}},
		},
		"two valves at once": {
			[]Explanation{one(0.4), one(0.3, high(0), high(1)), one(0.2, high(0), wrong(1, 2_450_000))},
			[]Explanation{one(0.4), one(0.3, high(0), high(1)), one(0.2, high(0), wrong(1, 2_450_000))},
			[]Line{{0.4, [][]Fault{}}, {0.3, [][]Fault{{high(0)}, {high(1)}}}, {0.2, [][]Fault{{high(0)}, {wrong(1, 2_450_000)}}}},
		},
		"nothing measured": {},
	} {
		r := Report{Explanations: c.list}
		rank(r.Explanations)
		assert.Equal(t, c.ranked, r.Explanations, name)
		assert.Equal(t, c.lines, r.Lines(), name)
	}
}
