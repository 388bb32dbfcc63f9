package stock_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/stock"
	"shimwright/testdata/effort"
)

// engineOf is a model of the synthetic shop as an engine file describes it.
func engineOf(m synthetic) *shim.Engine {
	train := func(s side) shim.Train {
		return shim.Train{Valves: s.valves, Limits: shim.Limits{Tight: shim.Length(s.tight) * um, Loose: shim.Length(s.loose) * um}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}}
	}
	return &shim.Engine{Name: "model", Cylinders: m.cylinders, Intake: train(m.sides[0]), Exhaust: train(m.sides[1]), Diameter: disc.Diameter,
		Catalogue: []shim.Range{{From: 1200 * um, To: 3000 * um, Step: 25 * um}}}
}

// A job that is done by itself buys as many shims as the plan of the tool does: the
// advice counts what will really be bought.
func TestPurchasesAreThePlans(t *testing.T) {
	jobs, bought := effort.Of(4600), 0
	for seed := range uint64(jobs) {
		r := rand.New(rand.NewPCG(seed, 46))
		m := models[r.IntN(len(models))]
		e := engineOf(m)
		build := seed%5 == 4
		var check []shim.Measurement
		for _, v := range e.Valves() {
			s := m.sides[v.Side]
			stack := float64(s.nominal) + 65*r.NormFloat64()
			fitted := nearest(stack - float64(s.tight+s.loose)/2 + 30*r.NormFloat64())
			read := shim.Length(max(1, math.Round((stack-fitted)/10))) * 10 * um
			m := shim.Measurement{Valve: v, Reading: shim.ReadingOf(read), Marks: shim.Marks{Stamp: shim.Length(fitted) * um}}
			if r.IntN(20) == 0 {
				m.Mic = m.Stamp - shim.Length(r.IntN(12))*um
			}
			check = append(check, m)
		}
		var rows []shim.BoxRow
		var box []stock.Pieces
		for range r.IntN(25) {
			size := shim.Length(nearest(2500+200*r.NormFloat64())) * um
			rows = append(rows, shim.BoxRow{Marks: shim.Marks{Stamp: size}, Family: disc, Count: 1})
			box = append(box, stock.Pieces{Disc: disc.Of(size), Count: 1})
		}
		lift := shim.LiftNeeded
		if r.IntN(3) == 0 {
			lift = shim.LiftAll
		}
		p, err := plan.Make(context.Background(), plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: check, Lift: lift, Build: build}}, Box: rows, Margin: plan.DefaultMargin})
		require.NoError(t, err)
		require.Zero(t, p.Criteria.Unserved, "the catalogue has all sizes")
		job, err := stock.JobOf(e, check, lift, build)
		require.NoError(t, err)
		got, err := stock.Replay(context.Background(), []stock.Job{job}, 1, box)
		require.NoError(t, err)
		assert.Equal(t, p.Criteria.Bought, got.Bought, "seed %d", seed)
		bought += got.Bought
	}
	t.Logf("%d jobs: as many purchases as the plan in each, %d in all", jobs, bought)
	require.Positive(t, bought)
}

// What nobody read, or whose shim nobody knows, asks nothing of the box.
func TestJobOfLeavesOutWhatIsNotKnown(t *testing.T) {
	e := engineOf(models[3])
	valves := e.Valves()
	check := make([]shim.Measurement, len(valves))
	for i, v := range valves {
		check[i] = shim.Measurement{Valve: v, Reading: shim.ReadingOf(50 * um), Marks: shim.Marks{Stamp: 2000 * um}}
	}
	check[0].Reading = shim.Reading{}
	check[1].Stamp = 0
	job, err := stock.JobOf(e, check, shim.LiftNeeded, false)
	require.NoError(t, err)
	require.Len(t, job, len(valves)-2)
	assert.Equal(t, disc, job[0].Family)
	assert.Equal(t, 2000*um, job[0].Pulled)
	_, err = stock.JobOf(e, check, shim.Lift{Named: []string{"middle"}}, false)
	require.Error(t, err)
}
