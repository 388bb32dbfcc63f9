package work

import (
	"bytes"
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/memory"
	"shimwright/inventory/sample"
	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/plan/planjson"
)

func mm(t *testing.T, text string) shim.Length {
	t.Helper()
	l, err := shim.MM.Parse(text)
	require.NoError(t, err)
	return l
}

func valve(t *testing.T, name string) shim.Valve {
	t.Helper()
	v, err := shim.ParseValve(name)
	require.NoError(t, err)
	return v
}

// measured is a shop with one job of the invented twin and some free pieces.
// Every valve has a shim of 2.400 and a clearance of 0.175 (intake) or 0.235
// (exhaust), which is inside; those named have another clearance.
func measured(t *testing.T, box []string, clearances map[string]string) (*inventory.Shop, int64) {
	t.Helper()
	return measuredIn(t, memory.New(), box, clearances)
}

func measuredIn(t *testing.T, store inventory.Store, box []string, clearances map[string]string) (*inventory.Shop, int64) {
	t.Helper()
	ctx := context.Background()
	shop := inventory.New(store, "R. Example", time.Now)
	spec := sample.Sandpiper()
	for _, size := range box {
		_, err := shop.Receive(ctx, []inventory.Item{{Lot: inventory.Lot{Family: shim.Family{Diameter: spec.Diameter}, Marks: shim.Marks{Stamp: mm(t, size)}}, Count: 1}})
		require.NoError(t, err)
	}
	job, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "invented"})
	require.NoError(t, err)
	var list []shim.Measurement
	for _, v := range spec.Valves() {
		clearance := "0.175"
		if v.Side == shim.Exhaust {
			clearance = "0.235"
		}
		if c, named := clearances[v.String()]; named {
			clearance = c
		}
		list = append(list, shim.Measurement{Valve: v, Reading: shim.ReadingOf(mm(t, clearance)), Marks: shim.Marks{Stamp: mm(t, "2.4")}})
	}
	_, err = shop.Read(ctx, job.ID, list, "")
	require.NoError(t, err)
	return shop, job.ID
}

// planned prepares, plans and keeps.
func planned(t *testing.T, shop *inventory.Shop, job int64, noBuy bool) (*Ready, *plan.Plan, inventory.KeptPlan) {
	t.Helper()
	ctx := context.Background()
	basis, err := shop.Basis(ctx, job)
	require.NoError(t, err)
	ready, err := Prepare(basis)
	require.NoError(t, err)
	q := plan.Request{Jobs: []plan.JobRequest{ready.Job(shim.Lift{})}, Box: ready.Box, NoBuy: noBuy, Margin: plan.DefaultMargin}
	q.Offers, q.OnOrder = Offers([]*Ready{ready}, nil)
	p, err := plan.Make(ctx, q)
	require.NoError(t, err)
	var document bytes.Buffer
	require.NoError(t, planjson.Encode(&document, p))
	plans, err := shop.PlanTogether(ctx, []inventory.Proposal{ready.Proposal(p, document.Bytes())})
	require.NoError(t, err)
	return ready, p, plans[0]
}

func TestProposalSaysWhereShimsComeFrom(t *testing.T) {
	// ex1a needs 2.335 ± 0.035, ex2a 2.465 ± 0.035, ex2b 2.335 ± 0.035.
	shop, job := measured(t, []string{"2.350"}, map[string]string{"ex1a": "0.17", "ex2a": "0.30", "ex2b": "0.17"})
	_, _, kept := planned(t, shop, job, false)
	sources := map[inventory.Source]int{}
	for _, p := range kept.Placements {
		sources[p.Source]++
	}
	assert.Equal(t, 1, sources[inventory.SourceDrawn], "%v", kept.Placements)
	assert.NotZero(t, sources[inventory.SourceBought], "%v", kept.Placements)
	f, err := shop.Job(context.Background(), job)
	require.NoError(t, err)
	assert.Len(t, f.Holds, 1)
}

func TestOtherJobsPiecesAreNotInTheBox(t *testing.T) {
	ctx := context.Background()
	shop, job := measured(t, []string{"2.350"}, map[string]string{"ex1a": "0.17"})
	planned(t, shop, job, true)
	spec := sample.Sandpiper()
	other, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "invented"})
	require.NoError(t, err)
	basis, err := shop.Basis(ctx, other.ID)
	require.NoError(t, err)
	ready, err := Prepare(basis)
	require.NoError(t, err)
	assert.Empty(t, ready.Box, "the other job holds it")
	basis, err = shop.Basis(ctx, job)
	require.NoError(t, err)
	ready, err = Prepare(basis)
	require.NoError(t, err)
	assert.Len(t, ready.Box, 1, "its own piece is there to be planned again")
}

