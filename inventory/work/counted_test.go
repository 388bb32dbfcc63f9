package work

import (
	"bytes"
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/plan/planjson"
	"shimwright/testdata/effort"
)

// The piece that a plan reserves is known as the plan counted it: new, used or by
// micrometer, where the box has several of one size, other jobs hold some of them
// and the fit is booked valve by valve.
func TestReservedAsCounted(t *testing.T) {
	ctx := context.Background()
	random := rand.New(rand.NewPCG(4, 12))
	worn, fresh, split := 0, 0, 0
	for range effort.Of(4000) {
		shop, first := measured(t, nil, map[string]string{"ex1a": "0.17", "ex2a": "0.30"})
		box := func(most int) {
			for range random.IntN(most) {
				lot := inventory.Lot{Family: shim.Family{Diameter: sample.Sandpiper().Diameter}, Used: random.IntN(2) == 0, Bin: []string{"A", "B"}[random.IntN(2)]}
				lot.Stamp = []shim.Length{mm(t, "2.325"), mm(t, "2.350"), mm(t, "2.475")}[random.IntN(3)]
				if random.IntN(3) == 0 {
					lot.Mic = lot.Stamp
				}
				_, err := shop.Receive(ctx, []inventory.Item{{Lot: lot, Count: 1 + random.IntN(2)}})
				require.NoError(t, err)
			}
		}
		box(4)
		planned(t, shop, first, true)
		box(8)
		opened, err := shop.OpenJob(ctx, inventory.Opening{Spec: sample.Sandpiper(), Source: "invented"})
		require.NoError(t, err)
		job := opened.ID
		var list []shim.Measurement
		spec := sample.Sandpiper()
		for _, v := range spec.Valves() {
			clearance := "0.175"
			if v.Side == shim.Exhaust {
				clearance = []string{"0.235", "0.17", "0.165", "0.30", "0.31"}[random.IntN(5)]
			}
			list = append(list, shim.Measurement{Valve: v, Reading: shim.ReadingOf(mm(t, clearance)), Marks: shim.Marks{Stamp: mm(t, "2.4")}})
		}
		_, err = shop.Read(ctx, job, list, "")
		require.NoError(t, err)

		basis, err := shop.Basis(ctx, job)
		require.NoError(t, err)
		ready, err := Prepare(basis)
		require.NoError(t, err)
		apart := random.IntN(2) == 0
		q := plan.Request{Jobs: []plan.JobRequest{ready.Job(shim.Lift{})}, Box: ready.Box, NoBuy: true, Margin: plan.DefaultMargin}
		if apart {
			q.Confidence = 0.95
		}
		p, err := plan.Make(ctx, q)
		require.NoError(t, err)
		var document bytes.Buffer
		require.NoError(t, planjson.Encode(&document, p))
		_, err = shop.PlanTogether(ctx, []inventory.Proposal{ready.Proposal(p, document.Bytes())})
		require.NoError(t, err)

		drawn := map[shim.Valve]*plan.ValvePlan{}
		sizes := map[shim.Length]map[bool]bool{}
		for i := range p.Jobs[0].Valves {
			if v := &p.Jobs[0].Valves[i]; v.Action == plan.Box {
				drawn[v.Valve] = v
				if sizes[v.Size] == nil {
					sizes[v.Size] = map[bool]bool{}
				}
				sizes[v.Size][v.Used] = true
			}
		}
		for _, kinds := range sizes {
			if len(kinds) == 2 {
				split++
			}
		}
		look := func(when string) {
			f, err := shop.Job(ctx, job)
			require.NoError(t, err)
			for name, v := range drawn {
				lot, there := PieceOf(f, name)
				require.True(t, there, "%s: %s", when, name)
				require.Equal(t, v.Used, lot.Used && lot.Mic == 0, "%s: %s counts as used %v, its piece is %+v; box %+v", when, name, v.Used, lot, ready.Box)
				require.True(t, !v.Miked || lot.Mic != 0, "%s: %s was measured, its piece is %+v", when, name, lot)
				if apart {
					require.Equal(t, v.Miked, lot.Mic != 0, "%s: %s", when, name)
				}
				if v.Used {
					worn++
				} else {
					fresh++
				}
			}
		}
		look("planned")
		for name := range drawn {
			_, err := shop.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{name}})
			if err != nil {
				continue // a swap has to come first
			}
			look("fitted " + name.String())
			break
		}
	}
	t.Logf("%d used and %d other pieces, %d plans with both of one size", worn, fresh, split)
	assert.NotZero(t, worn)
	assert.NotZero(t, fresh)
	assert.NotZero(t, split, "both kinds of one size")
}
