package stock_test

import (
	"cmp"
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"shimwright/shim"
	"shimwright/shim/stock"
	"shimwright/testdata/effort"
)

// period is the jobs to a delivery in all of these.
const period = 10

// thousand is the number of jobs drawn for the targets.
const thousand = 1000

func advice(t *testing.T, jobs []stock.Job, pieces int) []stock.Pieces {
	t.Helper()
	a, err := stock.Advise(context.Background(), stock.Request{Jobs: jobs, Period: period, Offers: catalogue(), Pieces: pieces})
	require.NoError(t, err)
	require.Len(t, a.Steps, pieces)
	return a.Added(pieces)
}

func replay(t *testing.T, jobs []stock.Job, box []stock.Pieces) stock.Replayed {
	t.Helper()
	r, err := stock.Replay(context.Background(), jobs, period, box)
	require.NoError(t, err)
	return r
}

// evenly spreads pieces over sizes as well as it can be done.
func evenly(sizes []shim.Disc, pieces int) (box []stock.Pieces) {
	for i := range pieces {
		box = append(box, stock.Pieces{Disc: sizes[(2*i+1)*len(sizes)/(2*pieces)%len(sizes)], Count: 1})
	}
	return stock.Sum(box)
}

// used is the sizes on sale of the range that the records used.
func used(t *testing.T, records []stock.Job) (sizes []shim.Disc) {
	t.Helper()
	thin, thick, some := stock.Range(records, disc)
	require.True(t, some)
	for _, o := range catalogue() {
		if thin <= o.Size && o.Size <= thick {
			sizes = append(sizes, o.Disc)
		}
	}
	return sizes
}

// poisson is levels for each size by itself: pieces go one by one where the
// demand, Poisson with the given mean a period, most likely asks for them.
func poisson(mean map[shim.Disc]float64, pieces int) (box []stock.Pieces) {
	kinds := sorted(mean)
	has := map[shim.Disc]int{}
	for range pieces {
		best, most := shim.Disc{}, -1.0
		for _, d := range kinds {
			demand := distuv.Poisson{Lambda: mean[d]}
			if p := demand.Survival(float64(has[d])); p > most {
				best, most = d, p
			}
		}
		has[best]++
	}
	for d, n := range has {
		box = append(box, stock.Pieces{Disc: d, Count: n})
	}
	return stock.Sum(box)
}

func sorted(by map[shim.Disc]float64) []shim.Disc {
	var kinds []shim.Disc
	for d := range by {
		kinds = append(kinds, d)
	}
	slices.SortFunc(kinds, shim.Disc.Compare)
	return kinds
}

// share gives each size its part of the pieces by how often it was used.
func share(mean map[shim.Disc]float64, pieces int) (box []stock.Pieces) {
	kinds, total := sorted(mean), 0.0
	for _, m := range mean {
		total += m
	}
	part := func(d shim.Disc) float64 { return mean[d] / total * float64(pieces) }
	n := 0
	for _, d := range kinds {
		box = append(box, stock.Pieces{Disc: d, Count: int(part(d))})
		n += int(part(d))
	}
	rest := func(p stock.Pieces) float64 { return part(p.Disc) - float64(int(part(p.Disc))) }
	slices.SortStableFunc(box, func(a, b stock.Pieces) int { return cmp.Compare(rest(b), rest(a)) })
	for i := range pieces - n {
		box[i].Count++
	}
	return stock.Sum(box)
}

// demand is what a period asks for, size by size, in records: the nearest size to
// the best one of each valve that is outside (swaps ignored) or that still needs a
// shim once the pulled ones are shared out (after swaps), and of each valve that
// is opened (usage).
func demand(records []stock.Job) (ignored, after, usage map[shim.Disc]float64) {
	ignored, after, usage = map[shim.Disc]float64{}, map[shim.Disc]float64{}, map[shim.Disc]float64{}
	each := float64(period) / float64(len(records))
	for _, job := range records {
		for _, n := range job {
			kind := kindOf(n)
			usage[kind] += each
			if n.Pulled < n.Thin || n.Pulled > n.Thick {
				ignored[kind] += each
			}
		}
		for _, i := range short(job) {
			after[kindOf(job[i])] += each
		}
	}
	return ignored, after, usage
}