// A reading is carried to the shim that sits in the valve now: c' = c + k (s - x).
func TestCarry(t *testing.T) {
	e := sample.Sandpiper()
	in := func(reading shim.Reading, size string) shim.Measurement {
		return shim.Measurement{Valve: valve(t, "in1a"), Reading: reading, Marks: shim.Marks{Stamp: mm(t, size)}}
	}
	for _, c := range []struct {
		name       string
		m          shim.Measurement
		size, want string
		fits       bool
	}{
		{"same", in(shim.ReadingOf(mm(t, "0.15")), "2.4"), "2.4", "0.15", true},
		{"thinner", in(shim.ReadingOf(mm(t, "0.15")), "2.4"), "2.35", "0.20", true},
		{"thicker", in(shim.ReadingOf(mm(t, "0.15")), "2.4"), "2.5", "0.05", true},
		{"bracket", in(shim.Reading{Kind: shim.Bracket, Low: mm(t, "0.15"), High: mm(t, "0.18")}, "2.4"), "2.45", "0.10-0.13", true},
		{"bracket at zero", in(shim.Reading{Kind: shim.Bracket, Low: mm(t, "0.02"), High: mm(t, "0.06")}, "2.4"), "2.43", "0.01", true},
		{"below", in(shim.Reading{Kind: shim.Below, High: mm(t, "0.05")}, "2.4"), "2.3", "<0.15", true},
		{"above", in(shim.Reading{Kind: shim.Above, Low: mm(t, "0.6")}, "2.4"), "2.5", ">0.50", true},
		{"nothing left", in(shim.ReadingOf(mm(t, "0.05")), "2.4"), "2.5", "", false},
		{"unread", in(shim.Reading{}, "2.4"), "2.5", "", true},
	} {
		got, fits := Carry(&e, c.m, mm(t, c.size), 0)
		assert.Equal(t, c.fits, fits, c.name)
		if fits {
			assert.Equal(t, c.want, got.Reading.Format(shim.MM), c.name)
			assert.Equal(t, mm(t, c.size), got.Size(), c.name)
		}
	}
	e.Intake.Ratio = shim.Ratio{Times: -shim.One}
	got, fits := Carry(&e, in(shim.ReadingOf(mm(t, "0.15")), "2.4"), mm(t, "2.45"), 0)
	require.True(t, fits)
	assert.Equal(t, "0.20", got.Reading.Format(shim.MM), "a closing shim that is thicker gives more")
}

// In the middle of a ring a valve stands empty; its planned piece goes, and the
// job is planned again with another one standing in.
func TestEmptyValveIsPlannedWithAFreePiece(t *testing.T) {
	ctx := context.Background()
	clearances := map[string]string{"ex1a": "0.30", "ex1b": "0.17"}
	shop, job := measured(t, []string{"2.325"}, clearances)
	basis, err := shop.Basis(ctx, job)
	require.NoError(t, err)
	// By hand: ex1a gets the shim of ex2a, ex2a the piece of the box.
	_, err = shop.PlanTogether(ctx, []inventory.Proposal{{Job: job, Revision: basis.Revision, Placements: []inventory.Placement{
		{Valve: valve(t, "ex1a"), Size: mm(t, "2.4"), Source: inventory.SourceMoved, From: valve(t, "ex2a")},
		{Valve: valve(t, "ex2a"), Size: mm(t, "2.325"), Source: inventory.SourceDrawn},
	}}})
	require.NoError(t, err)
	_, err = shop.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{valve(t, "ex1a")}})
	require.NoError(t, err)
	basis, err = shop.Basis(ctx, job)
	require.NoError(t, err)
	ready, err := Prepare(basis)
	require.NoError(t, err)
	require.Len(t, ready.StandIns, 1)
	assert.Equal(t, "ex2a", ready.StandIns[0].Valve.String())
	assert.Equal(t, mm(t, "2.4"), ready.StandIns[0].Size(), "its own size lies in the box")
	_, p, kept := planned(t, shop, job, true)
	require.NotNil(t, p)
	found := false
	for _, l := range kept.Placements {
		found = found || l.Valve == valve(t, "ex2a") && l.Source == inventory.SourceDrawn
	}
	assert.True(t, found, "the empty valve gets a shim of the box: %v", kept.Placements)
	_, err = shop.Fit(ctx, job, inventory.Fit{})
	require.NoError(t, err)
	findings, err := shop.Check(ctx)
	require.NoError(t, err)
	assert.Empty(t, findings)

	// With nothing free there is no plan, and the way out is told.
	shop, job = measured(t, []string{"2.325"}, clearances)
	basis, err = shop.Basis(ctx, job)
	require.NoError(t, err)
	basis.Seats[len(basis.Seats)-1] = inventory.Seat{Valve: basis.Seats[len(basis.Seats)-1].Valve, Empty: true}
	basis.Free = nil
	_, err = Prepare(basis)
	require.ErrorIs(t, err, inventory.ErrInvalid)
	assert.ErrorContains(t, err, "has no shim fitted")
}

