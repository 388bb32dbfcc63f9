package plan_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// A fuse is a context that ends when it was asked so many times.
type fuse struct {
	context.Context
	left int
	end  context.CancelCauseFunc
}

var errBurnt = errors.New("burnt")

func newFuse(t *testing.T, left int) *fuse {
	ctx, cancel := context.WithCancelCause(t.Context())
	t.Cleanup(func() { cancel(nil) })
	return &fuse{ctx, left, cancel}
}

func (f *fuse) Err() error {
	if f.left--; f.left == 0 {
		f.end(errBurnt)
	}
	return f.Context.Err()
}

// A context may end at any moment: then the work is an error with its cause,
// and never a plan. Long work asks often enough: at every valve at least.
func TestWorkEndsWithItsContext(t *testing.T) {
	r := rand.New(rand.NewPCG(18, 18))
	q := randomRequest(r, small)
	made, err := plan.Make(t.Context(), q)
	for len(q.Jobs) < 2 || err != nil || made.Criteria.Bought < 2 {
		q = randomRequest(r, small)
		made, err = plan.Make(t.Context(), q)
	}
	valves := 0
	for _, j := range q.Jobs {
		valves += len(j.Check)
	}
	for name, work := range map[string]func(ctx context.Context) (any, error){
		"plan": func(ctx context.Context) (any, error) {
			p, err := plan.Make(ctx, q)
			if p == nil {
				return nil, err
			}
			return p, err
		},
		"what-ifs":          func(ctx context.Context) (any, error) { return plan.WhatIfs(ctx, q, made) },
		"trade-off":         func(ctx context.Context) (any, error) { return plan.TradeOff(ctx, q) },
		"one after another": func(ctx context.Context) (any, error) { return plan.OneAfterAnother(ctx, q) },
	} {
		asked := newFuse(t, 1<<40)
		_, err := work(asked)
		require.NoError(t, err, name)
		times := 1<<40 - asked.left
		assert.Greater(t, times, valves/2, "%s asks too seldom", name)
		for left := 1; left <= times; left += 1 + times/200 {
			f := newFuse(t, left)
			_, err := work(f)
			require.ErrorIs(t, err, errBurnt, "%s, ended at look %d of %d", name, left, times)
		}
	}
}

// Making the problem ready is work as well: it asks at every valve, even where
// no shim moves.
func TestReadyingEndsWithItsContext(t *testing.T) {
	e := inline(4)
	q := plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e), Lift: shim.LiftAll}}, Offers: catalogue(t, "2.40", "2.60")}
	asked := newFuse(t, 1<<40)
	p, err := plan.Make(asked, q)
	require.NoError(t, err)
	require.Zero(t, p.Criteria.Changed)
	assert.GreaterOrEqual(t, 1<<40-asked.left, len(e.Valves()))
}
