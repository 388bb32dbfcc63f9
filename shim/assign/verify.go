package assign

import "fmt"

// Verify checks that the solution is an assignment, that its total is right
// and that its prices prove it cheapest. The error wraps [ErrNotProved] where
// they do not. It takes time linear in the number of arcs.
func (p *Problem) Verify(s *Solution) error {
	a, err := p.arcs()
	if err != nil {
		return err
	}
	if len(s.Prices) != len(p.Bins) {
		return fmt.Errorf("%d prices for %d bins: %w", len(s.Prices), len(p.Bins), ErrNotProved)
	}
	var zero, total, cost Cost
	spare := make([]int, len(p.Bins))
	for j, b := range p.Bins {
		spare[j] = b.Count
	}
	spareOutside := p.outsideCount()
	placed := make([]int, len(p.Rows))
	dearest := make([]Cost, len(p.Rows)) // of the row's placements, price included
	for _, at := range s.Placements {
		if at.Count <= 0 {
			return fmt.Errorf("row %d: a placement of %d: %w", at.Row, at.Count, ErrNotProved)
		}
		if at.Bin == None {
			if p.Rows[at.Row].Outside == nil {
				return fmt.Errorf("row %d has no way outside: %w", at.Row, ErrNotProved)
			}
			cost = *p.Rows[at.Row].Outside
			total.Add(&cost, at.Count)
			cost.Add(&s.Outside, 1)
			spareOutside -= at.Count
		} else {
			spare[at.Bin] -= at.Count
			p.Cost(at.Row, at.Bin, &cost)
			total.Add(&cost, at.Count)
			cost.Add(&s.Prices[at.Bin], 1)
		}
		if placed[at.Row] == 0 || dearest[at.Row].Less(&cost) {
			dearest[at.Row] = cost
		}
		placed[at.Row] += at.Count
	}
	if total != s.Total {
		return fmt.Errorf("the placements cost %v, not %v: %w", total, s.Total, ErrNotProved)
	}
	for j := range p.Bins {
		if spare[j] < 0 {
			return fmt.Errorf("bin %d gives %d pieces too many: %w", j, -spare[j], ErrNotProved)
		}
		if c := s.Prices[j].Compare(&zero); c < 0 || c > 0 && spare[j] > 0 {
			return fmt.Errorf("bin %d has %d to spare at price %v: %w", j, spare[j], s.Prices[j], ErrNotProved)
		}
	}
	if spareOutside < 0 {
		return fmt.Errorf("%d too many go outside: %w", -spareOutside, ErrNotProved)
	}
	if c := s.Outside.Compare(&zero); c < 0 || c > 0 && spareOutside > 0 {
		return fmt.Errorf("%d more could go outside at price %v: %w", spareOutside, s.Outside, ErrNotProved)
	}
	return p.verifyRows(a, s, placed, dearest)
}

// verifyRows checks that each row is placed whole, where it reaches, and
// nowhere dearer than its cheapest choice at the prices.
func (p *Problem) verifyRows(a *arcs, s *Solution, placed []int, dearest []Cost) error {
	for _, at := range s.Placements {
		if at.Bin != None && !a.reach(int32(at.Row), int32(at.Bin)) {
			return fmt.Errorf("row %d does not reach bin %d: %w", at.Row, at.Bin, ErrNotProved)
		}
	}
	var cost Cost
	for i, r := range p.Rows {
		if placed[i] != r.Count {
			return fmt.Errorf("row %d: %d of %d are placed: %w", i, placed[i], r.Count, ErrNotProved)
		}
		if r.Count == 0 {
			continue
		}
		if r.Outside != nil && lessSum(r.Outside, &s.Outside, &dearest[i]) {
			return fmt.Errorf("row %d would be cheaper outside: %w", i, ErrNotProved)
		}
		for _, sp := range a.of(int32(i)) {
			for j := sp.from; j < sp.to; j++ {
				p.Cost(i, int(j), &cost)
				cost.Add(&s.Prices[j], 1)
				if cost.Less(&dearest[i]) {
					return fmt.Errorf("row %d would be cheaper in bin %d: %w", i, j, ErrNotProved)
				}
			}
		}
	}
	return nil
}
