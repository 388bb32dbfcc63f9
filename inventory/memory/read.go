package memory

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

func (s *state) Last() (inventory.Movement, error) {
	if len(s.ledger) == 0 {
		return inventory.Movement{}, nil
	}
	return s.ledger[len(s.ledger)-1], nil
}

func (s *state) Movements(f inventory.MovementFilter) ([]inventory.Movement, error) {
	var list []inventory.Movement
	rows := slices.All(s.ledger)
	if f.Newest {
		rows = slices.Backward(s.ledger)
	}
	for _, m := range rows {
		switch {
		case m.Seq <= f.After, f.Before != 0 && m.Seq >= f.Before,
			!inventory.Takes(f.Disc, m.Disc()),
			f.Job != 0 && m.Job != f.Job, f.Reverses != 0 && m.Reverses != f.Reverses:
			continue
		}
		if list = append(list, m); len(list) == f.Limit {
			break
		}
	}
	return list, nil
}

func (s *state) Balance(l inventory.Lot) (inventory.Balance, error) {
	b := s.lots[l]
	b.Lot = l
	return b, nil
}

func (s *state) Balances(f inventory.StockFilter) ([]inventory.Balance, error) {
	var list []inventory.Balance
	for l, b := range s.lots {
		if inventory.Takes(f.Disc, l.Disc()) {
			list = append(list, b)
		}
	}
	slices.SortFunc(list, func(x, y inventory.Balance) int { return x.Lot.Compare(y.Lot) })
	return page(list, f.Page), nil
}

func (s *state) Stock(d shim.Disc) (inventory.Stock, error) {
	k := s.stocks[d]
	k.Disc = d
	return k, nil
}

func (s *state) Stocks(f inventory.StockFilter) ([]inventory.Stock, error) {
	var list []inventory.Stock
	for _, k := range s.stocks {
		if k.OnHand > 0 && inventory.Takes(f.Disc, k.Disc) {
			list = append(list, k)
		}
	}
	slices.SortFunc(list, func(x, y inventory.Stock) int {
		return x.Disc.Compare(y.Disc)
	})
	return page(list, f.Page), nil
}

func (s *state) Revision(f shim.Family) (inventory.Revision, error) {
	r := s.revisions[f]
	r.Family = f
	return r, nil
}

func (s *state) Revisions() ([]inventory.Revision, error) {
	return slices.SortedFunc(maps.Values(s.revisions), func(x, y inventory.Revision) int { return x.Family.Compare(y.Family) }), nil
}

func (s *state) Engine(id int64) (inventory.Engine, error) {
	return at(s.engines, id, "engine")
}

func (s *state) FindEngine(seal inventory.Hash) (inventory.Engine, error) {
	for _, e := range s.engines {
		if e.Seal == seal {
			return e, nil
		}
	}
	return inventory.Engine{}, shim.Fail(inventory.ErrUnknown, "", "the engine is not in the shop yet")
}

func (s *state) Engines(p inventory.Page) ([]inventory.Engine, error) { return page(s.engines, p), nil }

func (s *state) Job(id int64) (inventory.Job, error) { return at(s.jobs, id, "job") }

func (s *state) Jobs(f inventory.JobFilter) ([]inventory.Job, error) {
	var list []inventory.Job
	for _, j := range slices.Backward(s.jobs) {
		if (len(f.States) == 0 || slices.Contains(f.States, j.State)) && len(f.Tags([]string{j.Tag})) > 0 && (f.Engine == 0 || j.Engine == f.Engine) && (f.Machine == 0 || j.Machine == f.Machine) {
			list = append(list, j)
		}
	}
	return page(list, f.Page), nil
}

func (s *state) Command(key string) (inventory.Command, error) {
	c, found := s.commands[key]
	if !found {
		return c, shim.Fail(inventory.ErrUnknown, "", "there is no command of key %q", key)
	}
	return c, nil
}

func (s *state) Record(kind string, number int64) (inventory.Record, error) {
	for _, r := range s.records {
		if r.Kind == kind && r.Number == number {
			return r, nil
		}
	}
	return inventory.Record{}, inventory.NoRecord(kind, number)
}

func (s *state) Records(f inventory.RecordFilter) ([]inventory.Record, error) {
	return page(f.Pick(s.records), f.Page), nil
}