func kindOf(n stock.Need) shim.Disc {
	return disc.Of(shim.Length(nearest(float64(n.Ideal)/1000)) * um)
}

// short lists the valves that a largest matching with the job's own shims leaves
// out: augmenting paths, as in any textbook.
func short(job stock.Job) (left []int) {
	owner := slices.Repeat([]int{-1}, len(job))
	for i := range job {
		seen := make([]bool, len(job))
		var place func(v int) bool
		place = func(v int) bool {
			for k, from := range job {
				if seen[k] || from.Pulled < job[v].Thin || from.Pulled > job[v].Thick {
					continue
				}
				seen[k] = true
				if owner[k] < 0 || place(owner[k]) {
					owner[k] = v
					return true
				}
			}
			return false
		}
		if !place(i) {
			left = append(left, i)
		}
	}
	return left
}

// Targets, on jobs that the advice has not seen: with 20 pieces 8 points of jobs
// done at once over the same number spread evenly over the used range, and 1 point
// over Poisson levels of what was needed after swaps.
func TestGreedyAgainstOtherBoxes(t *testing.T) {
	effort.Long(t)
	records := visits(2, 1000)
	drawn := stock.Draw(records, catalogue(), stock.Drawing{Jobs: thousand, Spread: stock.Spread(len(records)), Seed: 1})
	unseen := visits(3, max(4000, effort.Of(100_000)))
	ignored, after, usage := demand(records)
	var whole []shim.Disc
	for _, o := range catalogue() {
		whole = append(whole, o.Disc)
	}
	empty := replay(t, unseen, nil)
	t.Logf("empty box: %.3f purchases a job, %.1f %% at once", float64(empty.Bought)/float64(empty.Jobs), 100*empty.Share())
	for _, pieces := range []int{20, 40, 80} {
		names := []string{"greedy", "even, used range", "even, whole catalogue", "Poisson, swaps ignored", "Poisson after swaps", "by usage"}
		boxes := [][]stock.Pieces{advice(t, drawn, pieces), evenly(used(t, records), pieces), evenly(whole, pieces),
			poisson(ignored, pieces), poisson(after, pieces), share(usage, pieces)}
		var at [6]float64
		for i, box := range boxes {
			require.Equal(t, pieces, stock.Count(box), names[i])
			r := replay(t, unseen, box)
			at[i] = 100 * r.Share()
			t.Logf("%d pieces, %s: %.3f purchases a job, %.1f %% at once", pieces, names[i], float64(r.Bought)/float64(r.Jobs), at[i])
		}
		if pieces == 20 {
			t.Logf("20 pieces: %.1f points over even (at least 8), %.1f over Poisson after swaps (at least 1)", at[0]-at[1], at[0]-at[4])
			assert.GreaterOrEqual(t, at[0]-at[1], 8.0)
			assert.GreaterOrEqual(t, at[0]-at[4], 1.0)
		}
		for i := range at { // of 80 pieces a thousand drawn jobs do not need the last ones
			assert.GreaterOrEqual(t, at[0], at[i]-0.3, names[i])
		}
	}
}

