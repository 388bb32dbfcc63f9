package storetest

import (
	"cmp"
	"maps"
	"slices"

	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

// A line is what one line of the shopping list is for, whatever its price.
type line struct {
	shim.Disc
	supplier string
}

func (l line) compare(o line) int {
	return cmp.Or(l.Disc.Compare(o.Disc), cmp.Compare(l.supplier, o.supplier))
}

// orders is an own count of what is on order and for whom. Who waits follows from
// it and from the plans.
type orders struct {
	coming  map[int64]map[line]int      // by job; 0 is the shop's own
	came    map[int64]map[shim.Disc]int // for the plan that stands, and not fitted
	files   map[int64]inventory.File    // of the jobs, as they were after their last command
	batches map[int64]parcel
}

// A parcel is what one booking did to the orders.
type parcel struct {
	arrived, used []arrival
	again         bool // it took the undo of a receipt back
}

// An arrival is pieces that were booked in for a job, or for the shop: job 0.
type arrival struct {
	line
	job     int64
	count   int
	ordered bool
	plan    int // that stood as they came
}

func (o *orders) add(job int64, l line, n int) {
	if o.coming[job] == nil {
		o.coming[job] = map[line]int{}
	}
	if o.coming[job][l] += n; o.coming[job][l] == 0 {
		delete(o.coming[job], l)
	}
}

// rows lists what is on order for a job in a size.
func (o *orders) rows(job int64, d shim.Disc) []line {
	list := slices.SortedFunc(maps.Keys(o.coming[job]), line.compare)
	return slices.DeleteFunc(list, func(l line) bool { return l.Disc != d })
}

func (o *orders) jobs() []int64 { return slices.Sorted(maps.Keys(o.files)) }

func (o *orders) atWork() []int64 {
	return slices.DeleteFunc(o.jobs(), func(job int64) bool { return o.files[job].Job.State.Final() })
}

// wants counts what the job's plan buys and is not fitted.
func (o *orders) wants(job int64) map[shim.Disc]int {
	sums := map[shim.Disc]int{}
	if f := o.files[job]; f.Plan != nil && !f.Job.State.Final() {
		for _, p := range f.Left {
			if p.Source == inventory.SourceBought {
				sums[f.Engine.Spec.FamilyOf(p.Valve).Of(p.Size)]++
			}
		}
	}
	return sums
}

// short is what the job needs beyond what came for it, missing what it has to order.
func (o *orders) short(job int64, d shim.Disc) int {
	return max(0, o.wants(job)[d]-o.came[job][d])
}

func (o *orders) missing(job int64, d shim.Disc) int {
	n := o.short(job, d)
	for _, l := range o.rows(job, d) {
		n -= o.coming[job][l]
	}
	return max(0, n)
}

func number(f inventory.File) int {
	if f.Plan == nil {
		return 0
	}
	return f.Plan.Number
}

// now takes a job as it is after a command.
func (o *orders) now(f inventory.File) {
	job := f.Job.ID
	if number(f) != number(o.files[job]) || f.Plan == nil || o.came[job] == nil {
		o.came[job] = map[shim.Disc]int{} // counts for the plan before
	}
	o.files[job] = f
	o.settle(job)
}

// settle hands on what is on order for a job and not needed, once its plan stands
// or the job is at its end, and lets it have what is on order for the shop.
func (o *orders) settle(job int64) {
	f := o.files[job]
	release := f.Job.State.Final() || f.Plan != nil && f.Job.State != inventory.StateRechecked
	discs := o.wants(job)
	for l := range o.coming[job] {
		discs[l.Disc] += 0
	}
	for _, d := range slices.SortedFunc(maps.Keys(discs), shim.Disc.Compare) {
		need := o.short(job, d)
		for _, l := range o.rows(job, d) {
			n := min(need, o.coming[job][l])
			need -= n
			if spare := o.coming[job][l] - n; release && spare > 0 {
				o.add(job, l, -spare)
				o.giveOver(l, spare)
			}
		}
		for _, l := range o.rows(0, d) {
			n := min(need, o.coming[0][l])
			need -= n
			o.add(0, l, -n)
			o.add(job, l, n)
		}
	}
}

// giveOver hands pieces on order to the jobs that have to order the size, the
// oldest first, then to the shop.
func (o *orders) giveOver(l line, n int) {
	for _, job := range o.jobs() {
		k := min(n, o.missing(job, l.Disc))
		n -= k
		o.add(job, l, k)
	}
	o.add(0, l, n)
}

// toOrder is what the jobs have to order, the oldest first. The count is the own
// one; which supplier it is to come from is the plan's affair.
func (w *walk) toOrder() (list []arrival) {
	for _, job := range w.orders.jobs() {
		told, sums := map[line]int{}, map[shim.Disc]int{}
		for _, p := range w.purchases(job) {
			if n := p.Needed - p.Ordered; n > 0 {
				told[line{p.Disc, p.Supplier}] += n
				sums[p.Disc] += n
			}
		}
		for d, n := range sums {
			require.Equal(w.t, w.orders.missing(job, d), n, "%s: job %d has to order %s", w.name, job, d)
		}
		for _, l := range slices.SortedFunc(maps.Keys(told), line.compare) {
			list = append(list, arrival{line: l, job: job, count: told[l]})
		}
	}
	return list
}

func (w *walk) purchases(job int64) []inventory.Purchase {
	f, err := w.shops[1].Job(ctx, job)
	require.NoError(w.t, err)
	return f.Purchases
}

// onOrder is what is on order, the oldest job first and the shop last.
func (w *walk) onOrder() (list []arrival) {
	for _, job := range append(w.orders.jobs(), 0) {
		for _, l := range slices.SortedFunc(maps.Keys(w.orders.coming[job]), line.compare) {
			list = append(list, arrival{line: l, job: job, count: w.orders.coming[job][l], ordered: true})
		}
	}
	return list
}

// of leaves pieces of a kind, and of a supplier where one is named.
func of(list []arrival, d shim.Disc, supplier string) []arrival {
	return slices.DeleteFunc(slices.Clone(list), func(a arrival) bool {
		return a.Disc != d || supplier != "" && a.supplier != supplier
	})
}

// first leaves the first pieces of a list.
func first(list []arrival, n int) (some []arrival) {
	for _, a := range list {
		if a.count = min(a.count, n); a.count > 0 {
			some = append(some, a)
		}
		n -= a.count
	}
	return some
}

// less takes off what others of the same booking took.
func less(list, took []arrival) []arrival {
	list = slices.Clone(list)
	for i := range list {
		for _, b := range took {
			if b.line == list[i].line && b.job == list[i].job && b.ordered == list[i].ordered {
				list[i].count -= b.count
			}
		}
	}
	return slices.DeleteFunc(list, func(a arrival) bool { return a.count <= 0 })
}

// route tells for whom pieces are that come: the jobs that ordered them, those
// that have to order them, the shop.
func (w *walk) route(items []inventory.Item) (list []arrival) {
	ordered, wanted := w.onOrder(), w.toOrder()
	for _, i := range items {
		jobs, own := of(less(ordered, list), i.Disc(), i.Supplier), []arrival(nil)
		for at := range jobs {
			if jobs[at].job == 0 {
				jobs, own = jobs[:at], jobs[at:]
				break
			}
		}
		for _, a := range first(slices.Concat(jobs, of(less(wanted, list), i.Disc(), i.Supplier), own), i.Count) {
			a.plan = number(w.orders.files[a.job])
			list = append(list, a)
		}
	}
	return list
}

// due are the orders that bought pieces come off which a fit books in, out of what
// was open: what is on order for the job, else what it has to order.
func (w *walk) due(job int64, open []arrival, rows []inventory.Movement) (list []arrival) {
	open = slices.DeleteFunc(open, func(a arrival) bool { return a.job != job })
	for _, m := range rows {
		if m.Kind == inventory.KindReceived {
			one := first(of(less(open, list), m.Disc(), ""), 1)
			require.Len(w.t, one, 1, "%s: nobody was to get %s", w.name, m.Disc())
			one[0].plan = number(w.orders.files[job])
			list = append(list, one[0])
		}
	}
	return list
}

// took lists what a fit took of the pieces that had come for the plan, in whichever
// valves they went.
func took(before inventory.File, rows []inventory.Movement) (list []arrival) {
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
				list = append(list, arrival{line: line{Disc: lot.Disc()}, job: before.Job.ID, count: 1, plan: number(before)})
			}
		}
	}
	return list
}

