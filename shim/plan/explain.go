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
	sizes := map[shim.Family][]shim.Length{} // all that could be had, sorted; made when first needed
	for k := range j.Valves {
		v := &j.Valves[k]
		if v.Served() {
			if !v.SetUp && v.Settling().Undecided(v.Reading) {
				v.Reason = &Reason{Kind: AcrossLimit}
			}
			continue
		}
		switch {
		case !v.Measured:
			v.Reason = p.trial(q, s, i, v, b)
		case !v.Open:
			v.Reason = &Reason{Kind: NotOpened}
		case v.Installed == 0 && !v.SetUp:
			v.Reason = change(j, v)
		default:
			family := j.Engine.FamilyOf(v.Valve)
			if sizes[family] == nil {
				sizes[family] = p.reachable(q, i, family, s)
			}
			v.Reason = m.shortage(i, v, sizes[family])
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

// reachable lists the sizes of the family that the job's valves could be given
// by somebody.
func (p *Plan) reachable(q *Request, job int, family shim.Family, s *stock) []shim.Length {
	e := p.Jobs[job].Engine
	if sizes, known := s.reachable[asked{e, family}]; known && q.SharePulled {
		return sizes
	}
	var sizes []shim.Length
	for i := range p.Jobs {
		if i != job && !q.SharePulled {
			continue
		}
		for k := range p.Jobs[i].Valves {
			if v := &p.Jobs[i].Valves[k]; takesPart(v) && !v.SetUp && p.Jobs[i].Engine.FamilyOf(v.Valve) == family {
				sizes = append(sizes, v.Installed)
			}
		}
	}
	for _, lot := range s.box[family] {
		sizes = append(sizes, lot.Size)
	}
	if !q.NoBuy {
		for _, offer := range s.catalogue(e, family) {
			sizes = append(sizes, offer.Size)
		}
	}
	s.reachable[asked{e, family}] = sortedSizes(sizes)
	return s.reachable[asked{e, family}]
}

// shortage is why no shim was found for a measured, open valve.
func (m *maker) shortage(i int, v *ValvePlan, sizes []shim.Length) *Reason {
	e := m.plan.Jobs[i].Engine
	family := e.FamilyOf(v.Valve)
	set := v.setting(e)
	thin, thick := set.Accepts()
	r := &Reason{Need: set.Ideal(), From: thin, To: thick}
	best, fits := fittest(set, sizes)
	if m.request.NoBuy {
		if offers := between(m.stock.catalogue(e, family), thin, thick); len(offers) > 0 {
			r.Kind, r.Offer = NotBought, closestOffer(set, offers)
			if fits {
				m.whereabouts(r, i, family.Of(best))
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
		m.whereabouts(r, i, family.Of(best))
	case at == 0:
		r.Kind, r.Size = AllThicker, sizes[0]
	case at == len(sizes):
		r.Kind, r.Size = AllThinner, sizes[at-1]
	default:
		r.Kind, r.Size, r.Next = Between, sizes[at-1], sizes[at]
	}
	if (r.Kind == AllThicker || r.Kind == AllThinner) && m.plan.Jobs[i].Build && !v.Valve.Closer {
		r.Machine = machine(e.TrainOf(v.Valve), set, r.Size, r.Kind == AllThicker)
	}
	return r
}

// whereabouts adds why a shim of the size is not to be had for a valve of the
// job: who gets it. The job's own valves are named first, then those of the
// other jobs by rank.
func (m *maker) whereabouts(r *Reason, job int, d shim.Disc) {
	r.Size, r.Where = d.Size, OutOfStock
	j := &m.plan.Jobs[job]
	for _, i := range slices.Concat([]int{job}, m.ranked) {
		other := &m.plan.Jobs[i]
		for k := range other.Valves {
			v := &other.Valves[k]
			if v.Size == d.Size && v.Open && other.Engine.FamilyOf(v.Valve) == d.Family && (other == j || m.request.SharePulled || v.Action == Box || v.Action == Buy) {
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