// What is on order costs nothing more, and keeps the price it was ordered at.
func TestOrderedPieceIsBoughtFirst(t *testing.T) {
	ctx := context.Background()
	shop, job := measured(t, nil, map[string]string{"ex1a": "0.17"})
	_, _, first := planned(t, shop, job, false)
	require.Len(t, first.Placements, 1)
	want := first.Placements[0]
	require.Equal(t, inventory.SourceBought, want.Source)
	_, err := shop.Order(ctx, nil)
	require.NoError(t, err)
	_, _, second := planned(t, shop, job, false)
	require.Len(t, second.Placements, 1)
	assert.Equal(t, want, second.Placements[0], "the same size at the price it was ordered at")
	list, err := shop.Shopping(ctx)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, 0, list[0].Missing)
	assert.Equal(t, 1, list[0].Coming)
}

// What is on order and belongs to no job costs the next one nothing more, and
// keeps its price and supplier.
func TestOrderOfTheShopIsTakenOver(t *testing.T) {
	ctx := context.Background()
	shop, first := measured(t, nil, map[string]string{"ex1a": "0.17"})
	_, _, plan := planned(t, shop, first, false)
	_, err := shop.Order(ctx, nil)
	require.NoError(t, err)
	second := another(t, shop, first)
	_, err = shop.Cancel(ctx, first, "")
	require.NoError(t, err)
	_, p, kept := planned(t, shop, second, false)
	assert.Zero(t, p.Criteria.Cost, "it is paid for")
	assert.Equal(t, plan.Placements, kept.Placements)
	list, err := shop.Shopping(ctx)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, []int{0, 1, 0}, []int{list[0].Missing, list[0].Coming, list[0].Spare})
}

