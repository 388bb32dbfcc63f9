package inventory

import "context"

// Standing lists the movements of a job, 0 for all, that were not taken back, oldest
// first.
func (s *Shop) Standing(ctx context.Context, job int64) (list []Movement, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		rows, err := r.Movements(MovementFilter{Job: job})
		list = standingRows(rows)
		return err
	})
	return list, err
}

// Undone is the booking that took a booking back, 0 where it stands.
func (s *Shop) Undone(ctx context.Context, batch int64) (by int64, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		by = 0
		for seq := batch; ; {
			rows, err := r.Movements(MovementFilter{Reverses: seq, Limit: 1})
			if err != nil || len(rows) == 0 {
				return err
			}
			seq = rows[0].Seq
			if by == 0 {
				by = rows[0].Batch
			} else {
				by = 0 // an undone undo lets it stand again
			}
		}
	})
	return by, err
}

// Plans lists all plans that were ever made for a job, the first one first.
func (s *Shop) Plans(ctx context.Context, job int64) (list []KeptPlan, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		j, err := r.Job(job)
		if err != nil {
			return err
		}
		list = nil
		for n := 1; n <= j.Plan; n++ {
			p, err := r.Plan(job, n)
			if err != nil {
				return err
			}
			list = append(list, p)
		}
		return nil
	})
	return list, err
}
