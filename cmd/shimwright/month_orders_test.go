package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/testdata/orders"
)

// sized is a disc of that size: all shims of the month have one diameter.
func sized(l shim.Length) shim.Disc { return shim.Disc{Size: l} }

// counted is what the own count of what is on order goes by of a job's file.
func (f card) counted() orders.Job {
	is := orders.Job{Plan: f.number(), Needs: map[shim.Disc]int{}, Release: f.Plan != nil && f.State != "rechecked"}
	if f.Plan != nil {
		for _, p := range f.Plan.Placements {
			if p.Source == "bought" && !p.Fitted {
				is.Needs[sized(p.Size)]++
			}
		}
	}
	return is
}

// A shopping is the shopping list as it is printed.
type shopping []struct {
	Size    shim.Length `json:"size_mm"`
	Missing int         `json:"to_order"`
	OnOrder int         `json:"on_order"`
	Jobs    []int64     `json:"jobs"`
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
	told := orders.NewList()
	for _, d := range m.shopping() {
		told.Note(orders.Line{Disc: sized(d.Size), Supplier: d.Name, Part: d.Part}, d.OnOrder, d.Spare, d.Missing, d.Jobs...)
	}
	require.Equal(m, m.orders.List(), told, "command %d: on order, to order and for whom", m.commands)
}

// compareCard holds what a job's file says of its valves and orders against the
// own count.
func (m *month) compareCard(job int64, f card) {
	m.Helper()
	seats := m.jobs[job].seats
	for _, s := range f.Seats {
		in, there := seats[s.Valve]
		require.Equal(m, !there, s.Empty, "command %d: %s of job %d", m.commands, s.Valve, job)
		require.Equal(m, []shim.Length{in.stamp, in.mic}, []shim.Length{lengthOf(s.Stamp), lengthOf(s.Mic)}, "command %d: %s of job %d", m.commands, s.Valve, job)
	}
	coming, missing := map[orders.Line]int{}, map[shim.Disc]int{}
	for _, p := range f.Purchases {
		if n := p.Ordered - p.Arrived; n > 0 {
			coming[p.line()] += n
		}
		if n := p.Needed - p.Ordered; n > 0 {
			missing[sized(p.Size)] += n
		}
	}
	own := m.orders.Coming(job)
	require.True(m, maps.Equal(own, coming), "command %d, job %d: on order %v, its file has %v", m.commands, job, own, coming)
	require.Equal(m, m.orders.ToOrder(job), missing, "command %d, job %d: to order", m.commands, job)
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
func (m *month) toOrder() (list []orders.Arrival) {
	for _, job := range m.orders.Jobs() {
		sums := map[orders.Line]int{}
		for _, p := range m.show(job).Purchases {
			if n := p.Needed - p.Ordered; n > 0 {
				sums[p.line()] += n
			}
		}
		list = append(list, orders.For(job, sums, false)...)
	}
	return list
}

// named picks a line and how many of it a command names, with the arguments.
func (m *month) named(list []orders.Arrival) (d shim.Disc, supplier string, n int, args []string) {
	a := list[m.random.IntN(len(list))]
	n = m.random.IntN(3) + 1
	args = []string{fmt.Sprintf("%sx%d", text(a.Size), n), "--diameter", "8.9"}
	if supplier = orders.Any; m.chance(2) {
		supplier = a.Supplier
		args = append(args, "--supplier", supplier)
	}
	return a.Disc, supplier, n, args
}

func (m *month) place() {
	list := m.toOrder()
	args := []string{"job", "order", "--placed", "--yes"}
	if len(list) > 0 && m.chance(2) {
		d, supplier, n, named := m.named(list)
		args = append(args, named...)
		list = orders.First(orders.Of(list, d, supplier), n)
	}
	if _, done := m.try("order", args...); done {
		m.orders.Place(list)
	}
}

func (m *month) withdraw() {
	list := m.orders.ToWithdraw()
	if len(list) == 0 {
		return
	}
	args := []string{"job", "order", "--withdrawn", "--yes"}
	if !m.chance(3) {
		d, supplier, n, named := m.named(list)
		args = append(args, named...)
		list = orders.First(orders.Of(list, d, supplier), n)
	}
	if _, done := m.try("withdraw", args...); done {
		m.orders.Withdraw(list)
	}
}

// arrive books in all that is on order, or some of it, or a piece more.
func (m *month) arrive() {
	list := m.orders.OnOrder()
	if len(list) == 0 {
		return
	}
	bin := m.bin()
	args := []string{"job", "order", "--arrived", "--bin", bin, "--yes"}
	r := &booked{}
	if m.chance(2) {
		d, supplier, n, named := m.named(list)
		args = append(args, named...)
		r.arrivals = m.route(nil, d, supplier, n)
	} else {
		for _, d := range m.shopping() { // one item a line of the list
			if d.OnOrder > 0 {
				r.arrivals = append(r.arrivals, m.route(r.arrivals, sized(d.Size), d.Name, d.OnOrder)...)
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
		r.changes = append(r.changes, change{shelf: shelf{stamp: a.Size, bin: bin}, count: a.Count})
	}
	m.comeIn(out, r)
}

// route tells for whom pieces are after others of the same parcel, see
// [orders.Count.Route]; job -1 is nobody.
func (m *month) route(before []orders.Arrival, d shim.Disc, supplier string, n int) []orders.Arrival {
	list := m.orders.Route(m.toOrder(), before, d, supplier, n)
	for _, a := range list {
		n -= a.Count
	}
	if n > 0 {
		list = append(list, orders.Arrival{Line: orders.Line{Disc: d}, Job: -1, Count: n})
	}
	return list
}

// comeIn books what came, and holds what the shop says of it against the route.
func (m *month) comeIn(out string, r *booked) {
	m.Helper()
	m.book(out, r)
	own, told := map[int64]int{}, map[int64]int{}
	for _, a := range r.arrivals {
		if a.Job > 0 {
			own[a.Job] += a.Count
		}
	}
	m.orders.Arrive(r.arrivals, nil)
	for _, f := range waited.FindAllStringSubmatch(out, -1) {
		job, _ := jobNumber(f[2])
		told[job], _ = strconv.Atoi(f[1])
	}
	require.Equal(m, own, told, "command %d: %s", m.commands, out)
	m.renew(slices.Sorted(maps.Keys(own))...)
}

// due is what a bought piece that nobody booked in comes off, as a fit books it in:
// what is on order for the job, else what it has to order.
func (m *month) due(job int64, d shim.Disc, before []orders.Arrival) orders.Arrival {
	m.Helper()
	for _, open := range []func() []orders.Arrival{m.orders.OnOrder, m.toOrder} {
		if due := m.orders.Due(job, open(), before, d); len(due) > 0 {
			return due[0]
		}
	}
	return orders.Arrival{Line: orders.Line{Disc: d}, Job: job, Count: 1, Plan: m.orders.Plan(job)} // the fit is refused: its piece was taken
}