// Jobs planned one after the other do not count a supplier's stock twice.
func TestSupplierStockIsCountedOnce(t *testing.T) {
	ctx := context.Background()
	shop, first := measured(t, nil, map[string]string{"ex1a": "0.17"})
	second := another(t, shop, first)
	diameter := sample.Sandpiper().Diameter
	offers := []shim.Offer{
		{Disc: shim.Disc{Family: shim.Family{Diameter: diameter}, Size: mm(t, "2.35")}, Quote: shim.Quote{Price: 70_000, Priced: true}, Limited: true, Stock: 1, Supplier: "North", Part: "N-235"},
		{Disc: shim.Disc{Family: shim.Family{Diameter: diameter}, Size: mm(t, "2.35")}, Quote: shim.Quote{Price: 90_000, Priced: true}, Supplier: "South", Part: "S-235"},
	}
	make := func(job int64) inventory.Terms {
		basis, err := shop.Basis(ctx, job)
		require.NoError(t, err)
		ready, err := Prepare(basis)
		require.NoError(t, err)
		q := plan.Request{Jobs: []plan.JobRequest{ready.Job(shim.Lift{})}, Box: ready.Box, Margin: plan.DefaultMargin}
		q.Offers, q.OnOrder = Offers([]*Ready{ready}, offers)
		p, err := plan.Make(ctx, q)
		require.NoError(t, err)
		plans, err := shop.PlanTogether(ctx, []inventory.Proposal{ready.Proposal(p, nil)})
		require.NoError(t, err)
		require.Len(t, plans[0].Placements, 1)
		return plans[0].Placements[0].Terms
	}
	north := inventory.Terms{Supplier: "North", Part: "N-235", Quote: shim.Quote{Price: 70_000, Priced: true}}
	south := inventory.Terms{Supplier: "South", Part: "S-235", Quote: shim.Quote{Price: 90_000, Priced: true}}
	assert.Equal(t, north, make(first))
	assert.Equal(t, south, make(second), "the first job's plan buys the only one")
	assert.Equal(t, north, make(first), "planned again, it has its own piece back")
	_, err := shop.Order(ctx, nil)
	require.NoError(t, err)
	assert.Equal(t, north, make(first), "on order")
	assert.Equal(t, south, make(second))

	// Its own piece on order goes before one that is on order for nobody.
	_, err = shop.Order(ctx, nil)
	require.NoError(t, err)
	_, err = shop.Cancel(ctx, first, "")
	require.NoError(t, err)
	assert.Equal(t, south, make(second))
	first = another(t, shop, second)
	assert.Equal(t, north, make(first), "what is on order for nobody")

	// Planned together they share it too.
	_, err = shop.Withdraw(ctx, nil)
	require.NoError(t, err)
	list, err := shop.Shopping(ctx)
	require.NoError(t, err)
	require.Len(t, list, 2, "what was taken back is to be ordered as it was")
	bases, err := shop.Bases(ctx, first, second)
	require.NoError(t, err)
	ready, skipped := Together(bases)
	require.Empty(t, skipped)
	q := Request(ready, shim.Lift{})
	q.Margin = plan.DefaultMargin
	q.Offers, q.OnOrder = Offers(ready, offers)
	p, err := plan.Make(ctx, q)
	require.NoError(t, err)
	terms := []inventory.Terms{ready[0].Proposal(p.Alone(0), nil).Placements[0].Terms, ready[1].Proposal(p.Alone(1), nil).Placements[0].Terms}
	assert.ElementsMatch(t, []inventory.Terms{north, south}, terms)
}

// Another spelling of a name is the same supplier, also among rows that were
// kept in several; the shop keeps to the first.
func TestSpellingsOfSupplierShareStock(t *testing.T) {
	ctx := context.Background()
	shop, first := measured(t, nil, map[string]string{"ex1a": "0.17"})
	second, third := another(t, shop, first), another(t, shop, first)
	make := func(job int64, name string, stock int, keptAs string) string {
		offers := []shim.Offer{
			{Disc: shim.Disc{Family: shim.Family{Diameter: sample.Sandpiper().Diameter}, Size: mm(t, "2.35")}, Quote: shim.Quote{Price: 70_000, Priced: true}, Limited: true, Stock: stock, Supplier: name},
			{Disc: shim.Disc{Family: shim.Family{Diameter: sample.Sandpiper().Diameter}, Size: mm(t, "2.35")}, Quote: shim.Quote{Price: 90_000, Priced: true}, Supplier: "South"},
		}
		basis, err := shop.Basis(ctx, job)
		require.NoError(t, err)
		ready, err := Prepare(basis)
		require.NoError(t, err)
		q := plan.Request{Jobs: []plan.JobRequest{ready.Job(shim.Lift{})}, Box: ready.Box, Margin: plan.DefaultMargin}
		q.Offers, q.OnOrder = Offers([]*Ready{ready}, offers)
		p, err := plan.Make(ctx, q)
		require.NoError(t, err)
		proposal := ready.Proposal(p, nil)
		if keptAs != "" {
			proposal.Placements[0].Supplier = keptAs
		}
		plans, err := shop.PlanTogether(ctx, []inventory.Proposal{proposal})
		require.NoError(t, err)
		return plans[0].Placements[0].Supplier
	}
	assert.Equal(t, "North Road", make(first, "North Road", 1, ""))
	assert.Equal(t, "South", make(second, "NORTH  road", 1, ""), "the only one is bought already")
	assert.Equal(t, "North Road", make(second, " northroad", 2, ""), "in the first spelling")
	make(second, "North Road", 2, "NORTH ROAD")
	assert.Equal(t, "South", make(third, "North Road", 2, ""), "both are bought already")
}

