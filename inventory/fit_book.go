package inventory

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/shim"
)

// named finds the lots with this stamp and micrometer reading that are not
// reserved: such a piece went in instead of the planned one. A shim that is kept or
// moved stays the same one, whatever is read on it. The job's own holds must be free.
func (b *booking) named(w *work, t *task, held []Hold) error {
	took := map[Lot]int{}
	for _, h := range held {
		took[h.Lot] += h.Count
	}
	for i := range t.targets {
		g := &t.targets[i]
		in := t.in[g.valve]
		bin, told := t.bins[g.valve]
		if in.Stamp == 0 || in.Mic == 0 || g.own || g.planned && g.Source == SourceMoved && !told {
			continue
		}
		lots, err := spare(b, w.family(g.valve).Of(in.Mic), w.ID)
		if err != nil {
			return err
		}
		for k := range lots {
			lots[k].Count -= took[lots[k].Lot]
		}
		best := pickWhere(lots, func(l Lot) bool { return l.Marks == in.Marks && (!told || strings.EqualFold(l.Bin, bin)) })
		if best < 0 {
			continue
		}
		took[lots[best].Lot]++
		t.lots[g.valve] = lots[best].Lot
		*g = target{valve: g.valve, size: in.Mic}
		t.left = slices.DeleteFunc(t.left, func(p Placement) bool { return p.Valve == g.valve })
	}
	return nil
}

// holding finds the pieces that the plan counts on, reserved ones first. The error
// is [ErrStale] if one is gone or reserved by others. The job's own holds must be free.
func (b *booking) holding(w *work, t *task, held []Hold) (err error) {
	needs := w.onBox(t.left)
	if t.promised, err = w.promise(b, needs, held); err != nil {
		return err
	}
	for _, n := range needs {
		if _, here := t.promised[n.slot]; !here {
			return w.stale(n.Disc.Size)
		}
	}
	return nil
}

func (w *work) stale(size shim.Length) error {
	return shim.Fail(ErrStale, "plan the job again, or book each valve with --instead",
		"job %d: a reserved shim of %s mm is no longer in the box", w.ID, shim.MM.FormatAtLeast(size, 3))
}

// unlike is the error for a moved shim that came out with a different size.
func (w *work) unlike(g target, size shim.Length) error {
	text := func(l shim.Length) string { return shim.MM.FormatAtLeast(l, 3) }
	leaves := ""
	if c, known := w.expect(g.valve, size); known {
		leaves = fmt.Sprintf(", which would leave %s mm", text(c))
	}
	return shim.Fail(ErrStale, fmt.Sprintf("leave %s as it is, book only the other valves, then plan the job again", g.valve),
		"valve %s was to get %s mm from %s, but %s mm came out there%s", g.valve, text(g.size), g.From, text(size), leaves)
}

// pull books what came out of the valves, and out of those whose shim was
// moved into them.
func (b *booking) pull(w *work, t *task) error {
	var valves []shim.Valve
	for _, g := range t.targets {
		valves = append(valves, g.valve)
		if _, told := t.bins[g.valve]; g.planned && g.Source == SourceMoved && !told {
			if _, out := w.since(g.From, KindPulled); !out {
				valves = append(valves, g.From)
			}
		}
	}
	slices.SortFunc(valves, shim.Valve.Compare)
	for _, v := range slices.Compact(valves) {
		seat := w.seat(v, forever)
		if _, told := t.out[v]; told && seat.SetUp {
			return shim.Fail(ErrInvalid, "leave it out", "valve %s: what comes out is a set-up shim of the bench set, and is not booked", v)
		}
		if seat.Empty || seat.SetUp {
			continue
		}
		lot := Lot{Family: w.family(v), Marks: seat.Marks, Used: true, Bin: t.Bin}
		out, told := t.out[v]
		if told && (out.Stamp != 0 || out.Mic != 0) {
			seat = seat.told(out.Stamp, out.Mic)
			lot.Stamp, lot.Mic = seat.Stamp, seat.Mic
		}
		if lot.Size() == 0 {
			return shim.Fail(ErrInvalid, "measure it and give it with --out", "valve %s: the size of the shim that came out is not known", v)
		}
		if err := b.post(Movement{Kind: KindPulled, Lot: lot, Count: 1, Job: w.ID, Valve: v, Note: t.Note}, respect); err != nil {
			return err
		}
		t.pulled[v] = lot
		if told && out.Scrap {
			if err := b.post(Movement{Kind: KindScrapped, Lot: lot, Count: -1, Job: w.ID, Valve: v, Note: t.Note}, respect); err != nil {
				return err
			}
		}
	}
	return nil
}

// arrive books in the bought shims that are fitted and were not booked in.
func (b *booking) arrive(w *work, t *task) error {
	spare := map[shim.Disc]int{}
	for _, p := range w.purchases {
		spare[p.Disc] = w.arrived(p.Disc) - w.used(p.Disc)
	}
	for _, g := range t.targets {
		if _, told := t.bins[g.valve]; told || !g.planned || g.Source != SourceBought {
			continue
		}
		disc := w.family(g.valve).Of(g.size)
		if spare[disc]--; spare[disc] >= 0 {
			continue
		}
		p, err := b.due(w, g)
		if err != nil {
			return err
		}
		i := Item{Lot: Lot{Family: disc.Family, Marks: shim.Marks{Stamp: g.size}}, Count: 1, Quote: p.Quote, Note: t.Note}
		if err := b.came(p, 1, i); err != nil {
			return err
		}
	}
	return nil
}

