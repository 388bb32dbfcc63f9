package stock

import (
	"context"

	"shimwright/shim"
)

// A Replayed is what came of jobs that were done one by one.
type Replayed struct {
	Jobs   int
	Done   int // jobs that needed no purchase
	Bought int // shims bought
	Drawn  int // shims taken from the box
}

// Share is the part of the jobs that were done at once, 0 to 1.
func (r Replayed) Share() float64 {
	if r.Jobs == 0 {
		return 0
	}
	return float64(r.Done) / float64(r.Jobs)
}

// Replay does the jobs one by one from the box, which is full again at the
// beginning of each period. Each takes as few shims as it can, those close to the aim
// first, and knows nothing of later jobs; what it lacks it buys for itself. The error
// is the context's.
func Replay(ctx context.Context, jobs []Job, perPeriod int, box []Pieces) (Replayed, error) {
	r := Replayed{Jobs: len(jobs)}
	c := newCrowd(jobs, [][]Pieces{box}, []shim.Offer(nil))
	s := newSearch(c)
	full := c.counts(box)
	counts := make([]int32, len(full))
	for j := range jobs {
		if j%perPeriod == 0 {
			if ctx.Err() != nil {
				return r, context.Cause(ctx)
			}
			copy(counts, full)
		}
		p := newPeriod(c, c.starts[j], c.starts[j+1], counts, s)
		if p.unserved == 0 {
			r.Done++
		}
		r.Bought += p.unserved
		for k, list := range p.at {
			counts[k] -= int32(len(list))
			r.Drawn += len(list)
		}
	}
	return r, nil
}
