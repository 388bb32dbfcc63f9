package work

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/memory"
	"shimwright/inventory/sample"
	"shimwright/shim"
	"shimwright/shim/stock"
)

var twin, single = shim.Family{Diameter: 8900 * shim.Micrometre}, shim.Family{Diameter: 7500 * shim.Micrometre}

// recorded is a shop with that many jobs and a few shims.
func recorded(t *testing.T, jobs int) *inventory.Shop {
	t.Helper()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	require.NoError(t, sample.History(context.Background(), shop, 1, jobs))
	receiveOf(t, shop, twin, "2.275", "2.275", "2.7", "2.7", "2.7")
	return shop
}

func receiveOf(t *testing.T, shop *inventory.Shop, f shim.Family, sizes ...string) {
	t.Helper()
	for _, size := range sizes {
		_, err := shop.Receive(context.Background(), []inventory.Item{{Lot: inventory.Lot{Family: f, Marks: shim.Marks{Stamp: mm(t, size)}}, Count: 1}})
		require.NoError(t, err)
	}
}

func only(f shim.Family) func(shim.Family) bool {
	return func(o shim.Family) bool { return o == f }
}

func advised(t *testing.T, shop *inventory.Shop, q Advising) *Advice {
	t.Helper()
	if q.Rhythm == (Rhythm{}) {
		q.Jobs = 10
	}
	a, err := Advise(context.Background(), shop, q)
	require.NoError(t, err)
	return a
}

// The box only gets better along the list, what nobody misses is spare, and the levels
// are the box with the advice and without what is spare.
func TestAdvise(t *testing.T) {
	shop := recorded(t, 60)
	a := advised(t, shop, Advising{Pieces: 25, Seed: 1})
	require.False(t, a.Few())
	require.Len(t, a.Records, 60)
	require.Len(t, a.Steps, 25)
	require.Len(t, a.Points, 4, "at 0, 10, 20 and 25")
	require.NotNil(t, a.More)
	assert.Equal(t, 35, a.More.Pieces)
	drawing := stock.Drawing{Jobs: stock.DefaultJobs, Spread: stock.Spread(60), Seed: 1, Stream: 1}
	again, err := stock.Replay(context.Background(), stock.Draw(a.Records, a.Offers, drawing), 10, a.Box)
	require.NoError(t, err)
	assert.Equal(t, again, a.Points[0].Replayed, "by other jobs than it was chosen by")
	for i, p := range a.Points[1:] {
		assert.Greater(t, p.Share(), a.Points[i].Share())
		assert.Less(t, p.Bought, a.Points[i].Bought)
	}
	assert.Equal(t, []stock.Pieces{{Disc: twin.Of(mm(t, "2.7")), Count: 3}}, a.Spare)
	assert.Equal(t, 5+25-3, stock.Count(a.Levels))
	families := map[shim.Family]int{}
	for _, s := range a.Steps {
		families[s.Family]++
		assert.Equal(t, shim.Price(78000), s.Price)
	}
	assert.Len(t, families, 2, "both diameters get some")
	assert.Equal(t, 25*shim.Price(78000), a.Cost)

	_, err = Advise(context.Background(), shop, Advising{Pieces: 5, Rhythm: Rhythm{Jobs: 10}, Wanted: only(shim.Family{Kind: "closer"})})
	require.ErrorContains(t, err, "has such shims")
	one := advised(t, shop, Advising{Pieces: 5, Seed: 1, Wanted: only(single)})
	require.Len(t, one.Records, 20)
	assert.Empty(t, one.Box)
	for _, s := range one.Steps {
		assert.Equal(t, single, s.Family)
	}
	assert.Equal(t, one.Steps, advised(t, shop, Advising{Pieces: 5, Seed: 1, Wanted: only(single)}).Steps)
}

