package storetest

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/memory"
	"shimwright/inventory/sample"
	"shimwright/shim"
	"shimwright/testdata/orders"
)

// steps is how many commands a walk has.
const steps = 180

// random runs long sequences of commands, sensible and not, against the store
// and the reference store at once: both give the same answers, and after every
// step the invariants hold in both.
func random(t *testing.T, walks int, fresh func(*testing.T) inventory.Store) {
	if testing.Short() {
		walks = 1
	}
	total, refused := 0, map[string]int{}
	for seed := range uint64(walks) {
		w := &walk{t: t, rng: rand.New(rand.NewPCG(seed, 5)), refused: refused,
			orders: orders.New(), files: map[int64]inventory.File{}, parcels: map[int64]parcel{}}
		for _, store := range []inventory.Store{fresh(t), memory.New()} {
			w.shops = append(w.shops, inventory.New(store, "R. Example", Clock()))
		}
		for w.step = range steps {
			w.seed = seed
			w.once()
			w.invariants()
			w.compareOrders()
			total++
		}
	}
	t.Logf("%d commands in %d walks, what is on order, for whom and who waits counted after each: 0 deviations (bound 0); refused: %v", total, walks, refused)
	if walks < 5 { // too few to meet every refusal
		return
	}
	for _, kind := range []error{inventory.ErrStale, inventory.ErrShort, inventory.ErrState, inventory.ErrInvalid} {
		require.NotZero(t, refused[kind.Error()], "the walks never met: %v", kind)
	}
}

type walk struct {
	t       *testing.T
	rng     *rand.Rand
	shops   []*inventory.Shop // the store's and the reference's
	seed    uint64
	step    int
	name    string
	refused map[string]int
	orders  *orders.Count
	files   map[int64]inventory.File // of the jobs, as they were after their last command
	parcels map[int64]parcel         // by booking
}

// both runs a command in both shops and compares the answers. It is false where
// the command refused.
func (w *walk) both(name string, command func(*inventory.Shop) (any, error)) (any, bool) {
	w.name = fmt.Sprintf("seed %d step %d: %s", w.seed, w.step, name)
	got, err := command(w.shops[0])
	want, wantErr := command(w.shops[1])
	if wantErr == nil {
		require.NoError(w.t, err, w.name)
		require.Equal(w.t, want, got, w.name)
		return want, true
	}
	require.EqualError(w.t, err, wantErr.Error(), w.name)
	kind := errors.Unwrap(wantErr)
	if h := new(shim.Hinted); errors.As(wantErr, &h) {
		kind = h.Kind
	}
	require.ErrorIs(w.t, err, kind, w.name)
	w.refused[kind.Error()]++
	return nil, false
}

// now tells the own count how jobs are after a command.
func (w *walk) now(jobs ...int64) {
	for _, job := range jobs {
		if job == 0 {
			continue
		}
		f, err := w.shops[1].Job(ctx, job)
		require.NoError(w.t, err)
		w.files[job] = f
		w.orders.Now(job, counted(f))
	}
}

func (w *walk) size() shim.Length { return mm("2.35") + shim.Length(w.rng.IntN(5))*mm("0.025") }
func (w *walk) chance(n int) bool { return w.rng.IntN(n) == 0 }
func (w *walk) job() int64 {
	if jobs := w.atWork(); len(jobs) > 0 && !w.chance(8) {
		return jobs[w.rng.IntN(len(jobs))]
	}
	return int64(w.rng.IntN(6) + 1)
}
func (w *walk) spec() shim.Engine {
	return []shim.Engine{sample.Sandpiper(), sample.Turnstone(), sample.Phalarope()}[w.rng.IntN(3)]
}
func (w *walk) reference() shopper { return shopper{w.t, w.shops[1]} }

func (w *walk) lot() inventory.Lot {
	spec := w.spec()
	families := spec.Families()
	l := inventory.Lot{Family: families[w.rng.IntN(len(families))], Marks: shim.Marks{Stamp: w.size()}, Used: w.chance(2)}
	if w.chance(4) {
		l.Mic = w.size()
	}
	if w.chance(3) {
		l.Bin = "B"
	}
	return l
}

// held is a lot that is on hand, if the dice want one.
func (w *walk) held() inventory.Lot {
	lots := w.reference().lots()
	if len(lots) == 0 || w.chance(6) {
		return w.lot()
	}
	return lots[w.rng.IntN(len(lots))].Lot
}

func (w *walk) items(lot func() inventory.Lot) []inventory.Item {
	var list []inventory.Item
	for range w.rng.IntN(3) + 1 {
		list = append(list, inventory.Item{Lot: lot(), Count: w.rng.IntN(3) + 1, Quote: shim.Quote{Price: 78000, Priced: true}, Note: "n"})
	}
	return list
}

