package plan_test

import (
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

// told is what a sentence says of a plan against another.
type told struct{ outside, bought, cost, disturbed int64 }

func tellOf(c plan.Criteria, outside int) told {
	return told{int64(outside), int64(c.Bought), int64(c.Cost), int64(c.Disturbed)}
}

// better reports whether the change is worth a sentence.
func (x told) better(was told) bool {
	a, b := []int64{x.outside, x.bought, x.cost}, []int64{was.outside, was.bought, was.cost}
	return slices.Compare(a, b) < 0
}

// TestWhatIfsHold plans again what every sentence says, size by size, and every
// size on sale that no sentence names: what is said holds, and nothing is left
// out but what repeats the shopping list. Half the requests have a catalogue
// file in place of the engines' catalogues.
func TestWhatIfsHold(t *testing.T) {
	r := rand.New(rand.NewPCG(96, 6))
	claims, wrong, holes, repeats, fromFile, lifts := 0, 0, 0, 0, 0, 0
	for i := range max(200, effort.Of(20_000)) { // fewer show nothing
		q := randomRequest(r, small)
		if r.IntN(2) == 0 { // a range with holes
			q.Offers = nil
			for size := 2200 * um; size <= 2900*um; size += 25 * um {
				if r.IntN(3) > 0 {
					for _, d := range diameters(&q) {
						q.Offers = append(q.Offers, shim.Offer{Disc: shim.Disc{Family: shim.Family{Diameter: d}, Size: size}, Quote: shim.Quote{Price: 70_000, Priced: true}})
					}
				}
			}
		}
		p, err := plan.Make(t.Context(), q)
		require.NoError(t, err)
		was := tellOf(p.Criteria, p.Outside())
		list, err := plan.WhatIfs(t.Context(), q, p)
		require.NoError(t, err)
		again := func(changed plan.Request) told {
			p, err := plan.Make(t.Context(), changed)
			require.NoError(t, err)
			return tellOf(p.Criteria, p.Outside())
		}
		withShim := func(diameter, size shim.Length) told {
			changed := q
			changed.Box = append(slices.Clone(q.Box), shim.BoxRow{Marks: shim.Marks{Stamp: size}, Family: shim.Family{Diameter: diameter}, Count: 1})
			return again(changed)
		}
		named := map[[2]shim.Length]bool{}
		for _, w := range list {
			want := tellOf(w.Criteria, w.Outside)
			switch w.What {
			case plan.InBox:
				for _, size := range w.Sizes {
					claims++
					named[[2]shim.Length{w.Family.Diameter, size}] = true
					if withShim(w.Family.Diameter, size) != want || !want.better(was) {
						wrong++
					}
				}
				require.True(t, slices.IsSorted(w.Sizes))
				if q.Offers != nil {
					fromFile++
				}
			case plan.LiftToo, plan.LeaveIn:
				lifts++
				lift := slices.Clone(p.Jobs[w.Job].Lifted)
				if at := slices.Index(lift, w.Camshaft); at >= 0 {
					lift = slices.Delete(lift, at, at+1)
				} else {
					lift = append(lift, w.Camshaft)
				}
				changed := q
				changed.Jobs = slices.Clone(q.Jobs)
				changed.Jobs[w.Job].Lift = shim.Lift{Named: lift}
				if again(changed) != want {
					wrong++
				}
			}
		}
		// Everything on sale that would do.
		for k := range p.Jobs {
			j := &p.Jobs[k]
			offers := j.Engine.Offers()
			if q.Offers != nil {
				offers = q.Offers
			}
			for _, o := range offers {
				at := [2]shim.Length{j.Engine.Diameter, o.Size}
				if o.Diameter != 0 && o.Diameter != j.Engine.Diameter || named[at] || !wanted(j, o.Size) {
					continue
				}
				got := withShim(at[0], at[1])
				if !got.better(was) {
					holes++
					continue
				}
				repeats++
				listed := slices.ContainsFunc(p.Shopping, func(l plan.Pieces) bool {
					return l.Diameter == at[0] && l.Size == at[1] && got.cost == was.cost-int64(l.Price)
				})
				require.True(t, listed && got.bought == was.bought-1 && got.outside == was.outside, "request %d: %s is not told: %s", i, o.Size, show(&q))
			}
		}
	}
	fmt.Printf("what-ifs: %d claims of a size, %d wrong (bound 0); %d sizes on sale that would not help, %d that repeat the shopping list, %d sentences on a catalogue file, %d on camshafts\n",
		claims, wrong, holes, repeats, fromFile, lifts)
	assert.Zero(t, wrong)
	for what, n := range map[string]int{"claims": claims, "holes": holes, "repeats": repeats, "catalogue files": fromFile, "lifts": lifts} {
		assert.Greater(t, n, 10, what)
	}
}

// wanted reports whether a valve that is bought for, or left outside, takes the size.
func wanted(j *plan.JobPlan, size shim.Length) bool {
	for k := range j.Valves {
		v := &j.Valves[k]
		if !v.Open || !v.Measured || v.Installed == 0 || v.Action != plan.Buy && v.Served() {
			continue
		}
		clearance := v.Clearance + product(j.Engine.Train(v.Valve.Side).Ratio, v.Installed-size)
		if v.Limits.Tight <= clearance && clearance <= v.Limits.Loose {
			return true
		}
	}
	return false
}

func diameters(q *plan.Request) (list []shim.Length) {
	for _, j := range q.Jobs {
		if !slices.Contains(list, j.Engine.Diameter) {
			list = append(list, j.Engine.Diameter)
		}
	}
	return list
}