// A budget is kept to, and days become jobs by how many there were.
func TestAdviseBudgetAndDays(t *testing.T) {
	shop := recorded(t, 60)
	budget := shim.Price(400_000) // 5 pieces of 7.80
	a := advised(t, shop, Advising{Budget: &budget, Seed: 1})
	assert.Len(t, a.Steps, 5)
	assert.LessOrEqual(t, a.Cost, budget)
	assert.Nil(t, a.More)

	a = advised(t, shop, Advising{Pieces: 3, Rhythm: Rhythm{Days: 14}})
	assert.InDelta(t, 3./7, a.PerDay, 0.02, "three jobs a week")
	assert.Equal(t, 6, a.Period)
	_, err := Advise(context.Background(), recorded(t, 1), Advising{Pieces: 3, Rhythm: Rhythm{Days: 14}})
	require.ErrorContains(t, err, "14 days")
}

// What is reserved for a job is not there for others; what is on order for the shop is.
func TestAdviseBox(t *testing.T) {
	ctx := context.Background()
	shop, job := measured(t, []string{"2.325", "2.325"}, map[string]string{"ex1a": "0.15"})
	s, err := GatherShelf(ctx, shop, Advising{Rhythm: Rhythm{Jobs: 10}})
	require.NoError(t, err)
	assert.Equal(t, 2, stock.Count(s.Box))
	basis, err := shop.Basis(ctx, job)
	require.NoError(t, err)
	proposal := inventory.Proposal{Job: job, Revision: basis.Revision, Document: []byte(`{}`), Placements: []inventory.Placement{
		{Valve: valve(t, "ex1a"), Size: mm(t, "2.325"), Source: inventory.SourceDrawn},
		{Valve: valve(t, "ex1b"), Size: mm(t, "2.35"), Source: inventory.SourceBought},
	}}
	_, err = shop.PlanTogether(ctx, []inventory.Proposal{proposal})
	require.NoError(t, err)
	list, err := shop.Shopping(ctx)
	require.NoError(t, err)
	_, err = shop.Order(ctx, Order{Step: Place}.All(list))
	require.NoError(t, err)
	s, err = GatherShelf(ctx, shop, Advising{Rhythm: Rhythm{Jobs: 10}})
	require.NoError(t, err)
	assert.Equal(t, []stock.Pieces{{Disc: twin.Of(mm(t, "2.325")), Count: 1}}, s.Box, "the other is reserved, and the one on order is for the job")
	_, err = shop.Cancel(ctx, job, "")
	require.NoError(t, err)
	s, err = GatherShelf(ctx, shop, Advising{Rhythm: Rhythm{Jobs: 10}})
	require.NoError(t, err)
	assert.Equal(t, []stock.Pieces{{Disc: twin.Of(mm(t, "2.325")), Count: 2}, {Disc: twin.Of(mm(t, "2.35")), Count: 1}}, s.Box)
	assert.Equal(t, 1, s.Coming)
	assert.Empty(t, s.Records, "a cancelled job tells nothing")
}

// Below twenty records the pieces are spread over the used range, and none is worked out
// that no record bears.
func TestAdviseFew(t *testing.T) {
	shop := recorded(t, stock.Few-1)
	a := advised(t, shop, Advising{Pieces: 12, Seed: 1, Wanted: only(twin)})
	require.True(t, a.Few())
	require.Len(t, a.Steps, 12)
	thin, thick, _ := stock.Range(a.Records, twin)
	seen := map[shim.Length]bool{}
	for _, s := range a.Steps {
		assert.True(t, thin <= s.Size && s.Size <= thick)
		assert.False(t, seen[s.Size], "%s comes twice before others come once", s.Size)
		seen[s.Size] = true
	}
	assert.NotEmpty(t, a.Points)
	assert.Empty(t, a.Spare, "so few jobs do not tell what is never missed")
	assert.Equal(t, 5+12, stock.Count(a.Levels))

	empty := inventory.New(memory.New(), "R. Example", time.Now)
	_, err := empty.OpenJob(context.Background(), inventory.Opening{Spec: sample.Turnstone(), Source: "invented"})
	require.NoError(t, err)
	a = advised(t, empty, Advising{Pieces: 7})
	assert.Len(t, a.Steps, 7)
	assert.Empty(t, a.Points)

	both := advised(t, recorded(t, 12), Advising{Pieces: 20})
	families := map[shim.Family]int{}
	for _, s := range both.Steps {
		families[s.Family]++
	}
	assert.Greater(t, families[twin], families[single], "the twins need more")
}

