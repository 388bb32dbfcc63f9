package plan

import (
	"cmp"
	"fmt"
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
			v.Reason = v.Limits.Deciding(v.Reading, j.Units)
			continue
		}
		switch {
		case !v.Measured:
			v.Reason = p.trial(q, s, i, v, b)
		case !v.Open:
			v.Reason = "outside its limits and not opened in this job"
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

// change says how much thinner or thicker a shim must be where the one in place
// is not known yet.
func change(j *JobPlan, v *ValvePlan) string {
	e, u := j.Engine, j.Units
	const any = 5 * shim.Millimetre // which size it is makes no difference
	set := shim.Setting{Limits: v.Limits, Aim: v.Aim, Ratio: e.Train(v.Valve.Side).Ratio, Clearance: v.Clearance, Size: any}
	thin, thick := set.Accepts()
	least, most, ideal, direction := thin-any, thick-any, set.Ideal()-any, "thicker"
	if thick < any {
		least, most, ideal, direction = any-thick, any-thin, any-set.Ideal(), "thinner"
	}
	decimals := 3
	if u == shim.IN {
		decimals = 4
	}
	by, from, to := within(u, ideal, least, most, decimals, decimals+1)
	return fmt.Sprintf("needs a shim %s %s (%s to %s); its own is not known yet", by, direction, from, to)
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

// shortage says why no shim was found for a measured, open valve.
func (m *maker) shortage(i int, v *ValvePlan, sizes []shim.Length) string {
	j := &m.plan.Jobs[i]
	e := j.Engine
	set := v.setting(e)
	thin, thick := set.Accepts()
	size := func(l shim.Length) string { return j.Units.FormatAtLeast(l, 2) }
	ideal, from, to := within(j.Units, set.Ideal(), thin, thick, 2, 6)
	needs := fmt.Sprintf("needs %s (%s to %s)", ideal, from, to)
	if m.request.NoBuy {
		if offers := between(m.stock.catalogue(e), thin, thick); len(offers) > 0 {
			hand := "nothing at hand fits"
			if best, fits := fittest(set, sizes); fits {
				hand = size(best) + " at hand would do but " + m.whereabouts(i, best)
			}
			return needs + ": " + hand + "; the catalogue has " + size(closestOffer(set, offers)) + ", but nothing is to be bought"
		}
	}
	if len(sizes) == 0 {
		return needs + ": there is no shim to choose from; give a box or a catalogue"
	}
	at, _ := slices.BinarySearch(sizes, thin)
	switch {
	case at < len(sizes) && sizes[at] <= thick:
		best, _ := fittest(set, sizes)
		return needs + ": " + size(best) + " would do but " + m.whereabouts(i, best) + "; order one"
	case at == 0:
		return needs + ": thinner than any shim to be had (" + size(sizes[0]) + "); have the valve stem end and the seat looked at"
	case at == len(sizes):
		return needs + ": thicker than any shim to be had (" + size(sizes[at-1]) + "); have the valve and the seat looked at"
	}
	return needs + ": no size to be had lies between " + size(sizes[at-1]) + " and " + size(sizes[at]) + "; look for a finer step"
}

// whereabouts says why a shim of the size is not to be had for a valve of the
// job: who gets it. The job's own valves are named first, then those of the
// other jobs by rank.
func (m *maker) whereabouts(job int, size shim.Length) string {
	j := &m.plan.Jobs[job]
	for _, i := range slices.Concat([]int{job}, m.ranked) {
		other := &m.plan.Jobs[i]
		if other.Engine.Diameter != j.Engine.Diameter {
			continue
		}
		of := ""
		if other != j {
			of = " of job " + cmp.Or(other.Job, other.Engine.Name)
		}
		for k := range other.Valves {
			v := &other.Valves[k]
			if v.Size == size && v.Open && (other == j || m.request.SharePulled || v.Action == Box || v.Action == Buy) {
				if v.Changed() {
					return "goes into " + v.Valve.String() + of
				}
				return "stays in " + v.Valve.String() + of
			}
		}
	}
	return "is out of stock"
}

// within writes a range, rounded inward, and a size in it as one that reads so:
// an aim at a limit may come closest a nanometre outside, and decimals of an
// inch round. A range that no decimals of an inch lie in is written in mm.
func within(u shim.Unit, size, thin, thick shim.Length, least, most int) (ideal, from, to string) {
	limits := shim.Limits{Tight: thin, Loose: thick}
	from, to = u.ShowLimits(limits, least, most)
	if l, err := u.Parse(from); u == shim.IN && (err != nil || !limits.Contain(l)) {
		ideal, from, to = within(shim.MM, size, thin, thick, 6, 6)
		return ideal + " mm", from, to + " mm"
	}
	return u.ShowClearance(limits, min(max(size, thin), thick), least, most), from, to
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
