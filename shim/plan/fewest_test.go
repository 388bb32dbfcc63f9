package plan_test

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/plan"
	"shimwright/testdata/effort"
)

// A bruteFitting tries everything that hands can do with the changed valves of
// one engine and the shims at hand: at every stop any of the valves there may be
// opened, and get any shim that is at hand or comes out there. It knows shims by
// their sizes alone and nothing of paths and rings. What the plan does not draw
// is back in the box at the end, for else it would be drawn.
type bruteFitting struct {
	valves []*plan.ValvePlan
	sizes  []shim.Length // of the shims of the job, then of what stays in the box
	want   []int         // by valve: the size to end with
	may    [][]bool      // by valve and size: what may sit there while the crank is turned
	stops  [][]int       // what can be opened together
	start  string        // sizes by valve, then how many of each are at hand
}

func newBrute(q *plan.Request, p *plan.Plan) *bruteFitting {
	j := &p.Jobs[0]
	b := &bruteFitting{}
	hand, spare := map[shim.Length]int{}, map[shim.Length]int{}
	for piece, n := range boxOf(q) {
		spare[piece.size] += n
	}
	for _, lot := range p.Drawn {
		hand[lot.Size] += lot.Count
		if spare[lot.Size] -= lot.Count; spare[lot.Size] == 0 {
			delete(spare, lot.Size)
		}
	}
	for _, lot := range p.Shopping {
		hand[lot.Size] += lot.Count
	}
	var names []shim.Valve
	for k := range j.Valves {
		if v := &j.Valves[k]; v.Changed() {
			b.valves, names = append(b.valves, v), append(names, v.Valve)
			hand[v.Installed] += 0
		}
	}
	b.sizes = slices.Sorted(maps.Keys(hand))
	own := len(b.sizes)
	b.sizes = append(b.sizes, slices.Sorted(maps.Keys(spare))...)
	state := []byte{}
	for _, v := range b.valves {
		at := func(size shim.Length) int { return slices.Index(b.sizes[:own], size) }
		state = append(state, byte(at(v.Installed)))
		b.want = append(b.want, at(v.Size))
		may := make([]bool, len(b.sizes))
		for i, size := range b.sizes {
			gap := v.Clearance + v.Installed - size
			f, _ := doubt.Model{Gauge: j.Gauge}.Forecast(v.Limits, gap, doubt.Parts{Reading: v.Reading, Ratio: shim.Ratio{Times: shim.One}})
			may[i] = gap > f.Expanded && gap <= mm
		}
		may[at(v.Size)] = true
		b.may = append(b.may, may)
	}
	for i, size := range b.sizes {
		if i < own {
			state = append(state, byte(hand[size]))
		} else {
			state = append(state, byte(spare[size]))
		}
	}
	b.start = string(state)
	b.stops = [][]int{}
	seen := map[string]bool{}
	for degrees := 0.0; degrees < 720; degrees += 2.5 {
		var open []int
		for i, v := range names {
			if onBase(j.Engine, v, degrees) && clear(j.Engine, v, degrees) {
				open = append(open, i)
			}
		}
		if key := fmt.Sprint(open); !seen[key] {
			seen[key] = true
			b.stops = append(b.stops, open)
		}
	}
	return b
}

// better looks for a way with fewer openings, or as many at fewer stops.
func (b *bruteFitting) better(openings, stops int) (found string) {
	type at struct {
		state           string
		openings, stops int
	}
	n := len(b.valves)
	left := func(state []byte) (count int) {
		for i, want := range b.want {
			if int(state[i]) != want {
				count++
			}
		}
		return count
	}
	reached := map[string][][2]int{} // pairs that were reached
	queue := []at{{b.start, 0, 0}}
	for len(queue) > 0 {
		from := queue[0]
		queue = queue[1:]
		var visit func(list []int, state []byte, opened []int)
		var fill func(state []byte, opened []int, count int)
		fill = func(state []byte, opened []int, count int) {
			if found != "" {
				return
			}
			if len(opened) == 0 {
				now := at{string(state), from.openings + count, from.stops + 1}
				rest := left(state)
				switch least := now.openings + rest; {
				case least > openings, least == openings && now.stops+min(rest, 1) >= stops:
					return
				case rest == 0:
					found = fmt.Sprintf("%d openings at %d stops, not %d at %d", now.openings, now.stops, openings, stops)
					return
				}
				for _, old := range reached[now.state] {
					if old[0] <= now.openings && old[1] <= now.stops {
						return
					}
				}
				reached[now.state] = append(reached[now.state], [2]int{now.openings, now.stops})
				queue = append(queue, now)
				return
			}
			for size := range b.sizes {
				if state[n+size] > 0 && b.may[opened[0]][size] {
					next := slices.Clone(state)
					next[n+size]--
					next[opened[0]] = byte(size)
					fill(next, opened[1:], count)
				}
			}
		}
		visit = func(list []int, state []byte, opened []int) {
			if found != "" {
				return
			}
			if len(list) == 0 {
				if len(opened) > 0 {
					fill(state, opened, len(opened))
				}
				return
			}
			visit(list[1:], state, opened)
			out := slices.Clone(state)
			out[n+int(out[list[0]])]++
			visit(list[1:], out, append(slices.Clone(opened), list[0]))
		}
		for _, stop := range b.stops {
			visit(stop, []byte(from.state), nil)
		}
	}
	return found
}