// Target: with 20 records and 40 pieces at least 94 % of jobs are done at once. Below
// that many records even spreading is as good within about a point.
func TestFewRecords(t *testing.T) {
	effort.Long(t)
	unseen := visits(4, 3000)
	rounds := max(5, effort.Of(100))
	sum := map[string]float64{}
	least := 100.0
	for seed := range uint64(rounds) {
		records := visits(100+seed, 20)
		drawn := stock.Draw(records, catalogue(), stock.Drawing{Jobs: thousand, Spread: stock.Spread(len(records)), Seed: 1})
		shifted := 100 * replay(t, unseen, advice(t, drawn, 40)).Share()
		least = min(least, shifted)
		sum["shifted"] += shifted
		sum["raw"] += 100 * replay(t, unseen, advice(t, stock.Draw(records, catalogue(), stock.Drawing{Jobs: thousand, Seed: 1}), 40)).Share()
		sum["even"] += 100 * replay(t, unseen, evenly(used(t, records), 40)).Share()
	}
	for name, total := range sum {
		t.Logf("20 records, 40 pieces, %s: %.1f %% at once", name, total/float64(rounds))
	}
	t.Logf("shifted: at least 94; the worst of %d shops %.1f", rounds, least)
	assert.GreaterOrEqual(t, sum["shifted"]/float64(rounds), 94.0)
	assert.Greater(t, sum["shifted"], sum["raw"]+5*float64(rounds), "records are of use only if they are moved")
}

// Target: within one set of scenarios, at unit prices, gains never grow along the list.
func TestGainsNeverGrow(t *testing.T) {
	for seed := range uint64(max(5, effort.Of(200))) {
		drawn := stock.Draw(visits(200+seed, 50), catalogue(), stock.Drawing{Jobs: thousand, Spread: 50 * um, Seed: seed})
		a, err := stock.Advise(context.Background(), stock.Request{Jobs: drawn, Period: period, Offers: catalogue(), Pieces: 150})
		require.NoError(t, err)
		sets := 1
		for i, step := range a.Steps[1:] {
			if before := a.Steps[i]; step.Period == before.Period {
				require.LessOrEqual(t, step.Saved, before.Saved, "seed %d, piece %d", seed, i+2)
			} else {
				require.Equal(t, 2*before.Period, step.Period, "periods are joined two by two")
				sets++
			}
		}
		require.Greater(t, sets, 1, "150 pieces are more than periods of ten jobs want")
		require.Len(t, a.Steps, 150)
	}
}

// A kit of 24 sizes by three, in steps of 0.05 mm, is worth few good singles to a box
// that grew by the advice, and more to an empty one. In the trials of the guide: 27
// and 16 singles.
func TestKit(t *testing.T) {
	var kit []stock.Pieces
	for i := range shim.Length(24) {
		kit = append(kit, stock.Pieces{Disc: disc.Of((1850 + 50*i) * um), Count: 3})
	}
	records := visits(2, 1000)
	drawn := stock.Draw(records, catalogue(), stock.Drawing{Jobs: thousand, Spread: 20 * um, Seed: 1})
	r := stock.Request{Jobs: drawn, Period: period, Offers: catalogue()}
	fresh, err := stock.Worth(context.Background(), r, kit)
	require.NoError(t, err)
	r.Box = advice(t, drawn, 20)
	grown, err := stock.Worth(context.Background(), r, kit)
	require.NoError(t, err)
	t.Logf("72 pieces are worth %.1f singles to an empty box (%.2f each), %.1f to one of 20 (%.2f each)", fresh.Singles, fresh.Each(), grown.Singles, grown.Each())
	assert.True(t, fresh.Enough && grown.Enough)
	assert.InDelta(t, 27, fresh.Singles, 8)
	assert.Less(t, grown.Singles, fresh.Singles)

	// Its definition: the box with one single less saves less than the kit, with as many at least as much.
	kitted := unserved(t, drawn, period, kit)
	n := int(fresh.Singles)
	require.Greater(t, unserved(t, drawn, period, advice(t, drawn, n)), kitted)
	require.LessOrEqual(t, unserved(t, drawn, period, advice(t, drawn, n+1)), kitted)
}

