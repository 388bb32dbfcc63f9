package main

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/testdata/orders"
)

// step gives one command or a few, and compares after each.
func (m *month) step() {
	switch m.random.IntN(27) {
	case 0:
		m.receive()
	case 1, 2:
		m.scrap()
	case 3, 4:
		m.correct()
	case 5:
		m.count()
	case 6, 7:
		m.open()
	case 8:
		m.read()
	case 9, 10, 11, 12:
		m.plan()
	case 13, 14, 15:
		m.fit()
	case 16, 17:
		m.undo()
	case 18, 19:
		m.place()
	case 20, 21:
		m.withdraw()
	case 22:
		m.arrive()
	case 23:
		m.recheck()
	case 24, 25:
		m.exchange()
	default:
		m.end()
	}
	m.compare()
}

func (m *month) receive() {
	s := shelf{stamp: m.size(), used: m.chance(3), bin: m.bin()}
	n := m.random.IntN(2) + 1
	args := []string{"box", "receive", fmt.Sprintf("%sx%d", text(s.stamp), n), "--diameter", "8.9", "--bin", s.bin, "--yes"}
	if s.used {
		args = append(args, "--used")
	}
	if m.chance(4) {
		s.mic = s.stamp + 3*shim.Micrometre
		args = append(args, "--mic", text(s.mic))
	}
	r := &booked{changes: []change{{shelf: s, count: n}}}
	if !s.used && s.mic == 0 {
		r.arrivals = m.route(nil, sized(s.stamp), orders.Any, n)
	}
	if out, done := m.try("receive", args...); done {
		m.comeIn(out, r)
	}
}

// exact names one kind of piece on the command line.
func exact(s shelf, n int) []string {
	args := []string{fmt.Sprintf("%sx%d", text(s.size()), n), "--diameter", "8.9", "--bin", s.bin, "--new"}
	if s.used {
		args[len(args)-1] = "--used"
	}
	if s.stamp != 0 {
		args = append(args, "--stamp", text(s.stamp))
	}
	return args
}

func (m *month) scrap() {
	s, there := m.some()
	if !there {
		return
	}
	n := m.random.IntN(m.box[s]) + 1
	if out, done := m.try("scrap", append([]string{"box", "scrap"}, exact(s, n)...)...); done {
		m.book(out, &booked{changes: []change{{shelf: s, count: -n}}})
	}
}

func (m *month) correct() {
	s, there := m.some()
	if !there {
		return
	}
	n := m.random.IntN(m.box[s]) + 1
	to := s
	args := append([]string{"box", "correct"}, exact(s, n)...)
	if m.chance(3) {
		to.mic = s.stamp - 2*shim.Micrometre
		args = append(args, "--is-mic", text(to.mic))
	} else {
		to.bin = m.bin()
		args = append(args, "--is-bin", to.bin)
	}
	if out, done := m.try("correct", args...); done {
		m.book(out, &booked{changes: []change{{shelf: to, count: n}, {shelf: s, count: -n}}})
	}
}

// count takes stock of one size in one bin. Missing pieces are taken from the
// used ones first; found ones are used.
func (m *month) count() {
	s, there := m.some()
	if !there || s.mic != 0 || s.bin == "" {
		return
	}
	used, fresh := s, s
	used.used, fresh.used = true, false
	found := max(0, m.box[used]+m.box[fresh]+m.random.IntN(4)-2)
	out, done := m.try("count", "box", "count", fmt.Sprintf("%sx%d", text(s.stamp), found), "--diameter", "8.9", "--bin", s.bin, "--yes")
	if !done || !bookedAs.MatchString(out) {
		return
	}
	change := func(s shelf, n int) change { return change{shelf: s, count: n} }
	r := &booked{}
	switch diff := found - m.box[used] - m.box[fresh]; {
	case diff > 0:
		r.changes = append(r.changes, change(used, diff))
	default:
		old := min(-diff, m.box[used])
		r.changes = append(r.changes, change(used, -old), change(fresh, diff+old))
	}
	m.book(out, r)
}

var twin = []string{"in1a", "in1b", "in2a", "in2b", "ex1a", "ex1b", "ex2a", "ex2b"}

func (m *month) open() {
	if len(m.jobs) >= 5 {
		return
	}
	out, done := m.try("open", "job", "open", "--engine", "../../testdata/demo/sandpiper.toml", "--tag", fmt.Sprint("T ", m.commands))
	if !done {
		return
	}
	job, err := jobNumber(openedAs.FindStringSubmatch(out)[1])
	require.NoError(m, err)
	v := &visit{seats: map[string]shelf{}}
	args := []string{"job", "read", fmt.Sprint(job)}
	for _, valve := range twin {
		v.seats[valve] = shelf{stamp: m.size()}
		args = append(args, fmt.Sprintf("%s=%s/%s", valve, m.clearance(valve), text(v.seats[valve].stamp)))
	}
	m.jobs[job] = &visit{seats: map[string]shelf{}}
	m.renew(job)
	m.compareOrders()
	m.jobs[job] = v
	m.try("read", args...)
	m.renew(job)
}

