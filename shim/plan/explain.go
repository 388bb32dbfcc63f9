package plan

import (
	"cmp"
	"slices"

	"shimwright/shim"
)

// explain says, of every valve of a job that stays outside its limits, cannot
// be planned or is left undecided, why and what would help.
func (m *maker) explain(i int, b *bench) {
	p, q, s := m.plan, &m.request, m.stock
	j := &p.Jobs[i]
	var sizes []shim.Length // all that could be had, sorted; made when first needed
	for k := range j.Valves {
		v := &j.Valves[k]
		if v.Served() {
			if v.Limits.Undecided(v.Reading) {
				v.Reason = &Reason{Kind: AcrossLimit}
			}
			continue
		}
		switch {
		case !v.Measured:
			v.Reason = p.trial(q, s, i, v, b)
		case !v.Open:
			v.Reason = &Reason{Kind: NotOpened}
		case v.Installed == 0:
			v.Reason = change(j, v)
		default:
			if sizes == nil {
				sizes = p.reachable(q, i, s)
			}
			v.Reason = m.shortage(i, v, sizes)
		}
	}
}

// change is how much thinner or thicker a shim must be where the one in place is
// not known yet.
func change(j *JobPlan, v *ValvePlan) *Reason {
	const any = 5 * shim.Millimetre // which size it is makes no difference
	set := v.setting(j.Engine)
	set.Size = any
	thin, thick := set.Accepts()
	return &Reason{Kind: UnknownShim, Need: set.Ideal() - any, From: thin - any, To: thick - any}
}

// reachable lists the sizes that the job's valves could be given by somebody.
func (p *Plan) reachable(q *Request, job int, s *stock) []shim.Length {
	e := p.Jobs[job].Engine
	if sizes, known := s.reachable[e]; known && q.SharePulled {
		return sizes
	}
	var sizes []shim.Length
	for i := range p.Jobs {
		if i != job && !(q.SharePulled && p.Jobs[i].Engine.Diameter == e.Diameter) {
			continue
		}
		for k := range p.Jobs[i].Valves {
			if v := &p.Jobs[i].Valves[k]; takesPart(v) {
				sizes = append(sizes, v.Installed)
			}
		}
	}
	for _, lot := range s.box[e.Diameter] {
		sizes = append(sizes, lot.Size)
	}
	if !q.NoBuy {
		for _, offer := range s.catalogue(e) {
			sizes = append(sizes, offer.Size)
		}
	}
	s.reachable[e] = sortedSizes(sizes)
	return s.reachable[e]
}

// shortage is why no shim was found for a measured, open valve.
func (m *maker) shortage(i int, v *ValvePlan, sizes []shim.Length) *Reason {
	e := m.plan.Jobs[i].Engine
	set := v.setting(e)
	thin, thick := set.Accepts()
	r := &Reason{Need: set.Ideal(), From: thin, To: thick}
	best, fits := fittest(set, sizes)
	if m.request.NoBuy {
		if offers := between(m.stock.catalogue(e), thin, thick); len(offers) > 0 {
			r.Kind, r.Offer = NotBought, closestOffer(set, offers)
			if fits {
				m.whereabouts(r, i, best)
			}
			return r
		}
	}
	at, _ := slices.BinarySearch(sizes, thin)
	switch {
	case len(sizes) == 0:
		r.Kind = NoShims
	case at < len(sizes) && sizes[at] <= thick:
		r.Kind = Taken
		m.whereabouts(r, i, best)
	case at == 0:
		r.Kind, r.Size = AllThicker, sizes[0]
	case at == len(sizes):
		r.Kind, r.Size = AllThinner, sizes[at-1]
	default:
		r.Kind, r.Size, r.Next = Between, sizes[at-1], sizes[at]
	}
	return r
}

// whereabouts adds why a shim of the size is not to be had for a valve of the
// job: who gets it. The job's own valves are named first, then those of the
// other jobs by rank.
func (m *maker) whereabouts(r *Reason, job int, size shim.Length) {
	r.Size, r.Where = size, OutOfStock
	j := &m.plan.Jobs[job]
	for _, i := range slices.Concat([]int{job}, m.ranked) {
		other := &m.plan.Jobs[i]
		if other.Engine.Diameter != j.Engine.Diameter {
			continue
		}
		for k := range other.Valves {
			v := &other.Valves[k]
			if v.Size == size && v.Open && (other == j || m.request.SharePulled || v.Action == Box || v.Action == Buy) {
				r.Where, r.Valve = StaysIn, v.Valve
				if v.Changed() {
					r.Where = GoesInto
				}
				if other != j {
					r.Job = cmp.Or(other.Job, other.Engine.Name)
				}
				return
			}
		}
	}
}

// fittest is the size of the list that comes closest to the aim inside the
// limits, and whether there is one.
func fittest(set shim.Setting, sizes []shim.Length) (best shim.Length, fits bool) {
	for _, size := range sizes {
		if expected := set.Expect(size); set.Contain(expected) && (!fits || (expected-set.Aim).Abs() < (set.Expect(best)-set.Aim).Abs()) {
			best, fits = size, true
		}
	}
	return best, fits
}

// closestOffer is the size on sale that comes closest to the aim.
func closestOffer(set shim.Setting, offers []shim.Offer) shim.Length {
	sizes := make([]shim.Length, len(offers))
	for i, o := range offers {
		sizes[i] = o.Size
	}
	best, _ := fittest(set, sizes)
	return best
}