// due is the purchase that a bought piece belongs to: one on order, else one to be
// ordered.
func (b *booking) due(w *work, g target) (Purchase, error) {
	disc := w.family(g.valve).Of(g.size)
	list, err := b.Purchases(HoldFilter{Job: w.ID, Disc: disc})
	if err != nil {
		return Purchase{}, err
	}
	for _, open := range []func(Purchase) int{Purchase.Coming, Purchase.Missing} {
		for _, p := range list {
			if open(p) > 0 {
				return p, nil
			}
		}
	}
	return Purchase{Job: w.ID, Disc: disc, Terms: g.Terms}, nil
}

// place books the shims that went in.
func (b *booking) place(w *work, t *task) error {
	for _, g := range t.targets {
		lot, err := b.choose(w, t, g)
		if err != nil {
			return err
		}
		delete(t.promised, slot{valve: g.valve})
		if lot, err = b.gauged(w, t, g, lot); err != nil {
			return err
		}
		if err := b.post(Movement{Kind: KindFitted, Lot: lot, Count: -1, Job: w.ID, Valve: g.valve, Note: t.Note}, respect); err != nil {
			return err
		}
	}
	return nil
}

// gauged books the piece as what was read on it before it went in.
func (b *booking) gauged(w *work, t *task, g target, lot Lot) (Lot, error) {
	in, told := t.in[g.valve]
	if !told {
		return lot, nil
	}
	is := lot
	if in.Stamp != 0 {
		if lot.Stamp != 0 && in.Stamp != lot.Stamp {
			return lot, shim.Fail(ErrInvalid, "book another shim with --instead, or correct the box first",
				"valve %s: its shim is stamped %s mm, not %s mm", g.valve, shim.MM.FormatAtLeast(lot.Stamp, 3), shim.MM.FormatAtLeast(in.Stamp, 3))
		}
		is.Stamp = in.Stamp
	}
	if in.Mic != 0 {
		is.Mic = in.Mic
	}
	if is == lot {
		return lot, nil
	}
	for _, m := range []Movement{{Lot: lot, Count: -1}, {Lot: is, Count: 1}} {
		m.Kind, m.Job, m.Valve, m.Note = KindCorrected, w.ID, g.valve, t.Note
		if err := b.post(m, respect); err != nil {
			return lot, err
		}
	}
	return is, nil
}

// choose finds the lot that a shim is taken from: the one named by its micrometer
// reading; the bin that was given; the shim that was moved or bought; the piece
// reserved for the plan; else one that is free, used before new.
func (b *booking) choose(w *work, t *task, g target) (Lot, error) {
	bin, told := t.bins[g.valve]
	lot, named := t.lots[g.valve]
	switch {
	case named:
		return lot, nil
	case g.own:
		lot, out := t.pulled[g.valve]
		if !out {
			return Lot{}, shim.Fail(ErrInvalid, "give the size that went in", "valve %s has no shim to keep", g.valve)
		}
		return lot, nil
	case told:
	case g.planned && g.Source == SourceMoved:
		kept := slices.ContainsFunc(t.targets, func(o target) bool { return o.valve == g.From && o.own })
		switch lot, out := t.pulled[g.From]; {
		case out && kept:
			return Lot{}, w.stale(g.size)
		case out && t.out[g.From].Scrap:
			return Lot{}, shim.Fail(ErrInvalid, "give the shim that went in with --instead, or its bin with --from",
				"valve %s gets the shim of %s, which is scrapped", g.valve, g.From)
		case out && lot.Size() != g.size:
			now, err := load(b, w.ID) // with what came out in this fit
			if err == nil && !now.serves(g.Placement, lot.Size()) {
				err = now.unlike(g, lot.Size())
			}
			return lot, err
		case out:
			return lot, nil
		}
		fallthrough
	case g.planned:
		if lot, here := t.promised[slot{valve: g.valve}]; here {
			return lot, nil
		}
		bought := Lot{Family: w.family(g.valve), Marks: shim.Marks{Stamp: g.size}}
		if here, err := b.Balance(bought); g.Source == SourceBought && (err != nil || here.Count > 0) {
			return bought, err
		}
	}
	disc := w.family(g.valve).Of(g.size)
	from := func(l Lot) bool { return !told || strings.EqualFold(l.Bin, bin) }
	all, err := b.Balances(StockFilter{Disc: disc})
	if err != nil {
		return Lot{}, err
	}
	others, err := spare(b, disc, w.ID)
	if err != nil {
		return Lot{}, err
	}
	free := slices.Clone(others)
	for v, lot := range t.promised {
		for i := range free {
			if free[i].Lot == lot && v.valve != g.valve {
				free[i].Count--
			}
		}
	}
	for _, lots := range [][]Balance{free, others, all} {
		if best := pickWhere(lots, from); best >= 0 {
			return lots[best].Lot, nil
		}
	}
	size := shim.MM.FormatAtLeast(g.size, 3)
	switch {
	case told:
		return Lot{}, shim.Fail(ErrShort, "find it with box list", "valve %s: no shim of %s mm in bin %s", g.valve, size, bin)
	case g.planned:
		return Lot{}, w.stale(g.size)
	}
	return Lot{}, shim.Fail(ErrShort, "receive it first if it was never booked in", "valve %s: no shim of %s mm in the box", g.valve, size)
}
