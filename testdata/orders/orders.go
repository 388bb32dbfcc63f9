// Package orders counts what is on order and for whom, apart from the shop's own
// code: the tests hold the shop against it. Who waits follows from the count and
// from the plans.
package orders

import (
	"cmp"
	"maps"
	"slices"

	"shimwright/shim"
)

// A Line is what one line of the shopping list is for, whatever its price.
type Line struct {
	shim.Disc
	Supplier, Part string
}

func (l Line) compare(o Line) int {
	return cmp.Or(l.Disc.Compare(o.Disc), cmp.Compare(l.Supplier, o.Supplier), cmp.Compare(l.Part, o.Part))
}

// A Job is what the count goes by of a job as it is now.
type Job struct {
	Plan    int               // number of the plan that stands, 0 where none does
	Needs   map[shim.Disc]int // what that plan buys and is not fitted
	Release bool              // whether what is on order for it and not needed is handed on
}

// A Count is what is on order, and what came.
type Count struct {
	coming map[int64]map[Line]int      // by job; 0 is the shop's own
	came   map[int64]map[shim.Disc]int // for the plan that stands, and not fitted
	jobs   map[int64]Job
}

// New is an empty count.
func New() *Count {
	return &Count{map[int64]map[Line]int{}, map[int64]map[shim.Disc]int{}, map[int64]Job{}}
}

// An Arrival is pieces of a line for a job, or for the shop: job 0. A job below 0 is
// nobody: pieces that no one was waiting for.
type Arrival struct {
	Line
	Job     int64
	Count   int
	Ordered bool // on order; else only wanted
	Plan    int  // of the job, that stood as they came
}

// Jobs lists the jobs, the oldest first.
func (o *Count) Jobs() []int64 { return slices.Sorted(maps.Keys(o.jobs)) }

// Plan is the number of a job's plan.
func (o *Count) Plan(job int64) int { return o.jobs[job].Plan }

// Came is what came for the job's plan and is not fitted.
func (o *Count) Came(job int64, d shim.Disc) int { return o.came[job][d] }

// Coming is what is on order for a job.
func (o *Count) Coming(job int64) map[Line]int { return o.coming[job] }

// add puts pieces on order for a job, or takes them off.
func (o *Count) add(job int64, l Line, n int) {
	if o.coming[job] == nil {
		o.coming[job] = map[Line]int{}
	}
	if o.coming[job][l] += n; o.coming[job][l] == 0 {
		delete(o.coming[job], l)
	}
}

// rows lists what is on order for a job in a size.
func (o *Count) rows(job int64, d shim.Disc) []Line {
	list := slices.SortedFunc(maps.Keys(o.coming[job]), Line.compare)
	return slices.DeleteFunc(list, func(l Line) bool { return l.Disc != d })
}

// short is what the job needs beyond what came for it.
func (o *Count) short(job int64, d shim.Disc) int {
	return max(0, o.jobs[job].Needs[d]-o.came[job][d])
}

// Missing is how many of a size the job has to order.
func (o *Count) Missing(job int64, d shim.Disc) int {
	n := o.short(job, d)
	for _, l := range o.rows(job, d) {
		n -= o.coming[job][l]
	}
	return max(0, n)
}

// ToOrder is all that the job has to order.
func (o *Count) ToOrder(job int64) map[shim.Disc]int {
	list := map[shim.Disc]int{}
	for d := range o.jobs[job].Needs {
		if n := o.Missing(job, d); n > 0 {
			list[d] = n
		}
	}
	return list
}

// Now takes a job as it is after a command.
func (o *Count) Now(job int64, is Job) {
	if is.Plan != o.jobs[job].Plan || is.Plan == 0 || o.came[job] == nil {
		o.came[job] = map[shim.Disc]int{} // counts for the plan before
	}
	o.jobs[job] = is
	o.settle(job)
}

// Gone takes a job out of the count: what is on order for it goes to others.
func (o *Count) Gone(job int64) {
	o.Now(job, Job{Release: true})
	delete(o.jobs, job)
	delete(o.came, job)
}