func (s *state) Commands() ([]inventory.Command, error) {
	var list []inventory.Command
	for _, key := range slices.Sorted(maps.Keys(s.commands)) {
		list = append(list, s.commands[key])
	}
	return list, nil
}

func (s *state) Edits(job int64) ([]inventory.Edit, error) {
	var list []inventory.Edit
	for _, e := range s.edits {
		if e.Job == job {
			list = append(list, e)
		}
	}
	return list, nil
}

func (s *state) Checks(job int64) ([]inventory.Check, error) {
	var list []inventory.Check
	for _, c := range s.checks {
		if c.Job == job {
			list = append(list, c)
		}
	}
	return list, nil
}

func (s *state) Plan(job int64, number int) (inventory.KeptPlan, error) {
	for _, p := range s.plans {
		if p.Job == job && p.Number == number {
			return p, nil
		}
	}
	return inventory.KeptPlan{}, shim.Fail(inventory.ErrUnknown, "", "job %d has no plan %d", job, number)
}

func (s *state) Holds(f inventory.HoldFilter) ([]inventory.Hold, error) {
	var list []inventory.Hold
	for k, h := range s.holds {
		if (f.Job == 0 || k.job == f.Job) && inventory.Takes(f.Disc, k.lot.Disc()) {
			list = append(list, h)
		}
	}
	slices.SortFunc(list, func(x, y inventory.Hold) int { return cmp.Or(cmp.Compare(x.Job, y.Job), x.Lot.Compare(y.Lot)) })
	return list, nil
}

func (s *state) Purchases(f inventory.HoldFilter) ([]inventory.Purchase, error) {
	var list []inventory.Purchase
	for k, p := range s.purchases {
		if (f.Job == 0 || k.job == f.Job) && inventory.Takes(f.Disc, k.Disc) {
			list = append(list, p)
		}
	}
	slices.SortFunc(list, inventory.Purchase.Compare)
	return list, nil
}

func (s *state) Tally(g inventory.Group) (inventory.Tally, error) {
	c := s.tallies[g]
	c.Group = g
	return c, nil
}

func (s *state) Tallies() ([]inventory.Tally, error) {
	return slices.Collect(maps.Values(s.tallies)), nil
}

func (s *state) Rows(g inventory.Group) (int64, error) {
	n := 0
	switch g.What {
	case inventory.Movements:
		for _, m := range s.ledger {
			if (g.Job == 0 || m.Job == g.Job) && inventory.Takes(g.Disc, m.Disc()) {
				n++
			}
		}
	case inventory.Lots:
		for l := range s.lots {
			if inventory.Takes(g.Disc, l.Disc()) {
				n++
			}
		}
	case inventory.Sizes:
		for k := range s.stocks {
			if inventory.Takes(g.Disc, k) {
				n++
			}
		}
	case inventory.Diameters:
		n = len(s.revisions)
	case inventory.Engines:
		n = len(s.engines)
	case inventory.Jobs:
		n = len(s.jobs)
	case inventory.Commands:
		n = len(s.commands)
	case inventory.Edits:
		for _, e := range s.edits {
			if e.Job == g.Job {
				n++
			}
		}
	case inventory.Checks:
		for _, c := range s.checks {
			if c.Job == g.Job {
				n++
			}
		}
	case inventory.Holds:
		list, err := s.Holds(inventory.HoldFilter{Job: g.Job, Disc: g.Disc})
		return int64(len(list)), err
	case inventory.Purchases:
		list, _ := s.Purchases(inventory.HoldFilter{Job: g.Job, Disc: g.Disc}) // never fails
		n = len(list)
	default:
		if !slices.Contains(inventory.RecordKinds, g.What) {
			return 0, fmt.Errorf("nobody counts %s", g.What)
		}
		n = len(inventory.RecordFilter{Kind: g.What}.Pick(s.records))
	}
	return int64(n), nil
}

func at[T any](rows []T, id int64, what string) (T, error) {
	if id < 1 || id > int64(len(rows)) {
		var none T
		return none, shim.Fail(inventory.ErrUnknown, "", "there is no %s %d", what, id)
	}
	return rows[id-1], nil
}

func page[T any](rows []T, p inventory.Page) []T {
	rows = rows[min(max(p.Offset, 0), len(rows)):]
	if p.Limit > 0 {
		rows = rows[:min(p.Limit, len(rows))]
	}
	return slices.Clone(rows)
}
