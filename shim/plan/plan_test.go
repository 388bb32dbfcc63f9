package plan_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

func TestSwapsFormAChain(t *testing.T) {
	e := inline(3)
	q := plan.Request{
		Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "in1 0.38 2.40", "in2 0.07 2.60", "in3 0.25 2.48")}},
		Box:  box(t, "2.55"), NoBuy: true,
	}
	p := made(t, q)
	// in1 needs 2.57 to 2.64, in2 2.46 to 2.53, in3 2.52 to 2.59.
	assert.Equal(t, plan.Criteria{Drawn: 1, Deviation: 5*um + 15*um + 5*um, Changed: 3}, p.Criteria)
	assert.Equal(t, "in3 in2 in1", fitting(&p.Jobs[0]), "the valve with the shim from the box comes first")
	assert.Equal(t, "in2", valve(t, p, "in1").From.Valve.String())
	assert.Equal(t, "in3", valve(t, p, "in2").From.Valve.String())
	assert.Equal(t, []plan.Pieces{{Disc: shim.Disc{Family: shim.Family{Diameter: e.Diameter}, Size: length(t, "2.40")}, Count: 1}}, p.LeftOver)
	assert.Equal(t, []string{"intake"}, p.Jobs[0].Lifted)
	assert.True(t, p.Served())
}

func TestSwapsFormACycle(t *testing.T) {
	e := inline(3)
	q := plan.Request{
		Jobs:  []plan.JobRequest{{Engine: e, Check: check(t, e, "in1 0.38 2.40", "in2 0.07 2.60", "in3 0.08 2.50")}},
		NoBuy: true,
	}
	p := made(t, q)
	// in1 needs 2.57 to 2.64, in2 2.46 to 2.53, in3 2.37 to 2.44.
	assert.Equal(t, plan.Criteria{Deviation: 5*um + 5*um + 5*um, Changed: 3}, p.Criteria)
	assert.Equal(t, "in1 in3 in2", fitting(&p.Jobs[0]))
	assert.Empty(t, p.LeftOver)
}

// The trade's rule: move a shim that is out anyway before buying (Haynes).
func TestAValveInsideGivesItsShimToSaveAPurchase(t *testing.T) {
	e := inline(3)
	q := plan.Request{
		Jobs:   []plan.JobRequest{{Engine: e, Check: check(t, e, "in1 0.38 2.40", "in2 0.16 2.60")}},
		Box:    box(t, "2.56"), // in2 takes 2.55 to 2.62, in1 2.57 to 2.64
		Offers: catalogue(t, "2.60"),
	}
	p := made(t, q)
	assert.Equal(t, 0, p.Criteria.Bought)
	assert.Equal(t, 1, p.Criteria.Disturbed)
	assert.Equal(t, plan.Swap, valve(t, p, "in1").Action)
	assert.Equal(t, plan.Box, valve(t, p, "in2").Action)
	assert.Equal(t, "in2 in1", fitting(&p.Jobs[0]))

	q.Box = nil
	p = made(t, q)
	assert.Equal(t, 1, p.Criteria.Bought)
	assert.Equal(t, shim.Price(78_000), p.Criteria.Cost)
	assert.Equal(t, 0, p.Criteria.Disturbed)
	assert.Equal(t, plan.Buy, valve(t, p, "in1").Action)

	q.NoBuy = true
	p = made(t, q)
	assert.Equal(t, 1, p.Criteria.Unserved)
	assert.Equal(t, plan.Leave, valve(t, p, "in1").Action)
	assert.False(t, p.Served())
}

func TestPoliciesWeighDeviationDifferently(t *testing.T) {
	e := inline(1)
	for _, c := range []struct {
		policy plan.Policy
		box    []shim.BoxRow
		want   plan.Action
	}{
		{plan.Thrift, box(t, "2.475"), plan.Keep},    // disturbed stands before deviation
		{plan.Target, box(t, "2.475"), plan.Box},     // and after it
		{plan.Blueprint, box(t, "2.475"), plan.Box},  // drawn costs less than bought
		{plan.Thrift, nil, plan.Keep},                // bought stands first
		{plan.Target, nil, plan.Keep},                // here too
		{plan.Blueprint, nil, plan.Buy},              // and here after deviation
		{plan.Blueprint, box(t, "2.50"), plan.Buy},   // a closer one is bought
		{plan.Target, box(t, "2.45"), plan.Keep},     // no closer: 25 µm either way
		{plan.Blueprint, box(t, "2.4751"), plan.Buy}, // to the micrometre
	} {
		q := plan.Request{
			Policy: c.policy, Box: c.box, Margin: plan.DefaultMargin, Offers: catalogue(t, "2.475"),
			Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "in1 0.15 2.50"), Lift: shim.LiftAll}},
		}
		p := made(t, q)
		assert.Equal(t, c.want, valve(t, p, "in1").Action, "%v with %v", c.policy, c.box)
	}
}

