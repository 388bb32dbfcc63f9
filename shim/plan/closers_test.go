package plan_test

import (
	"context"
	"errors"
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

// An engine with closers is planned as two engines would be that share nothing
// but the day: one with its openers, one with its closers as valves of another
// diameter. That solver is proved elsewhere (oracle_test.go, lp_test.go), so the
// two ways have to agree in every criterion and at every valve.
func TestClosersAsAnEngineOfTheirOwn(t *testing.T) {
	r := rand.New(rand.NewPCG(1201, 1))
	f := family{jobs: 1, valves: 8, sizes: 12, boxRows: 9, offers: 8, pieces: 2, cylinders: 3, fine: true}
	const closers = "closer"
	planned, bought, drawn, swapped := 0, 0, 0, 0
	for planned < max(60, effort.Of(6_000)) {
		q := randomRequest(r, f)
		e, check := q.Jobs[0].Engine, q.Jobs[0].Check
		if len(q.Jobs) > 1 || q.Jobs[0].Provisional {
			continue
		}
		// A second engine: the closers' limits, shims and readings.
		g := grid{from: 2 * mm, step: 25 * um, sizes: f.sizes, fine: true}
		other := *e
		other.Name, other.Diameter = "closers", 7*mm
		other.Catalogue = nil
		for _, train := range []*shim.Train{&other.Intake, &other.Exhaust} {
			tight := shim.Length(r.IntN(6)) * 10 * um
			train.Limits = shim.Limits{Tight: tight, Loose: tight + shim.Length(2+r.IntN(9))*10*um}
			train.Ratio = shim.Ratio{Times: shim.One}
		}
		if r.IntN(2) == 0 {
			other.Catalogue = []shim.Range{{From: 2 * mm, To: 2200 * um, Step: 50 * um, Quote: shim.Quote{Price: 60_000, Priced: true}}}
		}
		second := randomCheck(r, &other, g)

		both := *e
		for _, side := range []struct{ of, from *shim.Train }{{&both.Intake, &other.Intake}, {&both.Exhaust, &other.Exhaust}} {
			if side.of.Valves > 0 {
				side.of.Closer = &shim.Closer{Limits: side.from.Limits, AimAt: side.from.AimAt, Ratio: side.from.Ratio, Family: shim.Family{Kind: closers, Diameter: other.Diameter}, Catalogue: other.Catalogue}
			}
		}
		require.Empty(t, both.Validate())
		var joined []shim.Measurement
		for i := range check {
			m := second[i]
			if other.TrainOf(m.Valve).NoPlay(m.Reading) { // the opener's reading counts for nothing then
				check[i].Reading = shim.Reading{Kind: shim.Below, High: 30 * um}
			}
			m.Valve = m.Valve.Other()
			joined = append(joined, check[i], m)
		}
		for i := range q.Box { // the openers' rows are of the openers' engine in both
			q.Box[i].Diameter = pick(r, e.Diameter, other.Diameter)
		}
		if q.Offers != nil {
			for i := range q.Offers {
				q.Offers[i].Diameter = pick(r, e.Diameter, other.Diameter)
			}
		}
		apart := q
		apart.SharePulled = false
		apart.Jobs = []plan.JobRequest{
			{Name: "1", Engine: e, Check: check, Lift: shim.LiftAll},
			{Name: "2", Engine: &other, Check: second, Lift: shim.LiftAll},
		}
		one := q
		one.Jobs = []plan.JobRequest{{Name: "1", Engine: &both, Check: joined, Lift: shim.LiftAll}}
		one.Box, one.Offers = slices.Clone(q.Box), slices.Clone(q.Offers)
		for i := range one.Box {
			if one.Box[i].Diameter == other.Diameter {
				one.Box[i].Kind = closers
			}
		}
		for i := range one.Offers {
			if one.Offers[i].Diameter == other.Diameter {
				one.Offers[i].Kind = closers
			}
		}
		want, err := plan.Make(context.Background(), apart)
		if errors.Is(err, plan.ErrRequest) {
			continue
		}
		require.NoError(t, err)
		got, err := plan.Make(context.Background(), one)
		require.NoError(t, err)
		require.Equal(t, want.Criteria, got.Criteria, "request %d", planned)
		for i := range got.Jobs[0].Valves {
			v := &got.Jobs[0].Valves[i]
			w := &want.Jobs[i%2].Valves[i/2]
			require.Equal(t, w.Valve, shim.Valve{Side: v.Valve.Side, Cylinder: v.Valve.Cylinder, Letter: v.Valve.Letter})
			require.Equal(t, i%2 == 1, v.Valve.Closer)
			if e.Access == shim.ByCamshaft { // equal pieces may go round another way where shims are changed one by one
				require.Equal(t, []any{w.Action, w.Size, w.Expected}, []any{v.Action, v.Size, v.Expected}, "request %d, %s", planned, v.Valve)
			}
			switch v.Action {
			case plan.Buy:
				bought++
			case plan.Box:
				drawn++
			case plan.Swap:
				swapped++
				require.Equal(t, v.Valve.Closer, v.From.Valve.Closer, "a shim never goes from one family into the other")
			}
		}
		for _, lots := range [][]plan.Pieces{got.Shopping, got.Drawn, got.LeftOver} {
			for _, lot := range lots {
				require.Equal(t, lot.Diameter == other.Diameter, lot.Kind == closers, "%+v", lot)
			}
		}
		planned++
	}
	fmt.Printf("closers: %d engines as two, 0 different; %d bought, %d drawn, %d swapped\n", planned, bought, drawn, swapped)
	for what, n := range map[string]int{"bought": bought, "drawn": drawn, "swapped": swapped} {
		assert.Positive(t, n, what)
	}
}
