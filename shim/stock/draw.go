package stock

import (
	"math"
	"math/rand/v2"
	"slices"

	"shimwright/shim"
)

// Few is the number of records below which the advice is hardly better than a box
// spread evenly: in the trials by about a point of jobs done at once.
const Few = 20

// DefaultJobs is how many jobs are drawn. With 1,000, a large box fits these very
// jobs: of 80 pieces the last dozens were worth more with 4,000, in trials.
const DefaultJobs = 4000

// Spread is the standard deviation, in length of shim, by which [Draw] moves an
// engine, and again each of its valves: wide where few records have to stand for
// all engines that may come, narrow where they nearly do. The figures are from
// trials on invented shops.
func Spread(records int) shim.Length {
	switch {
	case records < 100:
		return 50 * shim.Micrometre
	case records < 1000:
		return 30 * shim.Micrometre
	}
	return 20 * shim.Micrometre
}

// A Drawing says how [Draw] draws.
type Drawing struct {
	Jobs   int         // how many, 1 or more
	Spread shim.Length // see [Spread]; 0 moves nothing
	Seed   uint64      // the same seed draws the same jobs
	// Stream tells drawings of one seed apart: those that advice was made from, and
	// those that it is judged by.
	Stream uint64
}

// A grid is the sizes of a family on sale.
type grid struct{ step, first, last shim.Length }

// usualStep is that of a family of which nothing is on sale (common practice: 0.025
// or 0.05 mm).
const usualStep = 25 * shim.Micrometre

// grids finds the step of each family on sale: the most frequent distance between
// neighbours, the smallest of several.
func grids(offers []shim.Offer) map[shim.Family]grid {
	sizes := map[shim.Family][]shim.Length{}
	for _, o := range offers {
		sizes[o.Family] = append(sizes[o.Family], o.Size)
	}
	found := map[shim.Family]grid{}
	for f, list := range sizes {
		slices.Sort(list)
		list = slices.Compact(list)
		g := grid{usualStep, list[0], list[len(list)-1]}
		times := map[shim.Length]int{}
		for i := range list[1:] {
			d := list[i+1] - list[i]
			times[d]++
			if n := times[d]; n > times[g.step] || n == times[g.step] && d < g.step {
				g.step = d
			}
		}
		found[f] = g
	}
	return found
}

// steps is by how many steps a need moves that is to move by so much. It stays
// among the sizes on sale if it was there.
func (g grid) steps(ideal shim.Length, by float64) shim.Length {
	n := shim.Length(math.Round(by / float64(g.step)))
	if g.first == g.last || ideal < g.first || ideal > g.last {
		return n
	}
	return min(max(n, -((ideal-g.first)/g.step)), (g.last-ideal)/g.step)
}

// Draw draws jobs from the recorded ones, each as likely as any other. It moves
// shims and stacks of a job by whole steps of what is on sale: all of its valves by
// one normal deviate and each by one more. Clearances stay, so what was tight is
// still tight; where on the line of sizes that happens is what changes.
func Draw(records []Job, offers []shim.Offer, d Drawing) []Job {
	if len(records) == 0 {
		return nil
	}
	random := rand.New(rand.NewPCG(d.Seed, d.Stream))
	sale := grids(offers)
	drawn := make([]Job, d.Jobs)
	for i := range drawn {
		job := slices.Clone(records[random.IntN(len(records))])
		engine := random.NormFloat64()
		for k := range job {
			n := &job[k]
			g, known := sale[n.Family]
			if !known {
				g.step = usualStep
			}
			move := g.step * g.steps(n.Ideal, (engine+random.NormFloat64())*float64(d.Spread))
			n.Thin, n.Thick, n.Ideal = n.Thin+move, n.Thick+move, n.Ideal+move
			if n.Pulled != 0 {
				n.Pulled += move
			}
		}
		drawn[i] = job
	}
	return drawn
}
