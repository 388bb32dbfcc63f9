package plan_test

import (
	"context"
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

// widestFirst is the order of a trade-off: the valves left outside, the worst
// margin (negative, so that less is better), the deviation, then the rest.
func widestFirst(c plan.Criteria, worst shim.Length) [9]int64 {
	return [9]int64{int64(c.Unserved), -int64(worst), int64(c.Deviation), int64(c.Bought), int64(c.Cost), int64(c.Drawn), int64(c.Disturbed), int64(c.Changed)}
}

// tradeOptimum tries every assignment with so many purchases at the most.
func tradeOptimum(q *plan.Request, buy int) (best [9]int64) {
	policy := *q
	policy.Policy = plan.Thrift
	fixed, choices := options(&policy)
	open := slices.DeleteFunc(seats(q), func(s *seat) bool { return !s.takesPart() })
	found := false
	var place func(i int, so plan.Criteria, worst shim.Length)
	place = func(i int, so plan.Criteria, worst shim.Length) {
		if so.Bought > buy {
			return
		}
		if i == len(choices) {
			if whole := widestFirst(so, worst); !found || slices.Compare(whole[:], best[:]) < 0 {
				best, found = whole, true
			}
			return
		}
		for _, o := range choices[i] {
			if o.from.left == 0 {
				continue
			}
			c := unordered(o.cost)
			room := worst
			if c.Unserved == 0 {
				room = min(worst, open[i].room(o.size))
			}
			o.from.left--
			place(i+1, sum(so, c), room)
			o.from.left++
		}
	}
	place(0, fixed, 1<<40)
	return best
}

// room is the distance from the nearer limit with a size.
func (s *seat) room(size shim.Length) shim.Length {
	after := s.expect(size)
	return min(after-s.tight, s.loose-after)
}

// unordered reads what [ordered] wrote for the default policy.
func unordered(c [9]int64) plan.Criteria {
	return plan.Criteria{Unserved: int(c[0]), Bought: int(c[1]), Cost: shim.Price(c[2]), Near: int(c[3]), Disturbed: int(c[4]), Drawn: int(c[5]), Risk: c[6], Deviation: shim.Length(c[7]), Changed: int(c[8])}
}

// Every row of a trade-off is the best of all assignments with so many
// purchases at the most, and none is left out that would improve.
func TestTradeOffByBruteForce(t *testing.T) {
	for worker := range 4 {
		t.Run(fmt.Sprint(worker), func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(2031, uint64(worker)))
			rows, several := 0, 0
			jobs := max(60, effort.Share(400)) // fewer show nothing
			for i := range jobs {
				f := small
				f.valves = 5
				q := randomRequest(r, f)
				list, err := plan.TradeOff(context.Background(), q)
				require.NoError(t, err, "job %d: %s", i, show(&q))
				if len(list) == 0 {
					continue
				}
				rows += len(list)
				if len(list) > 1 {
					several++
				}
				at := 0
				for buy := list[0].Buy; buy <= list[len(list)-1].Buy; buy++ {
					if at+1 < len(list) && list[at+1].Buy == buy {
						at++
					}
					row := &list[at]
					want, got := tradeOptimum(&q, buy), widestFirst(row.Plan.Criteria, row.Margin)
					if row.Buy < buy { // left out since it improves on neither
						require.Equal(t, want[:3], got[:3], "job %d, at most %d: %s", i, buy, show(&q))
						continue
					}
					require.Equal(t, want, got, "job %d, at most %d: %s", i, buy, show(&q))
				}
				// Nothing improves with one more.
				last := list[len(list)-1]
				want, got := tradeOptimum(&q, last.Buy+1), widestFirst(last.Plan.Criteria, last.Margin)
				require.Equal(t, want[:3], got[:3], "job %d, one more: %s", i, show(&q))

				// A row can be chosen, and it is that plan.
				p, err := plan.Buying(context.Background(), q, last.Buy)
				require.NoError(t, err)
				assert.Equal(t, last.Plan.Criteria, p.Criteria, "job %d: %s", i, show(&q))
			}
			assert.Greater(t, rows, effort.Share(100))
			assert.GreaterOrEqual(t, several, effort.Share(21))
		})
	}
}

// Fewer purchases than it takes are refused.
func TestBuyingTooFew(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	refused := 0
	for range 200 {
		q := randomRequest(r, small)
		list, err := plan.TradeOff(context.Background(), q)
		require.NoError(t, err)
		if len(list) == 0 || list[0].Buy == 0 {
			continue
		}
		_, err = plan.Buying(context.Background(), q, list[0].Buy-1)
		require.ErrorIs(t, err, plan.ErrRequest)
		refused++
	}
	assert.Positive(t, refused)
}
