package storetest

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

// snapshot is all that a shop shows.
type snapshot struct {
	Ledger  []inventory.Movement
	Lots    []inventory.Balance
	Stocks  []inventory.Stock
	Jobs    []inventory.Job
	Files   []inventory.File
	Demands []inventory.Demand
}

// Show gives all that a shop shows, to compare shops by.
func Show(t *testing.T, s *inventory.Shop) any { return take(t, s) }

func take(t *testing.T, s *inventory.Shop) (x snapshot) {
	t.Helper()
	var err error
	x.Ledger, err = s.History(ctx, inventory.MovementFilter{})
	require.NoError(t, err)
	x.Lots, err = s.Balances(ctx, inventory.StockFilter{})
	require.NoError(t, err)
	x.Stocks, err = s.Stocks(ctx, inventory.StockFilter{})
	require.NoError(t, err)
	x.Jobs, err = s.Jobs(ctx, inventory.JobFilter{})
	require.NoError(t, err)
	x.Demands, err = s.Shopping(ctx)
	require.NoError(t, err)
	for _, j := range x.Jobs {
		f, err := s.Job(ctx, j.ID)
		require.NoError(t, err)
		x.Files = append(x.Files, f)
	}
	return x
}

// invariants compares both shops with each other and each with the rules.
func (w *walk) invariants() {
	w.t.Helper()
	got, want := take(w.t, w.shops[0]), take(w.t, w.shops[1])
	require.Equal(w.t, want, got, w.name)
	Invariants(w.t, w.shops[0], w.name)
	found, err := w.shops[1].Check(ctx)
	require.NoError(w.t, err)
	require.Empty(w.t, found, w.name)
}

// Invariants checks a shop for what must be true after every command: it
// passes its own check; the box is the sum of the ledger, added up here again;
// pieces in are pieces out and on hand; what is reserved is on hand; and no
// piece is in two places.
func Invariants(t *testing.T, s *inventory.Shop, name string) {
	t.Helper()
	found, err := s.Check(ctx)
	require.NoError(t, err, name)
	require.Empty(t, found, name)

	x := take(t, s)
	sum, in, out := map[inventory.Lot]int{}, 0, 0
	for _, m := range x.Ledger {
		sum[m.Lot] += m.Count
		require.GreaterOrEqual(t, sum[m.Lot], 0, "%s: movement %d", name, m.Seq)
		if m.Count > 0 {
			in += m.Count
		} else {
			out -= m.Count
		}
	}
	onHand := 0
	for _, b := range x.Lots {
		require.Equal(t, sum[b.Lot], b.Count, "%s: %v", name, b.Lot)
		delete(sum, b.Lot)
		onHand += b.Count
	}
	for lot, n := range sum {
		require.Zero(t, n, "%s: %v", name, lot)
	}
	require.Equal(t, in, out+onHand, name)
	ordered(t, x, name)

	reserved, promised := map[shim.Disc]int{}, map[inventory.Lot]int{}
	for _, f := range x.Files {
		onePlace(t, f, name)
		for _, h := range f.Holds {
			reserved[h.Disc()] += h.Count
			promised[h.Lot] += h.Count
		}
	}
	for _, b := range x.Lots {
		require.LessOrEqual(t, promised[b.Lot], b.Count, "%s: promised of %v", name, b.Lot)
		delete(promised, b.Lot)
	}
	require.Empty(t, promised, "%s: promised and not on hand", name)
	for _, k := range x.Stocks {
		require.LessOrEqual(t, k.Reserved, k.OnHand, name)
		require.Equal(t, reserved[k.Disc], k.Reserved, name)
		delete(reserved, k.Disc)
	}
	require.Empty(t, reserved, "%s: reserved and not on hand", name)
}

// onePlace checks that every valve is given shims of its own family alone, and that in each valve of a job pulled and fitted take turns: a
// second shim never goes into a valve whose first one is still there. In a fresh
// build the first one goes into a valve that the ledger knows no shim of.
func onePlace(t *testing.T, f inventory.File, name string) {
	t.Helper()
	inside := map[shim.Valve]int{}
	for _, m := range f.Movements {
		if m.Kind != inventory.KindPulled && m.Kind != inventory.KindFitted {
			continue
		}
		require.Equal(t, f.Engine.Spec.FamilyOf(m.Valve), m.Family, "%s: job %d valve %s movement %d", name, f.Job.ID, m.Valve, m.Seq)
		if _, known := inside[m.Valve]; f.Job.Build && !known {
			inside[m.Valve] = -1
		}
		inside[m.Valve] -= m.Count
		require.Contains(t, []int{0, -1}, inside[m.Valve], "%s: job %d valve %s movement %d", name, f.Job.ID, m.Valve, m.Seq)
	}
	for valve, n := range inside {
		for _, seat := range f.Seats {
			if seat.Valve == valve {
				require.Equal(t, n == -1, seat.Empty || seat.SetUp, "%s: job %d valve %s", name, f.Job.ID, valve)
			}
		}
	}
}

// ordered checks that no job at its end has anything on order, that every job's
// purchases are what came in for it, and that nobody has to buy what the shop
// has on order.
func ordered(t *testing.T, x snapshot, name string) {
	t.Helper()
	for _, f := range x.Files {
		came := 0
		for _, m := range f.Movements {
			if m.Kind == inventory.KindReceived {
				came += m.Count
			}
		}
		for _, p := range f.Purchases {
			came -= p.Arrived
			if f.Job.State.Final() {
				require.Equal(t, []int{0, 0}, []int{p.Missing(), p.Coming()}, "%s: job %d", name, f.Job.ID)
			}
		}
		require.Zero(t, came, "%s: job %d", name, f.Job.ID)
	}
	missing, spare := map[shim.Disc]int{}, map[shim.Disc]int{}
	for _, d := range x.Demands {
		missing[d.Disc] += d.Missing
		spare[d.Disc] += d.Spare
	}
	for size, n := range spare {
		require.Zero(t, min(n, missing[size]), "%s: %v", name, size)
	}
}