// once gives one command.
func (w *walk) once() {
	job := w.job()
	if w.chance(2) && w.goOn(job) {
		return
	}
	switch w.rng.IntN(26) {
	case 0, 1, 2:
		items := w.items(w.lot)
		w.both("receive", func(s *inventory.Shop) (any, error) { return s.Receive(ctx, items) })
	case 3:
		items := w.items(w.held)
		w.both("scrap", func(s *inventory.Shop) (any, error) { return s.Scrap(ctx, items) })
	case 4:
		from, to, n := w.held(), w.lot(), w.rng.IntN(2)+1
		if !w.chance(6) { // else the family is set right
			to.Family = from.Family
		}
		w.both("correct", func(s *inventory.Shop) (any, error) { return s.Correct(ctx, from, to, n, "") })
	case 5:
		w.stocktake()
	case 6, 7:
		batch := w.reference().batch(w.rng)
		if receipt, done := w.both(fmt.Sprint("undo ", batch), func(s *inventory.Shop) (any, error) { return s.Undo(ctx, batch, "") }); done {
			r := receipt.(inventory.Receipt)
			w.undo(batch, r.Batch)
			w.now(jobsOf(r.Movements)...)
		}
	case 8, 9:
		if len(w.atWork()) >= 4 && !w.chance(8) {
			return
		}
		spec := w.spec()
		if w.chance(4) { // another version of its engine
			spec.Exhaust.Loose += shim.Length(w.rng.IntN(3)) * mm("0.02")
			if _, done := w.both("move", func(s *inventory.Shop) (any, error) {
				return s.EditJob(ctx, job, nil, &inventory.Opening{Spec: spec, Source: spec.Name})
			}); done {
				w.now(job)
			}
			return
		}
		build := w.chance(4)
		if opened, done := w.both("open", func(s *inventory.Shop) (any, error) {
			return s.OpenJob(ctx, inventory.Opening{Spec: spec, Source: spec.Name, Tag: "T", Build: build})
		}); done {
			w.now(opened.(inventory.Job).ID)
		}
	case 10, 11:
		w.read(job)
	case 12, 13, 14:
		w.plan(job)
	case 15, 16, 17:
		w.fit(job)
	case 18, 19, 20:
		w.order()
	case 21, 22:
		w.arrive()
	case 23, 24:
		w.correctFit(job)
	default:
		if anyway := w.chance(2); w.chance(2) {
			if _, done := w.both("close", func(s *inventory.Shop) (any, error) { return nil, s.Close(ctx, job, anyway) }); done {
				w.now(job)
			}
			return
		}
		if _, done := w.both("cancel", func(s *inventory.Shop) (any, error) { return s.Cancel(ctx, job, "") }); done {
			w.now(job)
		}
	}
}

// goOn does what comes next in a job; false where nothing does.
func (w *walk) goOn(job int64) bool {
	switch f := w.files[job]; f.Job.State {
	case inventory.StateOpen, inventory.StateFitted:
		w.read(job)
	case inventory.StateMeasured, inventory.StateRechecked:
		w.plan(job)
	case inventory.StatePlanned, inventory.StateFitting:
		w.fit(job)
	default:
		return false
	}
	return true
}

// order orders all that jobs need, or some of it, or takes it off order.
func (w *walk) order() {
	away := w.chance(3)
	list := w.toOrder()
	if away {
		list = w.orders.ToWithdraw()
	}
	var lines []inventory.OrderLine
	if len(list) > 0 && w.chance(2) {
		l := inventory.OrderLine{Disc: list[w.rng.IntN(len(list))].Disc, Count: w.rng.IntN(3) + 1, Terms: inventory.Terms{Supplier: w.supplier()}}
		lines, list = []inventory.OrderLine{l}, orders.First(orders.Of(list, l.Disc, named(l.Supplier)), l.Count)
	}
	if !away {
		if _, done := w.both("order", func(s *inventory.Shop) (any, error) { return s.Order(ctx, lines) }); done {
			w.orders.Place(list)
		}
		return
	}
	if _, done := w.both("withdraw", func(s *inventory.Shop) (any, error) { return s.Withdraw(ctx, lines) }); done {
		w.now(w.orders.Withdraw(list)...)
	}
}