// No way to work through a small engine's changes opens a valve a second time
// less often, or needs fewer stops.
func TestFewestSecondVisitsThenStops(t *testing.T) {
	r := rand.New(rand.NewPCG(91, 2))
	seen := map[string]int{}
	n := effort.Of(10_000)
	for i := 0; seen["compared"] < n; i++ {
		e := onTop(r, pick(r, 2, 2, 3, 4, 6))
		e.Access = shim.ByValve
		if e.FiringOrder == nil {
			continue
		}
		if r.IntN(3) > 0 { // long lobes leave few valves together
			e.Intake.Timing = &shim.Timing{Opens: 40 + float64(r.IntN(60)), Closes: 80 + float64(r.IntN(60))}
			e.Exhaust.Timing = &shim.Timing{Opens: 80 + float64(r.IntN(60)), Closes: 40 + float64(r.IntN(60))}
		}
		if len(e.Validate()) > 0 {
			e.DepressOffset = 0 // the lobes leave no room for it
		}
		q := plan.Request{NoBuy: r.IntN(6) > 0, Margin: plan.DefaultMargin, Gauge: stated(), Jobs: []plan.JobRequest{{Engine: e, Check: ringed(r, e, pick(r, 3, 5, 9))}}}
		for k := range q.Jobs[0].Check {
			q.Jobs[0].Check[k].Mic = 0
		}
		for range r.IntN(3) {
			q.Box = append(q.Box, shim.BoxRow{Marks: shim.Marks{Stamp: 2200*um + shim.Length(r.IntN(25))*25*um}, Count: 1})
		}
		p, err := plan.Make(t.Context(), q)
		require.NoError(t, err)
		if p.Criteria.Changed < pick(r, 2, 4, 5) || p.Criteria.Changed > pick(r, 5, 6, 6) {
			continue
		}
		s, err := replay(&q, p)
		require.NoError(t, err)
		if e.DepressOffset != 0 && s.stops > 4 {
			continue // too many for trying everything
		}
		if e.DepressOffset != 0 {
			seen["with an offset"]++
		}
		openings := p.Criteria.Changed + s.again
		if len(p.Jobs[0].Wants) > 0 {
			seen["wanting"]++
			if found := newBrute(&q, p).better(openings+len(p.Jobs[0].Wants), 1<<20); found != "" {
				seen["wanting without need"]++
				if testing.Verbose() {
					t.Log(found, fitting(&p.Jobs[0]))
				}
			}
			continue
		}
		seen["compared"]++
		seen[fmt.Sprint("second visits ", s.again)]++
		seen[fmt.Sprint("stops ", s.stops)]++
		found := newBrute(&q, p).better(openings, s.stops)
		require.Empty(t, found, "%s\n%s", rows(p), show(&q))
	}
	t.Log(seen)
	assert.NotZero(t, seen["second visits 1"])
	assert.NotZero(t, seen["with an offset"])
}

// rows writes a fitting list for a failing test's message.
func rows(p *plan.Plan) string {
	var b strings.Builder
	for _, m := range p.Jobs[0].Moves {
		fmt.Fprintf(&b, "%d %v %s out %v in %v %v from %v temporary %v\n", m.Step, m.Crank, m.Valve, m.Out, m.In, m.By, m.From, m.Temporary)
	}
	return b.String()
}
