package stock_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/stock"
	"shimwright/testdata/effort"
)

// small is a few jobs on a line of few sizes, some of another family.
func small(r *rand.Rand) (jobs []stock.Job, offers []shim.Offer) {
	other := shim.Family{Kind: "other", Diameter: 10 * shim.Millimetre}
	sizes := 3 + r.IntN(3)
	for i := range sizes {
		f := disc
		if i == sizes-1 && r.IntN(2) == 0 {
			f = other
		}
		offers = append(offers, shim.Offer{Disc: f.Of(shim.Length(2000+25*i) * um), Quote: shim.Quote{Price: shim.Price(1+r.IntN(5)) * 10_000, Priced: true}})
	}
	for range 1 + r.IntN(4) {
		var job stock.Job
		for range r.IntN(4) {
			n := stock.Need{Family: disc}
			if r.IntN(5) == 0 {
				n.Family = other
			}
			n.Thin = shim.Length(1990+25*r.IntN(sizes)) * um
			n.Thick = n.Thin + shim.Length(r.IntN(80))*um
			n.Ideal = (n.Thin + n.Thick) / 2
			if r.IntN(3) > 0 {
				n.Pulled = shim.Length(2000+25*r.IntN(sizes)) * um
			}
			job = append(job, n)
		}
		jobs = append(jobs, job)
	}
	return jobs, offers
}

// served is the most valves of a period that box and pulled shims serve, by trying
// all: valve by valve, with each shim that it takes or none.
func served(jobs []stock.Job, box []stock.Pieces) int {
	left := map[shim.Disc]int{}
	for _, p := range box {
		left[p.Disc] += p.Count
	}
	used := map[[2]int]bool{}
	var try func(j, k int) int
	try = func(j, k int) int {
		if j == len(jobs) {
			return 0
		}
		if k == len(jobs[j]) {
			return try(j+1, 0)
		}
		n := jobs[j][k]
		most := try(j, k+1)
		for d, count := range left {
			if count > 0 && d.Family == n.Family && n.Thin <= d.Size && d.Size <= n.Thick {
				left[d]--
				most = max(most, 1+try(j, k+1))
				left[d]++
			}
		}
		for o, from := range jobs[j] {
			if id := [2]int{j, o}; from.Pulled != 0 && !used[id] && from.Family == n.Family && n.Thin <= from.Pulled && from.Pulled <= n.Thick {
				used[id] = true
				most = max(most, 1+try(j, k+1))
				used[id] = false
			}
		}
		return most
	}
	return try(0, 0)
}

func valves(jobs []stock.Job) (n int) {
	for _, j := range jobs {
		n += len(j)
	}
	return n
}

// unserved is how many valves the package leaves to purchases.
func unserved(t *testing.T, jobs []stock.Job, period int, box []stock.Pieces) int {
	t.Helper()
	a, err := stock.Advise(context.Background(), stock.Request{Jobs: jobs, Period: period, Box: box})
	require.NoError(t, err)
	return a.Unserved
}

// The rank is that of trying everything, and what a box saves is monotone and submodular.
func TestRankAndSubmodularityByBruteForce(t *testing.T) {
	for seed := range uint64(effort.Of(20_000)) {
		r := rand.New(rand.NewPCG(seed, 1))
		jobs, offers := small(r)
		period := 1 + r.IntN(len(jobs))
		n := len(offers)
		saved := make([]int, 1<<n)
		for set := range saved {
			var box []stock.Pieces
			for k := range n {
				if set>>k&1 == 1 {
					box = append(box, stock.Pieces{Disc: offers[k].Disc, Count: 1})
				}
			}
			want := 0
			for at := 0; at < len(jobs); at += period {
				want += served(jobs[at:min(at+period, len(jobs))], box)
			}
			saved[set] = valves(jobs) - unserved(t, jobs, period, box)
			require.Equal(t, want, saved[set], "seed %d box %v jobs %v", seed, box, jobs)
		}
		for a := range saved {
			for b := range saved {
				require.GreaterOrEqual(t, saved[a]+saved[b], saved[a|b]+saved[a&b], "seed %d: %b, %b", seed, a, b)
				if a&b == a {
					require.GreaterOrEqual(t, saved[b], saved[a], "seed %d", seed)
				}
			}
		}
	}
}

