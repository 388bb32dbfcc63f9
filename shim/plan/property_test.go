package plan_test

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/testdata/effort"
)

// each calls check with random requests and their plans.
func each(t *testing.T, seed uint64, n int, check func(r *rand.Rand, q plan.Request, p *plan.Plan)) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 42))
	for range effort.Share(n) {
		q := randomRequest(r, pick(r, small, crowded, wide, large))
		p, err := plan.Make(context.Background(), q)
		require.NoError(t, err, show(&q))
		check(r, q, p)
	}
}

// noWorse requires that the second plan is no worse than the first.
func noWorse(t *testing.T, q, other *plan.Request, p *plan.Plan) {
	t.Helper()
	better, err := plan.Make(context.Background(), *other)
	require.NoError(t, err, show(other))
	a, b := ordered(q.Policy, p.Criteria), ordered(q.Policy, better.Criteria)
	require.LessOrEqual(t, slices.Compare(b[:], a[:]), 0, "%v became %v: %s\nbecame %s", a, b, show(q), show(other))
}

func TestMoreShimsAreNeverWorse(t *testing.T) {
	each(t, 1, 400, func(r *rand.Rand, q plan.Request, p *plan.Plan) {
		other := q
		size := 2*mm + shim.Length(r.IntN(20))*25*um
		other.Box = append(slices.Clone(q.Box), shim.BoxRow{Marks: shim.Marks{Stamp: size}, Family: shim.Family{Diameter: pick(r, q.Jobs...).Engine.Diameter}, Count: 1 + r.IntN(2)})
		noWorse(t, &q, &other, p)
	})
}

func TestMoreOffersAreNeverWorse(t *testing.T) {
	each(t, 2, 400, func(r *rand.Rand, q plan.Request, p *plan.Plan) {
		if q.Offers == nil {
			return
		}
		other := q
		other.Offers = slices.Clone(q.Offers)
		for i := range other.Offers {
			switch o := &other.Offers[i]; r.IntN(3) {
			case 0:
				o.Stock++
			case 1:
				o.Price /= 2
			}
		}
		size := 2*mm + shim.Length(r.IntN(20))*25*um
		other.Offers = append(other.Offers, shim.Offer{Disc: shim.Disc{Family: shim.Family{Diameter: q.Jobs[0].Engine.Diameter}, Size: size}, Quote: shim.Quote{Price: 60_000, Priced: true}})
		noWorse(t, &q, &other, p)
	})
}

func TestBuyingAndSharingAreNeverWorse(t *testing.T) {
	each(t, 3, 400, func(r *rand.Rand, q plan.Request, p *plan.Plan) {
		other := q
		other.NoBuy, other.SharePulled = q.NoBuy && r.IntN(2) == 0, true
		noWorse(t, &q, &other, p)
	})
}

func TestASmallerMarginIsNeverWorse(t *testing.T) {
	each(t, 4, 400, func(r *rand.Rand, q plan.Request, p *plan.Plan) {
		other := q
		other.Margin = shim.Length(r.Int64N(int64(q.Margin) + 1))
		noWorse(t, &q, &other, p)
	})
}

// Each job planned on what those before it left is one way to plan them all.
func TestTogetherIsNeverWorseThanOneAfterAnother(t *testing.T) {
	effort.Long(t)
	better := 0
	each(t, 13, 1500, func(_ *rand.Rand, q plan.Request, p *plan.Plan) {
		c, err := plan.OneAfterAnother(context.Background(), q)
		require.NoError(t, err, show(&q))
		a, b := ordered(q.Policy, p.Criteria), ordered(q.Policy, c)
		require.LessOrEqual(t, slices.Compare(a[:], b[:]), 0, "%v together, %v one after another: %s", a, b, show(&q))
		if a != b {
			better++
		}
	})
	require.Greater(t, better, effort.Share(50))
}

func TestLessConfidenceIsNeverWorse(t *testing.T) {
	effort.Long(t)
	each(t, 10, 300, func(r *rand.Rand, q plan.Request, _ *plan.Plan) {
		q.Confidence = 0.5 + r.Float64()/2
		p, err := plan.Make(context.Background(), q)
		require.NoError(t, err)
		other := q
		other.Confidence *= r.Float64()
		noWorse(t, &q, &other, p)
	})
}

