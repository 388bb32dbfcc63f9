package plan_test

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/plan"
)

// onBase reports whether a valve stands on its base circle, by the phases of the
// four strokes alone: an exhaust valve is off it from its opening before bottom
// to its closing after top dead centre, an intake valve from its opening before
// top to its closing after bottom. It shares nothing with package crank but the
// timing that is assumed where none is given.
func onBase(e *shim.Engine, v shim.Valve, degrees float64) bool {
	order := e.FiringOrder
	if len(order) == 0 {
		order = []int{1}
	}
	fires := 0.0
	for i, cylinder := range order {
		if cylinder == v.Cylinder {
			break
		}
		if len(e.FiringIntervals) > 0 {
			fires += e.FiringIntervals[i]
		} else {
			fires += 720 / float64(e.Cylinders)
		}
	}
	opens, closes := 360-45.0, 540+85.0
	given := e.Intake.Timing
	if v.Side == shim.Exhaust {
		opens, closes, given = 180-85, 360+45, e.Exhaust.Timing
		if given != nil {
			opens, closes = 180-given.Opens, 360+given.Closes
		}
	} else if given != nil {
		opens, closes = 360-given.Opens, 540+given.Closes
	}
	const exact = 1e-6
	since := math.Mod(degrees-fires-opens+4*720, 720) // degrees since it opened
	return since > closes-opens+exact && since < 720-exact
}

// clear reports whether the piston under the valve stands as far from a dead
// centre at the top, and on that side of the firing one, as the engine's maker
// wants before a tappet is pressed. It shares nothing with package crank.
func clear(e *shim.Engine, v shim.Valve, degrees float64) bool {
	fires, order := 0.0, e.FiringOrder
	for i := 0; i < len(order) && order[i] != v.Cylinder; i++ {
		if len(e.FiringIntervals) > 0 {
			fires += e.FiringIntervals[i]
		} else {
			fires += 720 / float64(e.Cylinders)
		}
	}
	const exact = 1e-6
	past := math.Mod(degrees-fires+4*720, 720) // its own firing TDC; 360 is the other one
	switch off := e.DepressOffset; {
	case off > 0:
		return past > off-exact && past < 360-off+exact
	case off < 0:
		return past > 360-off-exact && past < 720+off+exact
	}
	return true
}

// printed are crank positions out of service manuals, as in the tests of
// package crank, where the manual has every valve that is on its base circle:
// US Army TM 5-3895-383-24 p. 6-60 (1-3-4-2), Suzuki GSX-R1000 (1-2-4-3),
// Caterpillar 3306 and Mitsubishi 6M60 (1-5-3-6-2-4), Chevrolet G30 1993
// (1-6-5-4-3-2); US Army TM 9-6115-670-14&P p. 5-131 (1-2-3). The sixes with
// lobes as long as those that are assumed.
var printed = []struct {
	order           []int
	degrees         float64
	intake, exhaust []int
}{
	{[]int{1, 3, 4, 2}, 0, []int{1, 2}, []int{1, 3}},
	{[]int{1, 3, 4, 2}, 360, []int{3, 4}, []int{2, 4}},
	{[]int{1, 2, 4, 3}, 0, []int{1, 3}, []int{1, 2}},
	{[]int{1, 2, 4, 3}, 360, []int{4, 2}, []int{4, 3}},
	{[]int{1, 5, 3, 6, 2, 4}, 0, []int{1, 2, 4}, []int{1, 3, 5}},
	{[]int{1, 5, 3, 6, 2, 4}, 360, []int{3, 5, 6}, []int{2, 4, 6}},
	{[]int{1, 6, 5, 4, 3, 2}, 0, []int{1, 2, 3}, []int{1, 5, 6}},
	{[]int{1, 6, 5, 4, 3, 2}, 360, []int{4, 5, 6}, []int{2, 3, 4}},
	{[]int{1, 2, 3}, 0, []int{1, 3}, []int{1, 2}},
}

// byTheBook reports whether a manual that prints the position has the valve there.
func byTheBook(e *shim.Engine, v shim.Valve, degrees float64) (may, isPrinted bool) {
	for _, row := range printed {
		if slices.Equal(row.order, e.FiringOrder) && row.degrees == degrees && e.FiringIntervals == nil && e.Intake.Timing == nil && e.Exhaust.Timing == nil {
			if v.Side == shim.Exhaust {
				return slices.Contains(row.exhaust, v.Cylinder), true
			}
			return slices.Contains(row.intake, v.Cylinder), true
		}
	}
	return false, false
}

