package work

import (
	"slices"

	"shimwright/shim"
	"shimwright/shim/stock"
)

// spread spreads pieces evenly, each family getting its part by how many of its
// valves the records opened, or the same as the others where there are none.
func (s *Shelf) spread(q Advising, pieces int) *stock.Advice {
	a := &stock.Advice{}
	opened := map[shim.Family]int{}
	for _, job := range s.Records {
		for i := range job {
			opened[job[i].Family]++
		}
	}
	type queue struct {
		shim.Family
		list  []shim.Offer
		taken int
	}
	var queues []queue
	budget := q.Budget
	offers := slices.DeleteFunc(slices.Clone(s.Offers), func(o shim.Offer) bool { return budget != nil && !o.Priced })
	for _, f := range s.Families {
		if len(s.Records) > 0 && opened[f] == 0 {
			continue
		}
		thin, thick, some := stock.Range(s.Records, f)
		if !some {
			thin, thick, some = s.onHand(f)
		}
		if !some {
			thick = shim.MaxSize
		}
		n := pieces
		if n == 0 {
			n = 1000
		}
		queues = append(queues, queue{Family: f, list: stock.Even(offers, f, thin, thick, s.Box, n)})
	}
	var left shim.Price
	if budget != nil {
		left = *budget
	}
	for pieces == 0 || len(a.Steps) < pieces {
		best := -1
		for i := range queues {
			k := &queues[i]
			if k.taken == len(k.list) || budget != nil && k.list[k.taken].Price > left {
				continue
			}
			// The one that is furthest behind its part.
			part := func(k *queue) float64 { return float64(k.taken+1) / float64(max(1, opened[k.Family])) }
			if best < 0 || part(k) < part(&queues[best]) {
				best = i
			}
		}
		if best < 0 {
			break
		}
		k := &queues[best]
		o := k.list[k.taken]
		k.taken++
		left -= o.Price
		a.Steps = append(a.Steps, stock.Step{Offer: o, Period: s.Period})
	}
	return a
}

// onHand is the range of the box.
func (s *Shelf) onHand(f shim.Family) (thin, thick shim.Length, some bool) {
	for _, p := range s.Box {
		if p.Family != f {
			continue
		}
		if !some {
			thin, some = p.Size, true
		}
		thick = p.Size
	}
	return thin, thick, some
}