// come counts pieces as come for a job's plan, if the plan still stands.
func (o *orders) come(a arrival, n int) {
	if came := o.came[a.job]; a.job != 0 && a.plan == number(o.files[a.job]) && came != nil {
		came[a.Disc] = max(0, came[a.Disc]+n)
	}
}

// arrive counts what a booking did: pieces that came, then those that a fit took.
func (o *orders) arrive(batch int64, p parcel) {
	for _, a := range p.arrived {
		if o.come(a, a.count); a.ordered {
			o.add(a.job, a.line, -a.count)
		}
	}
	for _, a := range p.used {
		o.come(a, -a.count)
	}
	o.batches[batch] = p
}

// undo takes a booking back: what was ordered is on order again. The undo of a
// receipt can be undone itself: the pieces come off order wherever they are by
// then, first for the same job, then for the shop, then for the newest job.
func (o *orders) undo(batch, by int64) {
	p := o.batches[batch]
	o.batches[by] = parcel{arrived: p.arrived, again: !p.again}
	if p.again {
		for _, a := range p.arrived {
			o.after(a)
		}
		return
	}
	for _, a := range slices.Backward(p.used) {
		o.come(a, a.count)
	}
	for _, a := range slices.Backward(p.arrived) {
		switch {
		case a.job == 0:
			o.giveOver(a.line, a.count)
		default:
			if o.come(a, -a.count); a.ordered {
				o.add(a.job, a.line, a.count)
			}
		}
	}
}

