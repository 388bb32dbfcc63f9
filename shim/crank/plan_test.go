package crank_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/crank"
)

func ExamplePlan() {
	four := &shim.Engine{
		Cylinders: 4, FiringOrder: []int{1, 3, 4, 2},
		Intake: shim.Train{Valves: 1}, Exhaust: shim.Train{Valves: 1},
	}
	plan, err := crank.Plan(four)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range plan {
		fmt.Printf("%g° further, %s: %v\n", p.Further, p.Mark, p.Valves)
	}
	// Output:
	// 0° further, firing TDC of cylinder 1: [in1 ex1 in2 ex3]
	// 360° further, firing TDC of cylinder 4, one full turn from that of cylinder 1: [ex2 in3 in4 ex4]
}

func TestSingle(t *testing.T) {
	e := engine(2, 1)
	e.FiringOrder = nil
	plan, err := crank.Plan(e)
	require.NoError(t, err)
	require.Len(t, plan, 1)
	assert.Zero(t, plan[0].Degrees)
	assert.Equal(t, e.Valves(), plan[0].Valves)
	assert.Equal(t, "firing TDC of cylinder 1", plan[0].Mark)
}

func TestValvesOfOneSideStandTogether(t *testing.T) {
	e := engine(2, 1, 2, 3)
	e.Exhaust.Valves = 0
	plan, err := crank.Plan(e)
	require.NoError(t, err)
	var names []string
	for _, p := range plan {
		for _, v := range p.Valves {
			names = append(names, v.String())
		}
	}
	assert.ElementsMatch(t, strings.Fields("in1a in1b in2a in2b in3a in3b"), names)
}

// Two angles a full turn apart are in every arc of more than a full turn, and
// common lobes leave as much: two positions do for any engine.
func TestTwoPositionsDoForCommonLobes(t *testing.T) {
	for cylinders := 1; cylinders <= 16; cylinders++ {
		var order []int
		for c := range cylinders {
			order = append(order, c+1)
		}
		plan, err := crank.Plan(engine(1, order...))
		require.NoError(t, err)
		assert.LessOrEqual(t, len(plan), 2, "%d cylinders", cylinders)
		assert.Zero(t, plan[0].Degrees, "%d cylinders", cylinders)
	}
}

// An angle of opening or closing is off the base circle, just before and
// after are on it.
func TestEndsOfTheLobe(t *testing.T) {
	e := timed(engine(1, 1), [4]float64{10, 40.5, 50, 20.125})
	for _, test := range []struct {
		valve shim.Valve
		off   [2]float64
	}{
		{shim.Valve{Side: shim.Intake, Cylinder: 1}, [2]float64{350, 580.5}},
		{shim.Valve{Side: shim.Exhaust, Cylinder: 1}, [2]float64{130, 380.125}},
	} {
		for _, round := range []float64{-1440, 0, 720, 72000} {
			for degrees, want := range map[float64]bool{
				test.off[0] - 0.001: true, test.off[0]: false,
				test.off[1]: false, test.off[1] + 0.001: true,
			} {
				got, err := crank.At(e, degrees+round)
				require.NoError(t, err)
				assert.Equal(t, want, len(got) > 0 && (got[0] == test.valve || got[len(got)-1] == test.valve), "%s at %g", test.valve, degrees+round)
			}
		}
	}
}

// The only stretch in which both valves are closed, from 0.6 before firing TDC
// up to it, holds no whole degree.
func TestStretchWithoutWholeDegree(t *testing.T) {
	plan, err := crank.Plan(timed(engine(1, 1), [4]float64{20, 179.4, 180, 20}))
	require.NoError(t, err)
	require.Len(t, plan, 1)
	assert.Equal(t, 719.7, plan[0].Degrees)
	assert.Equal(t, 0.3, plan[0].Clear)
	assert.Equal(t, "719.7° past the firing TDC of cylinder 1", plan[0].Mark)
}

// Dead centres that are no whole degrees: those of an even seven, a multiple
// of 720/7, are met to the last digit that a float has.
func TestEvenSeven(t *testing.T) {
	e := timed(engine(1, 1, 2, 3, 4, 5, 6, 7), [4]float64{0, 0, 0, 0})
	for k := range 7 {
		// The exhaust valve of the k-th closes at its TDC of the gas exchange.
		degrees := 720*float64(k)/7 + 360
		v := shim.Valve{Side: shim.Exhaust, Cylinder: k + 1}
		got, err := crank.At(e, degrees)
		require.NoError(t, err)
		assert.NotContains(t, got, v, "%g", degrees)
		got, err = crank.At(e, degrees+0.001)
		require.NoError(t, err)
		assert.Contains(t, got, v, "%g", degrees)
	}
}

