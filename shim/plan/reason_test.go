package plan_test

import (
	"math/rand/v2"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

func TestShortagesSayWhatWouldHelp(t *testing.T) {
	e := inline(1)
	gone := catalogue(t, "2.60")
	gone[0].Limited = true
	// in1 needs 2.605, 2.57 to 2.64.
	for name, c := range map[string]struct {
		q    plan.Request
		says []string
	}{
		"thicker":      {plan.Request{Offers: catalogue(t, "2.50", "2.55")}, []string{"thicker", "2.55"}},
		"thinner":      {plan.Request{Offers: catalogue(t, "2.70", "2.80")}, []string{"thinner", "2.65"}},
		"between":      {plan.Request{Offers: catalogue(t, "2.55", "2.65")}, []string{"between", "2.55", "2.65"}},
		"out of stock": {plan.Request{Offers: gone}, []string{"out of stock", "2.60"}},
		"no buying":    {plan.Request{Offers: catalogue(t, "2.60"), NoBuy: true}, []string{"2.60", "bought"}},
	} {
		reading, needs := "in1 0.38 2.40", []string{"2.605", "2.57", "2.64"}
		if name == "thinner" {
			reading, needs = "in1 0.07 2.65", []string{"2.545", "2.51", "2.58"}
		}
		c.q.Jobs = []plan.Job{{Engine: e, Check: check(t, e, reading)}}
		p := made(t, c.q)
		require.Equal(t, 1, p.Criteria.Unserved, name)
		for _, word := range append(needs, c.says...) {
			assert.Contains(t, valve(t, p, "in1").Reason, word, name)
		}
	}
}

func TestTrialShimsAreAtHand(t *testing.T) {
	e := inline(2)
	for name, c := range map[string]struct {
		reading string
		box     []shim.BoxRow
		trial   string // the least size change that leaves the aim of 0.175 or more
	}{
		"no leaf goes":               {"in1 <0.05 2.60", box(t, "2.45", "2.40", "2.35"), "2.40"},
		"from another valve":         {"in1 <0.05 3.60", nil, "3.00"},
		"every leaf falls through":   {"in1 >0.50 2.60", box(t, "2.85", "2.90", "2.95"), "2.90"},
		"the box's before a valve's": {"in1 <0.05 3.60", box(t, "3.40"), "3.40"},
	} {
		p := made(t, plan.Request{Jobs: []plan.Job{{Engine: e, Check: check(t, e, c.reading)}}, Box: c.box, NoBuy: true})
		v := valve(t, p, "in1")
		assert.Contains(t, v.Reason, c.trial, name)
		assert.Equal(t, plan.Leave, v.Action, name)
		assert.Equal(t, 1, p.Criteria.Unserved, name)
	}
}

// Whatever the job, a size named as a trial is one that the box or an open
// valve of the engine has, and shows a gap even if the clearance is as small
// as the reading allows.
func TestTrialShimsShowAGap(t *testing.T) {
	sizes := regexp.MustCompile(`fit (\d+\.\d+) `)
	named := 0
	each(t, 9, 600, func(_ *rand.Rand, q plan.Request, p *plan.Plan) {
		for _, s := range seats(&q) {
			if s.measured || !s.open {
				continue
			}
			v := p.Jobs[s.job].Valves[slices.IndexFunc(p.Jobs[s.job].Valves, func(v plan.Valve) bool { return v.Valve == s.valve })]
			found := sizes.FindStringSubmatch(v.Reason)
			if found == nil {
				continue
			}
			named++
			size := length(t, found[1])
			least := *s
			if v.Reading.Kind == shim.Above {
				least.clearance = v.Reading.Low
			}
			require.Positive(t, least.expect(size), "%s: %s", v.Reason, show(&q))
			atHand := boxOf(&q)[piece{s.diameter, size, false}]+boxOf(&q)[piece{s.diameter, size, true}] > 0
			for _, other := range seats(&q) {
				atHand = atHand || other.job == s.job && other.valve != s.valve && other.open && other.own == size
			}
			require.True(t, atHand, "%s: %s", v.Reason, show(&q))
		}
	})
	require.Greater(t, named, 50)
}
