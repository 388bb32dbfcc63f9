package plan_test

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// audit goes through a plan as somebody at the bench would: it follows every
// shim, does every sum again, and says what cannot be.
func audit(q *plan.Request, p *plan.Plan) error {
	a := &auditor{
		q: q, plan: p,
		seats:  map[plan.Place]*seat{},
		valves: map[plan.Place]*plan.ValvePlan{},
		goes:   map[plan.Place]plan.Place{},
		box:    boxOf(q),
	}
	if len(p.Jobs) != len(q.Jobs) || p.Policy != q.Policy || p.Margin != q.Margin || p.Confidence != q.Confidence {
		return fmt.Errorf("%d jobs of %d, policy %v, margin %v", len(p.Jobs), len(q.Jobs), p.Policy, p.Margin)
	}
	for _, s := range seats(q) {
		at := plan.Place{Job: s.job, Valve: s.valve}
		a.seats[at] = s
		a.order = append(a.order, at)
	}
	for i := range p.Jobs {
		if j := &p.Jobs[i]; j.Provisional != q.Jobs[i].Provisional || j.Gauge != gaugeOf(q, j.Engine) {
			return fmt.Errorf("job %d: provisional %v, gauge %v", i, j.Provisional, j.Gauge)
		}
		for k := range p.Jobs[i].Valves {
			v := &p.Jobs[i].Valves[k]
			a.valves[plan.Place{Job: i, Valve: v.Valve}] = v
		}
	}
	if len(a.valves) != len(a.order) {
		return fmt.Errorf("%d valves of %d", len(a.valves), len(a.order))
	}
	for _, step := range []func() error{a.facts, a.shims, a.sums, a.lots, a.moves} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

type auditor struct {
	q      *plan.Request
	plan   *plan.Plan
	order  []plan.Place
	seats  map[plan.Place]*seat
	valves map[plan.Place]*plan.ValvePlan
	goes   map[plan.Place]plan.Place // a pulled shim, from valve to valve
	box    map[piece]int             // what is left of it
}

// facts checks what is said of each valve by itself.
func (a *auditor) facts() error {
	for _, at := range a.order {
		s, v := a.seats[at], a.valves[at]
		if v == nil {
			return fmt.Errorf("%v is missing", at)
		}
		wrong := func(what string, args ...any) error {
			return fmt.Errorf("job %d %s: %s (%+v)", at.Job, at.Valve, fmt.Sprintf(what, args...), *v)
		}
		verdict := shim.Unmeasured
		switch {
		case !s.measured:
		case s.clearance < s.tight:
			verdict = shim.Tight
		case s.clearance > s.loose:
			verdict = shim.Loose
		default:
			verdict = shim.OK
		}
		switch {
		case v.Limits != shim.Limits{Tight: s.tight, Loose: s.loose} || v.Aim != s.aim:
			return wrong("limits or aim are not %v %v %v", s.tight, s.loose, s.aim)
		case v.Measured != s.measured || v.Clearance != s.clearance || v.Installed != s.own || v.InstalledMiked != s.ownMiked:
			return wrong("the check says %v %v %v", s.measured, s.clearance, s.own)
		case v.Verdict != verdict || v.Open != s.open:
			return wrong("the verdict is %v, open %v", verdict, s.open)
		case !v.Changed() && (v.Size != s.own || v.Miked != s.ownMiked):
			return wrong("unchanged, yet another size")
		case !s.takesPart() && v.Changed():
			return wrong("locked, unmeasured or unknown, yet not left alone")
		case !s.open && v.Action != plan.Leave:
			return wrong("not open, yet not left alone")
		case s.open && !v.Changed() && (v.Action == plan.Keep) != s.inside():
			return wrong("keep is for inside, leave for outside")
		case s.measured && v.Expected != s.expect(v.Size):
			return wrong("expect %v", s.expect(v.Size))
		case v.Changed() && !s.holds(v.Expected):
			return wrong("changed, yet outside")
		}
		across := v.Reading.Kind == shim.Bracket && verdict == shim.OK && (v.Reading.Low < s.tight || v.Reading.High > s.loose)
		served := s.measured && s.holds(v.Expected)
		near := served && s.near(a.q, v.Expected, fit{v.Size, v.Miked, v.Used, v.Changed()})
		switch {
		case v.Served() != served:
			return wrong("served is %v", served)
		case v.Near != near:
			return wrong("near is %v", near)
		case (served && !across) != (v.Reason == nil):
			return wrong("a reason is for valves that stay outside or undecided")
		case v.Undecided != across:
			return wrong("undecided is not %v", v.Undecided)
		}
	}
	return nil
}

// shims follows every shim to where it goes.
func (a *auditor) shims() error {
	type ask struct {
		diameter shim.Length
		offer    shim.Offer
	}
	bought := map[ask]int{}
	drawn, worn := map[piece]int{}, map[piece]int{} // where it does not matter which
	stock := map[ask]int{}                          // 0 where nothing of it may be bought
	for _, at := range a.order {
		engine := a.seats[at].engine
		for _, o := range offersFor(a.q, engine) {
			stock[ask{engine.Diameter, shim.Offer{Disc: shim.Disc{Size: o.Size}, Quote: o.Quote}}] = 0
		}
	}
	count := func(diameter shim.Length, offers []shim.Offer) {
		seen := map[ask]int{}
		for _, o := range offers {
			key := ask{diameter, shim.Offer{Disc: shim.Disc{Size: o.Size}, Quote: o.Quote}}
			if !o.Limited {
				seen[key] += 1 << 30
			} else {
				seen[key] += o.Stock
			}
		}
		for key, n := range seen {
			stock[key] = max(stock[key], n)
		}
	}
	for _, at := range a.order {
		count(a.seats[at].diameter, offersFor(a.q, a.seats[at].engine))
	}
	for _, at := range a.order {
		s, v := a.seats[at], a.valves[at]
		wrong := func(what string) error { return fmt.Errorf("job %d %s: %s (%+v)", at.Job, at.Valve, what, *v) }
		if (v.Action == plan.Swap) != (v.From != nil) {
			return wrong("a swap has a valve that it comes from, and nothing else has")
		}
		if v.Action != plan.Buy && (v.Price != 0 || v.Priced) {
			return wrong("not bought, yet priced")
		}
		switch v.Action {
		case plan.Swap:
			donor := a.seats[*v.From]
			switch {
			case donor == nil || donor == s:
				return wrong("comes from nowhere")
			case !donor.takesPart() || !a.valves[*v.From].Changed():
				return wrong("that shim stays in its valve")
			case !s.reaches(donor):
				return wrong("that shim does not come here")
			case donor.own != v.Size || donor.ownMiked != v.Miked || v.Used == v.Miked:
				return wrong("that shim is another one")
			case v.Size == s.own && (!apart(a.q) || v.Miked == s.ownMiked):
				return wrong("the valve has one like it")
			}
			if _, taken := a.goes[*v.From]; taken {
				return wrong("that shim goes to two valves")
			}
			a.goes[*v.From] = at
		case plan.Box:
			p := piece{s.diameter, v.Size, v.Miked, v.Used}
			if !apart(a.q) {
				p.miked, p.used = false, false
				switch stamped, _ := byMark(a.q, p); {
				case v.Used:
					worn[p]++
				case v.Miked != (stamped == 0):
					return wrong("miked is for sizes of which every other piece is")
				}
				drawn[p]++
			}
			if a.box[p]--; a.box[p] < 0 {
				return wrong("the box is overdrawn")
			}
		case plan.Buy:
			listed := slices.ContainsFunc(offersFor(a.q, s.engine), func(o shim.Offer) bool {
				return o.Size == v.Size && o.Price == v.Price && o.Priced == v.Priced
			})
			if v.Miked || v.Used {
				return wrong("bought, yet miked or used")
			}
			key := ask{s.diameter, shim.Offer{Disc: shim.Disc{Size: v.Size}, Quote: v.Quote}}
			if bought[key]++; !listed || bought[key] > stock[key] {
				return wrong("the supplier does not have it")
			}
		}
	}
	for p, n := range drawn {
		if _, used := byMark(a.q, p); worn[p] != min(n, used) {
			return fmt.Errorf("%v: %d of %d drawn count as used, the box has %d", p, worn[p], n, used)
		}
	}
	// A shim crosses from job to job only where its own job has no use for it.
	for _, at := range a.order {
		v := a.valves[at]
		if v.From == nil || v.From.Job == at.Job {
			continue
		}
		for _, near := range a.order {
			to, goes := a.goes[near]
			if near.Job == at.Job && a.seats[near].own == v.Size && (!apart(a.q) || a.seats[near].ownMiked == v.Miked) && a.seats[near].takesPart() && a.valves[near].Changed() && (!goes || to.Job != at.Job) {
				return fmt.Errorf("job %d %s: %v comes from another job, yet %s has one", at.Job, at.Valve, v.Size, near.Valve)
			}
		}
	}
	return nil
}

// byMark counts the pieces of the size that are known by their mark, new and used.
func byMark(q *plan.Request, p piece) (fresh, used int) {
	sure := *q
	sure.Confidence = 0.5
	box := boxOf(&sure)
	fresh, p.used = box[p], true
	return fresh, box[p]
}

// sums adds the criteria up from what the plan does.
func (a *auditor) sums() error {
	jobs := make([]plan.Criteria, len(a.plan.Jobs))
	var all plan.Criteria
	for _, at := range a.order {
		s, v := a.seats[at], a.valves[at]
		c := s.criteria(a.q, fit{v.Size, v.Miked, v.Used, v.Changed()})
		switch v.Action {
		case plan.Box:
			c.Drawn = 1
		case plan.Buy:
			c.Bought, c.Cost = 1, v.Price
		}
		jobs[at.Job] = sum(jobs[at.Job], c)
		all = sum(all, c)
	}
	for i, c := range jobs {
		if a.plan.Jobs[i].Criteria != c {
			return fmt.Errorf("job %d: criteria %+v, added up %+v", i, a.plan.Jobs[i].Criteria, c)
		}
	}
	if a.plan.Criteria != all {
		return fmt.Errorf("criteria %+v, added up %+v", a.plan.Criteria, all)
	}
	return nil
}

// lots checks the shopping list, what the box gives and what is left over.
func (a *auditor) lots() error {
	shopping, drawn, left := map[plan.Pieces]int{}, map[plan.Pieces]int{}, map[plan.Pieces]int{}
	for _, at := range a.order {
		s, v := a.seats[at], a.valves[at]
		switch v.Action {
		case plan.Box:
			drawn[plan.Pieces{Disc: shim.Disc{Family: shim.Family{Diameter: s.diameter}, Size: v.Size}}]++
		case plan.Buy:
			shopping[plan.Pieces{Disc: shim.Disc{Family: shim.Family{Diameter: s.diameter}, Size: v.Size}, Quote: v.Quote}]++
		}
		if _, goes := a.goes[at]; v.Changed() && !goes {
			left[plan.Pieces{Disc: shim.Disc{Family: shim.Family{Diameter: s.diameter}, Size: s.own}}]++
		}
	}
	for name, list := range map[string]struct {
		want map[plan.Pieces]int
		got  []plan.Pieces
	}{"shopping": {shopping, a.plan.Shopping}, "drawn": {drawn, a.plan.Drawn}, "left over": {left, a.plan.LeftOver}} {
		got := map[plan.Pieces]int{}
		for _, lot := range list.got {
			n := lot.Count
			lot.Count = 0
			if got[lot] != 0 {
				return fmt.Errorf("%s: %v stands twice", name, lot)
			}
			got[lot] = n
		}
		if !maps.Equal(got, list.want) {
			return fmt.Errorf("%s: %v, added up %v", name, list.got, list.want)
		}
		if !slices.IsSortedFunc(list.got, func(x, y plan.Pieces) int {
			return cmp.Or(cmp.Compare(x.Diameter, y.Diameter), cmp.Compare(x.Size, y.Size), cmp.Compare(x.Price, y.Price))
		}) {
			return fmt.Errorf("%s: out of order", name)
		}
	}
	return nil
}

// moves checks that the fitting list can be worked through from top to bottom:
// every changed valve once, and a shim comes out in a line above the one that
// puts it in. A closed round of swaps has to begin somewhere: only its first
// line waits for a shim, and that comes out in its last.
func (a *auditor) moves() error {
	if _, err := replay(a.q, a.plan); err != nil {
		return err
	}
	for i := range a.plan.Jobs {
		j := &a.plan.Jobs[i]
		if j.Engine.Access == shim.ByValve {
			continue
		}
		line := map[shim.Valve]int{}
		for n, m := range j.Moves {
			at := plan.Place{Job: i, Valve: m.Valve}
			v := a.valves[at]
			if v == nil || !v.Changed() {
				return fmt.Errorf("job %d line %d: %s is not changed", i, n, m.Valve)
			}
			if _, twice := line[m.Valve]; twice {
				return fmt.Errorf("job %d line %d: %s stands twice", i, n, m.Valve)
			}
			line[m.Valve] = n
			to, goes := a.goes[at]
			if goes != (m.To != nil) || goes && *m.To != to {
				return fmt.Errorf("job %d line %d: goes to %v, not %v", i, n, to, m.To)
			}
			if m.Out != v.Installed || m.In != v.Size || m.By != v.Action || (m.From == nil) != (v.From == nil) || m.From != nil && *m.From != *v.From {
				return fmt.Errorf("job %d line %d: %+v is not the plan's %+v", i, n, m, *v)
			}
		}
		changed := 0
		for k := range j.Valves {
			if j.Valves[k].Changed() {
				changed++
			}
		}
		if changed != len(j.Moves) {
			return fmt.Errorf("job %d: %d lines for %d changes", i, len(j.Moves), changed)
		}
		for n, m := range j.Moves {
			if m.From == nil || m.From.Job != i || line[m.From.Valve] < n {
				continue
			}
			// The shim comes out below. Then a round begins here: following the
			// shims that come out leads back here, line by line.
			for at, k := m.Valve, n; ; k++ {
				next := a.goes[plan.Place{Job: i, Valve: at}]
				if next == (plan.Place{Job: i, Valve: m.Valve}) {
					break
				}
				if next.Job != i || line[next.Valve] != k+1 {
					return fmt.Errorf("job %d line %d: %s gets a shim that is not out yet", i, n, m.Valve)
				}
				at = next.Valve
			}
		}
	}
	return nil
}
