package work

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/shim"
	"shimwright/shim/recheck"
)

func TestNext(t *testing.T) {
	spec := sample.Sandpiper()
	all := inventory.Check{}
	for _, v := range spec.Valves() {
		all.Readings = append(all.Readings, shim.Measurement{Valve: v, Reading: shim.ReadingOf(mm(t, "0.3"))})
	}
	some := inventory.Check{Readings: all.Readings[2:]}
	left := []inventory.Placement{{Valve: valve(t, "in1a"), Size: mm(t, "2.4")}}
	why := []string{"in1a is tight"}
	leaf := []string{"in1a is undecided: try the 0.15 leaf: inside if it goes, tight if not"}
	fitted := &inventory.KeptPlan{Number: 1}
	buy := func(ordered, arrived int) []inventory.Purchase {
		return []inventory.Purchase{{Needed: 3, Ordered: ordered, Arrived: arrived}}
	}
	for _, c := range []struct {
		name  string
		state inventory.State
		f     inventory.File
		want  Step
	}{
		{"nothing read", inventory.StateOpen, inventory.File{Unproven: why}, Step{Kind: ReadAll}},
		{"read in part", inventory.StateMeasured, inventory.File{Unproven: why, Checks: []inventory.Check{some}}, Step{Kind: ReadRest, Count: 2}},
		{"read in full", inventory.StateMeasured, inventory.File{Unproven: why, Checks: []inventory.Check{some, all}}, Step{Kind: MakePlan}},
		{"all inside from the first", inventory.StateMeasured, inventory.File{Checks: []inventory.Check{all}}, Step{Kind: CloseJob}},
		{"a piece went", inventory.StatePlanned, inventory.File{Job: inventory.Job{Short: 2}, Left: left}, Step{Kind: PlanAgain, Count: 2}},
		{"to be ordered", inventory.StatePlanned, inventory.File{Left: left, Purchases: buy(1, 0)}, Step{Kind: OrderPieces, Count: 2}},
		{"on order", inventory.StatePlanned, inventory.File{Left: left, Purchases: buy(3, 2)}, Step{Kind: AwaitPieces, Count: 1}},
		{"all here", inventory.StatePlanned, inventory.File{Left: left, Purchases: buy(3, 3)}, Step{Kind: FitAll}},
		{"begun", inventory.StateFitting, inventory.File{Left: left}, Step{Kind: FitRest}},
		{"no shim to change, inside", inventory.StatePlanned, inventory.File{}, Step{Kind: CloseUnchanged}},
		{"no shim to change, before a fit", inventory.StatePlanned, inventory.File{Unproven: why}, Step{Kind: ReadValves, Reasons: why}},
		{"no shim to change, after a fit", inventory.StatePlanned, inventory.File{Unproven: why, Fitted: fitted}, Step{Kind: RecheckValves, Reasons: why}},
		{"fitted", inventory.StateFitted, inventory.File{Unproven: why}, Step{Kind: RecheckAll}},
		{"measured again, inside", inventory.StateRechecked, inventory.File{}, Step{Kind: CloseJob}},
		{"measured again, a leaf decides", inventory.StateRechecked, inventory.File{Unproven: leaf}, Step{Kind: RecheckValves, Reasons: leaf}},
		{"measured again, outside", inventory.StateRechecked, inventory.File{Unproven: why}, Step{Kind: RecheckOrPlan, Reasons: why}},
		{"measured again in part", inventory.StateRechecked, inventory.File{Unproven: []string{"in1a was not measured"}}, Step{Kind: RecheckValves, Reasons: []string{"in1a was not measured"}}},
		{"closed", inventory.StateClosed, inventory.File{Unproven: why}, Step{}},
		{"cancelled", inventory.StateCancelled, inventory.File{Unproven: why}, Step{}},
	} {
		c.f.Job.ID, c.f.Job.State, c.f.Engine.Spec = 12, c.state, spec
		c.want.Job = 12
		assert.Equal(t, c.want, Next(c.f), c.name)
	}
}

// Two shims exchanged in the fit are put right; a reading of one valve that
// nothing but the reading explains is looked at.
func TestNextAfterRecheck(t *testing.T) {
	ctx := context.Background()
	fit := func(after map[string]string) inventory.File {
		shop, job := measured(t, []string{"2.250", "2.475"}, map[string]string{"ex1a": "0.10", "ex2a": "0.30"})
		planned(t, shop, job, true)
		_, err := shop.Fit(ctx, job, inventory.Fit{})
		require.NoError(t, err)
		f, err := shop.Job(ctx, job)
		require.NoError(t, err)
		require.Equal(t, RecheckAll, Next(f).Kind)
		var list []shim.Measurement
		for _, x := range f.Expected {
			clearance := x.Clearance
			if c, named := after[x.Valve.String()]; named {
				clearance = mm(t, c)
			}
			list = append(list, shim.Measurement{Valve: x.Valve, Reading: shim.ReadingOf(clearance)})
		}
		_, err = shop.Read(ctx, job, list, "")
		require.NoError(t, err)
		f, err = shop.Job(ctx, job)
		require.NoError(t, err)
		return f
	}
	assert.Equal(t, CloseJob, Next(fit(nil)).Kind)

	f := fit(nil)
	size := map[string]shim.Length{}
	for _, s := range f.Seats {
		size[s.Valve.String()] = s.Size()
	}
	require.NotEqual(t, size["ex1a"], size["ex2a"])
	expected := map[string]shim.Length{}
	for _, x := range f.Expected {
		expected[x.Valve.String()] = x.Clearance
	}
	by := size["ex1a"] - size["ex2a"]
	s := Next(fit(map[string]string{"ex1a": (expected["ex1a"] + by).String(), "ex2a": (expected["ex2a"] - by).String()}))
	require.Equal(t, PutRight, s.Kind, "%+v", s)
	require.Len(t, s.Faults, 1)
	assert.Equal(t, recheck.Exchanged, s.Faults[0].Kind)
	assert.ElementsMatch(t, []shim.Valve{valve(t, "ex1a"), valve(t, "ex2a")}, s.Faults[0].Valves)

	s = Next(fit(map[string]string{"ex1b": "0.60"}))
	assert.Equal(t, LookAt, s.Kind, "%+v", s)
	assert.NotEmpty(t, s.Reasons)
}