// another opens a second job with the readings of the first.
func another(t *testing.T, shop *inventory.Shop, like int64) int64 {
	t.Helper()
	ctx := context.Background()
	f, err := shop.Job(ctx, like)
	require.NoError(t, err)
	job, err := shop.OpenJob(ctx, inventory.Opening{Spec: f.Engine.Spec, Source: "invented"})
	require.NoError(t, err)
	_, err = shop.Read(ctx, job.ID, f.Checks[0].Readings, "")
	require.NoError(t, err)
	return job.ID
}

// A shim that is told after the clearance, once another command has booked
// something, is the one that the clearance was measured with.
func TestShimToldLater(t *testing.T) {
	ctx := context.Background()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	spec := sample.Sandpiper()
	job, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "invented"})
	require.NoError(t, err)
	v := valve(t, "in1a")
	_, err = shop.Read(ctx, job.ID, []shim.Measurement{{Valve: v, Reading: shim.ReadingOf(mm(t, "0.15"))}}, "")
	require.NoError(t, err)
	basis, err := shop.Basis(ctx, job.ID)
	require.NoError(t, err)
	ready, err := Prepare(basis)
	require.NoError(t, err)
	assert.True(t, ready.Unseen)
	_, err = shop.Receive(ctx, []inventory.Item{{Lot: inventory.Lot{Family: shim.Family{Diameter: spec.Diameter}, Marks: shim.Marks{Stamp: mm(t, "2.5")}}, Count: 1}})
	require.NoError(t, err)
	_, err = shop.Read(ctx, job.ID, []shim.Measurement{{Valve: v, Marks: shim.Marks{Stamp: mm(t, "2.45")}}}, "")
	require.NoError(t, err)
	basis, err = shop.Basis(ctx, job.ID)
	require.NoError(t, err)
	require.Len(t, basis.Readings, 1)
	assert.Equal(t, mm(t, "2.45"), basis.Readings[0].Size())
}

// Pieces of one size are told apart by how it is known.
func TestMikedPieces(t *testing.T) {
	ctx := context.Background()
	shop, job := measured(t, []string{"2.350"}, nil)
	diameter := sample.Sandpiper().Diameter
	for _, mic := range []string{"2.350", "2.372"} {
		_, err := shop.Receive(ctx, []inventory.Item{{Lot: inventory.Lot{Family: shim.Family{Diameter: diameter}, Marks: shim.Marks{Stamp: mm(t, "2.375"), Mic: mm(t, mic)}}, Count: 2}})
		require.NoError(t, err)
	}
	basis, err := shop.Basis(ctx, job)
	require.NoError(t, err)
	ready, err := Prepare(basis)
	require.NoError(t, err)
	row := func(stamp, mic string, count int) shim.BoxRow {
		r := shim.BoxRow{Marks: shim.Marks{Stamp: mm(t, stamp)}, Family: shim.Family{Diameter: diameter}, Count: count}
		if mic != "" {
			r.Mic = mm(t, mic)
		}
		return r
	}
	assert.Equal(t, []shim.BoxRow{row("2.35", "", 1), row("2.35", "2.35", 2), row("2.372", "2.372", 2)}, ready.Box)
}

// Two jobs want the one free piece and one of them can take another: the joint
// plan serves both without buying, in whichever order they came.
// Jobs that share one family of two: the box and what is on order count once for
// each family, and a piece of one family never serves the other.
func TestTogetherFamilies(t *testing.T) {
	ctx := context.Background()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	discs, closers := shim.Family{Diameter: mm(t, "7.5")}, shim.Family{Kind: "closer", Diameter: mm(t, "7.5")}
	for _, f := range []shim.Family{discs, closers} {
		_, err := shop.Receive(ctx, []inventory.Item{{Lot: inventory.Lot{Family: f, Marks: shim.Marks{Stamp: mm(t, "2.4")}}, Count: 1}})
		require.NoError(t, err)
	}
	open := func(spec shim.Engine) int64 {
		job, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: spec.Name})
		require.NoError(t, err)
		var list []shim.Measurement
		for _, v := range spec.Valves() {
			m := shim.Measurement{Valve: v, Reading: shim.ReadingOf(spec.TrainOf(v).Aim()), Marks: shim.Marks{Stamp: mm(t, "2.4")}}
			if v.Side == shim.Intake { // each wants 2.400
				m.Reading = shim.ReadingOf(spec.TrainOf(v).Aim() + mm(t, "0.2"))
				m.Stamp = mm(t, "2.2")
			}
			list = append(list, m)
		}
		_, err = shop.Read(ctx, job.ID, list, "")
		require.NoError(t, err)
		return job.ID
	}
	first, second := open(sample.Turnstone()), open(sample.Phalarope())
	bases, err := shop.Bases(ctx, first, second)
	require.NoError(t, err)
	ready, skipped := Together(bases)
	require.Empty(t, skipped)
	q := Request(ready, shim.Lift{})
	assert.Equal(t, []shim.BoxRow{
		{Family: discs, Marks: shim.Marks{Stamp: mm(t, "2.4")}, Count: 1},
		{Family: closers, Marks: shim.Marks{Stamp: mm(t, "2.4")}, Count: 1},
	}, q.Box)

	_, kept, skipped, err := Planner{}.PlanAll(ctx, shop)
	require.NoError(t, err)
	require.Empty(t, skipped)
	sources := map[inventory.Source]int{}
	for _, k := range kept {
		for _, p := range k.Placements {
			sources[p.Source]++
			if p.Valve.Closer {
				assert.Equal(t, inventory.SourceDrawn, p.Source)
			}
		}
	}
	assert.Equal(t, map[inventory.Source]int{inventory.SourceDrawn: 2, inventory.SourceBought: 1}, sources, "one disc of 2.4 for two openers")
	list, err := shop.Shopping(ctx)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, discs, list[0].Family)
	assert.Equal(t, int64(78000), int64(list[0].Price))
}