// A better gauge, every figure of it smaller, leaves no more valves near a limit
// than there were in one and the same plan, so it makes no plan worse.
func TestAnExactGaugeIsNeverWorse(t *testing.T) {
	each(t, 11, 300, func(r *rand.Rand, q plan.Request, _ *plan.Plan) {
		if q.Confidence == 0 {
			return
		}
		p, err := plan.Make(context.Background(), q)
		require.NoError(t, err)
		other := q
		other.Gauge = &shim.Gauge{}
		for i := range q.Jobs { // a bracket is as wide as it is
			other.Jobs = slices.Clone(other.Jobs)
			other.Jobs[i].Check = slices.Clone(q.Jobs[i].Check)
			for k := range other.Jobs[i].Check {
				if m := &other.Jobs[i].Check[k]; m.Reading.Kind == shim.Bracket {
					c, _ := m.Reading.Estimate()
					m.Reading = shim.ReadingOf(c)
				}
			}
		}
		noWorse(t, &q, &other, p)
	})
}

// Wider limits may leave a camshaft in that was out before; with everything
// open they leave no more valves outside.
func TestWiderLimitsServeNoFewer(t *testing.T) {
	effort.Long(t)
	each(t, 5, 400, func(r *rand.Rand, q plan.Request, _ *plan.Plan) {
		wider := q
		q.Jobs, wider.Jobs = slices.Clone(q.Jobs), slices.Clone(q.Jobs)
		for i := range q.Jobs {
			q.Jobs[i].Lift, wider.Jobs[i].Lift = shim.LiftAll, shim.LiftAll
			e := *q.Jobs[i].Engine
			e.Intake.Loose += shim.Length(r.IntN(3)) * 10 * um
			e.Exhaust.Tight -= shim.Length(r.IntN(3)) * 10 * um
			wider.Jobs[i].Engine = &e
		}
		p, err := plan.Make(context.Background(), q)
		require.NoError(t, err)
		w, err := plan.Make(context.Background(), wider)
		require.NoError(t, err)
		require.LessOrEqual(t, w.Criteria.Unserved, p.Criteria.Unserved, "%s\nwider %s", show(&q), show(&wider))
	})
}

// Under thrift and target the number of purchases stands before their price.
func TestPricesDoNotChangeHowManyAreBought(t *testing.T) {
	each(t, 6, 400, func(r *rand.Rand, q plan.Request, p *plan.Plan) {
		if q.Offers == nil || q.Policy == plan.Blueprint {
			return
		}
		dearer := q
		dearer.Offers = slices.Clone(q.Offers)
		for i := range dearer.Offers {
			o := &dearer.Offers[i]
			o.Priced = true
			o.Price += shim.Price(r.IntN(90_000))
		}
		d, err := plan.Make(context.Background(), dearer)
		require.NoError(t, err)
		require.Equal(t, p.Criteria.Unserved, d.Criteria.Unserved, show(&q))
		require.Equal(t, p.Criteria.Bought, d.Criteria.Bought, show(&q))
		require.GreaterOrEqual(t, d.Criteria.Cost, p.Criteria.Cost, show(&q))
	})
}

// No policy is beaten by another one in its own order.
func TestPoliciesAreBestByTheirOwnOrder(t *testing.T) {
	each(t, 7, 300, func(_ *rand.Rand, q plan.Request, p *plan.Plan) {
		for _, other := range []plan.Policy{plan.Thrift, plan.Target, plan.Blueprint} {
			rival := q
			rival.Policy = other
			b, err := plan.Make(context.Background(), rival)
			require.NoError(t, err)
			mine, theirs := ordered(q.Policy, p.Criteria), ordered(q.Policy, b.Criteria)
			require.LessOrEqual(t, slices.Compare(mine[:], theirs[:]), 0, "%v against %v: %s", q.Policy, other, show(&q))
			require.Equal(t, p.Criteria.Unserved, b.Criteria.Unserved, show(&q))
		}
	})
}

