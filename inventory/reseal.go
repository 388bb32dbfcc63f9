package inventory

import "fmt"

// soundVersion1 verifies a job under the seal that version 1 of the shop file
// gave it: without its number.
func (j Job) soundVersion1() error {
	if j.Seal != seal(j.Engine, j.Name, j.Diameter, j.Tag, j.Meter, j.Note, j.State, j.Who, j.Opened.Unix(), j.Changed.Unix(), j.Plan, j.Short) {
		return broken(fmt.Sprintf("job %d", j.ID))
	}
	return nil
}

// Reseal brings the rows of a version 1 shop to version 2: all that version 1
// could verify is verified, then every row is sealed and counted. Where
// anything is found, the error is [ErrDamaged] and names the first of it: what
// was not verified is never sealed.
func Reseal(w Writer) error {
	a := newAudit()
	a.old = true
	if err := a.rest(w); err != nil {
		return err
	}
	if len(a.found) > 0 {
		return Damaged(a.found[0].Where, a.found[0].What)
	}
	for _, step := range []func(Writer) error{resealStock, resealLines, resealJobs} {
		if err := step(w); err != nil {
			return err
		}
	}
	for g, n := range a.tallies {
		t := Tally{Group: g, Count: n}
		if g == (Group{What: Movements}) {
			t.Head = a.last.Hash
		}
		if err := w.PutTally(t.sealed()); err != nil {
			return err
		}
	}
	return nil
}

func resealStock(w Writer) error {
	lots, err := w.Balances(StockFilter{})
	if err != nil {
		return err
	}
	if err := each(lots, func(b Balance) error { return w.PutBalance(b.sealed()) }); err != nil {
		return err
	}
	sizes, err := w.Stocks(StockFilter{})
	if err != nil {
		return err
	}
	if err := each(sizes, func(s Stock) error { return w.PutStock(s.sealed()) }); err != nil {
		return err
	}
	revisions, err := w.Revisions()
	if err != nil {
		return err
	}
	return each(revisions, func(r Revision) error { return w.PutRevision(r.sealed()) })
}

func resealLines(w Writer) error {
	holds, err := w.Holds(HoldFilter{})
	if err != nil {
		return err
	}
	if err := each(holds, func(h Hold) error { return w.PutHold(h.sealed()) }); err != nil {
		return err
	}
	purchases, err := w.Purchases(HoldFilter{})
	if err != nil {
		return err
	}
	return each(purchases, func(p Purchase) error { return w.PutPurchase(p.sealed()) })
}

func resealJobs(w Writer) error {
	jobs, err := w.Jobs(JobFilter{})
	if err != nil {
		return err
	}
	return each(jobs, func(j Job) error { return w.PutJob(j.sealed()) })
}

func each[T any](list []T, do func(T) error) error {
	for _, row := range list {
		if err := do(row); err != nil {
			return err
		}
	}
	return nil
}
