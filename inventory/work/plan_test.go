package work

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/memory"
	"shimwright/inventory/sample"
	"shimwright/shim"
	"shimwright/shim/plan"
)

// receive puts a piece into the box.
func receive(t *testing.T, shop *inventory.Shop, size string) {
	t.Helper()
	_, err := shop.Receive(context.Background(), []inventory.Item{{Lot: inventory.Lot{Family: shim.Family{Diameter: sample.Sandpiper().Diameter}, Marks: shim.Marks{Stamp: mm(t, size)}}, Count: 1}})
	require.NoError(t, err)
}

// noBuy plans on the box alone.
func noBuy(shim.UnitPair) (*plan.Request, error) {
	return &plan.Request{NoBuy: true, Margin: plan.DefaultMargin}, nil
}

// A watched store reports whether somebody books, so that others wait.
type watched struct {
	inventory.Store
	booking bool
}

func (w *watched) Update(ctx context.Context, f func(inventory.Writer) error) error {
	return w.Store.Update(ctx, func(r inventory.Writer) error {
		w.booking = true
		defer func() { w.booking = false }()
		return f(r)
	})
}

func TestPlanIsKept(t *testing.T) {
	ctx := context.Background()
	shop, job := measured(t, []string{"2.325"}, map[string]string{"ex1a": "0.17"})
	draft, err := Draft(ctx, shop, job)
	require.NoError(t, err)
	made, kept, err := Planner{Terms: noBuy}.Plan(ctx, shop, draft)
	require.NoError(t, err)
	assert.True(t, made.Settled())
	assert.Equal(t, inventory.StatePlanned, kept.File.Job.State)
	require.Len(t, kept.Placements, 1)
	assert.Equal(t, mm(t, "2.325"), kept.Placements[0].Size)
	assert.Equal(t, 1, Held(kept.File))
	assert.False(t, kept.Nothing || kept.FitStands() || kept.HalfFitStands())
	read, err := PlanOf(kept.File, kept.File.Plan)
	require.NoError(t, err)
	assert.Equal(t, made.Jobs[0].Valves, read.Jobs[0].Valves, "the shop has the very plan")
}

// A box that changes while a job is planned is planned on anew, the last time
// with nobody else booking; the plan that is kept is the best on the box as it
// is at last.
func TestPlanOnAChangingBox(t *testing.T) {
	ctx := context.Background()
	for changes := 0; changes <= tries; changes++ {
		store := &watched{Store: memory.New()}
		shop, job := measuredIn(t, store, []string{"2.300"}, map[string]string{"ex1a": "0.17"})
		draft, err := Draft(ctx, shop, job)
		require.NoError(t, err)
		made, told := 0, []bool(nil)
		sizes := []string{"2.310", "2.315", "2.335"}
		planner := Planner{Changed: func(last bool) { told = append(told, last) }}
		planner.Terms = func(shim.UnitPair) (*plan.Request, error) {
			return &plan.Request{NoBuy: true, Margin: plan.DefaultMargin, Policy: plan.Target}, nil
		}
		planner.Make = func(ctx context.Context, q *plan.Request) (*plan.Plan, error) {
			p, err := plan.Make(ctx, *q)
			assert.Equal(t, made == tries, store.booking, "others wait on the last try alone")
			if made < changes {
				receive(t, shop, sizes[made])
			}
			made++
			return p, err
		}
		_, kept, err := planner.Plan(ctx, shop, draft)
		require.NoError(t, err, "%d changes", changes)
		assert.Equal(t, changes+1, made)
		want := make([]bool, changes)
		if changes == tries {
			want[tries-1] = true
		}
		assert.ElementsMatch(t, want, told, "%d changes", changes)
		best := "2.300"
		if changes > 0 {
			best = sizes[changes-1]
		}
		require.Len(t, kept.Placements, 1)
		assert.Equal(t, mm(t, best), kept.Placements[0].Size, "%d changes", changes)
	}
}

// Where planning again fails, nothing is kept.
func TestPlanAgainFails(t *testing.T) {
	ctx := context.Background()
	shop, job := measured(t, []string{"2.325"}, map[string]string{"ex1a": "0.17"})
	draft, err := Draft(ctx, shop, job)
	require.NoError(t, err)
	broken, made := errors.New("broken off"), 0
	_, _, err = Planner{Terms: noBuy, Make: func(ctx context.Context, q *plan.Request) (*plan.Plan, error) {
		if made++; made > 1 {
			return nil, broken
		}
		receive(t, shop, "2.330")
		return plan.Make(ctx, *q)
	}}.Plan(ctx, shop, draft)
	require.ErrorIs(t, err, broken)
	f, err := shop.Job(ctx, job)
	require.NoError(t, err)
	assert.Equal(t, inventory.StateMeasured, f.Job.State)
	assert.Empty(t, f.Holds)
}