// arrive books in what came, mostly something that is on order.
func (w *walk) arrive() {
	open := w.open()
	items := w.items(func() inventory.Lot {
		d := shim.Family{Diameter: mm("8.9")}.Of(w.size())
		if len(open) > 0 && !w.chance(4) {
			d = open[w.rng.IntN(len(open))].Disc
		}
		return inventory.Lot{Family: d.Family, Marks: shim.Marks{Stamp: d.Size}, Bin: []string{"", "B"}[w.rng.IntN(2)]}
	})
	for i := range items {
		if items[i].Priced = w.chance(2); !items[i].Priced {
			items[i].Price = 0
		} else if w.chance(2) {
			items[i].Price = 90000
		}
		items[i].Supplier = w.supplier()
	}
	list := w.route(items)
	receipt, done := w.both("arrived", func(s *inventory.Shop) (any, error) { return s.Arrived(ctx, items) })
	if !done {
		return
	}
	r := receipt.(inventory.Receipt)
	own, told := map[int64]int{}, map[int64]int{}
	for _, a := range list {
		own[a.Job] += a.Count
	}
	for _, m := range r.Movements {
		told[m.Job] += m.Count
	}
	delete(own, 0)
	delete(told, 0)
	require.Equal(w.t, own, told, "%s: for whom", w.name)
	w.arrived(r.Batch, parcel{arrived: list})
	w.now(jobsOf(r.Movements)...)
}