// A closer that stands empty is planned with a closer's shim of the box, not with
// the disc that would be nearer, and a piece is bought on its own family's terms.
func TestPrepareFamilies(t *testing.T) {
	spec := sample.Phalarope()
	family := spec.FamilyOf(valve(t, "in1.closer"))
	disc := shim.Family{Diameter: family.Diameter}
	basis := inventory.Basis{Engine: inventory.Engine{Spec: spec}, Free: []inventory.Stock{
		{Disc: disc.Of(mm(t, "2.4")), OnHand: 1}, {Disc: family.Of(mm(t, "2.35")), OnHand: 1},
	}}
	for _, s := range basis.Free {
		basis.Lots = append(basis.Lots, inventory.Balance{Lot: inventory.Lot{Family: s.Family, Marks: shim.Marks{Stamp: s.Size, Mic: s.Size}}, Count: s.OnHand})
	}
	for _, v := range spec.Valves() {
		m := shim.Measurement{Valve: v, Reading: shim.ReadingOf(spec.TrainOf(v).Aim()), Marks: shim.Marks{Stamp: mm(t, "2.4")}}
		basis.Readings = append(basis.Readings, m)
		basis.Seats = append(basis.Seats, inventory.Seat{Valve: v, Marks: m.Marks, Empty: v == valve(t, "in1.closer")})
	}
	r, err := Prepare(basis)
	require.NoError(t, err)
	require.Len(t, r.StandIns, 1)
	assert.Equal(t, mm(t, "2.35"), r.StandIns[0].Size())
	assert.Equal(t, []shim.BoxRow{{Family: disc, Marks: shim.Marks{Stamp: mm(t, "2.4"), Mic: mm(t, "2.4")}, Count: 1}}, r.Box)

	size, quote := mm(t, "2.5"), shim.Quote{Price: 90000, Priced: true}
	basis.Market = []inventory.Purchase{{Job: 9, Disc: family.Of(size), Ordered: 1, Terms: inventory.Terms{Supplier: "North", Part: "D"}}}
	r.basis = basis
	offers, _ := Offers([]*Ready{r}, []shim.Offer{
		{Disc: shim.Family{}.Of(size), Quote: quote, Limited: true, Stock: 1, Supplier: "North", Part: "D"},
		{Disc: shim.Family{Kind: "closer"}.Of(size), Quote: quote, Supplier: "North", Part: "C"},
	})
	assert.Equal(t, 1, offers[0].Stock, "what another job has on order is a closer's shim")
	for part, f := range map[string]shim.Family{"C": family, "D": disc} {
		assert.Equal(t, part, r.supply.take(1, f, &plan.ValvePlan{Size: size, Quote: quote}).Part)
	}
}

