package plan_test

import (
	"cmp"
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/testdata/effort"
)

// A window is a valve by the sizes it accepts, in units of 10 µm.
type window struct {
	own, ideal, thin, thick int
}

const unit = 10 * um

// windowJob is a job of one cylinder with the given windows as intake and, if
// there are two, exhaust valve, in an engine with a ratio of 1.
func windowJob(t *testing.T, name string, windows ...window) plan.JobRequest {
	t.Helper()
	e := &shim.Engine{Name: name, Cylinders: 1, Access: shim.ByValve, Diameter: 9 * mm}
	var check []shim.Measurement
	for side, w := range windows {
		limits := shim.Limits{Tight: 100 * um, Loose: 100*um + shim.Length(w.thick-w.thin)*unit}
		train := shim.Train{Valves: 1, Limits: limits, Ratio: shim.Ratio{Times: shim.One}}
		span := w.thick - w.thin
		train.AimAt = shim.Factor((2*int(shim.One)*(w.thick-w.ideal) + span) / (2 * span))
		require.Equal(t, limits.Tight+shim.Length(w.thick-w.ideal)*unit, train.Aim(), "the ideal of %+v", w)
		v := shim.Valve{Side: shim.Side(side), Cylinder: 1}
		if side == 0 {
			e.Intake = train
		} else {
			e.Exhaust = train
		}
		check = append(check, shim.Measurement{
			Valve: v, Marks: shim.Marks{Stamp: shim.Length(w.own) * unit},
			Reading: shim.ReadingOf(limits.Tight + shim.Length(w.thick-w.own)*unit),
		})
	}
	for side := len(windows); side < 2; side++ {
		e.Exhaust = shim.Train{Ratio: shim.Ratio{Times: shim.One}}
	}
	return plan.JobRequest{Name: name, Engine: e, Check: check, Lift: shim.LiftAll}
}

func boxRows(sizes ...int) (rows []shim.BoxRow) {
	for _, size := range sizes {
		rows = append(rows, shim.BoxRow{Marks: shim.Marks{Stamp: shim.Length(size) * unit}, Count: 1})
	}
	return rows
}

// far is the size of a shim that fits no valve here.
const far = 100

// The smallest jobs on which keeping valves and shims in the same order is not
// enough, with their optimum: the table of the project's notes on its solver
// (shared/solver.md), found there by trial.
func TestOrderIsNotEnough(t *testing.T) {
	for name, c := range map[string]struct {
		jobs [][]window
		box  []shim.BoxRow
		want plan.Criteria
	}{
		"widths differ": {
			[][]window{{{far, 205, 203, 210}, {far, 206, 204, 207}}}, boxRows(205, 209),
			plan.Criteria{Drawn: 2, Deviation: 50_000, Changed: 2},
		},
		"aim elsewhere": {
			[][]window{{{far, 208, 200, 210}, {far, 204, 202, 212}}}, boxRows(201, 211),
			plan.Criteria{Drawn: 2, Deviation: 140_000, Changed: 2},
		},
		"keep your own": {
			[][]window{{{214, 210, 205, 220}, {213, 211, 205, 220}}}, nil,
			plan.Criteria{Deviation: 60_000},
		},
		"two pools": {
			[][]window{{{208, 205, 200, 210}}, {{far, 206, 200, 210}}}, boxRows(204),
			plan.Criteria{Drawn: 1, Deviation: 50_000, Changed: 1},
		},
	} {
		q := plan.Request{Box: c.box, NoBuy: true}
		for i, windows := range c.jobs {
			q.Jobs = append(q.Jobs, windowJob(t, fmt.Sprint("engine ", i+1), windows...))
		}
		p, err := plan.Make(context.Background(), q)
		require.NoError(t, err, name)
		assert.Equal(t, c.want, p.Criteria, name)
		assert.NoError(t, audit(&q, p), name)
	}
}

// glover is the most valves that can be served from given pieces: the sizes in
// order, each to the free valve whose interval ends first (Glover, Maximum
// matching in a convex bipartite graph, Naval Research Logistics Quarterly 14,
// 1967).
func glover(windows []window, pieces []int) int {
	slices.Sort(pieces)
	free := slices.Clone(windows)
	slices.SortFunc(free, func(a, b window) int { return cmp.Compare(a.thick, b.thick) })
	served := 0
	for _, size := range pieces {
		i := slices.IndexFunc(free, func(w window) bool { return w.thin <= size && size <= w.thick })
		if i >= 0 {
			served++
			free = slices.Delete(free, i, i+1)
		}
	}
	return served
}

// Every valve has a shim that fits nowhere, so the box alone can serve.
func TestUnservedIsGloversMatching(t *testing.T) {
	r := rand.New(rand.NewPCG(1967, 14))
	for i := range effort.Share(400) {
		q := plan.Request{NoBuy: true, Policy: plan.Policy(i % 3), Margin: plan.DefaultMargin}
		var windows []window
		var pieces []int
		spread := 5 + r.IntN(60)
		for k := range 1 + r.IntN(12) {
			var pair []window
			for range 2 {
				thin := 200 + r.IntN(spread)
				thick := thin + 1 + r.IntN(12)
				pair = append(pair, window{far, thick, thin, thick})
			}
			windows = append(windows, pair...)
			q.Jobs = append(q.Jobs, windowJob(t, fmt.Sprint(k), pair...))
		}
		for range r.IntN(2 * len(windows)) {
			pieces = append(pieces, 200+r.IntN(spread+12))
		}
		q.Box = boxRows(pieces...)
		p, err := plan.Make(context.Background(), q)
		require.NoError(t, err)
		require.Equal(t, len(windows)-glover(windows, pieces), p.Criteria.Unserved, show(&q))
		require.NoError(t, audit(&q, p), show(&q))
	}
}