// Gains never grow along the list, each is the best single one, and together they
// are at least 1 - (1 - 1/k)^k of the best of all boxes of k pieces: the worst case
// of greedy cover, 3/4 for k = 2 and 19/27 for k = 3 (Nemhauser, Wolsey and Fisher,
// 1978; from memory).
func TestGreedyByBruteForce(t *testing.T) {
	least := 1.0
	for seed := range uint64(effort.Of(20_000)) {
		r := rand.New(rand.NewPCG(seed, 2))
		jobs, offers := small(r)
		period := 1 + r.IntN(len(jobs))
		k := 2 + r.IntN(2)
		a, err := stock.Advise(context.Background(), stock.Request{Jobs: jobs, Period: period, Offers: offers, Pieces: k})
		require.NoError(t, err)
		before := unserved(t, jobs, period, nil)
		saved := 0
		for i, step := range a.Steps {
			if step.Period != period {
				break
			}
			saved += step.Saved
			if i > 0 {
				require.LessOrEqual(t, step.Saved, a.Steps[i-1].Saved, "seed %d", seed)
			}
			require.Equal(t, saved, before-unserved(t, jobs, period, a.Added(i+1)), "seed %d", seed)
			for _, o := range offers {
				other := stock.Sum(a.Added(i), []stock.Pieces{{Disc: o.Disc, Count: 1}})
				require.LessOrEqual(t, before-unserved(t, jobs, period, other), saved, "seed %d: %s saves more", seed, o.Disc)
			}
		}
		best := 0
		var choose func(box []stock.Pieces, from, left int)
		choose = func(box []stock.Pieces, from, left int) {
			best = max(best, before-unserved(t, jobs, period, stock.Sum(box)))
			for i := from; i < len(offers) && left > 0; i++ {
				choose(append(box[:len(box):len(box)], stock.Pieces{Disc: offers[i].Disc, Count: 1}), i, left-1)
			}
		}
		choose(nil, 0, k)
		bound := map[int]float64{2: 3. / 4, 3: 19. / 27}[k]
		require.GreaterOrEqual(t, float64(saved), bound*float64(best), "seed %d: %d of %d", seed, saved, best)
		if best > 0 {
			least = min(least, float64(saved)/float64(best))
		}
	}
	t.Logf("greedy saved at least %.1f %% of the best box of 2 or 3 pieces; the theory promises 75 and 70.4", 100*least)
}

// Within a budget, the better of the two ways is at least (1 - 1/e)/2 of the best box
// that the money buys, and never costs more than it.
func TestBudgetByBruteForce(t *testing.T) {
	for seed := range uint64(effort.Of(20_000)) {
		r := rand.New(rand.NewPCG(seed, 3))
		jobs, offers := small(r)
		budget := shim.Price(1+r.IntN(10)) * 10_000
		a, err := stock.Advise(context.Background(), stock.Request{Jobs: jobs, Period: len(jobs), Offers: offers, Budget: &budget})
		require.NoError(t, err)
		require.LessOrEqual(t, a.Cost, budget)
		before := unserved(t, jobs, len(jobs), nil)
		best := 0
		var choose func(box []stock.Pieces, from int, left shim.Price)
		choose = func(box []stock.Pieces, from int, left shim.Price) {
			best = max(best, before-unserved(t, jobs, len(jobs), stock.Sum(box)))
			if len(box) > 9 {
				return
			}
			for i := from; i < len(offers); i++ {
				if price := offers[i].Price; price <= left {
					choose(append(box[:len(box):len(box)], stock.Pieces{Disc: offers[i].Disc, Count: 1}), i, left-price)
				}
			}
		}
		choose(nil, 0, budget)
		require.GreaterOrEqual(t, float64(a.Saved(len(jobs))), 0.316*float64(best), "seed %d", seed)
	}
}

// Pieces that are spare are missed by no period, and after them every piece is.
func TestSpareByBruteForce(t *testing.T) {
	for seed := range uint64(effort.Of(20_000)) {
		r := rand.New(rand.NewPCG(seed, 4))
		jobs, offers := small(r)
		period := 1 + r.IntN(len(jobs))
		var box []stock.Pieces
		for _, o := range offers {
			box = append(box, stock.Pieces{Disc: o.Disc, Count: r.IntN(4)})
		}
		box = stock.Sum(box)
		spare, err := stock.Spare(context.Background(), jobs, period, box)
		require.NoError(t, err)
		rest := minus(box, spare)
		before := unserved(t, jobs, period, box)
		require.Equal(t, before, unserved(t, jobs, period, rest), "seed %d: %v of %v", seed, spare, box)
		for _, p := range rest {
			assert.Greater(t, unserved(t, jobs, period, minus(rest, []stock.Pieces{{Disc: p.Disc, Count: 1}})), before, "seed %d: %s", seed, p.Disc)
		}
	}
}

func minus(box, less []stock.Pieces) []stock.Pieces {
	for _, p := range less {
		box = stock.Sum(box, []stock.Pieces{{Disc: p.Disc, Count: -p.Count}})
	}
	return box
}

// A job that is done by itself needs as many purchases as trying everything does.
func TestReplayByBruteForce(t *testing.T) {
	for seed := range uint64(effort.Of(20_000)) {
		r := rand.New(rand.NewPCG(seed, 5))
		jobs, offers := small(r)
		box := []stock.Pieces{{Disc: offers[0].Disc, Count: 1}, {Disc: offers[1].Disc, Count: 2}}
		got, err := stock.Replay(context.Background(), jobs, 1, box)
		require.NoError(t, err)
		want := stock.Replayed{Jobs: len(jobs)}
		for i := range jobs {
			short := len(jobs[i]) - served(jobs[i:i+1], box)
			want.Bought += short
			want.Drawn += len(jobs[i]) - short - served(jobs[i:i+1], nil)
			if short == 0 {
				want.Done++
			}
		}
		require.Equal(t, want, got, "seed %d", seed)
	}
}