// Hands have the bench, the box and the engines while a fitting list is worked
// through.
type hands struct {
	q     *plan.Request
	p     *plan.Plan
	in    map[plan.Place]shim.Length // what sits in each valve; 0 where it is empty
	out   map[plan.Place]shim.Length // shims at hand, by the valve that they came out of
	box   map[[2]shim.Length]int
	buy   map[[2]shim.Length]int
	waits map[plan.Place]plan.Move // empty valves, and what they wait for
	crank map[int]float64
	stops int
	again int // valves opened a second time
	book  int // openings that a manual confirms
}

// replay works through the fitting lists as hands would, and says what cannot
// be: a valve opened off its base circle, a crank turned with a valve empty, a
// shim that is not at hand, another end than the plan's.
func replay(q *plan.Request, p *plan.Plan) (*hands, error) {
	s := &hands{q: q, p: p, in: map[plan.Place]shim.Length{}, out: map[plan.Place]shim.Length{}, box: map[[2]shim.Length]int{}, buy: map[[2]shim.Length]int{},
		waits: map[plan.Place]plan.Move{}, crank: map[int]float64{}}
	for piece, n := range boxOf(q) {
		s.box[[2]shim.Length{piece.diameter, piece.size}] += n
	}
	end := maps.Clone(s.box)
	for _, lot := range p.Shopping {
		s.buy[[2]shim.Length{lot.Diameter, lot.Size}] += lot.Count
	}
	for _, lot := range p.Drawn {
		end[[2]shim.Length{lot.Diameter, lot.Size}] -= lot.Count
	}
	for _, lot := range p.LeftOver {
		end[[2]shim.Length{lot.Diameter, lot.Size}] += lot.Count
	}
	type row struct {
		job  int
		move plan.Move
	}
	var rows []row
	for i := range p.Jobs {
		j := &p.Jobs[i]
		for k := range j.Valves {
			s.in[plan.Place{Job: i, Valve: j.Valves[k].Valve}] = j.Valves[k].Installed
		}
		for _, m := range j.Moves {
			rows = append(rows, row{i, m})
			if j.Engine.Access == shim.ByCamshaft { // all come out at once
				s.out[plan.Place{Job: i, Valve: m.Valve}] = m.Out
			}
		}
	}
	slices.SortStableFunc(rows, func(a, b row) int { return cmp.Compare(a.move.Step, b.move.Step) })
	for i, r := range rows {
		if r.move.Step != i+1 {
			return s, fmt.Errorf("step %d stands at place %d", r.move.Step, i+1)
		}
		m, at := r.move, plan.Place{Job: r.job, Valve: r.move.Valve}
		goes := slices.ContainsFunc(rows, func(other row) bool {
			to := plan.Place{Job: other.job, Valve: other.move.Valve}
			return other.move.From != nil && *other.move.From == at && other.move.In == m.Out && other.move.Temporary == m.Bench && (m.To == nil || *m.To == to)
		})
		if m.Bench && m.To != nil || (m.Bench || m.To != nil) && !goes {
			return s, fmt.Errorf("step %d, job %d %s: its shim goes elsewhere: %+v", m.Step, r.job, m.Valve, m)
		}
		if err := s.do(r.job, r.move); err != nil {
			return s, fmt.Errorf("step %d, job %d %s: %w (%+v)", r.move.Step, r.job, r.move.Valve, err, r.move)
		}
	}
	return s, s.ends(end)
}