// settle hands on what is on order for a job and not needed, where it is to, and lets
// it have what is on order for the shop.
func (o *Count) settle(job int64) {
	sizes := map[shim.Disc]bool{}
	for d := range o.jobs[job].Needs {
		sizes[d] = true
	}
	for l := range o.coming[job] {
		sizes[l.Disc] = true
	}
	for _, d := range slices.SortedFunc(maps.Keys(sizes), shim.Disc.Compare) {
		need := o.short(job, d)
		for _, l := range o.rows(job, d) {
			n := min(need, o.coming[job][l])
			need -= n
			if spare := o.coming[job][l] - n; o.jobs[job].Release && spare > 0 {
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
func (o *Count) giveOver(l Line, n int) {
	for _, job := range o.Jobs() {
		k := min(n, o.Missing(job, l.Disc))
		n -= k
		o.add(job, l, k)
	}
	o.add(0, l, n)
}

// For lists lines of a job, by size.
func For(job int64, lines map[Line]int, ordered bool) (list []Arrival) {
	for _, l := range slices.SortedFunc(maps.Keys(lines), Line.compare) {
		list = append(list, Arrival{Line: l, Job: job, Count: lines[l], Ordered: ordered})
	}
	return list
}

// OnOrder is what is on order, the oldest job first and the shop last.
func (o *Count) OnOrder() (list []Arrival) {
	for _, job := range append(o.Jobs(), 0) {
		list = append(list, For(job, o.coming[job], true)...)
	}
	return list
}

// ToWithdraw is what is on order as it is taken off: the shop's own, then the newest
// job's.
func (o *Count) ToWithdraw() []Arrival {
	list := o.OnOrder()
	slices.SortStableFunc(list, func(x, y Arrival) int {
		if x.Job == 0 || y.Job == 0 {
			return cmp.Compare(x.Job, y.Job)
		}
		return cmp.Compare(y.Job, x.Job)
	})
	return list
}

// Place puts pieces on order.
func (o *Count) Place(list []Arrival) {
	for _, a := range list {
		o.add(a.Job, a.Line, a.Count)
	}
}

// Withdraw takes pieces off order, and names their jobs.
func (o *Count) Withdraw(list []Arrival) []int64 {
	jobs := map[int64]bool{}
	for _, a := range list {
		o.add(a.Job, a.Line, -a.Count)
		jobs[a.Job] = true
	}
	delete(jobs, 0)
	for _, job := range slices.Sorted(maps.Keys(jobs)) {
		o.settle(job)
	}
	return slices.Sorted(maps.Keys(jobs))
}

// Any is whichever supplier.
const Any = "*"

// Of leaves pieces of a size and of a supplier.
func Of(list []Arrival, d shim.Disc, supplier string) []Arrival {
	return slices.DeleteFunc(slices.Clone(list), func(a Arrival) bool {
		return a.Disc != d || supplier != Any && a.Supplier != supplier
	})
}

// First leaves the first pieces of a list.
func First(list []Arrival, n int) (some []Arrival) {
	for _, a := range list {
		if a.Count = min(a.Count, n); a.Count > 0 {
			some = append(some, a)
		}
		n -= a.Count
	}
	return some
}

// Less takes off what others of the same booking took.
func Less(list, took []Arrival) []Arrival {
	list = slices.Clone(list)
	for i := range list {
		for _, b := range took {
			if b.Line == list[i].Line && b.Job == list[i].Job && b.Ordered == list[i].Ordered {
				list[i].Count -= b.Count
			}
		}
	}
	return slices.DeleteFunc(list, func(a Arrival) bool { return a.Count <= 0 })
}

// Route tells for whom pieces are that come after others of the same parcel: the jobs
// that ordered them, those of which they are wanted, the shop.
func (o *Count) Route(wanted, before []Arrival, d shim.Disc, supplier string, n int) []Arrival {
	jobs := Of(Less(o.OnOrder(), before), d, supplier)
	at := slices.IndexFunc(jobs, func(a Arrival) bool { return a.Job == 0 })
	if at < 0 {
		at = len(jobs)
	}
	list := First(slices.Concat(jobs[:at], Of(Less(wanted, before), d, supplier), jobs[at:]), n)
	for i := range list {
		list[i].Plan = o.Plan(list[i].Job)
	}
	return list
}

// Due is what a bought piece comes off that nobody booked in, as a fit of the job books
// it in after others: one of what is open, none where nothing is.
func (o *Count) Due(job int64, open, before []Arrival, d shim.Disc) []Arrival {
	open = slices.DeleteFunc(Of(Less(open, before), d, Any), func(a Arrival) bool { return a.Job != job })
	list := First(open, 1)
	for i := range list {
		list[i].Plan = o.Plan(job)
	}
	return list
}

// come counts pieces as come for a job's plan, if the plan still stands.
func (o *Count) come(a Arrival, n int) {
	if came := o.came[a.Job]; a.Plan == o.Plan(a.Job) && came != nil {
		came[a.Disc] = max(0, came[a.Disc]+n)
	}
}

// Arrive counts what a booking did: pieces that came, then those that a fit used.
func (o *Count) Arrive(arrived, used []Arrival) {
	for _, a := range arrived {
		if o.come(a, a.Count); a.Ordered {
			o.add(a.Job, a.Line, -a.Count)
		}
	}
	for _, a := range used {
		o.come(a, -a.Count)
	}
}

// TakeBack counts that booking as taken back: what was ordered is on order again.
func (o *Count) TakeBack(arrived, used []Arrival) {
	for _, a := range slices.Backward(used) {
		o.come(a, a.Count)
	}
	for _, a := range slices.Backward(arrived) {
		switch {
		case a.Job == 0:
			o.giveOver(a.Line, a.Count)
		case a.Job > 0:
			if o.come(a, -a.Count); a.Ordered {
				o.add(a.Job, a.Line, a.Count)
			}
		}
	}
}

// AfterAll counts the undo of a receipt as undone: the pieces come off order wherever
// they are by then, first for the same job, then for the shop, then for the newest job.
func (o *Count) AfterAll(arrived []Arrival) {
	for _, a := range arrived {
		a.Plan = o.Plan(a.Job)
		if !a.Ordered {
			o.come(a, min(a.Count, o.short(a.Job, a.Disc)))
			continue
		}
		own, left := 0, a.Count
		newest := o.Jobs()
		slices.Reverse(newest)
		for _, job := range append([]int64{a.Job, 0}, newest...) {
			n := min(left, o.coming[job][a.Line])
			if n == 0 {
				continue
			}
			left -= n
			if o.add(job, a.Line, -n); job == a.Job {
				own += n
			} else if job != 0 {
				o.settle(job)
			}
		}
		o.come(a, own)
		o.come(a, min(a.Count-own, o.Missing(a.Job, a.Disc)))
	}
}

// A List is a shopping list, to be compared.
type List struct {
	OnOrder, Spare map[Line]int // spare is on order for the shop
	Missing        map[shim.Disc]int
	Jobs           map[shim.Disc]map[int64]bool
}

// NewList is an empty list.
func NewList() List {
	return List{map[Line]int{}, map[Line]int{}, map[shim.Disc]int{}, map[shim.Disc]map[int64]bool{}}
}

// Note adds pieces to a list: on order, those of them for the shop, to order, and for
// whom.
func (s List) Note(l Line, onOrder, spare, missing int, jobs ...int64) {
	if onOrder != 0 {
		s.OnOrder[l] += onOrder
	}
	if spare != 0 {
		s.Spare[l] += spare
	}
	if missing != 0 {
		s.Missing[l.Disc] += missing
	}
	for _, job := range jobs {
		if s.Jobs[l.Disc] == nil {
			s.Jobs[l.Disc] = map[int64]bool{}
		}
		s.Jobs[l.Disc][job] = true
	}
}

// List is the shopping list by the count. The terms of what is to be ordered are the
// plan's affair.
func (o *Count) List() List {
	s := NewList()
	for job, lines := range o.coming {
		for l, n := range lines {
			if job == 0 {
				s.Note(l, n, n, 0)
			} else {
				s.Note(l, n, 0, 0, job)
			}
		}
	}
	for job := range o.jobs {
		for d, n := range o.ToOrder(job) {
			s.Note(Line{Disc: d}, 0, 0, n, job)
		}
	}
	return s
}