func TestTogether(t *testing.T) {
	ctx := context.Background()
	shop, first := measured(t, []string{"2.350", "2.320"}, map[string]string{"ex1a": "0.17"}) // 2.335 ± 0.035: both do
	open := func(clearances ...string) int64 {
		spec := sample.Sandpiper()
		job, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "invented"})
		require.NoError(t, err)
		var list []shim.Measurement
		for i, c := range clearances {
			list = append(list, shim.Measurement{Valve: spec.Valves()[i], Reading: shim.ReadingOf(mm(t, c)), Marks: shim.Marks{Stamp: mm(t, "2.4")}})
		}
		if list != nil {
			_, err = shop.Read(ctx, job.ID, list, "")
			require.NoError(t, err)
		}
		return job.ID
	}
	// in1a needs 2.325 ± 0.035, ex1a 2.300 ± 0.035: of the two only 2.320 does for ex1a.
	second := open("0.175", "0.175", "0.135", "0.235", "0.175", "0.175", "0.235", "0.235")
	partly := open("0.175", "0.175")
	bases, err := shop.Bases(ctx, first, second, partly)
	require.NoError(t, err)
	ready, skipped := Together(bases)
	require.Len(t, ready, 2)
	require.Len(t, skipped, 1)
	assert.Equal(t, partly, skipped[0].Job.ID)
	assert.Equal(t, "6 valves are not read yet", skipped[0].Why)

	q := Request(ready, shim.Lift{})
	require.Len(t, q.Box, 2, "the box counts once")
	q.Margin = plan.DefaultMargin
	p, err := plan.Make(context.Background(), q)
	require.NoError(t, err)
	assert.Equal(t, 0, p.Criteria.Bought)
	assert.Equal(t, 2, p.Criteria.Drawn)
	var list []inventory.Proposal
	for i, r := range ready {
		list = append(list, r.Proposal(p.Alone(i), nil))
	}
	plans, err := shop.PlanTogether(ctx, list)
	require.NoError(t, err)
	assert.Equal(t, []inventory.Placement{{Valve: valve(t, "ex1a"), Size: mm(t, "2.35"), Source: inventory.SourceDrawn, Counted: inventory.ByStamp}}, plans[0].Placements)
	assert.Equal(t, []inventory.Placement{{Valve: valve(t, "ex1a"), Size: mm(t, "2.32"), Source: inventory.SourceDrawn, Counted: inventory.ByStamp}}, plans[1].Placements)

	// What they hold is free to them again.
	bases, err = shop.Bases(ctx, second, first)
	require.NoError(t, err)
	ready, skipped = Together(bases)
	require.Empty(t, skipped)
	again := Request(ready, shim.Lift{})
	assert.Equal(t, q.Box, again.Box)

	// What is on order for a job belongs to it.
	_, err = shop.PlanTogether(ctx, []inventory.Proposal{{Job: first, Revision: bases[0].Revision, Placements: []inventory.Placement{{Valve: valve(t, "ex1a"), Size: mm(t, "2.35"), Source: inventory.SourceBought}}}})
	require.NoError(t, err)
	_, err = shop.Order(ctx, nil)
	require.NoError(t, err)
	bases, err = shop.Bases(ctx, second, first)
	require.NoError(t, err)
	_, skipped = Together(bases)
	require.Len(t, skipped, 1)
	assert.Equal(t, Skip{bases[1].Job, "shims are on order for it"}, skipped[0])
}