// do works one row.
func (s *hands) do(job int, m plan.Move) error {
	e, at := s.p.Jobs[job].Engine, plan.Place{Job: job, Valve: m.Valve}
	switch {
	case e.Access == shim.ByCamshaft:
		if m.Turned || m.Temporary || m.Again {
			return fmt.Errorf("the camshaft is out")
		}
	case m.Turned:
		if before, stands := s.crank[job]; !stands || before != m.Crank {
			if s.empty(job) {
				return fmt.Errorf("the crank is turned with a valve empty")
			}
			s.stops++
		}
		s.crank[job] = m.Crank
		if !onBase(e, m.Valve, m.Crank) {
			return fmt.Errorf("opened off its base circle")
		}
		if !clear(e, m.Valve, m.Crank) {
			return fmt.Errorf("pressed onto its piston")
		}
		if may, isPrinted := byTheBook(e, m.Valve, m.Crank); isPrinted {
			if s.book++; !may {
				return fmt.Errorf("the manual does not have it there")
			}
		}
	default:
		if len(e.FiringOrder) > 0 || e.Cylinders == 1 {
			return fmt.Errorf("no crank position")
		}
		if s.empty(job) {
			return fmt.Errorf("the crank is turned with a valve empty")
		}
		s.stops++
	}
	if _, empty := s.waits[at]; empty || s.in[at] != m.Out {
		return fmt.Errorf("what sits in it is %v", s.in[at])
	}
	s.in[at] = 0
	if m.Again {
		s.again++
	}
	if m.To == nil && !m.Bench {
		s.box[[2]shim.Length{e.Diameter, m.Out}]++
		delete(s.out, at)
	} else if e.Access == shim.ByValve {
		s.out[at] = m.Out
	}
	if m.Temporary {
		v := valveOf(s.p, at)
		set := shim.Setting{Limits: v.Limits, Aim: v.Aim, Ratio: e.Train(m.Valve.Side).Ratio, Clearance: v.Clearance, Size: v.Installed}
		parts := doubt.Parts{Reading: v.Reading, Ratio: set.Ratio, Installed: doubt.Used, Fitted: doubt.Stamped}
		if v.InstalledMiked {
			parts.Installed = doubt.Miked
		}
		f, _ := doubt.Model{Gauge: s.p.Jobs[job].Gauge}.Forecast(v.Limits, set.Expect(m.In), parts)
		gauge := s.p.Jobs[job].Gauge
		if gauge.Mic < gauge.Stamp {
			parts.Fitted = doubt.Miked // as the shim may be
			f, _ = doubt.Model{Gauge: gauge}.Forecast(v.Limits, set.Expect(m.In), parts)
		}
		if set.Expect(m.In) <= f.Expanded {
			return fmt.Errorf("the temporary shim leaves %v ±%v", set.Expect(m.In), f.Expanded)
		}
	}
	s.waits[at] = m
	s.fill()
	if _, empty := s.waits[at]; empty && e.Access == shim.ByValve && !m.Turned {
		return fmt.Errorf("the shim is not at hand, and each valve is opened alone")
	}
	return nil
}

// fill puts in what is at hand, in whatever valve waits for it.
func (s *hands) fill() {
	for more := true; more; {
		more = false
		for at, m := range s.waits {
			lot := [2]shim.Length{s.p.Jobs[at.Job].Engine.Diameter, m.In}
			switch m.By {
			case plan.Box:
				if s.box[lot] == 0 {
					continue
				}
				s.box[lot]--
			case plan.Buy:
				if s.buy[lot] == 0 {
					continue
				}
				s.buy[lot]--
			default:
				if size, there := s.out[*m.From]; !there || size != m.In {
					continue
				}
				delete(s.out, *m.From)
			}
			s.in[at], more = m.In, true
			delete(s.waits, at)
		}
	}
}

// empty reports whether a valve of an engine stands empty.
func (s *hands) empty(job int) bool {
	for at := range s.waits {
		if at.Job == job {
			return true
		}
	}
	return false
}

// ends holds the end against the plan.
func (s *hands) ends(box map[[2]shim.Length]int) error {
	if len(s.waits) > 0 {
		return fmt.Errorf("%v stand empty", s.waits)
	}
	wanting := map[plan.Place]bool{}
	for i := range s.p.Jobs {
		for _, w := range s.p.Jobs[i].Wants {
			for _, at := range w.Ring {
				wanting[at] = true
			}
		}
	}
	for i := range s.p.Jobs {
		for k := range s.p.Jobs[i].Valves {
			v := &s.p.Jobs[i].Valves[k]
			at := plan.Place{Job: i, Valve: v.Valve}
			want := v.Size
			if wanting[at] {
				want = v.Installed
			}
			if s.in[at] != want {
				return fmt.Errorf("job %d %s ends with %v, not %v", i, v.Valve, s.in[at], want)
			}
		}
	}
	for at, size := range s.out {
		return fmt.Errorf("%v out of %v lies about", size, at)
	}
	for _, list := range []map[[2]shim.Length]int{s.box, box} {
		for lot := range list {
			if s.box[lot] != box[lot] {
				return fmt.Errorf("the box ends with %d of %v, not %d", s.box[lot], lot, box[lot])
			}
		}
	}
	for lot, n := range s.buy {
		if n > 0 {
			return fmt.Errorf("%d of %v were bought for nothing", n, lot)
		}
	}
	return nil
}

func valveOf(p *plan.Plan, at plan.Place) *plan.ValvePlan {
	for k := range p.Jobs[at.Job].Valves {
		if v := &p.Jobs[at.Job].Valves[k]; v.Valve == at.Valve {
			return v
		}
	}
	return nil
}