// A price list takes the place of the catalogues; without either the range is guessed
// from the box.
func TestAdviseSale(t *testing.T) {
	shop := recorded(t, 30)
	list := []shim.Offer{{Disc: shim.Disc{Size: mm(t, "2.2")}, Supplier: "Willow Road"}, {Disc: single.Of(mm(t, "1.9"))}}
	s, err := GatherShelf(context.Background(), shop, Advising{Rhythm: Rhythm{Jobs: 10}, Offers: list, Wanted: only(twin)})
	require.NoError(t, err)
	assert.Equal(t, []shim.Offer{{Disc: twin.Of(mm(t, "2.2")), Supplier: "Willow Road"}}, s.Offers)

	bare := inventory.New(memory.New(), "R. Example", time.Now)
	spec := sample.Sandpiper()
	spec.Catalogue = nil
	_, err = bare.OpenJob(context.Background(), inventory.Opening{Spec: spec, Source: "invented"})
	require.NoError(t, err)
	_, err = Advise(context.Background(), bare, Advising{Pieces: 1, Rhythm: Rhythm{Jobs: 10}})
	require.ErrorIs(t, err, inventory.ErrInvalid)
	receiveOf(t, bare, twin, "2.4", "2.45", "2.55")
	a := advised(t, bare, Advising{Pieces: 1})
	assert.Equal(t, []shim.Family{twin}, a.Guessed)
	assert.Equal(t, mm(t, "2.5"), a.Steps[0].Size, "the only one that is missing")
}

// Kept levels say what is below them, and what to order is chosen for the box as it is.
func TestReorder(t *testing.T) {
	ctx := context.Background()
	shop := recorded(t, 60)
	all := func(shim.Family) bool { return true }
	r, err := Reorder(ctx, shop, nil, all, nil)
	require.NoError(t, err)
	require.Nil(t, r)
	a := advised(t, shop, Advising{Pieces: 15, Seed: 3})
	_, err = KeepLevels(ctx, shop, a)
	require.NoError(t, err)
	r, err = Reorder(ctx, shop, nil, all, nil)
	require.NoError(t, err)
	assert.Equal(t, 15, stock.Count(r.Next))
	assert.Equal(t, a.Added(15), r.Next, "nothing came since")
	for _, l := range r.Low {
		assert.Less(t, l.Has, l.Count)
	}
	for _, s := range a.Steps {
		receiveOf(t, shop, s.Family, s.Size.String())
	}
	r, err = Reorder(ctx, shop, nil, all, nil)
	require.NoError(t, err)
	assert.Empty(t, r.Low)
	assert.Empty(t, r.Next)

	// One piece gone: not necessarily that one is the best to have next.
	_, err = shop.Scrap(ctx, []inventory.Item{{Lot: inventory.Lot{Family: a.Steps[0].Family, Marks: shim.Marks{Stamp: a.Steps[0].Size}}, Count: 1}})
	require.NoError(t, err)
	r, err = Reorder(ctx, shop, nil, all, nil)
	require.NoError(t, err)
	require.Len(t, r.Low, 1)
	assert.LessOrEqual(t, stock.Count(r.Next), 1)
	r, err = Reorder(ctx, shop, nil, only(shim.Family{Kind: "closer"}), nil)
	require.NoError(t, err)
	assert.Nil(t, r)

	n, err := DropLevels(ctx, shop, only(single))
	require.NoError(t, err)
	assert.Positive(t, n)
	left, err := shop.Levels(ctx)
	require.NoError(t, err)
	require.Len(t, left, 1)
	assert.Equal(t, []shim.Family{twin}, left[0].Families)
}

