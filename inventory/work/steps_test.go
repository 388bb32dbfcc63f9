package work

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/plan"
)

// in1a gets the shim of ex1a, whose valve is opened at the next stop, ex1a one of
// the box; in2a gets a temporary shim meanwhile; ex2a is not in the list.
func TestHandSteps(t *testing.T) {
	in1a, ex1a, in2a, ex2a := valve(t, "in1a"), valve(t, "ex1a"), valve(t, "in2a"), valve(t, "ex2a")
	f := inventory.File{Left: []inventory.Placement{
		{Valve: in1a, Size: mm(t, "2.4"), Source: inventory.SourceMoved, From: ex1a},
		{Valve: in2a, Size: mm(t, "2.45")},
		{Valve: ex1a, Size: mm(t, "2.5")},
		{Valve: ex2a, Size: mm(t, "2.35")},
	}}
	stops := [][]plan.Move{
		{{Step: 1, Valve: in1a, In: mm(t, "2.4"), From: &plan.Place{Valve: ex1a}}, {Step: 2, Valve: in2a, In: mm(t, "2.3"), Temporary: true}},
		{{Step: 3, Valve: ex1a, In: mm(t, "2.5")}, {Step: 4, Valve: in2a, In: mm(t, "2.45")}},
	}
	j := &plan.JobPlan{}
	for _, moves := range stops {
		j.Moves = append(j.Moves, moves...)
	}
	words := func(valves ...shim.Valve) (list []string) {
		for _, s := range HandSteps(f, j, stops, valves) {
			switch s.Kind {
			case GoToStop:
				list = append(list, "stop "+string(rune('1'+s.Stop)))
			case PutForNow:
				list = append(list, s.Valve.String()+" for now "+s.Size.String())
			case PutIn:
				list = append(list, s.Valve.String()+" "+s.Size.String())
			}
		}
		return list
	}
	assert.Equal(t, []string{"stop 1", "in2a for now 2.3", "stop 2", "ex1a 2.5", "in1a 2.4", "in2a 2.45", "ex2a 2.35"}, words(),
		"a shim goes in once it is out of its valve")
	assert.Equal(t, []string{"stop 2", "ex1a 2.5"}, words(ex1a))
	f.Left = f.Left[3:]
	assert.Equal(t, []string{"ex2a 2.35"}, words())
}
