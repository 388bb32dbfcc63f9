package recheck

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/internal/plantest"
)

// compared is an invented single, intake 0.10 to 0.15 and exhaust 0.20 to 0.25, after its
// fit: what the record's shims should give, and what was read.
func compared(t *testing.T, expected [2]string, rows ...string) *ComparedJob {
	e := plantest.Single(t, "Wren 250 single")
	j := &ComparedJob{Engine: e}
	for i, m := range plantest.Check(t, e, rows...) {
		l := e.TrainOf(m.Valve).Limits
		j.Valves = append(j.Valves, ComparedValve{Valve: m.Valve, Limits: l, Reading: m.Reading, Verdict: judge(l, m.Reading),
			Planned: true, Compared: true, Expected: plantest.MM(t, expected[i]), Size: m.Size()})
	}
	return j
}

// Shims are moved only where the limits gain by it: no valve that is inside by its
// reading is put outside, and a reading across a limit counts alike as it is and as it
// would be.
func TestRemedyOfAnExchange(t *testing.T) {
	for name, c := range map[string]struct {
		expected [2]string
		rows     [2]string // read, and the shim of the record
		want     Remedy
		outside  []string
	}{
		"both outside, both inside then":        {[2]string{"0.12", "0.22"}, [2]string{"0.17 2.50", "0.17 2.45"}, Remedy{Move: true, Open: true}, nil},
		"one outside, both inside then":         {[2]string{"0.12", "0.22"}, [2]string{"0.17 2.50", "0.20 2.45"}, Remedy{Move: true, Open: true}, nil},
		"one outside, the other one then":       {[2]string{"0.12", "0.27"}, [2]string{"0.17 2.50", "0.22 2.45"}, Remedy{Open: true}, []string{"ex1"}},
		"one outside, the other by its reading": {[2]string{"0.12", "0.24"}, [2]string{"0.17 2.50", "0.22 2.45"}, Remedy{Open: true}, []string{"ex1"}},
		"one outside, the same one then":        {[2]string{"0.16", "0.24"}, [2]string{"0.18 2.50", "0.22 2.48"}, Remedy{Open: true}, []string{"in1"}},
		"both inside, both outside then":        {[2]string{"0.05", "0.30"}, [2]string{"0.12 2.55", "0.23 2.48"}, Remedy{}, []string{"in1", "ex1"}},
		"both inside either way":                {[2]string{"0.12", "0.23"}, [2]string{"0.14 2.50", "0.21 2.48"}, Remedy{}, nil},
		"both outside, one then":                {[2]string{"0.12", "0.26"}, [2]string{"0.22 2.50", "0.16 2.40"}, Remedy{Move: true, Open: true}, []string{"ex1"}},
		"undecided, decided then":               {[2]string{"0.12", "0.22"}, [2]string{"0.12-0.16 2.50", "0.22 2.49"}, Remedy{Move: true, Open: true}, nil},
		"decided, undecided then":               {[2]string{"0.12", "0.22"}, [2]string{"0.11-0.13 2.51", "0.22 2.49"}, Remedy{}, nil},
		"undecided, the other one then":         {[2]string{"0.12", "0.22"}, [2]string{"0.12-0.16 2.51", "0.22-0.24 2.49"}, Remedy{Open: true}, nil},
		"outside, undecided then":               {[2]string{"0.12", "0.22"}, [2]string{"0.15-0.21 2.50", "0.20 2.45"}, Remedy{Move: true, Open: true}, nil},
		"no number, the plan's expectation":     {[2]string{"0.12", "0.22"}, [2]string{"<0.05 2.40", "0.32 2.50"}, Remedy{Move: true, Open: true}, nil},
		"no number, the plan left it outside":   {[2]string{"0.09", "0.22"}, [2]string{"<0.05 2.40", "0.32 2.48"}, Remedy{Move: true, Open: true}, []string{"in1"}},
		"undecided, outside then by the plan's": {[2]string{"0.12", "0.26"}, [2]string{"0.18 2.50", "0.19-0.23 2.45"}, Remedy{Open: true}, []string{"ex1"}},
	} {
		t.Run(name, func(t *testing.T) {
			j := compared(t, c.expected, c.rows[0], c.rows[1])
			f := Fault{Kind: Exchanged, Valves: []shim.Valve{j.Valves[0].Valve, j.Valves[1].Valve}, Sizes: []shim.Length{j.Valves[1].Size, j.Valves[0].Size}}
			require.Equal(t, j.Valves[0].Size, f.Own(0))
			r := j.Remedy(f)
			var names []string
			for _, v := range r.Outside {
				names = append(names, v.String())
			}
			assert.Equal(t, c.outside, names)
			assert.Equal(t, c.want.Move, r.Move, "moved")
			assert.Equal(t, c.want.Open, r.Open, "open")
		})
	}
}

// A shim of a wrong size is held against the limits as exchanged ones are.
func TestRemedyOfAWrongSize(t *testing.T) {
	for name, c := range map[string]struct {
		expected, row string
		want          Remedy
	}{
		"outside, right with its size":          {"0.12", "0.07 2.50", Remedy{Move: true, Open: true}},
		"outside, outside with its size, too":   {"0.16", "0.08 2.50", Remedy{Open: true, Outside: []shim.Valve{{}}}},
		"inside, and it may stay":               {"0.15", "0.10 2.50", Remedy{}},
		"inside, outside with its size":         {"0.16", "0.11 2.50", Remedy{Outside: []shim.Valve{{}}}},
		"undecided, decided with its size":      {"0.12", "0.08-0.12 2.50", Remedy{Move: true, Open: true}},
		"a size off, the plan right":            {"0.12", "0.02 2.50", Remedy{Move: true, Open: true}},
		"without a number, right with its size": {"0.12", "<0.05 2.50", Remedy{Move: true, Open: true}},
	} {
		t.Run(name, func(t *testing.T) {
			j := compared(t, [2]string{c.expected, "0.22"}, c.row, "0.22 2.40")
			r := j.Remedy(Fault{Kind: WrongSize, Valves: []shim.Valve{j.Valves[0].Valve, j.Valves[1].Valve}, Sizes: []shim.Length{plantest.MM(t, "2.55")}})
			if len(c.want.Outside) > 0 {
				c.want.Outside[0] = j.Valves[0].Valve
			}
			assert.Equal(t, c.want, r)
		})
	}
}
