package paper

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// find gives where a text stands in a drawing.
func find(t *testing.T, d drawing, text string) (x, y float64) {
	t.Helper()
	for _, s := range d.Shapes {
		if s.Text == text {
			x, err := strconv.ParseFloat(s.X, 64)
			require.NoError(t, err)
			y, err := strconv.ParseFloat(s.Y, 64)
			require.NoError(t, err)
			return x, y
		}
	}
	require.Fail(t, "no such text", "%q in %s", text, d.Title)
	return 0, 0
}

// Every valve is drawn once, in the rank of its cylinder.
func TestHeadHasEveryValve(t *testing.T) {
	for cylinders := 1; cylinders <= 16; cylinders++ {
		for banks := 1; banks <= min(cylinders, 4); banks++ {
			if cylinders%banks != 0 {
				continue
			}
			for _, valves := range [][2]int{{1, 1}, {2, 1}, {2, 2}, {3, 2}, {5, 5}, {2, 0}} {
				e := engineOf("invented", cylinders, banks, valves[0], valves[1], shim.MM)
				seen := map[string]int{}
				for _, pair := range sheetHead(e, Info{}, nil).pairs() {
					for _, rank := range pair.Ranks {
						for _, s := range rank.Shapes {
							if strings.HasPrefix(s.Text, "in") || strings.HasPrefix(s.Text, "ex") {
								seen[s.Text]++
							}
						}
					}
				}
				want := map[string]int{}
				for _, v := range e.Valves() {
					want[v.String()] = 1
				}
				require.Equal(t, want, seen, "%d cylinders, %d banks, %v valves", cylinders, banks, valves)
			}
		}
	}
}

// The cam-drive end is at the top, so cylinders follow the engine file's order
// down the page and letters count downwards.
func TestHeadOrder(t *testing.T) {
	e := engineOf("invented", 4, 1, 3, 2, shim.MM)
	e.Banks = [][]int{{4, 3, 2, 1}} // numbered from the other end
	pair := sheetHead(e, Info{}, nil).pairs()[0]
	require.Len(t, pair.Ranks, 4)
	assert.Equal(t, "Cylinder 4", pair.Ranks[0].Title)
	assert.Equal(t, "Cylinder 1", pair.Ranks[3].Title)
	_, a := find(t, pair.Ranks[0], "in4a")
	_, b := find(t, pair.Ranks[0], "in4b")
	_, c := find(t, pair.Ranks[0], "in4c")
	assert.Less(t, a, b)
	assert.Less(t, b, c)
}

func TestHeadPlacing(t *testing.T) {
	for _, c := range []struct {
		banks  int
		intake shim.Placing
		left   []bool // whether the intake side is left of the exhaust side, by bank
	}{
		{1, shim.IntakeInside, []bool{true}},
		{1, shim.IntakeOutside, []bool{false}},
		{1, shim.IntakeLeft, []bool{true}},
		{1, shim.IntakeRight, []bool{false}},
		{2, shim.IntakeInside, []bool{false, true}}, // the valley is between them
		{2, shim.IntakeOutside, []bool{true, false}},
		{2, shim.IntakeLeft, []bool{true, true}},
		{2, shim.IntakeRight, []bool{false, false}},
	} {
		e := engineOf("invented", 2*c.banks, c.banks, 2, 2, shim.MM)
		e.IntakeSide = c.intake
		pair := sheetHead(e, Info{}, nil).pairs()[0]
		other := *e
		other.IntakeSide = (c.intake + 1) % 4
		assert.Equal(t, pair, sheetHead(&other, Info{Intake: &c.intake}, nil).pairs()[0], "as asked for, whatever the engine says")
		before := -1.0
		for bank, left := range c.left {
			cylinder := strconv.Itoa(e.Banks[bank][0])
			in, _ := find(t, pair.Ranks[0], "in"+cylinder+"a")
			number, _ := find(t, pair.Ranks[0], cylinder)
			ex, _ := find(t, pair.Ranks[0], "ex"+cylinder+"a")
			assert.Equal(t, left, in < number, "%d banks, intake %s, bank %d", c.banks, c.intake, bank+1)
			assert.Equal(t, left, number < ex, "%d banks, intake %s, bank %d", c.banks, c.intake, bank+1)
			assert.Greater(t, number, before, "banks stand from left to right")
			before = number
		}
	}
}

// A camshaft is said to be out where the plan lifts it, and nowhere else.
func TestCamshaft(t *testing.T) {
	e := engineOf("invented", 4, 2, 2, 2, shim.MM)
	check := checkOf(e, 1)
	for k := range check {
		check[k].Reading = shim.ReadingOf(e.Train(check[k].Valve.Side).Aim())
	}
	check[2].Reading = shim.ReadingOf(0) // ex1a
	p := planOf(t, jobOf(e, check))
	assert.Equal(t, "camshaft exhaust-1 OUT", camshaft(&p.Jobs[0], 1, shim.Exhaust))
	assert.Equal(t, "camshaft intake-1 stays in", camshaft(&p.Jobs[0], 1, shim.Intake))
	assert.Equal(t, "camshaft exhaust-2 stays in", camshaft(&p.Jobs[0], 2, shim.Exhaust))
}
