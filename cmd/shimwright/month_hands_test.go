package main

import (
	"slices"
	"strconv"
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
		if _, done := m.try("close", "job", "close", strconv.Itoa(job), "--anyway"); done {
			delete(m.jobs, job)
			delete(m.promised, job)
		}
		return
	}
	_, done := m.try("cancel", "job", "cancel", strconv.Itoa(job), "--yes")
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
	delete(m.jobs, job)
	delete(m.promised, job)
	m.renew(m.visits()...)
}