// A kit of the very pieces that the advice adds is worth as many singles; one that
// nobody needs is worth none.
func TestWorthKit(t *testing.T) {
	ctx := context.Background()
	shop := recorded(t, 60)
	a := advised(t, shop, Advising{Pieces: 10, Seed: 1})
	w, err := WorthKit(ctx, shop, Advising{Seed: 1, Rhythm: Rhythm{Jobs: 10}}, a.Added(10))
	require.NoError(t, err)
	assert.InDelta(t, 10, w.Singles, 1e-9)
	assert.Equal(t, 10*shim.Price(78000), w.Cost)
	assert.Equal(t, a.Points[1].Replayed, w.With.Replayed)
	w, err = WorthKit(ctx, shop, Advising{Seed: 1, Rhythm: Rhythm{Jobs: 10}}, []stock.Pieces{{Disc: twin.Of(mm(t, "2.95")), Count: 9}})
	require.NoError(t, err)
	assert.Zero(t, w.Singles)
	_, err = WorthKit(ctx, recorded(t, 10), Advising{Rhythm: Rhythm{Jobs: 10}}, a.Added(10))
	require.ErrorIs(t, err, inventory.ErrInvalid)
}

// The prices of a kit's pieces add up to what was paid, and differ by a cent at most.
func TestSpreadPrice(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for range 500 {
		paid := shim.Price(r.IntN(100_000)) * 100
		if r.IntN(4) == 0 {
			paid += shim.Price(r.IntN(100)) // not of whole cents
		}
		var items []inventory.Item
		pieces := map[shim.Length]int{}
		for i := range 1 + r.IntN(6) {
			size := shim.Length(2000+25*i) * shim.Micrometre
			pieces[size] = 1 + r.IntN(9)
			items = append(items, inventory.Item{Lot: inventory.Lot{Marks: shim.Marks{Stamp: size}}, Count: pieces[size]})
		}
		sum, least, most := shim.Price(0), shim.Price(1<<40), shim.Price(0)
		for _, i := range SpreadPrice(items, paid) {
			require.True(t, i.Priced)
			require.Positive(t, i.Count)
			sum += i.Price * shim.Price(i.Count)
			least, most = min(least, i.Price), max(most, i.Price)
			pieces[i.Stamp] -= i.Count
			if paid%100 == 0 {
				require.Zero(t, i.Price%100, "whole cents")
			}
		}
		require.Equal(t, paid, sum)
		require.LessOrEqual(t, most-least, shim.Price(100))
		for _, left := range pieces {
			require.Zero(t, left)
		}
	}
}

// Of an engine with two kinds of shim only the valves that take the wanted one count.
func TestAdviseOneKindOfAnEngine(t *testing.T) {
	ctx := context.Background()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	spec := sample.Phalarope()
	job, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "invented"})
	require.NoError(t, err)
	var list []shim.Measurement
	for _, v := range spec.Valves() {
		list = append(list, shim.Measurement{Valve: v, Reading: shim.ReadingOf(mm(t, "0.02")), Marks: shim.Marks{Stamp: mm(t, "2.4")}})
	}
	_, err = shop.Read(ctx, job.ID, list, "")
	require.NoError(t, err)
	closer := shim.Family{Kind: "closer", Diameter: spec.Diameter}
	for _, f := range []shim.Family{closer, single} {
		s, err := GatherShelf(ctx, shop, Advising{Rhythm: Rhythm{Jobs: 10}, Wanted: only(f)})
		require.NoError(t, err)
		require.Len(t, s.Records, 1)
		assert.Len(t, s.Records[0], 2)
		for _, n := range s.Records[0] {
			assert.Equal(t, f, n.Family)
		}
	}
	s, err := GatherShelf(ctx, shop, Advising{Rhythm: Rhythm{Jobs: 10}})
	require.NoError(t, err)
	assert.Len(t, s.Records[0], 4)
}

// A size below its level is not ordered again where the box does without it.
func TestReorderLeavesOutWhatSavesNothing(t *testing.T) {
	ctx := context.Background()
	shop := recorded(t, 60)
	for _, s := range advised(t, shop, Advising{Pieces: 70, Seed: 1}).Steps {
		receiveOf(t, shop, s.Family, s.Size.String())
	}
	odd := inventory.Level{Disc: twin.Of(mm(t, "2.95")), Count: 2}
	_, err := shop.KeepLevels(ctx, inventory.Levels{Seed: 1, Period: 10, Families: []shim.Family{twin}, Levels: []inventory.Level{odd}})
	require.NoError(t, err)
	r, err := Reorder(ctx, shop, nil, only(twin), nil)
	require.NoError(t, err)
	assert.Equal(t, []Low{{odd, 0}}, r.Low)
	assert.Empty(t, r.Next)
}
