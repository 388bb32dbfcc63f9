package main

import (
	"fmt"
	"maps"
	"slices"

	"shimwright/shim"
	"shimwright/testdata/orders"
)

// ownAmong is the valve whose shim the technician takes from a shelf: the one
// that is kept or moved, or one that has none beside it but the engine's own.
func (w *fitting) ownAmong(s shelf, p placed, told string) string {
	_, loose, _ := inHand(append(slices.Clone(w.visit.moves), w.r.changes...))
	from := p.From
	if told == "keep" {
		from = p.Valve
	}
	there := w.month.box[s]
	for _, c := range w.r.changes {
		if c.shelf == s {
			there += c.count
		}
	}
	list := loose[s]
	for _, l := range list {
		if l.from == from {
			return from
		}
	}
	if len(list) > 0 && there <= len(list) {
		return list[len(list)-1].from
	}
	return ""
}

// A tracked shim is one that a job had in hand.
type tracked struct {
	home *shelf // where it was in the box; none for a shim of the engine
	now  shelf  // what is known of it
	from string // the valve that it came out of last
}

// inHand follows the shims of a job: those in valves, those that lie in the box
// out of valves, and those that were taken from the box.
func inHand(moves []change) (in map[string]*tracked, loose map[shelf][]*tracked, taken []*tracked) {
	in, loose = map[string]*tracked{}, map[shelf][]*tracked{}
	for _, c := range moves {
		lying := func(d *tracked) bool { return d.from == c.own }
		at := -1
		if c.own != "" {
			at = slices.IndexFunc(loose[c.shelf], lying)
		}
		var d *tracked
		if at >= 0 {
			d = loose[c.shelf][at]
			loose[c.shelf] = slices.Delete(slices.Clone(loose[c.shelf]), at, at+1)
		}
		switch {
		case c.valve != "" && c.count > 0:
			if d = in[c.valve]; d == nil {
				d = &tracked{}
			}
			delete(in, c.valve)
			d.now, d.from = c.shelf, c.valve
			loose[c.shelf] = append(loose[c.shelf], d)
		case c.valve != "":
			if d == nil {
				d = &tracked{home: &c.shelf, now: c.shelf}
				taken = append(taken, d)
			}
			if c.as != nil {
				d.now = *c.as
			}
			in[c.valve] = d
		}
	}
	return in, loose, taken
}

// end closes a job, or gives it up: what went in comes back and what came out
// goes back in.
func (m *month) end() {
	job, open := m.visit()
	if !open {
		return
	}
	if m.chance(2) {
		if _, done := m.try("close", "job", "close", fmt.Sprint(job), "--anyway"); done {
			m.over(job)
		}
		return
	}
	_, done := m.try("cancel", "job", "cancel", fmt.Sprint(job), "--yes")
	if !done {
		return
	}
	add := func(s shelf, n int) {
		if m.box[s] += n; m.box[s] == 0 {
			delete(m.box, s)
		}
	}
	for _, c := range slices.Backward(m.jobs[job].moves) {
		if !c.stays {
			add(c.shelf, -c.count)
		}
	}
	_, _, taken := inHand(m.jobs[job].moves)
	for _, d := range taken {
		if is := (shelf{d.now.stamp, d.now.mic, d.home.used, d.home.bin}); is != *d.home && m.box[*d.home] > 0 {
			add(*d.home, -1)
			add(is, 1)
		}
	}
	m.over(job)
	m.renew(m.visits()...)
}

// over ends a job: what is on order for it goes to others.
func (m *month) over(job int64) {
	delete(m.jobs, job)
	delete(m.promised, job)
	m.orders.Gone(job)
}

// use notes what the fit took of the pieces that had come for its plan: those
// reserved for its bought shims, in whichever valve they went.
func (w *fitting) use(plan []placed) {
	came, bought := map[shelf]int{}, map[string]bool{}
	for _, p := range plan {
		if p.Source != "bought" || p.Fitted {
			continue
		}
		if bought[p.Valve] = true; p.Piece != nil {
			came[p.Piece.shelf()]++
		}
	}
	for _, c := range w.r.changes {
		switch {
		case c.stays:
			came[c.shelf]++
		case c.count < 0 && bought[c.valve] && c.own == "" && came[c.shelf] > 0:
			came[c.shelf]--
			w.r.used = append(w.r.used, orders.Arrival{Line: orders.Line{Disc: sized(c.size())}, Job: w.r.job, Count: 1, Plan: w.month.orders.Plan(w.r.job)})
		}
	}
}

// exchange tells what was really fitted: shims of some valves in each other's
// place, another piece of the box, or a shim of another size than its mark.
func (m *month) exchange() {
	job, open := m.visitIn("fitted", "rechecked", "planned")
	if !open {
		return
	}
	v := m.jobs[job]
	valves := slices.Sorted(maps.Keys(v.seats))
	if len(valves) < 3 {
		return
	}
	m.random.Shuffle(len(valves), func(i, j int) { valves[i], valves[j] = valves[j], valves[i] })
	args := []string{"job", "correct", fmt.Sprint(job)}
	r := &booked{job: job, before: maps.Clone(v.seats)}
	seats, right := maps.Clone(v.seats), false
	in := func(valve string) shelf {
		return shelf{stamp: v.seats[valve].stamp, mic: v.seats[valve].mic, used: true}
	}
	if valves = valves[:m.random.IntN(3)+1]; len(valves) > 1 {
		if right = m.chance(2); right {
			args = append(args, "--put-right")
		}
		for _, valve := range valves {
			r.changes = append(r.changes, change{shelf: in(valve), count: 1, valve: valve})
		}
		for i, valve := range valves {
			from := valves[(i+1)%len(valves)]
			r.changes = append(r.changes, change{shelf: in(from), count: -1, valve: valve, own: from})
			if !right {
				seats[valve] = in(from)
			}
		}
		args = append(args, valves...)
		if right { // and all back again
			for i, valve := range valves {
				r.changes = append(r.changes, change{shelf: in(valves[(i+1)%len(valves)]), count: 1, valve: valve})
			}
			for i, valve := range valves {
				r.changes = append(r.changes, change{shelf: in(valve), count: -1, valve: valve, own: valves[(i+len(valves)-1)%len(valves)]})
			}
		}
	} else {
		valve := valves[0]
		is := in(valve)
		is.mic = is.stamp - shim.Length(m.random.IntN(4)+1)*shim.Micrometre
		args = append(args, valve+"=/"+text(is.mic))
		r.changes = []change{{shelf: is, count: 1, valve: valve}, {shelf: is, count: -1, valve: valve, own: valve}}
		seats[valve] = is
	}
	out, done := m.try("exchange", args...)
	if !done {
		return
	}
	m.renew(job)
	m.book(out, r)
	v.seats, r.after = seats, maps.Clone(seats)
	m.renew(m.visits()...)
}