func TestDraftWantsReadings(t *testing.T) {
	ctx := context.Background()
	shop, _ := measured(t, nil, nil)
	job, err := shop.OpenJob(ctx, inventory.Opening{Spec: sample.Sandpiper(), Source: "invented"})
	require.NoError(t, err)
	_, err = Draft(ctx, shop, job.ID)
	require.ErrorIs(t, err, ErrNotRead)
	require.ErrorIs(t, err, inventory.ErrState)
}

// Clearances alone are planned on the shims that an earlier visit left, and
// nothing is kept.
func TestPlanBeforeTeardown(t *testing.T) {
	ctx := context.Background()
	shop, earlier := measured(t, []string{"2.325"}, nil)
	spec := sample.Sandpiper()
	job, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "invented"})
	require.NoError(t, err)
	old, err := shop.Job(ctx, earlier)
	require.NoError(t, err)
	list := Record(old, &spec, nil)
	for i := range list {
		list[i].Marks = shim.Marks{}
		if list[i].Valve == valve(t, "ex1a") {
			list[i].Reading = shim.ReadingOf(mm(t, "0.17"))
		}
	}
	_, err = shop.Read(ctx, job.ID, list, "")
	require.NoError(t, err)
	draft, err := Draft(ctx, shop, job.ID)
	require.NoError(t, err)
	from, err := draft.Earlier(ctx, shop, earlier)
	require.NoError(t, err)
	assert.False(t, from.OtherMachine)
	draft.Recall(from)
	made, kept, err := Planner{Terms: noBuy}.Plan(ctx, shop, draft)
	require.NoError(t, err)
	assert.Nil(t, kept)
	assert.True(t, made.Jobs[0].Provisional)
	for _, v := range made.Jobs[0].Valves {
		assert.Equal(t, mm(t, "2.4"), v.Installed, "%s", v.Valve)
	}
	f, err := shop.Job(ctx, job.ID)
	require.NoError(t, err)
	assert.Equal(t, inventory.StateMeasured, f.Job.State)

	seen, err := Draft(ctx, shop, earlier)
	require.NoError(t, err)
	_, err = seen.Earlier(ctx, shop, job.ID)
	require.ErrorIs(t, err, ErrAllSeen)
}

func TestPlanAll(t *testing.T) {
	ctx := context.Background()
	shop, first := measured(t, []string{"2.325"}, map[string]string{"ex1a": "0.17"})
	f, err := shop.Job(ctx, first)
	require.NoError(t, err)
	second, err := shop.OpenJob(ctx, inventory.Opening{Spec: f.Engine.Spec, Source: "invented"})
	require.NoError(t, err)
	_, err = shop.Read(ctx, second.ID, Record(f, &f.Engine.Spec, nil), "")
	require.NoError(t, err)
	third, err := shop.OpenJob(ctx, inventory.Opening{Spec: f.Engine.Spec, Source: "invented"})
	require.NoError(t, err)
	_, err = shop.Read(ctx, third.ID, Record(f, &f.Engine.Spec, nil)[1:], "")
	require.NoError(t, err)
	changed := 0
	made, kept, skipped, err := Planner{Terms: noBuy, Changed: func(bool) { changed++ }, Make: func(ctx context.Context, q *plan.Request) (*plan.Plan, error) {
		if changed == 0 {
			defer receive(t, shop, "2.330")
		}
		return plan.Make(ctx, *q)
	}}.PlanAll(ctx, shop)
	require.NoError(t, err)
	assert.Equal(t, 1, changed)
	assert.True(t, made.Settled(), "the second piece came in between")
	require.Len(t, kept, 2)
	assert.Equal(t, []int64{first, second.ID}, []int64{kept[0].Job, kept[1].Job})
	assert.Equal(t, 2, Held(kept[0].File)+Held(kept[1].File))
	require.Len(t, skipped, 1)
	assert.Equal(t, third.ID, skipped[0].Job.ID)
}

func TestPlanAllOfNone(t *testing.T) {
	ctx := context.Background()
	shop, job := measured(t, nil, nil)
	f, err := shop.Job(ctx, job)
	require.NoError(t, err)
	_, err = shop.Cancel(ctx, job, "")
	require.NoError(t, err)
	_, _, _, err = Planner{}.PlanAll(ctx, shop)
	require.ErrorIs(t, err, ErrNoneReady)
	second, err := shop.OpenJob(ctx, inventory.Opening{Spec: f.Engine.Spec, Source: "invented"})
	require.NoError(t, err)
	_, err = shop.Read(ctx, second.ID, Record(f, &f.Engine.Spec, nil)[1:], "")
	require.NoError(t, err)
	_, _, _, err = Planner{}.PlanAll(ctx, shop)
	var none *NoneError
	require.ErrorAs(t, err, &none)
	require.Len(t, none.Skipped, 1)
}
