package assign

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// Heaps out of order would pass over a cheaper path only on rare, crowded
// jobs, so their order is tested by itself.

func TestQueueGivesTheNearestFirst(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 2))
	for range effort.Share(300) {
		const n = 60
		q := queue{label: make([]label, n)}
		q.reset()
		in := map[int32]bool{}
		for range 300 {
			bin := int32(r.IntN(n))
			switch {
			case r.IntN(3) == 0:
				if len(in) == 0 {
					_, ok := q.next(&never)
					require.False(t, ok)
					continue
				}
				top := q.pop()
				require.True(t, in[top])
				delete(in, top)
				for other := range in {
					require.False(t, q.nearer(other, top), "%v before %v", q.label[other], q.label[top])
				}
			case in[bin]:
				q.label[bin].distance[0] -= r.Int64N(10)
				q.push(bin)
			default:
				q.label[bin] = label{distance: Cost{r.Int64N(100)}, place: None}
				q.push(bin)
				in[bin] = true
			}
		}
	}
}

func TestMovesGiveTheCheapestThatIsNotVoid(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 1))
	for range effort.Share(300) {
		s := &byGroup{state: &state{Problem: &Problem{}}, partition: &partition{}, groups: make([]group, 20)}
		m := moves{group: None}
		costs := map[int32]Cost{} // of the moves that are not void, by group
		for range 200 {
			id := int32(r.IntN(len(s.groups)))
			if _, has := costs[id]; has && r.IntN(2) == 0 {
				delete(costs, id)
				s.groups[id].age++
				if m.group == id {
					s.advance(0, &m)
				}
			} else if !has {
				cost := Cost{0, r.Int64N(30)}
				costs[id] = cost
				s.add(0, &m, id, &cost)
			}
			if len(costs) == 0 {
				require.Equal(t, int32(None), m.group)
				continue
			}
			require.Equal(t, costs[m.group], m.cost)
			for _, cost := range costs {
				require.False(t, cost.Less(&m.cost), "%v before %v", cost, m.cost)
			}
		}
	}
}