// clearance is one of a few, so that valves need the same sizes.
func (m *month) clearance(valve string) string {
	low := 110
	if strings.HasPrefix(valve, "ex") {
		low = 170
	}
	return text(shim.Length(low+25*m.random.IntN(6)) * shim.Micrometre)
}

func (m *month) readings(job int64) []string {
	var list []string
	for _, valve := range twin {
		if _, in := m.jobs[job].seats[valve]; in {
			list = append(list, valve+"="+m.clearance(valve))
		}
	}
	return list
}

func (m *month) read() {
	if job, open := m.visitIn("open", "measured", "planned"); open {
		if _, done := m.try("read", append([]string{"job", "read", fmt.Sprint(job)}, m.readings(job)...)...); done {
			m.renew(job)
			require.Empty(m, m.promised[job], "a plan made on older readings falls")
		}
	}
}

func (m *month) recheck() {
	if job, open := m.visitIn("fitted", "rechecked"); open {
		m.try("recheck", append([]string{"job", "recheck", fmt.Sprint(job)}, m.readings(job)...)...)
		m.renew(job)
	}
}

func (m *month) plan() {
	job, open := m.visitIn("measured", "planned", "fitting", "rechecked")
	if !open {
		return
	}
	args := []string{"job", "plan", fmt.Sprint(job), "--anyway"}
	if m.chance(4) {
		args = append(args, "--no-buy")
	} else if !m.chance(4) {
		args = append(args, "--catalogue", m.lists[m.random.IntN(len(m.lists))])
	}
	if m.chance(2) {
		args = append(args, "--policy", "target")
	}
	if _, done := m.try("plan", args...); done {
		m.renew(job)
	}
}

// fit does what the job's file says, or something else and tells it.
func (m *month) fit() {
	job, open := m.visitIn("planned", "fitting")
	if !open {
		return
	}
	v, f := m.jobs[job], m.show(job)
	if f.Plan == nil {
		return
	}
	var left []placed
	for _, p := range f.Plan.Placements {
		if !p.Fitted {
			left = append(left, p)
		}
	}
	if len(left) > 1 && m.chance(2) {
		m.random.Shuffle(len(left), func(i, j int) { left[i], left[j] = left[j], left[i] })
		left = left[:m.random.IntN(len(left)-1)+1]
	}
	w := &fitting{month: m, visit: v, bin: m.bin(), seats: maps.Clone(v.seats), pulled: map[string]shelf{}, r: &booked{job: job, before: maps.Clone(v.seats)}}
	args := []string{"job", "fit", fmt.Sprint(job), "--bin", w.bin}
	slices.SortFunc(left, func(x, y placed) int { return slices.Index(twin, x.Valve) - slices.Index(twin, y.Valve) })
	told := map[string]string{}
	for _, p := range left {
		if m.chance(4) {
			told[p.Valve] = []string{"keep", "from", "from", "in", "out", "scrap"}[m.random.IntN(6)]
		}
	}
	for _, p := range left {
		args = append(args, p.Valve)
		args = append(args, w.pull(p.Valve, told[p.Valve])...)
		if p.Source == "moved" && p.Piece == nil && told[p.Valve] != "keep" && told[p.Valve] != "from" {
			args = append(args, w.pull(p.From, told[p.From])...)
		}
	}
	for _, p := range left {
		args = append(args, w.put(p, told[p.Valve])...)
	}
	w.use(f.Plan.Placements)
	out, done := m.try("fit", args...)
	if !done {
		return
	}
	m.orders.Arrive(w.r.arrivals, w.r.used)
	m.renew(job) // before others', whose messages come with the booking
	m.book(out, w.r)
	m.renew(job)
	v.seats, w.r.after = w.seats, maps.Clone(w.seats)
	m.compareCard(job, m.show(job))
}

// A fitting is one fit in the technician's hands.
type fitting struct {
	month  *month
	visit  *visit
	bin    string
	seats  map[string]shelf
	pulled map[string]shelf
	r      *booked
}

func (w *fitting) change(s shelf, n int) *change {
	w.r.changes = append(w.r.changes, change{shelf: s, count: n})
	return &w.r.changes[len(w.r.changes)-1]
}

