package main

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// A line is what one line of the shopping list is for, whatever its price.
type line struct {
	size           shim.Length
	supplier, part string
}

func (l line) compare(o line) int {
	return cmp.Or(cmp.Compare(l.size, o.size), strings.Compare(l.supplier, o.supplier), strings.Compare(l.part, o.part))
}

// orders is the technician's own count of what is on order and for whom. Who
// waits follows from it and from the plans.
type orders struct {
	coming map[int]map[line]int        // by job; 0 is the shop's own
	came   map[int]map[shim.Length]int // for the plan that stands, and not fitted
	cards  map[int]card                // the jobs at work, as they are now
}

// An arrival is pieces that were booked in for a job, or for the shop: job 0.
type arrival struct {
	line
	job, count int
	ordered    bool
	plan       int // of the job, as they came
}

func (o *orders) add(to int, l line, n int) {
	if o.coming[to] == nil {
		o.coming[to] = map[line]int{}
	}
	if o.coming[to][l] += n; o.coming[to][l] == 0 {
		delete(o.coming[to], l)
	}
}

// rows lists what is on order for a job in a size, 0 being any.
func (o *orders) rows(job int, size shim.Length) (list []line) {
	for _, l := range slices.SortedFunc(maps.Keys(o.coming[job]), line.compare) {
		if size == 0 || l.size == size {
			list = append(list, l)
		}
	}
	return list
}

func (o *orders) jobs() []int { return slices.Sorted(maps.Keys(o.cards)) }

// wants counts what the job's plan buys and is not fitted, by size.
func (o *orders) wants(job int) map[shim.Length]int {
	sums := map[shim.Length]int{}
	if c := o.cards[job]; c.Plan != nil {
		for _, p := range c.Plan.Placements {
			if p.Source == "bought" && !p.Fitted {
				sums[p.Size]++
			}
		}
	}
	return sums
}

// short is what the job needs of a size beyond what came for it, missing what it
// has to order.
func (o *orders) short(job int, size shim.Length) int {
	return max(0, o.wants(job)[size]-o.came[job][size])
}

func (o *orders) missing(job int, size shim.Length) int {
	n := o.short(job, size)
	for _, l := range o.rows(job, size) {
		n -= o.coming[job][l]
	}
	return max(0, n)
}

// now is a job as it is after a command; at its end it is gone.
func (o *orders) now(job int, c card) {
	if c.number() != o.cards[job].number() || c.Plan == nil {
		o.came[job] = map[shim.Length]int{} // counts for the plan before
	}
	o.cards[job] = c
	o.settle(job)
}

func (o *orders) gone(job int) {
	delete(o.cards, job)
	delete(o.came, job)
	for _, l := range o.rows(job, 0) {
		n := o.coming[job][l]
		o.add(job, l, -n)
		o.giveOver(l, n)
	}
}

