package plan_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/testdata/effort"
)

// layouts are firing orders: those whose crank positions service manuals print
// (see printed), the two V8s and the twins of the tests of package crank.
var layouts = []struct {
	order     []int
	intervals []float64
}{
	{[]int{1}, nil}, {[]int{1, 2}, nil}, {[]int{1, 2}, []float64{270, 450}}, {[]int{1, 2, 3}, nil},
	{[]int{1, 3, 4, 2}, nil}, {[]int{1, 2, 4, 3}, nil},
	{[]int{1, 5, 3, 6, 2, 4}, nil}, {[]int{1, 6, 5, 4, 3, 2}, nil}, {[]int{1, 2, 3, 4, 5, 6}, nil},
	{[]int{1, 8, 4, 3, 6, 5, 7, 2}, nil}, {[]int{1, 3, 7, 2, 6, 5, 4, 8}, nil}, {[]int{1, 8, 7, 3, 6, 5, 4, 2}, nil},
}

// onTop is a random engine with shims on top.
func onTop(r *rand.Rand, cylinders int) *shim.Engine {
	layout := pick(r, layouts...)
	for len(layout.order) > cylinders {
		layout = pick(r, layouts...)
	}
	train := func(tight shim.Length, opens, closes float64) shim.Train {
		t := shim.Train{Valves: pick(r, 1, 1, 2, 2, 2), Limits: shim.Limits{Tight: tight, Loose: tight + pick(r, 50*um, 70*um, 100*um)}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}}
		if r.IntN(4) == 0 {
			t.Timing = &shim.Timing{Opens: opens + float64(r.IntN(30)), Closes: closes + float64(r.IntN(30))}
		}
		return t
	}
	e := &shim.Engine{
		Name: fmt.Sprint("engine ", r.IntN(1000)), Cylinders: len(layout.order), Access: shim.ByValve, Diameter: 29 * mm,
		FiringOrder: layout.order, FiringIntervals: layout.intervals,
		Intake: train(pick(r, 100*um, 150*um), 5, 35), Exhaust: train(pick(r, 150*um, 200*um), 35, 5),
		Catalogue: []shim.Range{{From: 2 * mm, To: 3 * mm, Step: 50 * um}},
	}
	switch r.IntN(6) {
	case 0:
		e.FiringOrder, e.FiringIntervals = nil, nil
	case 1:
		e.Access = shim.ByCamshaft
	case 2, 3:
		e.DepressOffset = pick(r, 40.0, 60, 90, -40, -60, -90)
	}
	return e
}

// ringed is a check whose shims would suit each other's valves: the ideal sizes
// are a shuffle of the installed ones, some of them a little off.
func ringed(r *rand.Rand, e *shim.Engine, sizes int) []shim.Measurement {
	valves := e.Valves()
	installed := make([]shim.Length, len(valves))
	off := pick(r, 3, 6, 12)
	for i := range installed {
		installed[i] = 2400*um + shim.Length(r.IntN(sizes))*25*um
	}
	ideal := shuffled(r, installed)
	var list []shim.Measurement
	for i, v := range valves {
		if r.IntN(4) == 0 {
			ideal[i] = installed[i]
		}
		if r.IntN(off) == 0 {
			ideal[i] += pick(r, -50*um, 25*um, 75*um)
		}
		gap := e.Train(v.Side).Aim() + ideal[i] - installed[i]
		m := shim.Measurement{Valve: v, Marks: shim.Marks{Stamp: installed[i]}, Reading: shim.ReadingOf(max(0, gap))}
		if r.IntN(5) == 0 {
			m.Mic = m.Stamp
		}
		list = append(list, m)
	}
	return list
}

// topRequest is a random request of engines most of which have shims on top.
func topRequest(r *rand.Rand, cylinders int) plan.Request {
	q := plan.Request{Policy: plan.Policy(r.IntN(3)), Margin: plan.DefaultMargin, NoBuy: r.IntN(2) == 0, SharePulled: r.IntN(3) > 0}
	if r.IntN(4) == 0 {
		q.Confidence = 0.9
	}
	sizes := pick(r, 5, 9, 16)
	for i := range pick(r, 1, 1, 2, 3) {
		e := onTop(r, cylinders)
		q.Jobs = append(q.Jobs, plan.JobRequest{Name: fmt.Sprint("job ", i), Engine: e, Check: ringed(r, e, sizes)})
	}
	rows := r.IntN(4)
	if !q.NoBuy && r.IntN(2) == 0 {
		rows = 0
	}
	for range rows {
		row := shim.BoxRow{Marks: shim.Marks{Stamp: 2000*um + shim.Length(r.IntN(30))*25*um}, Family: shim.Family{Diameter: 29 * mm}, Count: 1 + r.IntN(2)}
		if r.IntN(3) == 0 {
			row.Mic = row.Stamp
		}
		q.Box = append(q.Box, row)
	}
	return q
}

// Every fitting list of random engines can be worked through by hand.
func TestFittingListsReplay(t *testing.T) {
	effort.Long(t)
	n := max(300, effort.Of(100_000)) // fewer do not show all
	r := rand.New(rand.NewPCG(91, 1))
	seen := map[string]int{}
	count := func(what string, is bool) {
		if is {
			seen[what]++
		}
	}
	for i := range n {
		q := topRequest(r, pick(r, 2, 4, 6, 8))
		p, err := plan.Make(context.Background(), q)
		require.NoError(t, err, show(&q))
		s, err := replay(&q, p)
		require.NoError(t, err, "request %d: %s", i, show(&q))
		seen["engines"] += len(q.Jobs)
		seen["stops"] += s.stops
		seen["second visits"] += s.again
		seen["confirmed by a manual"] += s.book
		for k := range p.Jobs {
			j := &p.Jobs[k]
			count("shim wanting", len(j.Wants) > 0)
			for _, m := range j.Moves {
				count("bench", m.Bench)
				count("temporary from the box", m.Temporary && m.By == plan.Box)
				count("temporary, bought", m.Temporary && m.By == plan.Buy)
				count("temporary, pulled", m.Temporary && m.By == plan.Swap)
				count("between engines", m.Turned && m.From != nil && m.From.Job != k)
				count("valve by valve", !m.Turned && j.Engine.Access == shim.ByValve)
				count("with a depress offset", m.Turned && j.Engine.DepressOffset != 0)
				count("camshaft", j.Engine.Access == shim.ByCamshaft)
			}
		}
	}
	t.Log(seen)
	for _, what := range []string{"shim wanting", "bench", "temporary from the box", "temporary, bought", "temporary, pulled", "between engines", "valve by valve", "camshaft", "confirmed by a manual", "with a depress offset"} {
		assert.Greater(t, seen[what], n/2000, "%s: the random engines must show it", what)
	}
}