func TestGivenTimingKeepsClearOfRampsWherePossible(t *testing.T) {
	// Both valves are closed only from 10 before to 10 after TDC: one position
	// does, by the figures, and both valves stand too near for comfort.
	tight := timed(engine(1, 1), [4]float64{170, 170, 170, 170})
	plan, err := crank.Plan(tight)
	require.NoError(t, err)
	require.Len(t, plan, 1)
	assert.Equal(t, 10.0, plan[0].Clear)
	assert.Equal(t, tight.Valves(), plan[0].Doubtful)

	// Just as far as the allowance is not clear of it.
	plan, err = crank.Plan(timed(engine(1, 1), [4]float64{165, 165, 165, 165}))
	require.NoError(t, err)
	require.Len(t, plan, 1)
	assert.Equal(t, float64(crank.Ramp), plan[0].Clear)
	assert.Len(t, plan[0].Doubtful, 2)

	// Here one position does as well, and by turning on to 90 it is clear.
	skewed := timed(engine(1, 1), [4]float64{20, 170, 20, 20})
	plan, err = crank.Plan(skewed)
	require.NoError(t, err)
	require.Len(t, plan, 1)
	assert.Greater(t, plan[0].Clear, float64(crank.Ramp))
	assert.Empty(t, plan[0].Doubtful)
	assert.Equal(t, "90° past the firing TDC of cylinder 1", plan[0].Mark)
}

// The default is stated and never shorter than the longest common lobes.
func TestDefaultTiming(t *testing.T) {
	assert.Equal(t, shim.Timing{Opens: 45, Closes: 85}, shim.DefaultTiming(shim.Intake))
	assert.Equal(t, shim.Timing{Opens: 85, Closes: 45}, shim.DefaultTiming(shim.Exhaust))
	e := engine(1, 1)
	e.Exhaust.Timing = &shim.Timing{Opens: 40, Closes: 10}
	timing, given := e.Timing(shim.Intake)
	assert.False(t, given)
	assert.Equal(t, shim.DefaultTiming(shim.Intake), timing)
	timing, given = e.Timing(shim.Exhaust)
	assert.True(t, given)
	assert.Equal(t, shim.Timing{Opens: 40, Closes: 10}, timing)
}

func TestMarks(t *testing.T) {
	three, err := crank.Plan(engine(1, 1, 2, 3))
	require.NoError(t, err)
	require.Len(t, three, 2)
	// One full turn finds the same mark again, so it goes before cylinder 2.
	assert.Equal(t, 360.0, three[1].Degrees)
	assert.Equal(t, "TDC of cylinder 1 between its exhaust and intake strokes, one full turn from its firing TDC", three[1].Mark)

	together := engine(1, 3, 1, 2)
	together.FiringIntervals = []float64{0, 360, 360}
	plan, err := crank.Plan(together)
	require.NoError(t, err)
	assert.Equal(t, "firing TDC of cylinders 3 and 1", plan[0].Mark)
}

func TestErrors(t *testing.T) {
	e := engine(1, 1, 2)
	e.FiringOrder, e.FiringIntervals = nil, []float64{270, 450}
	_, err := crank.Plan(e)
	require.ErrorContains(t, err, "firing_order")
	assert.ErrorContains(t, err, e.Name)
	_, err = crank.At(e, 0)
	require.ErrorContains(t, err, "firing_order")
	for _, degrees := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		_, err = crank.At(engine(1, 1), degrees)
		assert.Error(t, err, "%g", degrees)
	}
}

func BenchmarkPlan(b *testing.B) {
	var order, many []int
	for i := range 64 {
		if i < 16 {
			order = append(order, i+1)
		}
		many = append(many, i+1)
	}
	uneven := func(e *shim.Engine) *shim.Engine {
		for i := range e.FiringOrder {
			degrees := 720 / float64(e.Cylinders)
			e.FiringIntervals = append(e.FiringIntervals, degrees+float64(i%2*6)-3)
		}
		return e
	}
	long := [4]float64{95, 140, 120, 111}
	for _, bench := range []struct {
		name   string
		engine *shim.Engine
	}{
		{"16 even", engine(2, order...)},
		{"16 uneven", uneven(engine(2, order...))},
		{"16 long lobes", timed(uneven(engine(2, order...)), long)},
		{"64 even", engine(2, many...)},
		{"64 long lobes", timed(uneven(engine(2, many...)), long)},
	} {
		plan, err := crank.Plan(bench.engine)
		require.NoError(b, err)
		b.Run(fmt.Sprintf("%s, %d positions", bench.name, len(plan)), func(b *testing.B) {
			for b.Loop() {
				_, err = crank.Plan(bench.engine)
			}
			require.NoError(b, err)
		})
	}
}

func BenchmarkAt(b *testing.B) {
	e := engine(2, 1, 8, 4, 3, 6, 5, 7, 2)
	for b.Loop() {
		if _, err := crank.At(e, 123.4); err != nil {
			b.Fatal(err)
		}
	}
}