// settle hands on what is on order for a job and not needed, once its plan stands,
// and lets it have what is on order for the shop.
func (o *orders) settle(job int) {
	c := o.cards[job]
	release := c.Plan != nil && c.State != "rechecked"
	sizes := map[shim.Length]bool{}
	for size := range o.wants(job) {
		sizes[size] = true
	}
	for l := range o.coming[job] {
		sizes[l.size] = true
	}
	for _, size := range slices.Sorted(maps.Keys(sizes)) {
		need := o.short(job, size)
		for _, l := range o.rows(job, size) {
			n := min(need, o.coming[job][l])
			need -= n
			if spare := o.coming[job][l] - n; release && spare > 0 {
				o.add(job, l, -spare)
				o.giveOver(l, spare)
			}
		}
		for _, l := range o.rows(0, size) {
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
		k := min(n, o.missing(job, l.size))
		n -= k
		o.add(job, l, k)
	}
	o.add(0, l, n)
}

// A shopping is the shopping list as it is printed.
type shopping []struct {
	Size    shim.Length `json:"size_mm"`
	Missing int         `json:"to_order"`
	OnOrder int         `json:"on_order"`
	Jobs    []int       `json:"jobs"`
	Name    string      `json:"supplier"`
	Part    string      `json:"part"`
	Spare   int         `json:"on_order_for_box"`
}

func (m *month) shopping() shopping {
	m.Helper()
	var list struct{ Shopping shopping }
	require.NoError(m, json.Unmarshal([]byte(m.must("job", "order", "--output", "json")), &list))
	return list.Shopping
}

// compareOrders holds the shopping list against the own count.
func (m *month) compareOrders() {
	m.Helper()
	type seen struct {
		onOrder, spare map[line]int
		missing        map[shim.Length]int
		jobs           map[shim.Length]map[int]bool
	}
	fresh := func() seen {
		return seen{map[line]int{}, map[line]int{}, map[shim.Length]int{}, map[shim.Length]map[int]bool{}}
	}
	told, own := fresh(), fresh()
	note := func(s seen, size shim.Length, job int) {
		if s.jobs[size] == nil {
			s.jobs[size] = map[int]bool{}
		}
		s.jobs[size][job] = true
	}
	for _, d := range m.shopping() {
		l := line{d.Size, d.Name, d.Part}
		told.onOrder[l] += d.OnOrder
		told.spare[l] += d.Spare
		told.missing[d.Size] += d.Missing
		for _, job := range d.Jobs {
			note(told, d.Size, job)
		}
	}
	for job, lines := range m.orders.coming {
		for l, n := range lines {
			if own.onOrder[l] += n; job == 0 {
				own.spare[l] += n
			} else {
				note(own, l.size, job)
			}
		}
	}
	for job := range m.orders.cards {
		for size := range m.orders.wants(job) {
			if n := m.orders.missing(job, size); n > 0 {
				own.missing[size] += n
				note(own, size, job)
			}
		}
	}
	for _, s := range []seen{told, own} {
		none := func(_ line, n int) bool { return n == 0 }
		maps.DeleteFunc(s.onOrder, none)
		maps.DeleteFunc(s.spare, none)
		maps.DeleteFunc(s.missing, func(_ shim.Length, n int) bool { return n == 0 })
	}
	require.Equal(m, own, told, "command %d: on order, to order and for whom", m.commands)
}

// compareCard holds what a job's file says of its valves and orders against the
// own count.
func (m *month) compareCard(job int, f card) {
	m.Helper()
	seats := m.jobs[job].seats
	for _, s := range f.Seats {
		in, there := seats[s.Valve]
		require.Equal(m, !there, s.Empty, "command %d: %s of job %d", m.commands, s.Valve, job)
		require.Equal(m, []shim.Length{in.stamp, in.mic}, []shim.Length{lengthOf(s.Stamp), lengthOf(s.Mic)}, "command %d: %s of job %d", m.commands, s.Valve, job)
	}
	coming, missing := map[line]int{}, map[shim.Length]int{}
	for _, p := range f.Purchases {
		if n := p.Ordered - p.Arrived; n > 0 {
			coming[p.line()] += n
		}
		if n := p.Needed - p.Ordered; n > 0 {
			missing[p.Size] += n
		}
	}
	own := map[shim.Length]int{}
	for size := range m.orders.wants(job) {
		if n := m.orders.missing(job, size); n > 0 {
			own[size] = n
		}
	}
	require.True(m, maps.Equal(m.orders.coming[job], coming), "command %d, job %d: on order %v, its file has %v", m.commands, job, m.orders.coming[job], coming)
	require.Equal(m, own, missing, "command %d, job %d: to order", m.commands, job)
}

// catalogues writes the lists of two suppliers: every second size of theirs is the
// cheaper one, and the second has few of some.
func (m *month) catalogues() {
	dir := m.TempDir()
	for name, cheap := range map[string]int{"North": 0, "South": 1} {
		lines := "size,price,diameter,stock,part,supplier\n"
		for i := range 41 {
			size := 2_000*shim.Micrometre + shim.Length(i)*25*shim.Micrometre
			for _, supplier := range []string{"North", "South"} {
				price, stock := 6+(i+cheap)%2, ""
				if supplier == "South" {
					if price = 13 - price; i%3 == 0 {
						stock = "2"
					}
				}
				lines += fmt.Sprintf("%s,%d.50,8.9,%s,%s-%s,%s\n", text(size), price, stock, supplier[:1], text(size), supplier)
			}
		}
		path := filepath.Join(dir, name+".csv")
		require.NoError(m, os.WriteFile(path, []byte(lines), 0o600))
		m.lists = append(m.lists, path)
	}
	slices.Sort(m.lists)
}

// toOrder is what the jobs have to order, the oldest first, by the terms that their
// files name.
func (m *month) toOrder() (list []arrival) {
	for _, job := range m.orders.jobs() {
		sums := map[line]int{}
		for _, p := range m.show(job).Purchases {
			if n := p.Needed - p.Ordered; n > 0 {
				sums[p.line()] += n
			}
		}
		for _, l := range slices.SortedFunc(maps.Keys(sums), line.compare) {
			list = append(list, arrival{line: l, job: job, count: sums[l]})
		}
	}
	return list
}

// onOrder is what is on order, the oldest job first and the shop last.
func (m *month) onOrder() (list []arrival) {
	for _, job := range append(m.orders.jobs(), 0) {
		for _, l := range m.orders.rows(job, 0) {
			list = append(list, arrival{line: l, job: job, count: m.orders.coming[job][l], ordered: true})
		}
	}
	return list
}

// of leaves pieces of a size, and of a supplier where it is named.
func of(list []arrival, size shim.Length, supplier string) []arrival {
	return slices.DeleteFunc(slices.Clone(list), func(a arrival) bool {
		return a.size != size || supplier != "*" && a.supplier != supplier
	})
}

// named picks a line and how many of it a command names, with the arguments.
func (m *month) named(list []arrival) (size shim.Length, supplier string, n int, args []string) {
	a := list[m.random.IntN(len(list))]
	n = m.random.IntN(3) + 1
	args = []string{fmt.Sprintf("%sx%d", text(a.size), n), "--diameter", "8.9"}
	if supplier = "*"; m.chance(2) {
		supplier = a.supplier
		args = append(args, "--supplier", supplier)
	}
	return a.size, supplier, n, args
}

func (m *month) place() {
	list := m.toOrder()
	args := []string{"job", "order", "--placed", "--yes"}
	if len(list) > 0 && m.chance(2) {
		size, supplier, n, named := m.named(list)
		args = append(args, named...)
		list = of(list, size, supplier)
		list = first(list, n)
	}
	if _, done := m.try("order", args...); done {
		for _, a := range list {
			m.orders.add(a.job, a.line, a.count)
		}
	}
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

func (m *month) withdraw() {
	list := m.onOrder()
	slices.SortStableFunc(list, func(x, y arrival) int { // the shop's own, then the newest job's
		if x.job == 0 || y.job == 0 {
			return x.job - y.job
		}
		return y.job - x.job
	})
	if len(list) == 0 {
		return
	}
	args := []string{"job", "order", "--withdrawn", "--yes"}
	if !m.chance(3) {
		size, supplier, n, named := m.named(list)
		args = append(args, named...)
		list = first(of(list, size, supplier), n)
	}
	if _, done := m.try("withdraw", args...); !done {
		return
	}
	jobs := map[int]bool{}
	for _, a := range list {
		m.orders.add(a.job, a.line, -a.count)
		jobs[a.job] = true
	}
	for _, job := range slices.Sorted(maps.Keys(jobs)) {
		if job != 0 {
			m.orders.settle(job)
		}
	}
}

// arrive books in all that is on order, or some of it, or a piece more.
func (m *month) arrive() {
	list := m.onOrder()
	if len(list) == 0 {
		return
	}
	bin := m.bin()
	args := []string{"job", "order", "--arrived", "--bin", bin, "--yes"}
	r := &booked{}
	if m.chance(2) {
		size, supplier, n, named := m.named(list)
		args = append(args, named...)
		r.arrivals = m.route(size, supplier, n)
	} else {
		for _, d := range m.shopping() { // one item a line of the list
			if d.OnOrder > 0 {
				r.arrivals = append(r.arrivals, m.routeAfter(r.arrivals, d.Size, d.Name, d.OnOrder)...)
			}
		}
	}
	if m.chance(4) {
		args = append(args, "--price", "9.10")
	}
	out, done := m.try("arrive", args...)
	if !done {
		return
	}
	for _, a := range r.arrivals {
		r.changes = append(r.changes, change{shelf: shelf{stamp: a.size, bin: bin}, count: a.count})
	}
	m.comeIn(out, r)
}

// route tells for whom pieces of a size are: the jobs that ordered them, those
// that have to order them, the shop, nobody.
func (m *month) route(size shim.Length, supplier string, n int) []arrival {
	return m.routeAfter(nil, size, supplier, n)
}

// routeAfter is route for one item after others of the same parcel.
func (m *month) routeAfter(before []arrival, size shim.Length, supplier string, n int) (list []arrival) {
	ordered, wanted := of(m.onOrder(), size, supplier), of(m.toOrder(), size, supplier)
	took := func(list []arrival, fits bool) {
		for i := range list {
			for _, b := range before {
				if b.line == list[i].line && b.job == list[i].job && b.ordered == fits {
					list[i].count -= b.count
				}
			}
		}
	}
	took(ordered, true)
	took(wanted, false)
	own := slices.DeleteFunc(slices.Clone(ordered), func(a arrival) bool { return a.job != 0 })
	ordered = slices.DeleteFunc(ordered, func(a arrival) bool { return a.job == 0 })
	list = first(slices.Concat(ordered, wanted, own), n)
	for i := range list {
		n -= list[i].count
		list[i].plan = m.orders.cards[list[i].job].number()
	}
	if n > 0 {
		list = append(list, arrival{line: line{size: size}, job: -1, count: n})
	}
	return list
}

// comeIn books what came, and holds what the shop says of it against the route.
func (m *month) comeIn(out string, r *booked) {
	m.Helper()
	m.book(out, r)
	own, told := map[int]int{}, map[int]int{}
	jobs := map[int]bool{}
	for _, a := range r.arrivals {
		if a.ordered {
			m.orders.add(a.job, a.line, -a.count)
		}
		if a.job > 0 {
			m.come(a, a.count)
			own[a.job] += a.count
			jobs[a.job] = true
		}
	}
	for _, f := range waited.FindAllStringSubmatch(out, -1) {
		job, _ := strconv.Atoi(f[2])
		told[job], _ = strconv.Atoi(f[1])
	}
	require.Equal(m, own, told, "command %d: %s", m.commands, out)
	m.renew(slices.Sorted(maps.Keys(jobs))...)
}

// due is what a bought piece that nobody booked in comes off, as a fit books it in:
// what is on order for the job, else what it has to order.
func (m *month) due(job int, size shim.Length, before []arrival) arrival {
	m.Helper()
	for _, list := range [][]arrival{m.onOrder(), m.toOrder()} {
		for _, a := range of(list, size, "*") {
			for _, b := range before {
				if b.line == a.line && b.ordered == a.ordered {
					a.count -= b.count
				}
			}
			if a.job == job && a.count > 0 {
				a.count, a.plan = 1, m.orders.cards[job].number()
				return a
			}
		}
	}
	return arrival{line: line{size: size}, job: job, count: 1, plan: m.orders.cards[job].number()} // the fit is refused: its piece was taken
}

func (m *month) come(a arrival, n int) {
	came := m.orders.came[a.job]
	if a.plan == m.orders.cards[a.job].number() && came != nil {
		came[a.size] = max(0, came[a.size]+n)
	}
}

// takeBack reverses what a batch did to the orders: what was ordered is on order
// again. Jobs are settled by renew.
func (m *month) takeBack(r *booked) {
	for _, a := range slices.Backward(r.used) {
		m.come(a, a.count)
	}
	for _, a := range slices.Backward(r.arrivals) {
		switch {
		case a.job > 0:
			if m.come(a, -a.count); a.ordered {
				m.orders.add(a.job, a.line, a.count)
			}
		case a.job == 0:
			m.orders.giveOver(a.line, a.count)
		}
	}
}

// againAfterAll reverses the undo of a receipt: pieces come off order wherever
// they are on order by now, first for the same job, then for the shop, then for
// the newest job.
func (m *month) againAfterAll(r *booked) {
	for _, a := range r.arrivals {
		switch {
		case a.job < 0:
			continue
		case !a.ordered:
			short := max(0, m.orders.wants(a.job)[a.size]-m.orders.came[a.job][a.size])
			m.come(arrival{line: a.line, job: a.job, plan: m.orders.cards[a.job].number()}, min(a.count, short))
			continue
		}
		left := a.count
		newest := m.orders.jobs()
		slices.Reverse(newest)
		from := slices.DeleteFunc(newest, func(job int) bool { return job == a.job })
		if from = append([]int{0}, from...); a.job != 0 {
			from = append([]int{a.job}, from...)
		}
		own := 0
		for _, job := range from {
			n := min(left, m.orders.coming[job][a.line])
			if n == 0 {
				continue
			}
			left -= n
			if m.orders.add(job, a.line, -n); job == a.job && job != 0 {
				own += n
			} else if job != 0 {
				m.orders.settle(job)
			}
		}
		if a.job != 0 {
			now := a
			now.plan = m.orders.cards[a.job].number()
			m.come(now, own)
			m.come(now, min(a.count-own, m.orders.missing(a.job, a.size)))
		}
	}
}
