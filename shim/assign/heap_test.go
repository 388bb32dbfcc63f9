package assign

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// A heap out of order would pass over a cheaper path only on rare, crowded
// jobs, so its order is tested by itself.
func TestHoldingsKeepTheirOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 1))
	for range 300 {
		s := &solver{held: make([][]int32, 1)}
		for range 200 {
			heap := s.held[0]
			switch n := len(heap); {
			case n == 0 || r.IntN(5) < 2:
				s.holdings = append(s.holdings, holding{bound: Cost{r.Int64N(50)}})
				s.hold(0, int32(len(s.holdings)-1))
			case r.IntN(2) == 0:
				s.drop(0, int32(r.IntN(n)))
			default: // bounds grow
				place := int32(r.IntN(n))
				s.holdings[heap[place]].bound[0] += r.Int64N(20)
				s.sift(0, place)
			}
			for place, id := range s.held[0] {
				require.Equal(t, int32(place), s.holdings[id].place)
				if place > 0 {
					parent := s.held[0][(place-1)/2]
					require.False(t, s.holdings[id].bound.Less(&s.holdings[parent].bound), "place %d of %d", place, len(s.held[0]))
				}
			}
		}
	}
}

func TestQueueGivesTheNearestFirst(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 2))
	for range 300 {
		const n = 60
		labels := make([]label, n)
		in := map[int32]bool{}
		var q queue
		q.reset()
		for range 300 {
			bin := int32(r.IntN(n))
			switch {
			case r.IntN(3) == 0:
				top, ok := q.pop(labels)
				require.Equal(t, len(in) > 0, ok)
				if !ok {
					continue
				}
				delete(in, top)
				for other := range in {
					require.False(t, nearer(labels, other, top), "%v before %v", labels[other], labels[top])
				}
				labels[top] = label{}
			case in[bin]:
				labels[bin].distance[0] -= r.Int64N(10)
				q.push(bin, labels)
			default:
				labels[bin] = label{distance: Cost{r.Int64N(100)}, place: None}
				q.push(bin, labels)
				in[bin] = true
			}
		}
	}
}