// With equal deviation everywhere, a shim from the box spares the valve that is
// fine (thrift), or a swap with it spares the box (target, blueprint).
func TestPoliciesWeighTheBoxDifferently(t *testing.T) {
	e := inline(3)
	for policy, want := range map[plan.Policy]plan.Action{plan.Thrift: plan.Box, plan.Target: plan.Swap, plan.Blueprint: plan.Swap} {
		p := made(t, plan.Request{
			// in2 ends 15 µm off its aim with either of the two shims.
			Policy: policy, Box: box(t, "2.60"), NoBuy: true,
			Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "in1 0.215 2.57", "in2 0.16 2.60")}},
		})
		assert.Equal(t, want, valve(t, p, "in1").Action, policy)
		assert.Equal(t, shim.Length(25*um), p.Criteria.Deviation, policy)
	}
}

// Near is closer than the margin: 0.150 is not, 0.149 is.
func TestNearIsBelowTheMargin(t *testing.T) {
	e := inline(1)
	for reading, want := range map[string]plan.Action{"0.150": plan.Keep, "0.149": plan.Box, "0.200": plan.Keep, "0.201": plan.Box} {
		q := plan.Request{
			Box: box(t, "2.475", "2.525"), Margin: plan.DefaultMargin, NoBuy: true,
			Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "in1 "+reading+" 2.50"), Lift: shim.LiftAll}},
		}
		p := made(t, q)
		assert.Equal(t, want, valve(t, p, "in1").Action, reading)
		assert.Equal(t, 0, p.Criteria.Near, reading)

		q.Box = nil
		p = made(t, q)
		assert.Equal(t, want == plan.Box, valve(t, p, "in1").Near, reading)
	}
}

func TestLockedValvesAreLeftAlone(t *testing.T) {
	e := inline(2)
	q := plan.Request{
		Jobs: []plan.JobRequest{{
			Engine: e, Check: check(t, e, "in1 0.38 2.40", "ex1 0.22 2.60", "ex2 0.10 2.60"),
			Lift: shim.Lift{Named: []string{"intake"}},
		}},
		NoBuy: true,
	}
	p := made(t, q)
	assert.Equal(t, 1, p.Criteria.Unserved, "ex2 is locked, and 2.60 of ex1 is out of reach for in1")
	assert.Equal(t, plan.Leave, valve(t, p, "ex2").Action)
	assert.Contains(t, said(valve(t, p, "ex2")), "not opened")
	assert.False(t, p.Served())
	assert.Empty(t, p.Jobs[0].Moves)
}

func TestWhatCannotBePlanned(t *testing.T) {
	e := inline(2)
	other := inline(1)
	other.Name, other.Diameter = "Plover 2", 25*mm
	sound := plan.JobRequest{Engine: e, Check: check(t, e)}
	second := plan.JobRequest{Engine: other, Check: check(t, other)}
	swapped := check(t, e)
	swapped[0], swapped[1] = swapped[1], swapped[0]
	for name, q := range map[string]plan.Request{
		"a valve is missing":        {Jobs: []plan.JobRequest{{Engine: e, Check: sound.Check[1:]}}},
		"valves out of order":       {Jobs: []plan.JobRequest{{Engine: e, Check: swapped}}},
		"no such camshaft":          {Jobs: []plan.JobRequest{{Engine: e, Check: sound.Check, Lift: shim.Lift{Named: []string{"intake-7"}}}}},
		"box without a diameter":    {Jobs: []plan.JobRequest{sound, second}, Box: box(t, "2.50")},
		"offers without a diameter": {Jobs: []plan.JobRequest{sound, second}, Offers: catalogue(t, "2.50")},
	} {
		_, err := plan.Make(context.Background(), q)
		assert.ErrorIs(t, err, plan.ErrRequest, name)
	}
	p, err := plan.Make(context.Background(), plan.Request{})
	require.NoError(t, err, "nothing to do")
	assert.True(t, p.Served())
}