// jobsOf lists the jobs of the rows.
func jobsOf(rows []inventory.Movement) (list []int64) {
	for _, m := range rows {
		if m.Job != 0 {
			list = append(list, m.Job)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// correctFit tells what was fitted in fact: shims in each other's valves, another
// piece of the box, another size by the micrometer.
func (w *walk) correctFit(job int64) {
	f, _ := w.shops[1].Job(ctx, job)
	if len(f.Seats) == 0 {
		return
	}
	at := w.rng.Perm(len(f.Seats))[:min(w.rng.IntN(3)+1, len(f.Seats))]
	var valves []shim.Valve
	for _, i := range at {
		valves = append(valves, f.Seats[i].Valve)
	}
	c := inventory.Correction{Lay: inventory.Exchanged(valves), PutRight: w.chance(2)}
	if len(valves) == 1 {
		c.Lay = []inventory.Lay{{Valve: valves[0], Marks: shim.Marks{Stamp: w.size()}}}
		if w.chance(2) {
			c.Lay[0].Marks = shim.Marks{Mic: f.Seats[at[0]].Size() - mm("0.004")}
		}
	}
	if _, done := w.both("correct fit", func(s *inventory.Shop) (any, error) { return s.CorrectFit(ctx, job, c) }); done {
		w.now(job)
	}
}

// supplier is one of two, or none.
func (w *walk) supplier() string { return []string{"", "North", "South"}[w.rng.IntN(3)] }

func (w *walk) stocktake() {
	take := inventory.Stocktake{ByBin: w.chance(2), Whole: w.chance(3)}
	for range w.rng.IntN(3) + 1 {
		l := w.held()
		c := inventory.Counting{Family: l.Family, Marks: l.Marks, Count: w.rng.IntN(4)}
		if take.ByBin {
			c.Bin = l.Bin
		}
		take.Rows = append(take.Rows, c)
	}
	old := w.chance(8)
	w.both("count", func(s *inventory.Shop) (any, error) {
		tally, err := s.Tally(ctx, take)
		if err != nil {
			return nil, err
		}
		if old {
			tally = append(tally, inventory.Difference{Lot: lot("2.4"), Was: 1})
		}
		return s.Count(ctx, take, tally)
	})
}

func (w *walk) read(job int64) {
	f, err := w.shops[1].Job(ctx, job)
	spec := f.Engine.Spec
	if err != nil {
		spec = sample.Sandpiper()
	}
	var list []shim.Measurement
	for _, valve := range spec.Valves() {
		if f.Job.State == inventory.StateOpen || w.chance(2) {
			m := shim.Measurement{Valve: valve, Reading: shim.ReadingOf(mm("0.1") + shim.Length(w.rng.IntN(3))*mm("0.1"))}
			if f.Job.State == inventory.StateOpen {
				if m.Stamp = w.size(); f.Job.Build && w.chance(2) { // measured without a shim
					m.Reading, m.Marks = shim.ReadingOf(m.Reading.Low+m.Stamp), shim.Marks{}
				}
			}
			list = append(list, m)
		}
	}
	if _, done := w.both("read", func(s *inventory.Shop) (any, error) { return s.Read(ctx, job, list, "") }); done {
		w.now(job)
	}
}

// plan proposes some draws, swaps and purchases, mostly possible ones, now and
// then for two jobs at once.
func (w *walk) plan(job int64) {
	jobs := []int64{job}
	if w.chance(3) {
		jobs = append(jobs, w.job())
	}
	bases, err := w.shops[1].Bases(ctx, jobs...)
	if err != nil {
		return
	}
	left := map[shim.Disc]int{}
	for _, basis := range bases {
		for _, s := range basis.Free {
			left[s.Disc] = s.Free()
		}
	}
	var list []inventory.Proposal
	for _, basis := range bases {
		list = append(list, w.proposal(basis, left))
	}
	if _, done := w.both("plan together", func(s *inventory.Shop) (any, error) { return s.PlanTogether(ctx, list) }); done {
		w.now(jobs...)
	}
}

// proposal is a plan for one job out of what is left.
func (w *walk) proposal(basis inventory.Basis, left map[shim.Disc]int) inventory.Proposal {
	p := inventory.Proposal{Job: basis.Job.ID, Revision: basis.Revision}
	if w.chance(5) {
		p.Revision--
	}
	seats := slices.Clone(basis.Seats)
	w.rng.Shuffle(len(seats), func(i, j int) { seats[i], seats[j] = seats[j], seats[i] })
	n := min(len(seats), w.rng.IntN(5)+1)
	alike := w.size() // several valves often need one size
	for i, seat := range seats[:n] {
		l := inventory.Placement{Valve: seat.Valve, Size: w.size(), Source: inventory.SourceBought, Terms: inventory.Terms{Supplier: w.supplier(), Quote: shim.Quote{Price: 78000, Priced: w.chance(4)}}}
		if w.chance(2) {
			l.Size = alike
		}
		if !l.Priced {
			l.Price = 0
		}
		donor := seats[(i+1)%n]
		family := basis.Engine.Spec.FamilyOf(seat.Valve)
		at := family.Of(l.Size)
		switch {
		case n > 1 && w.chance(3) && !donor.Empty && (!donor.SetUp || w.chance(6)) && (basis.Engine.Spec.FamilyOf(donor.Valve) == family || w.chance(6)):
			l = inventory.Placement{Valve: seat.Valve, Size: donor.Size(), Source: inventory.SourceMoved, From: donor.Valve}
		case left[at] > 0 && !w.chance(3) || w.chance(12):
			left[at]--
			l = inventory.Placement{Valve: seat.Valve, Size: l.Size, Source: inventory.SourceDrawn}
		}
		if temporary := family.Of(w.size()); w.chance(4) && (left[temporary] > 0 || w.chance(12)) {
			left[temporary]--
			l.Temporary = temporary.Size
		}
		p.Placements = append(p.Placements, l)
	}
	return p
}

func (w *walk) fit(job int64) {
	f, _ := w.shops[1].Job(ctx, job)
	var fit inventory.Fit
	for _, p := range f.Left {
		switch w.rng.IntN(4) {
		case 0:
			fit.Instead = append(fit.Instead, inventory.Instead{Valve: p.Valve, Size: w.size() * shim.Length(w.rng.IntN(2))})
		case 1:
			fit.Valves = append(fit.Valves, p.Valve)
		}
		if w.chance(5) {
			fit.Out = append(fit.Out, inventory.Out{Valve: p.Valve, Marks: shim.Marks{Stamp: w.size()}, Scrap: w.chance(3)})
		}
	}
	for _, p := range f.Left {
		if w.chance(6) {
			fit.Taken = append(fit.Taken, inventory.Taken{Valve: p.Valve, Bin: []string{"", "B"}[w.rng.IntN(2)]})
		}
		if w.chance(6) {
			fit.In = append(fit.In, inventory.In{Valve: p.Valve, Marks: shim.Marks{Mic: w.size()}})
		}
	}
	if w.chance(4) && len(f.Seats) > 0 {
		fit.Instead = append(fit.Instead, inventory.Instead{Valve: f.Seats[w.rng.IntN(len(f.Seats))].Valve, Size: w.size()})
	}
	if w.chance(3) {
		fit.Valves, fit.Instead = nil, nil
	}
	if len(f.Left) > 1 && w.chance(4) { // one valve gets its like out of another bin
		fit = inventory.Fit{Valves: []shim.Valve{f.Left[0].Valve}, Taken: []inventory.Taken{{Valve: f.Left[0].Valve, Bin: []string{"", "B"}[w.rng.IntN(2)]}}}
	}
	open := w.open()
	if receipt, done := w.both("fit", func(s *inventory.Shop) (any, error) { return s.Fit(ctx, job, fit) }); done {
		r := receipt.(inventory.Receipt)
		w.arrived(r.Batch, parcel{arrived: w.due(job, open, r.Movements), used: took(f, r.Movements)})
		w.now(job)
	}
}

// shopper looks into a shop.
type shopper struct {
	t *testing.T
	*inventory.Shop
}

func (s shopper) lots() []inventory.Balance {
	list, err := s.Balances(ctx, inventory.StockFilter{})
	require.NoError(s.t, err)
	return list
}

// batch is some batch, mostly a late one.
func (s shopper) batch(rng *rand.Rand) int64 {
	rows, err := s.History(ctx, inventory.MovementFilter{Newest: true, Limit: 1 + rng.IntN(30)})
	require.NoError(s.t, err)
	if len(rows) == 0 {
		return 1
	}
	return rows[len(rows)-1].Batch
}