// The same seed gives the same advice, another one other jobs.
func TestSeed(t *testing.T) {
	records := visits(5, 30)
	one := stock.Drawing{Jobs: 200, Spread: 50 * um, Seed: 7}
	assert.Equal(t, stock.Draw(records, catalogue(), one), stock.Draw(records, catalogue(), one))
	other, stream := one, one
	other.Seed, stream.Stream = 8, 1
	assert.NotEqual(t, stock.Draw(records, catalogue(), one), stock.Draw(records, catalogue(), other))
	assert.NotEqual(t, stock.Draw(records, catalogue(), one), stock.Draw(records, catalogue(), stream))
}

// A drawn job is a recorded one moved by whole steps: clearances stay, nothing
// that was on sale leaves the catalogue, and records are not touched.
func TestDrawMovesByWholeSteps(t *testing.T) {
	records := visits(6, 40)
	before := make([]stock.Job, len(records))
	for i := range records {
		before[i] = slices.Clone(records[i])
	}
	first := catalogue()[30:50] // 1.950 to 2.425
	moved := 0
	for _, job := range stock.Draw(records, first, stock.Drawing{Jobs: 2000, Spread: 200 * um, Seed: 1}) {
		at := slices.IndexFunc(records, func(r stock.Job) bool {
			return len(r) == len(job) && (len(r) == 0 || (r[0].Thin-job[0].Thin)%(25*um) == 0 && slices.EqualFunc(r, job, func(a, b stock.Need) bool {
				by := b.Ideal - a.Ideal
				return by%(25*um) == 0 && b.Thin-a.Thin == by && b.Thick-a.Thick == by && b.Pulled-a.Pulled == by
			}))
		})
		require.GreaterOrEqual(t, at, 0)
		for k, n := range records[at] {
			if n.Ideal >= 1950*um && n.Ideal <= 2425*um {
				require.True(t, job[k].Ideal >= 1950*um && job[k].Ideal <= 2425*um, "%s to %s", n.Ideal, job[k].Ideal)
			}
			if n.Ideal != job[k].Ideal {
				moved++
			}
		}
	}
	require.Greater(t, moved, 1000)
	require.Equal(t, before, records)
}

// A cancelled context ends all of them with its cause.
func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancelCause(context.Background())
	r := stock.Request{Jobs: visits(7, 100), Period: period, Offers: catalogue(), Pieces: 50}
	r.Progress = func(done, of int) {
		assert.Equal(t, 50, of)
		if done == 3 {
			cancel(assert.AnError)
		}
		assert.LessOrEqual(t, done, 3)
	}
	_, err := stock.Advise(ctx, r)
	require.ErrorIs(t, err, assert.AnError)
	_, err = stock.Replay(ctx, r.Jobs, period, nil)
	require.ErrorIs(t, err, assert.AnError)
	_, err = stock.Spare(ctx, r.Jobs, period, []stock.Pieces{{Disc: disc.Of(2 * shim.Millimetre), Count: 1}})
	require.ErrorIs(t, err, assert.AnError)
	_, err = stock.Worth(ctx, r, []stock.Pieces{{Disc: disc.Of(2500 * um), Count: 1}})
	require.ErrorIs(t, err, assert.AnError)
}

// Even spreading is even at every length, fills what is thin first, and keeps to what can be had.
func TestEven(t *testing.T) {
	list := stock.Even(catalogue(), disc, 2000*um, 2200*um, nil, 18)
	require.Len(t, list, 18)
	has := map[shim.Length]int{}
	for i, o := range list {
		has[o.Size]++
		if i == 8 {
			require.Len(t, has, 9, "each of the nine sizes once before any is there twice")
		}
	}
	for _, n := range has {
		assert.Equal(t, 2, n)
	}
	for _, o := range stock.Even(catalogue(), disc, 2000*um, 2200*um, []stock.Pieces{{Disc: disc.Of(2000 * um), Count: 5}}, 8) {
		assert.NotEqual(t, 2000*um, o.Size)
	}
	few := catalogue()
	for i := range few {
		few[i].Limited, few[i].Stock = true, 1
	}
	assert.Len(t, stock.Even(few, disc, 2000*um, 2200*um, nil, 18), 9)
	assert.Empty(t, stock.Even(few, shim.Family{}, 2000*um, 2200*um, nil, 18))
}