func (o *orders) after(a arrival) {
	a.plan = number(o.files[a.job])
	if !a.ordered {
		o.come(a, min(a.count, o.short(a.job, a.Disc)))
		return
	}
	own, left := 0, a.count
	newest := o.jobs()
	slices.Reverse(newest)
	for _, job := range append([]int64{a.job, 0}, newest...) {
		n := min(left, o.coming[job][a.line])
		if n == 0 {
			continue
		}
		left -= n
		if o.add(job, a.line, -n); job == a.job {
			own += n
		} else if job != 0 {
			o.settle(job)
		}
	}
	o.come(a, own)
	o.come(a, min(a.count-own, o.missing(a.job, a.Disc)))
}

// compare holds the shopping list, and what each job's file says of its orders,
// against the own count.
func (o *orders) compare(w *walk) {
	type counts struct {
		onOrder, spare map[line]int
		missing        map[shim.Disc]int
		jobs           map[shim.Disc][]int64
	}
	fresh := func() counts {
		return counts{map[line]int{}, map[line]int{}, map[shim.Disc]int{}, map[shim.Disc][]int64{}}
	}
	told, own := fresh(), fresh()
	note := func(c counts, d shim.Disc, job int64) {
		if !slices.Contains(c.jobs[d], job) {
			c.jobs[d] = append(c.jobs[d], job)
			slices.Sort(c.jobs[d])
		}
	}
	list, err := w.shops[1].Shopping(ctx)
	require.NoError(w.t, err)
	for _, d := range list {
		told.onOrder[line{d.Disc, d.Supplier}] += d.Coming
		told.spare[line{d.Disc, d.Supplier}] += d.Spare
		told.missing[d.Disc] += d.Missing
		for _, job := range d.Jobs {
			note(told, d.Disc, job)
		}
	}
	for job, lines := range o.coming {
		for l, n := range lines {
			if own.onOrder[l] += n; job == 0 {
				own.spare[l] += n
			} else {
				note(own, l.Disc, job)
			}
		}
	}
	for job := range o.files {
		for d := range o.wants(job) {
			if n := o.missing(job, d); n > 0 {
				own.missing[d] += n
				note(own, d, job)
			}
		}
	}
	for _, c := range []counts{told, own} {
		maps.DeleteFunc(c.onOrder, func(_ line, n int) bool { return n == 0 })
		maps.DeleteFunc(c.spare, func(_ line, n int) bool { return n == 0 })
		maps.DeleteFunc(c.missing, func(_ shim.Disc, n int) bool { return n == 0 })
	}
	require.Equal(w.t, own, told, "%s: on order, to order and for whom", w.name)
	for job := range o.files {
		coming := map[line]int{}
		for _, p := range w.purchases(job) {
			if n := p.Coming(); n > 0 {
				coming[line{p.Disc, p.Supplier}] += n
			}
		}
		require.True(w.t, maps.Equal(o.coming[job], coming), "%s: job %d has on order %v, its file says %v", w.name, job, o.coming[job], coming)
	}
	// What came for a job's plan is reserved for it.
	for job, f := range o.files {
		here := map[shim.Disc]int{}
		for _, p := range f.Picks {
			if p.Source == inventory.SourceBought && p.OnHand && !p.ForNow {
				here[p.Lot.Disc()]++
			}
		}
		for d, n := range here {
			require.LessOrEqual(w.t, n, o.came[job][d], "%s: job %d: more of %s reserved than came", w.name, job, d)
		}
	}
}
