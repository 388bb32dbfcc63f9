package plan

import (
	"context"
	"slices"

	"shimwright/shim"
	"shimwright/shim/doubt"
)

// OneAfterAnother plans the request's jobs in their order, each on what those
// before it left of the box and of the supplier's stock, and adds up their
// criteria: what a shop does that plans each engine as it comes. Pulled shims
// stay with their engine. The joint plan of [Make] is never worse in the order
// of the policy.
func OneAfterAnother(ctx context.Context, q Request) (Criteria, error) {
	var sum Criteria
	box := make([]shim.BoxRow, len(q.Box))
	copy(box, q.Box)
	offers, coming := slices.Clone(q.Offers), slices.Clone(q.OnOrder)
	for i := range q.Jobs {
		one := q
		one.Jobs, one.Box, one.SharePulled, one.unlisted = q.Jobs[i:i+1], box, false, true
		if one.OnOrder = coming; q.Offers != nil {
			one.Offers = offers
		}
		p, err := Make(ctx, one)
		if err != nil {
			return Criteria{}, err
		}
		sum.add(p.Criteria)
		for k := range p.Jobs[0].Valves {
			if v := &p.Jobs[0].Valves[k]; v.Action == Box {
				takeFromBox(box, q.Jobs[i].Engine.FamilyOf(v.Valve), v, q.apart())
			}
		}
		for _, lot := range p.Shopping {
			takeFromSupplier(offers, lot)
			takeFromSupplier(coming, lot)
		}
	}
	return sum, nil
}

// takeFromBox takes the valve's new shim out of the first row that has it; where
// it matters, out of one that is known as well.
func takeFromBox(box []shim.BoxRow, family shim.Family, v *ValvePlan, matters bool) {
	for i := range box {
		row := &box[i]
		if row.Count > 0 && row.Size() == v.Size && same(row.Family, family) && (!matters || v.Fitted() == doubt.SourceOf(row.Mic != 0, row.Used)) {
			row.Count--
			return
		}
	}
}

// same reports whether a row's family, whose diameter may be left out, is the one asked for.
func same(row, family shim.Family) bool {
	return row == family || row.Kind == family.Kind && row.Diameter == 0
}

// takeFromSupplier takes a lot's pieces out of the offers with a stock.
func takeFromSupplier(offers []shim.Offer, lot Pieces) {
	left := lot.Count
	for i := range offers {
		o := &offers[i]
		if o.Limited && o.Size == lot.Size && o.Price == lot.Price && same(o.Family, lot.Family) {
			n := min(left, o.Stock)
			o.Stock -= n
			left -= n
		}
	}
}

// Shopping is what is bought for the job.
func (j *JobPlan) Shopping() []Pieces {
	return j.lots(func(v *ValvePlan) bool { return v.Action == Buy })
}

// Drawn is what the box gives to the job.
func (j *JobPlan) Drawn() []Pieces {
	return j.lots(func(v *ValvePlan) bool { return v.Action == Box })
}

func (j *JobPlan) lots(with func(v *ValvePlan) bool) []Pieces {
	var list []Pieces
	for k := range j.Valves {
		if v := &j.Valves[k]; with(v) {
			list = append(list, Pieces{Disc: j.Engine.FamilyOf(v.Valve).Of(v.Size), Count: 1, Quote: v.Quote})
		}
	}
	return gather(list)
}

// LeftOver is what the job's pulled shims leave.
func (j *JobPlan) LeftOver() []Pieces {
	var list []Pieces
	for k := range j.Valves {
		if v := &j.Valves[k]; v.Changed() && v.To == nil && !v.SetUp {
			list = append(list, Pieces{Disc: j.Engine.FamilyOf(v.Valve).Of(v.Installed), Count: 1})
		}
	}
	return gather(list)
}
