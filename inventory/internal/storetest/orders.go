package storetest

import (
	"cmp"
	"maps"
	"slices"

	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/testdata/orders"
)

// A parcel is what one booking did to the orders.
type parcel struct {
	arrived, used []orders.Arrival
	again         bool // it took the undo of a receipt back
}

// atWork lists the jobs that are not at their end.
func (w *walk) atWork() []int64 {
	return slices.DeleteFunc(w.orders.Jobs(), func(job int64) bool { return w.files[job].Job.State.Final() })
}

// counted is what the own count of what is on order goes by of a job's file.
func counted(f inventory.File) orders.Job {
	is := orders.Job{Plan: number(f), Needs: map[shim.Disc]int{}, Release: f.Job.State.Final() || f.Plan != nil && f.Job.State != inventory.StateRechecked}
	if f.Plan != nil && !f.Job.State.Final() {
		for _, p := range f.Left {
			if p.Source == inventory.SourceBought {
				is.Needs[f.Engine.Spec.FamilyOf(p.Valve).Of(p.Size)]++
			}
		}
	}
	return is
}

func number(f inventory.File) int {
	if f.Plan == nil {
		return 0
	}
	return f.Plan.Number
}

// toOrder is what the jobs have to order, the oldest first. The count is the own
// one; which supplier it is to come from is the plan's affair.
func (w *walk) toOrder() (list []orders.Arrival) {
	for _, job := range w.orders.Jobs() {
		told, sums := map[orders.Line]int{}, map[shim.Disc]int{}
		for _, p := range w.purchases(job) {
			if n := p.Needed - p.Ordered; n > 0 {
				told[orders.Line{Disc: p.Disc, Supplier: p.Supplier}] += n
				sums[p.Disc] += n
			}
		}
		for d, n := range sums {
			require.Equal(w.t, w.orders.Missing(job, d), n, "%s: job %d has to order %s", w.name, job, d)
		}
		list = append(list, orders.For(job, told, false)...)
	}
	return list
}

func (w *walk) purchases(job int64) []inventory.Purchase {
	f, err := w.shops[1].Job(ctx, job)
	require.NoError(w.t, err)
	return f.Purchases
}

// open is all that pieces may come for.
func (w *walk) open() []orders.Arrival { return append(w.orders.OnOrder(), w.toOrder()...) }

// named is the supplier that a command names; where it names none, any will do.
func named(supplier string) string { return cmp.Or(supplier, orders.Any) }

// route tells for whom the pieces of a parcel are.
func (w *walk) route(items []inventory.Item) (list []orders.Arrival) {
	wanted := w.toOrder()
	for _, i := range items {
		list = append(list, w.orders.Route(wanted, list, i.Disc(), named(i.Supplier), i.Count)...)
	}
	return list
}

// due are the orders that bought pieces come off which a fit books in, out of what
// was open: what is on order for the job, else what it has to order.
func (w *walk) due(job int64, open []orders.Arrival, rows []inventory.Movement) (list []orders.Arrival) {
	for _, m := range rows {
		if m.Kind == inventory.KindReceived {
			one := w.orders.Due(job, open, list, m.Disc())
			require.Len(w.t, one, 1, "%s: nobody was to get %s", w.name, m.Disc())
			list = append(list, one...)
		}
	}
	return list
}

// took lists what a fit took of the pieces that had come for the plan, in whichever
// valves they went.
func took(before inventory.File, rows []inventory.Movement) (list []orders.Arrival) {
	came, bought := map[inventory.Lot]int{}, map[shim.Valve]bool{}
	for _, p := range before.Picks {
		if p.Source == inventory.SourceBought && !p.ForNow {
			if bought[p.Valve] = true; p.OnHand {
				came[p.Lot]++
			}
		}
	}
	from := map[shim.Valve]inventory.Lot{}
	for _, m := range rows {
		switch {
		case m.Kind == inventory.KindReceived:
			came[m.Lot]++
		case m.Kind == inventory.KindCorrected && m.Count < 0:
			from[m.Valve] = m.Lot
		case m.Kind == inventory.KindFitted && bought[m.Valve]:
			lot, read := from[m.Valve]
			if !read {
				lot = m.Lot
			}
			if came[lot] > 0 {
				came[lot]--
				list = append(list, orders.Arrival{Line: orders.Line{Disc: lot.Disc()}, Job: before.Job.ID, Count: 1, Plan: number(before)})
			}
		}
	}
	return list
}

// arrived counts what a booking did.
func (w *walk) arrived(batch int64, p parcel) {
	w.orders.Arrive(p.arrived, p.used)
	w.parcels[batch] = p
}

// undo takes a booking back. The undo of a receipt can be undone itself.
func (w *walk) undo(batch, by int64) {
	p := w.parcels[batch]
	w.parcels[by] = parcel{arrived: p.arrived, again: !p.again}
	if p.again {
		w.orders.AfterAll(p.arrived)
	} else {
		w.orders.TakeBack(p.arrived, p.used)
	}
}

// compareOrders holds the shopping list, and what each job's file says of its orders,
// against the own count.
func (w *walk) compareOrders() {
	list, err := w.shops[1].Shopping(ctx)
	require.NoError(w.t, err)
	told := orders.NewList()
	for _, d := range list {
		told.Note(orders.Line{Disc: d.Disc, Supplier: d.Supplier}, d.Coming, d.Spare, d.Missing, d.Jobs...)
	}
	require.Equal(w.t, w.orders.List(), told, "%s: on order, to order and for whom", w.name)
	for job, f := range w.files {
		own, coming := w.orders.Coming(job), map[orders.Line]int{}
		for _, p := range w.purchases(job) {
			if n := p.Coming(); n > 0 {
				coming[orders.Line{Disc: p.Disc, Supplier: p.Supplier}] += n
			}
		}
		require.True(w.t, maps.Equal(own, coming), "%s: job %d has on order %v, its file says %v", w.name, job, own, coming)
		// What came for a job's plan is reserved for it.
		here := map[shim.Disc]int{}
		for _, p := range f.Picks {
			if p.Source == inventory.SourceBought && p.OnHand && !p.ForNow {
				here[p.Lot.Disc()]++
			}
		}
		for d, n := range here {
			require.LessOrEqual(w.t, n, w.orders.Came(job, d), "%s: job %d: more of %s reserved than came", w.name, job, d)
		}
	}
}
