package plan_test

import (
	"context"
	"encoding/json"
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

// A source is one thing that a valve may be given, with what is left of it.
// Two choices that draw on the same source share its count.
type source struct{ left int }

// An option is a valve's choice and what it adds to the criteria.
type option struct {
	from *source
	size shim.Length
	cost [9]int64
}

// options lists what each open, measured valve may be given: its own shim
// whatever its clearance, and every shim that brings it inside its limits. The
// first result is the criteria of the valves that have no choice.
func options(q *plan.Request) (fixed plan.Criteria, choices [][]option) {
	all := seats(q)
	pulled := map[*seat]*source{}
	for _, s := range all {
		if s.takesPart() {
			pulled[s] = &source{1}
		} else {
			fixed = sum(fixed, s.criteria(q, s.stays()))
		}
	}
	box := map[piece]*source{}
	for p, count := range boxOf(q) {
		box[p] = &source{count}
	}
	stock := map[shim.Offer]*source{} // the supplier's, by offer
	for _, s := range all {
		for _, o := range offersFor(q, s.engine) {
			if o.Limited {
				stock[o] = &source{}
			}
		}
	}
	for _, o := range q.Offers {
		if o.Diameter == 0 {
			o.Diameter = q.Jobs[0].Engine.Diameter
		}
		if s := stock[o]; s != nil {
			s.left += o.Stock
		}
	}
	for _, s := range all {
		if !s.takesPart() {
			continue
		}
		var list []option
		add := func(from *source, f fit, more plan.Criteria) {
			c := s.criteria(q, f)
			if !f.fresh || c.Unserved == 0 {
				list = append(list, option{from, f.size, ordered(q.Policy, sum(c, more))})
			}
		}
		if s.setUp {
			list = append(list, option{&source{1}, 0, ordered(q.Policy, plan.Criteria{Unserved: 1})})
		} else {
			add(pulled[s], s.stays(), plan.Criteria{})
		}
		for _, other := range all {
			if other != s && !other.setUp && other.takesPart() && s.reaches(other) {
				add(pulled[other], fit{other.own, other.ownMiked, !other.ownMiked, true}, plan.Criteria{})
			}
		}
		for p, from := range box {
			if p.diameter == s.diameter {
				add(from, fit{p.size, p.miked, p.used, true}, plan.Criteria{Drawn: 1})
			}
		}
		for _, o := range offersFor(q, s.engine) {
			from := stock[o]
			if from == nil {
				from = &source{1 << 30}
			}
			add(from, fit{o.Size, false, false, true}, plan.Criteria{Bought: 1, Cost: o.Price})
		}
		slices.SortFunc(list, func(a, b option) int { return slices.Compare(a.cost[:], b.cost[:]) })
		choices = append(choices, list)
	}
	return fixed, choices
}

// optimum tries every assignment of shims to valves. No criterion is ever
// negative, so a beginning no better than the best whole is given up.
func optimum(q *plan.Request) [9]int64 {
	fixed, choices := options(q)
	var best [9]int64
	found := false
	var place func(i int, so [9]int64)
	place = func(i int, so [9]int64) {
		if found && slices.Compare(so[:], best[:]) >= 0 {
			return
		}
		if i == len(choices) {
			best, found = so, true
			return
		}
		for _, o := range choices[i] {
			if o.from.left == 0 {
				continue
			}
			next := so
			for k := range next {
				next[k] += o.cost[k]
			}
			o.from.left--
			place(i+1, next)
			o.from.left++
		}
	}
	place(0, ordered(q.Policy, fixed))
	if !found {
		panic("no assignment at all")
	}
	return best
}

func TestMakeIsOptimalByBruteForce(t *testing.T) {
	for worker := range 4 {
		t.Run(fmt.Sprint(worker), func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(2027, uint64(worker)))
			seen := map[string]int{}
			for i := range effort.Share(1800) {
				q := randomRequest(r, small)
				p, err := plan.Make(context.Background(), q)
				require.NoError(t, err, "job %d: %s", i, show(&q))
				require.Equal(t, optimum(&q), ordered(q.Policy, p.Criteria), "job %d: %s", i, show(&q))
				require.NoError(t, audit(&q, p), "job %d: %s", i, show(&q))
				tally(seen, &q, p)
			}
			for _, what := range kinds {
				if !effort.All() { // too few to show all
					break
				}
				assert.Greater(t, seen[what], 4, "%s: the random jobs must show it", what)
			}
		})
	}
}