// pull takes a shim out of a valve into the box, or away.
func (w *fitting) pull(valve, told string) (args []string) {
	in, there := w.seats[valve]
	if _, out := w.pulled[valve]; out || !there {
		return nil
	}
	s := shelf{in.stamp, in.mic, true, w.bin}
	switch told {
	case "out":
		s.mic = s.stamp - 4*shim.Micrometre
		args = []string{"--out", fmt.Sprintf("%s=%s/%s", valve, text(s.stamp), text(s.mic))}
	case "scrap":
		args = []string{"--scrap", valve}
	}
	w.pulled[valve] = s
	delete(w.seats, valve)
	w.change(s, 1).valve = valve
	if told == "scrap" {
		w.change(s, -1).own = valve
	}
	return args
}

// put takes a shim out of the box, or from the valve that it comes from, into a
// valve.
func (w *fitting) put(p placed, told string) (args []string) {
	var s shelf
	booked := false
	switch {
	case told == "keep":
		args = []string{"--instead", p.Valve + "=keep"}
		s, booked = w.pulled[p.Valve], true
	case told == "from":
		if from, there := w.other(p.Size); there {
			args = []string{"--from", p.Valve + "=" + from.bin}
			s, booked = from, true
			break
		}
		if p.Source == "moved" && p.Piece == nil { // no other bin has one: it is moved after all
			args = w.pull(p.From, "")
		}
		fallthrough
	default:
		if s, booked = w.pulled[p.From]; p.Source == "moved" && booked {
			break
		}
		s = shelf{stamp: p.Size} // bought and not booked in: it comes in first
		if p.Piece != nil {
			s, booked = p.Piece.shelf(), true
		}
	}
	if !booked {
		w.change(s, 1).stays = true
		w.r.arrivals = append(w.r.arrivals, w.month.due(w.r.job, sized(p.Size), w.r.arrivals))
	}
	own := w.ownAmong(s, p, told)
	c := w.change(s, -1)
	c.valve, c.own = p.Valve, own
	if told == "in" && s.stamp != 0 {
		s.mic = s.stamp + 5*shim.Micrometre
		c.as = &s
		args = append(args, "--in", fmt.Sprintf("%s=%s/%s", p.Valve, text(s.stamp), text(s.mic)))
	}
	w.seats[p.Valve] = s
	return args
}

// other finds a bin that has one kind of a size, promised to nobody or to all.
func (w *fitting) other(size shim.Length) (shelf, bool) {
	kinds := map[string][]shelf{}
	for _, s := range w.month.shelves() {
		if s.size() == size && s.bin != "" && s.bin != w.bin {
			kinds[s.bin] = append(kinds[s.bin], s)
		}
	}
	for _, bin := range slices.Sorted(maps.Keys(kinds)) {
		s := kinds[bin][0]
		gone := 0
		for _, c := range w.r.changes {
			if c.shelf == s {
				gone -= c.count
			}
		}
		if len(kinds[bin]) == 1 && w.month.box[s] > gone {
			return s, true
		}
	}
	return shelf{}, false
}

// undo takes a late batch back.
func (m *month) undo() {
	list := slices.Sorted(maps.Keys(m.batches))
	if len(list) == 0 {
		return
	}
	batch := list[max(0, len(list)-1-m.random.IntN(6))]
	r := m.batches[batch]
	out, done := m.try("undo", "box", "undo", strconv.Itoa(batch), "--yes")
	if !done {
		return
	}
	require.False(m, r.undone, "batch %d was taken back twice", batch)
	r.undone = true
	if r.job == 0 { // an undo of it can be undone itself
		found := bookedAs.FindAllStringSubmatch(out, -1)
		number, err := strconv.Atoi(found[len(found)-1][1])
		require.NoError(m, err)
		again := &booked{arrivals: r.arrivals, again: !r.again}
		for _, c := range slices.Backward(r.changes) {
			c.count = -c.count
			again.changes = append(again.changes, c)
		}
		m.batches[number] = again
	}
	if r.again {
		m.orders.AfterAll(r.arrivals)
	} else {
		m.orders.TakeBack(r.arrivals, r.used)
	}
	for _, c := range slices.Backward(r.changes) {
		m.box[c.shelf] -= c.count
		if m.box[c.shelf] == 0 {
			delete(m.box, c.shelf)
		}
	}
	if v := m.jobs[r.job]; v != nil {
		for _, valve := range twin {
			was, there := r.before[valve]
			if is, in := r.after[valve]; was == is && there == in {
				continue // what a later fit did to it stays
			}
			if delete(v.seats, valve); there {
				v.seats[valve] = was
			}
		}
		v.moves = slices.DeleteFunc(v.moves, func(c change) bool { return c.batch == batch })
	}
	m.renew(m.visits()...)
}
