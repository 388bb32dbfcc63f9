package memory

import (
	"cmp"
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
			f.Diameter != 0 && m.Diameter != f.Diameter, f.Size != 0 && m.Size() != f.Size,
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
	return inventory.Balance{Lot: l, Count: s.lots[l]}, nil
}

func (s *state) Balances(f inventory.StockFilter) ([]inventory.Balance, error) {
	var list []inventory.Balance
	for l, n := range s.lots {
		if n > 0 && (f.Diameter == 0 || l.Diameter == f.Diameter) && (f.Size == 0 || l.Size() == f.Size) {
			list = append(list, inventory.Balance{Lot: l, Count: n})
		}
	}
	slices.SortFunc(list, func(x, y inventory.Balance) int { return x.Lot.Compare(y.Lot) })
	return page(list, f.Page), nil
}

func (s *state) Stock(diameter, of shim.Length) (inventory.Stock, error) {
	if stock, known := s.stocks[size{diameter, of}]; known {
		return stock, nil
	}
	return inventory.Stock{Diameter: diameter, Size: of}, nil
}

func (s *state) Stocks(f inventory.StockFilter) ([]inventory.Stock, error) {
	var list []inventory.Stock
	for _, k := range s.stocks {
		if k.OnHand > 0 && (f.Diameter == 0 || k.Diameter == f.Diameter) && (f.Size == 0 || k.Size == f.Size) {
			list = append(list, k)
		}
	}
	slices.SortFunc(list, func(x, y inventory.Stock) int {
		return cmp.Or(cmp.Compare(x.Diameter, y.Diameter), cmp.Compare(x.Size, y.Size))
	})
	return page(list, f.Page), nil
}

func (s *state) Revision(diameter shim.Length) (int64, error) { return s.revisions[diameter], nil }

func (s *state) Diameters() ([]shim.Length, error) {
	return slices.Sorted(maps.Keys(s.revisions)), nil
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
	return inventory.Engine{}, inventory.Fail(inventory.ErrUnknown, "", "the engine is not in the shop yet")
}

func (s *state) Engines(p inventory.Page) ([]inventory.Engine, error) { return page(s.engines, p), nil }

func (s *state) Job(id int64) (inventory.Job, error) { return at(s.jobs, id, "job") }

func (s *state) Jobs(f inventory.JobFilter) ([]inventory.Job, error) {
	var list []inventory.Job
	for _, j := range slices.Backward(s.jobs) {
		if (len(f.States) == 0 || slices.Contains(f.States, j.State)) && len(f.Tags([]string{j.Tag})) > 0 && (f.Engine == 0 || j.Engine == f.Engine) {
			list = append(list, j)
		}
	}
	return page(list, f.Page), nil
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

func (s *state) Plan(job int64, number int) (inventory.Plan, error) {
	for _, p := range s.plans {
		if p.Job == job && p.Number == number {
			return p, nil
		}
	}
	return inventory.Plan{}, inventory.Fail(inventory.ErrUnknown, "", "job %d has no plan %d", job, number)
}

func (s *state) Holds(f inventory.HoldFilter) ([]inventory.Hold, error) {
	return lines(s.holds, f), nil
}

func (s *state) Purchases(f inventory.HoldFilter) ([]inventory.Purchase, error) {
	return lines(s.purchases, f), nil
}

// lines lists by job, diameter and size.
func lines[T any](rows map[line]T, f inventory.HoldFilter) []T {
	var list []T
	for _, k := range slices.SortedFunc(maps.Keys(rows), func(x, y line) int {
		return cmp.Or(cmp.Compare(x.job, y.job), cmp.Compare(x.diameter, y.diameter), cmp.Compare(x.size.size, y.size.size))
	}) {
		if (f.Job == 0 || k.job == f.Job) && (f.Diameter == 0 || k.diameter == f.Diameter) && (f.Size == 0 || k.size.size == f.Size) {
			list = append(list, rows[k])
		}
	}
	return list
}

func at[T any](rows []T, id int64, what string) (T, error) {
	if id < 1 || id > int64(len(rows)) {
		var none T
		return none, inventory.Fail(inventory.ErrUnknown, "", "there is no %s %d", what, id)
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