// A ring of shims on top that no crank position opens at once is broken by a
// piece of the box. The job holds it until the valve has its own shim; it never
// leaves the ledger's box, and is free again once the ring is fitted, the job is
// planned otherwise or given up.
func TestTemporaryShimIsHeldForTheJob(t *testing.T) {
	ctx := context.Background()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	spec := sample.Sandpiper()
	spec.Name, spec.Access, spec.FiringOrder, spec.FiringIntervals = "Grebe 400 twin", shim.ByValve, nil, nil
	for _, size := range []string{"2.200", "2.900"} {
		_, err := shop.Receive(ctx, []inventory.Item{{Lot: inventory.Lot{Family: shim.Family{Diameter: spec.Diameter}, Marks: shim.Marks{Stamp: mm(t, size)}}, Count: 1}})
		require.NoError(t, err)
	}
	open := func() int64 {
		job, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "invented"})
		require.NoError(t, err)
		var list []shim.Measurement
		for _, v := range spec.Valves() {
			m := shim.Measurement{Valve: v, Reading: shim.ReadingOf(mm(t, "0.175")), Marks: shim.Marks{Stamp: mm(t, "2.4")}}
			if v.Side == shim.Exhaust {
				m.Reading = shim.ReadingOf(mm(t, "0.235"))
			}
			switch v.String() {
			case "ex1a": // needs 2.500, the other 2.400
				m.Reading = shim.ReadingOf(mm(t, "0.335"))
			case "ex2a":
				m.Reading, m.Stamp = shim.ReadingOf(mm(t, "0.135")), mm(t, "2.5")
			}
			list = append(list, m)
		}
		_, err = shop.Read(ctx, job.ID, list, "")
		require.NoError(t, err)
		return job.ID
	}
	holds := func(job int64) map[shim.Length]int {
		f, err := shop.Job(ctx, job)
		require.NoError(t, err)
		held := map[shim.Length]int{}
		for _, h := range f.Holds {
			held[h.Size()] += h.Count
		}
		found, err := shop.Check(ctx)
		require.NoError(t, err)
		assert.Empty(t, found)
		return held
	}
	make := func(job int64) (*plan.Plan, inventory.KeptPlan) {
		basis, err := shop.Basis(ctx, job)
		require.NoError(t, err)
		ready, err := Prepare(basis)
		require.NoError(t, err)
		p, err := plan.Make(ctx, plan.Request{Jobs: []plan.JobRequest{ready.Job(shim.Lift{})}, Box: ready.Box, NoBuy: true, Margin: plan.DefaultMargin})
		require.NoError(t, err)
		plans, err := shop.PlanTogether(ctx, []inventory.Proposal{ready.Proposal(p, nil)})
		require.NoError(t, err)
		return p, plans[0]
	}

	job := open()
	p, kept := make(job)
	require.Equal(t, 0, p.Criteria.Drawn, "%+v", p.Jobs[0].Moves)
	require.Len(t, p.Jobs[0].Moves, 3)
	temporary := kept.Placements[0]
	if temporary.Temporary == 0 {
		temporary = kept.Placements[1]
	}
	require.Equal(t, mm(t, "2.2"), temporary.Temporary, "%+v", kept.Placements)
	assert.Equal(t, map[shim.Length]int{mm(t, "2.2"): 1}, holds(job))
	f, err := shop.Job(ctx, job)
	require.NoError(t, err)
	picks := f.Picks
	assert.Equal(t, inventory.Pick{Placement: temporary, Lot: inventory.Lot{Family: shim.Family{Diameter: spec.Diameter}, Marks: shim.Marks{Stamp: mm(t, "2.2")}}, OnHand: true, ForNow: true}, picks[len(picks)-1])

	// Another job that wants it as well goes without.
	second := open()
	other, _ := make(second)
	assert.Len(t, other.Jobs[0].Wants, 1)
	assert.Empty(t, other.Jobs[0].Moves)

	// Half of the ring is in: the valve that waits still has it.
	waits, first := temporary.Valve, p.Jobs[0].Moves[1].Valve
	_, err = shop.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{first}})
	require.NoError(t, err)
	assert.Equal(t, 1, holds(job)[mm(t, "2.2")])
	basis, err := shop.Basis(ctx, job)
	require.NoError(t, err)
	ready, err := Prepare(basis)
	require.NoError(t, err)
	require.Len(t, ready.StandIns, 1)
	assert.Equal(t, inventory.Seat{Valve: waits, Marks: shim.Marks{Stamp: mm(t, "2.2")}}, ready.StandIns[0], "what sits there is what is planned with")
	_, err = shop.Fit(ctx, job, inventory.Fit{})
	require.NoError(t, err)
	assert.Empty(t, holds(job), "the ring is in: it is free again")
	stock, err := shop.Balances(ctx, inventory.StockFilter{Disc: shim.Disc{Family: shim.Family{Diameter: spec.Diameter}}})
	require.NoError(t, err)
	counts := map[shim.Length]int{}
	for _, b := range stock {
		counts[b.Size()] += b.Count
	}
	assert.Equal(t, map[shim.Length]int{mm(t, "2.2"): 1, mm(t, "2.9"): 1}, counts, "both are where they were")

	// Planned again, the second job gets it; given up, it gives it back.
	other, _ = make(second)
	assert.Empty(t, other.Jobs[0].Wants)
	assert.Equal(t, map[shim.Length]int{mm(t, "2.2"): 1}, holds(second))
	_, err = shop.Cancel(ctx, second, "")
	require.NoError(t, err)
	assert.Empty(t, holds(second))
}