// A plan that has been carried out leaves nothing to buy: with its shims fitted
// and the clearances as expected, nothing is bought and no other valve can be
// brought inside, though the box has given what it gave and got nothing back.
func TestACarriedOutPlanLeavesNothingToBuy(t *testing.T) {
	each(t, 8, 400, func(_ *rand.Rand, q plan.Request, _ *plan.Plan) {
		q.Policy, q.Jobs = plan.Thrift, slices.Clone(q.Jobs)
		q.Confidence = 0 // a reading made later is surer than one worked out
		for i := range q.Jobs {
			q.Jobs[i].Risk = nil // and risks less
		}
		// A shim bought for one engine could go on to another one that its own
		// catalogue does not help.
		q.SharePulled = q.SharePulled && q.Offers != nil
		for i := range q.Jobs {
			e := *q.Jobs[i].Engine
			e.Intake.Ratio, e.Exhaust.Ratio = shim.Ratio{Times: shim.One}, shim.Ratio{Times: shim.One} // no rounding twice
			q.Jobs[i].Engine, q.Jobs[i].Lift = &e, shim.LiftAll
		}
		q.Offers = slices.Clone(q.Offers)
		for i := range q.Offers {
			q.Offers[i].Limited = false // a supplier's stock would be full again
		}
		p, err := plan.Make(context.Background(), q)
		require.NoError(t, err, show(&q))
		after := q
		after.Jobs = slices.Clone(q.Jobs)
		for i := range after.Jobs {
			after.Jobs[i].Check = slices.Clone(q.Jobs[i].Check)
			for k := range after.Jobs[i].Check {
				v, m := p.Jobs[i].Valves[k], &after.Jobs[i].Check[k]
				if v.Changed() {
					*m = shim.Measurement{Valve: m.Valve, Marks: shim.Marks{Stamp: v.Size}, Reading: shim.ReadingOf(v.Expected)}
				}
			}
		}
		left := boxOf(&q)
		for _, lot := range p.Drawn {
			left[piece{diameter: lot.Diameter, size: lot.Size}] -= lot.Count
		}
		after.Box = nil
		for what, count := range left {
			after.Box = append(after.Box, shim.BoxRow{Marks: shim.Marks{Stamp: what.size}, Family: shim.Family{Diameter: what.diameter}, Count: count})
		}
		again, err := plan.Make(context.Background(), after)
		require.NoError(t, err)
		require.Equal(t, p.Criteria.Unserved, again.Criteria.Unserved, "%s\nafter %s", show(&q), show(&after))
		require.Zero(t, again.Criteria.Bought, "%s\nafter %s", show(&q), show(&after))
		require.LessOrEqual(t, again.Criteria.Near, p.Criteria.Near, "%s\nafter %s", show(&q), show(&after))
	})
}

// What is on order stands beside an engine's own catalogue as if a file listed
// both, and is there once however many jobs are planned.
func TestOnOrder(t *testing.T) {
	ctx := context.Background()
	taken := 0
	each(t, 14, 200, func(r *rand.Rand, q plan.Request, _ *plan.Plan) {
		q.Offers, q.OnOrder, q.NoBuy = nil, nil, false
		offers := q.Jobs[0].Engine.Offers()
		if len(offers) == 0 {
			return
		}
		for range 3 {
			o := offers[r.IntN(len(offers))]
			o.Price, o.Priced, o.Limited, o.Stock = 0, true, true, 1
			q.OnOrder = append(q.OnOrder, o)
		}
		all, err := plan.Make(ctx, q)
		require.NoError(t, err, show(&q))
		c, err := plan.OneAfterAnother(ctx, q)
		require.NoError(t, err, show(&q))
		a, b := ordered(q.Policy, all.Criteria), ordered(q.Policy, c)
		require.LessOrEqual(t, slices.Compare(a[:], b[:]), 0, "%v together, %v one after another: %s", a, b, show(&q))

		q.Jobs = q.Jobs[:1]
		one, err := plan.Make(ctx, q)
		require.NoError(t, err, show(&q))
		filed := q
		filed.Offers, filed.OnOrder = append(slices.Clone(q.OnOrder), offers...), nil
		want, err := plan.Make(ctx, filed)
		require.NoError(t, err, show(&q))
		require.Equal(t, want.Criteria, one.Criteria, show(&q))
		filed.Offers = nil
		without, err := plan.Make(ctx, filed)
		require.NoError(t, err, show(&q))
		if without.Criteria != one.Criteria {
			taken++
		}
	})
	if !testing.Short() { // a fiftieth of the jobs is too few to show it
		require.Positive(t, taken, "some plan takes what is on order")
	}
}