// Pieces come from the cheapest offer while it has any; those without a price are
// left out where money is counted.
func TestOffers(t *testing.T) {
	need := stock.Need{Family: disc, Thin: 2000 * um, Thick: 2000 * um, Ideal: 2000 * um}
	offer := func(supplier string, price shim.Price, stock int) shim.Offer {
		return shim.Offer{Disc: disc.Of(2000 * um), Quote: shim.Quote{Price: price, Priced: price > 0}, Supplier: supplier, Limited: stock > 0, Stock: stock}
	}
	r := stock.Request{Jobs: []stock.Job{{need, need, need, need}}, Period: 1, Pieces: 4,
		Offers: []shim.Offer{offer("none", 0, 0), offer("dear", 50_000, 1), offer("cheap", 20_000, 2)}}
	a, err := stock.Advise(context.Background(), r)
	require.NoError(t, err)
	var from []string
	for _, s := range a.Steps {
		from = append(from, s.Supplier)
	}
	assert.Equal(t, []string{"cheap", "cheap", "dear", "none"}, from)
	assert.Equal(t, shim.Price(90_000), a.Cost)
	budget := shim.Price(1_000_000)
	r.Budget = &budget
	a, err = stock.Advise(context.Background(), r)
	require.NoError(t, err)
	assert.Len(t, a.Steps, 3)
	assert.Equal(t, 2, r.Offers[2].Stock, "the caller's offers are not touched")
	r.Jobs = []stock.Job{{need, {Family: disc, Thin: 9 * shim.Millimetre, Thick: 9 * shim.Millimetre}}}
	a, err = stock.Advise(context.Background(), r)
	require.NoError(t, err)
	assert.Equal(t, 2, a.Unserved)
	assert.Equal(t, 1, a.Hopeless)
}

// With a budget, the piece that saves most and the one that saves most for its price
// are both tried; of equal ones the cheaper comes first.
func TestBudgetTriesBoth(t *testing.T) {
	at := func(i int) shim.Length { return shim.Length(2000+25*i) * um }
	// saves[i] jobs need size i and nothing else.
	run := func(saves, prices []int, budget int) (steps []shim.Length, saved int) {
		var r stock.Request
		for i, n := range saves {
			for range n {
				r.Jobs = append(r.Jobs, stock.Job{{Family: disc, Thin: at(i), Thick: at(i), Ideal: at(i)}})
			}
			r.Offers = append(r.Offers, shim.Offer{Disc: disc.Of(at(i)), Quote: shim.Quote{Price: shim.Price(prices[i]) * 10_000, Priced: true}})
		}
		r.Period = 1
		money := shim.Price(budget) * 10_000
		r.Budget = &money
		a, err := stock.Advise(context.Background(), r)
		require.NoError(t, err)
		for _, s := range a.Steps {
			steps = append(steps, s.Size)
		}
		return steps, a.Saved(1)
	}
	steps, saved := run([]int{5, 1}, []int{10, 1}, 10)
	assert.Equal(t, []shim.Length{at(0)}, steps, "the small cheap one would leave no money for the good one")
	assert.Equal(t, 5, saved)
	steps, saved = run([]int{3, 2, 2}, []int{10, 5, 5}, 10)
	assert.Equal(t, []shim.Length{at(1), at(2)}, steps, "two for the price of one")
	assert.Equal(t, 4, saved)
	steps, _ = run([]int{2, 2}, []int{7, 6}, 13)
	assert.Equal(t, []shim.Length{at(1), at(0)}, steps)
}
