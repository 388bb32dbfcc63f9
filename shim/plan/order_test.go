package plan_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/report/reason"
	"shimwright/testdata/effort"
)

// text writes a plan so that two of them can be compared byte for byte even
// where their jobs stand in another order: jobs by name, valves of other jobs
// by the job's name.
func text(p *plan.Plan) string {
	place := func(at *plan.Place) string {
		if at == nil {
			return "-"
		}
		return p.Jobs[at.Job].Job + "/" + at.Valve.String()
	}
	var jobs []string
	for _, j := range p.Jobs {
		var b strings.Builder
		fmt.Fprintf(&b, "%s %v %+v\n", j.Job, j.Lifted, j.Criteria)
		for _, v := range j.Valves {
			from, why := place(v.From), reason.Text(&v, shim.MM, shim.MM)
			v.From, v.To, v.Reason = nil, nil, nil
			fmt.Fprintf(&b, "%+v from %s: %s\n", v, from, why)
		}
		for _, m := range j.Moves {
			to, from := place(m.To), place(m.From)
			m.To, m.From, m.Step = nil, nil, 0
			fmt.Fprintf(&b, "%+v to %s from %s\n", m, to, from)
		}
		jobs = append(jobs, b.String())
	}
	slices.Sort(jobs)
	return fmt.Sprintf("%v%+v\n%+v\n%+v\n%+v\n", jobs, p.Criteria, p.Shopping, p.Drawn, p.LeftOver)
}

func shuffled[T any](r *rand.Rand, list []T) []T {
	list = slices.Clone(list)
	r.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
	return list
}

// Rows of a check are put into the engine's order where they are read; here it
// is jobs, box rows and offers that may come in any order.
func TestMakeDoesNotDependOnOrder(t *testing.T) {
	effort.Long(t)
	r := rand.New(rand.NewPCG(8, 15))
	for i := range effort.Share(800) {
		q := randomRequest(r, pick(r, small, crowded, wide, large))
		p, err := plan.Make(context.Background(), q)
		require.NoError(t, err, "job %d: %s", i, show(&q))
		want := text(p)
		for range 3 {
			other := q
			other.Jobs, other.Box = shuffled(r, q.Jobs), shuffled(r, q.Box)
			if q.Offers != nil {
				other.Offers = shuffled(r, q.Offers)
			}
			p, err := plan.Make(context.Background(), other)
			require.NoError(t, err, "job %d: %s", i, show(&q))
			require.Equal(t, want, text(p), "job %d: %s\nagainst %s", i, show(&q), show(&other))
		}
	}
}

func TestMakeRepeatsItself(t *testing.T) {
	r := rand.New(rand.NewPCG(16, 23))
	for i := range effort.Share(300) {
		q := randomRequest(r, large)
		first, err := plan.Make(context.Background(), q)
		require.NoError(t, err)
		again, err := plan.Make(context.Background(), q)
		require.NoError(t, err)
		require.Equal(t, first, again, "job %d: %s", i, show(&q))
	}
}

// A hundred engines of one kind at once: the audit follows every shim.
func TestALargeShopIsPossible(t *testing.T) {
	for _, s := range []shop{
		{valves: 1600, pieces: 0.1}, {valves: 1600, pieces: 0.1, shared: true},
		{valves: 1600, noBuy: true}, {valves: 1600, noBuy: true, shared: true},
	} {
		q := s.request()
		p, err := plan.Make(context.Background(), q)
		require.NoError(t, err, "%+v", s)
		require.NoError(t, audit(&q, p), "%+v", s)
	}
}
