package plan_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim/plan"
)

// A plan of one job taken out of itself is the plan; the parts of a plan of
// several jobs add up to it.
func TestAlone(t *testing.T) {
	jobs := 0
	r := rand.New(rand.NewPCG(11, 3))
	for range 300 {
		q := randomRequest(r, small)
		q.SharePulled = false
		p, err := plan.Make(context.Background(), q)
		require.NoError(t, err)
		var sum plan.Criteria
		for i := range p.Jobs {
			jobs++
			one := p.Alone(i)
			require.Len(t, one.Jobs, 1)
			assert.Equal(t, p.Jobs[i].Criteria, one.Criteria)
			assert.Equal(t, p.Jobs[i].Shopping(), one.Shopping)
			assert.Equal(t, p.Jobs[i].LeftOver(), one.LeftOver)
			assert.Len(t, one.Jobs[0].Moves, len(p.Jobs[i].Moves))
			for k, m := range one.Jobs[0].Moves {
				assert.Equal(t, p.Jobs[i].Moves[k].Valve, m.Valve)
				assert.True(t, m.From == nil || m.From.Job == 0)
			}
			sum = plus(sum, one.Criteria)
			if len(p.Jobs) == 1 {
				assert.Equal(t, p.Criteria, one.Criteria)
				assert.Equal(t, p.Jobs, one.Jobs)
			}
		}
		assert.Equal(t, p.Criteria, sum)
	}
	require.NotZero(t, jobs)
}

func plus(a, b plan.Criteria) plan.Criteria {
	return plan.Criteria{
		Unserved: a.Unserved + b.Unserved, Bought: a.Bought + b.Bought, Cost: a.Cost + b.Cost, Near: a.Near + b.Near,
		Disturbed: a.Disturbed + b.Disturbed, Drawn: a.Drawn + b.Drawn, Risk: a.Risk + b.Risk, Deviation: a.Deviation + b.Deviation, Changed: a.Changed + b.Changed,
	}
}
