package memory

import (
	"fmt"

	"shimwright/inventory"
)

func (s *state) Append(m inventory.Movement) error {
	if m.Seq != int64(len(s.ledger))+1 {
		return fmt.Errorf("movement %d cannot follow movement %d", m.Seq, len(s.ledger))
	}
	s.ledger = append(s.ledger, m)
	return nil
}

func (s *state) PutBalance(b inventory.Balance) error {
	if b.Count < 0 {
		return fmt.Errorf("%d pieces of %s", b.Count, b.Lot)
	}
	s.lots[b.Lot] = b
	if b.Count == 0 {
		delete(s.lots, b.Lot)
	}
	return nil
}

func (s *state) PutStock(k inventory.Stock) error {
	if k.Reserved < 0 || k.Reserved > k.OnHand {
		return fmt.Errorf("%d pieces reserved of %d", k.Reserved, k.OnHand)
	}
	s.stocks[k.Disc] = k
	if k.OnHand == 0 {
		delete(s.stocks, k.Disc)
	}
	return nil
}

func (s *state) PutRevision(r inventory.Revision) error {
	s.revisions[r.Family] = r
	return nil
}

func (s *state) PutTally(c inventory.Tally) error {
	s.tallies[c.Group] = c
	if c.Count == 0 {
		delete(s.tallies, c.Group)
	}
	return nil
}

func (s *state) AddEngine(e inventory.Engine) (int64, error) {
	e.ID = int64(len(s.engines)) + 1
	s.engines = append(s.engines, e)
	return e.ID, nil
}

func (s *state) AddRecord(r inventory.Record) (int64, error) {
	r.Number = int64(len(inventory.RecordFilter{Kind: r.Kind}.Pick(s.records))) + 1
	s.records = append(s.records, r)
	return r.Number, nil
}

func (s *state) PutRecord(r inventory.Record) error {
	for i, old := range s.records {
		if old.Kind == r.Kind && old.Number == r.Number {
			s.records[i] = r
			return nil
		}
	}
	return inventory.NoRecord(r.Kind, r.Number)
}

func (s *state) AddJob(j inventory.Job) (int64, error) {
	j.ID = int64(len(s.jobs)) + 1
	s.jobs = append(s.jobs, j)
	return j.ID, nil
}

func (s *state) PutJob(j inventory.Job) error {
	if _, err := s.Job(j.ID); err != nil {
		return err
	}
	s.jobs[j.ID-1] = j
	return nil
}

func (s *state) PutCommand(c inventory.Command) error {
	s.commands[c.Key] = c
	return nil
}

func (s *state) AddEdit(e inventory.Edit) error {
	s.edits = append(s.edits, e)
	return nil
}

func (s *state) AddCheck(c inventory.Check) error {
	s.checks = append(s.checks, c)
	return nil
}

func (s *state) AddPlan(p inventory.KeptPlan) error {
	s.plans = append(s.plans, p)
	return nil
}

func (s *state) PutHold(h inventory.Hold) error {
	k := promise{h.Job, h.Lot}
	if h.Count == 0 {
		delete(s.holds, k)
		return nil
	}
	s.holds[k] = h
	return nil
}

func (s *state) PutPurchase(p inventory.Purchase) error {
	if p.Arrived < 0 || p.Arrived > p.Ordered || p.Needed < 0 {
		return fmt.Errorf("%d pieces arrived of %d ordered", p.Arrived, p.Ordered)
	}
	k := buy{p.Job, p.Disc, p.Terms}
	if p.Needed == 0 && p.Ordered == 0 {
		delete(s.purchases, k)
		return nil
	}
	s.purchases[k] = p
	return nil
}