// kinds is what the random jobs must show.
var kinds = []string{
	"swap", "box", "buy", "leave", "keep", "locked", "unmeasured, open", "swap across jobs", "chain of three",
	"round", "disturbed", "limited offer bought", "thrift", "target", "blueprint", "two diameters", "near",
	"by confidence", "near by confidence", "swap across jobs by confidence",
	"near by mark or by micrometer alone", "unknown, inside", "unknown, outside", "unknown, locked",
}

// tally counts what a plan shows.
func tally(seen map[string]int, q *plan.Request, p *plan.Plan) {
	count := func(what string, is bool) {
		if is {
			seen[what]++
		}
	}
	count(p.Policy.String(), true)
	sure := apart(q)
	count("by confidence", sure)
	count("near", p.Criteria.Near > 0 && !sure)
	count("near by confidence", p.Criteria.Near > 0 && sure)
	count("near by mark or by micrometer alone", sure && twice(q))
	count("disturbed", p.Criteria.Disturbed > 0)
	for i := range p.Jobs {
		j := &p.Jobs[i]
		count("two diameters", j.Engine.Diameter != p.Jobs[0].Engine.Diameter)
		chain := 0
		for n, m := range j.Moves {
			if m.From == nil || n == 0 || m.From.Valve != j.Moves[n-1].Valve {
				chain = 0
				count("round", m.From != nil && m.From.Job == i)
			}
			chain++
			count("chain of three", chain == 3)
		}
		for k := range j.Valves {
			v := &j.Valves[k]
			count(v.Action.String(), v.Open)
			count("locked", !v.Open)
			count("unmeasured, open", v.Open && !v.Measured)
			count("swap across jobs", v.From != nil && v.From.Job != i && !sure)
			count("swap across jobs by confidence", v.From != nil && v.From.Job != i && sure)
			count("unknown, inside", v.Installed == 0 && v.Action == plan.Keep)
			count("unknown, outside", v.Installed == 0 && v.Open && v.Measured && v.Action == plan.Leave)
			count("unknown, locked", v.Installed == 0 && !v.Open)
			count("limited offer bought", v.Action == plan.Buy && slices.ContainsFunc(q.Offers, func(o shim.Offer) bool {
				return o.Limited && o.Size == v.Size && o.Price == v.Price
			}))
		}
	}
}

// twice reports whether a size that a valve could be given lies in the box both
// by mark and by micrometer, and only one of the two is near a limit there.
func twice(q *plan.Request) bool {
	box := boxOf(q)
	for _, s := range seats(q) {
		for p, count := range box {
			other := piece{p.diameter, p.size, !p.miked, false}
			if !s.takesPart() || p.diameter != s.diameter || count == 0 || box[other] == 0 || !s.holds(s.expect(p.size)) {
				continue
			}
			if s.near(q, s.expect(p.size), fit{p.size, true, false, true}) != s.near(q, s.expect(p.size), fit{p.size, false, p.used, true}) {
				return true
			}
		}
	}
	return false
}

// show writes a request for a failing test's message.
func show(q *plan.Request) string {
	jobs := slices.Clone(q.Jobs)
	for i := range jobs {
		jobs[i].Risk = nil
	}
	text, err := json.Marshal(struct { // without the functions, which JSON does not take
		Jobs               []plan.JobRequest
		Box                []shim.BoxRow
		Offers, OnOrder    []shim.Offer
		NoBuy, SharePulled bool
		Policy             plan.Policy
		Margin             shim.Length
		Confidence         float64
		Gauge              *shim.Gauge
	}{jobs, q.Box, q.Offers, q.OnOrder, q.NoBuy, q.SharePulled, q.Policy, q.Margin, q.Confidence, q.Gauge})
	if err != nil {
		return err.Error()
	}
	return string(text)
}
