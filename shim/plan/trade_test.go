package plan_test

import (
	"math"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/plan"
)

// This file says once more what the design page says of clearances, camshafts
// and stock, in exact fractions and without a call into the code under test,
// for the oracles and the audit.

// halfEven rounds a fraction to a whole number, ties to even.
func halfEven(r *big.Rat) int64 {
	two := big.NewRat(2, 1)
	floor := func(r *big.Rat) *big.Int { return new(big.Int).Div(r.Num(), r.Denom()) }
	low := floor(r)
	rest := new(big.Rat).Sub(r, new(big.Rat).SetInt(low))
	up := new(big.Int).Add(low, big.NewInt(1))
	switch rest.Mul(rest, two).Cmp(big.NewRat(1, 1)) {
	case 1:
		return up.Int64()
	case 0:
		if low.Bit(0) == 1 {
			return up.Int64()
		}
	}
	return low.Int64()
}

// product is the decimal factor times the length, half to even.
func product(k shim.Ratio, l shim.Length) shim.Length {
	r := big.NewRat(int64(k.Times), 1_000_000)
	if k.Over != 0 {
		r.SetFrac64(int64(k.Times), int64(k.Over))
	}
	return shim.Length(halfEven(r.Mul(r, big.NewRat(int64(l), 1))))
}

// A seat is one valve of a request.
type seat struct {
	job             int
	valve           shim.Valve
	diameter        shim.Length
	tight, loose    shim.Length
	aim             shim.Length
	ratio           shim.Ratio
	measured        bool
	clearance, own  shim.Length // own is 0 where nobody knows it
	ownMiked        bool
	reading         shim.Reading
	gauge           shim.Gauge
	open            bool
	risk            func(plan.Fit) int64 // or nil
	ownUnlessShared bool                 // pulled shims stay in their engine
	engine          *shim.Engine
	setUp           bool // a fresh build: its shim is the bench set's, and none where own is 0
	allowance       shim.Allowance
}

// expect is c' = c + k (s - x).
func (s *seat) expect(size shim.Length) shim.Length {
	return s.clearance + product(s.ratio, s.own-size)
}

func (s *seat) holds(clearance shim.Length) bool {
	return s.tight <= clearance && clearance <= s.loose
}

// inside reports whether the valve is inside its limits as it is.
func (s *seat) inside() bool { return s.measured && s.holds(s.clearance) && !s.setUp }

// takesPart reports whether the valve's shim can be moved.
func (s *seat) takesPart() bool { return s.open && s.measured && (s.own != 0 || s.setUp) }

// reaches reports whether a shim pulled at another valve may come here.
func (s *seat) reaches(other *seat) bool {
	return s.diameter == other.diameter && (s.job == other.job || !s.ownUnlessShared)
}

// A fit is the shim that a valve ends with; fresh means that it is not its own.
type fit struct {
	size               shim.Length
	miked, used, fresh bool // used is one by its mark that was in an engine
}

// stays is the valve's own shim.
func (s *seat) stays() fit { return fit{size: s.own, miked: s.ownMiked} }

// near reports whether a clearance inside the limits is too near to one of them.
// With a confidence it is the probability itself that is asked for, not a guard
// band; only where the two are equal but for rounding does the model decide.
func (s *seat) near(q *plan.Request, clearance shim.Length, f fit) bool {
	if q.Confidence == 0 {
		return clearance-s.tight < q.Margin || s.loose-clearance < q.Margin
	}
	parts := doubt.Parts{Reading: s.reading, Ratio: s.ratio, Kept: !f.fresh, Installed: doubt.SourceOf(s.ownMiked, true), Fitted: doubt.SourceOf(f.miked, f.used), Allowance: s.allowance.Doubt}
	if s.own == 0 {
		parts.Installed = doubt.None
	}
	limits, model := shim.Limits{Tight: s.tight, Loose: s.loose}, doubt.Model{Gauge: s.gauge, Confidence: q.Confidence}
	p := model.Inside(limits, clearance, parts)
	if math.Abs(p-q.Confidence) < 1e-12 {
		sure, some := model.Guard(limits, parts)
		return !some || !sure.Contain(clearance)
	}
	return p < q.Confidence
}

// criteria is what the valve adds when it ends with the shim.
func (s *seat) criteria(q *plan.Request, f fit) plan.Criteria {
	var c plan.Criteria
	if !s.open {
		return c
	}
	if !s.measured {
		c.Unserved = 1
		return c
	}
	after := s.expect(f.size)
	c.Deviation = after - s.aim
	if c.Deviation < 0 {
		c.Deviation = -c.Deviation
	}
	if s.risk != nil && f.size != 0 {
		c.Risk = s.risk(plan.Fit{Valve: s.valve, Size: f.size, Own: !f.fresh, Known: doubt.SourceOf(f.miked, f.used || !f.fresh)})
	}
	switch {
	case !s.holds(after):
		c.Unserved = 1
	case s.near(q, after, f):
		c.Near = 1
	}
	if f.fresh {
		c.Changed = 1
		if s.inside() {
			c.Disturbed = 1
		}
	}
	return c
}

// seats lists the valves of a request, job by job.
func seats(q *plan.Request) []*seat {
	var list []*seat
	for i := range q.Jobs {
		j := &q.Jobs[i]
		for _, m := range j.Check {
			train := j.Engine.Intake
			if m.Valve.Side == shim.Exhaust {
				train = j.Engine.Exhaust
			}
			s := &seat{
				job: i, valve: m.Valve, engine: j.Engine, diameter: j.Engine.Diameter,
				tight: train.Tight, loose: train.Loose, ratio: train.Ratio, own: m.Stamp,
				aim:             train.Tight + product(shim.Ratio{Times: train.AimAt}, train.Loose-train.Tight),
				ownUnlessShared: !q.SharePulled,
				reading:         m.Reading, gauge: gaugeOf(q, j.Engine),
			}
			s.risk = j.Risk
			if m.Mic != 0 {
				s.own, s.ownMiked = m.Mic, true
			}
			if kind := m.Reading.Kind; kind == shim.Single || kind == shim.Bracket {
				s.measured = true
				s.clearance = shim.Length(halfEven(big.NewRat(int64(m.Reading.Low+m.Reading.High), 2)))
			}
			s.open = opens(j, m.Valve)
			if j.Build {
				s.setUp, s.allowance, s.open = !j.Own[m.Valve], train.Allowance, true
				s.clearance += train.Allowance.By
			}
			list = append(list, s)
		}
	}
	return list
}

// gaugeOf is what an engine's job is measured with.
func gaugeOf(q *plan.Request, e *shim.Engine) shim.Gauge {
	switch {
	case q.Gauge != nil:
		return *q.Gauge
	case e.Gauge != nil:
		return *e.Gauge
	}
	return shim.UsualGauge
}

// opens reports whether the job's lift opens the valve.
func opens(j *plan.JobRequest, v shim.Valve) bool {
	if j.Lift.All {
		return true
	}
	e := j.Engine
	if e.Access == shim.ByValve {
		return len(j.Lift.Named) == 0 || slices.Contains(j.Lift.Named, v.String())
	}
	bank := func(v shim.Valve) int {
		return slices.IndexFunc(e.Banks, func(cylinders []int) bool { return slices.Contains(cylinders, v.Cylinder) })
	}
	if len(j.Lift.Named) > 0 {
		return slices.ContainsFunc(j.Lift.Named, func(name string) bool {
			kind, number, numbered := strings.Cut(name, "-")
			side := kind == v.Side.String() || e.SharedCams && (kind == "shared" || kind == "intake" || kind == "exhaust")
			return side && (!numbered || number == strconv.Itoa(bank(v)+1))
		})
	}
	return slices.ContainsFunc(j.Check, func(m shim.Measurement) bool {
		return bank(m.Valve) == bank(v) && (e.SharedCams || m.Valve.Side == v.Side) && provenOutside(e, m)
	})
}

// provenOutside reports whether no clearance that the reading allows is inside.
func provenOutside(e *shim.Engine, m shim.Measurement) bool {
	limits := e.Intake.Limits
	if m.Valve.Side == shim.Exhaust {
		limits = e.Exhaust.Limits
	}
	switch m.Reading.Kind {
	case shim.Below: // c < High
		return m.Reading.High <= limits.Tight
	case shim.Above: // c > Low
		return m.Reading.Low >= limits.Loose
	case shim.Single, shim.Bracket:
		c := shim.Length(halfEven(big.NewRat(int64(m.Reading.Low+m.Reading.High), 2)))
		return c < limits.Tight || c > limits.Loose
	}
	return false
}

// offersFor lists what may be bought for the engine.
func offersFor(q *plan.Request, e *shim.Engine) []shim.Offer {
	if q.NoBuy {
		return nil
	}
	var list []shim.Offer
	if q.Offers == nil {
		for _, r := range e.Catalogue {
			for size := r.From; size <= r.To; size += r.Step {
				list = append(list, shim.Offer{Disc: shim.Disc{Family: shim.Family{Diameter: e.Diameter}, Size: size}, Quote: r.Quote})
			}
		}
		return list
	}
	for _, o := range q.Offers {
		if o.Diameter == 0 || o.Diameter == e.Diameter {
			o.Diameter = e.Diameter
			list = append(list, o)
		}
	}
	return list
}

// A piece is one kind of shim that can be had. Whether it is miked, or used and not,
// makes a difference with a confidence only.
type piece struct {
	diameter, size shim.Length
	miked, used    bool
}

// boxOf counts the box by kind of piece.
func boxOf(q *plan.Request) map[piece]int {
	box := map[piece]int{}
	for _, row := range q.Box {
		p := piece{diameter: row.Diameter, size: row.Stamp}
		if row.Mic != 0 {
			p.size, p.miked = row.Mic, apart(q)
		}
		p.used = row.Used && row.Mic == 0 && apart(q)
		if p.diameter == 0 {
			p.diameter = q.Jobs[0].Engine.Diameter
		}
		box[p] += row.Count
	}
	return box
}

// apart reports whether it matters how a size is known.
func apart(q *plan.Request) bool {
	return q.Confidence != 0 || slices.ContainsFunc(q.Jobs, func(j plan.JobRequest) bool { return j.Risk != nil })
}

// ordered writes the criteria in the policy's order, as the design page has it.
func ordered(p plan.Policy, c plan.Criteria) [9]int64 {
	unserved, bought, cost, near := int64(c.Unserved), int64(c.Bought), int64(c.Cost), int64(c.Near)
	disturbed, drawn, risk, deviation, changed := int64(c.Disturbed), int64(c.Drawn), c.Risk, int64(c.Deviation), int64(c.Changed)
	switch p {
	case plan.Target:
		return [9]int64{unserved, bought, cost, near, risk, deviation, drawn, disturbed, changed}
	case plan.Blueprint:
		return [9]int64{unserved, near, risk, deviation, bought, cost, drawn, disturbed, changed}
	}
	return [9]int64{unserved, bought, cost, near, disturbed, drawn, risk, deviation, changed}
}

// sum adds criteria.
func sum(a, b plan.Criteria) plan.Criteria {
	return plan.Criteria{
		Unserved: a.Unserved + b.Unserved, Bought: a.Bought + b.Bought, Cost: a.Cost + b.Cost, Near: a.Near + b.Near,
		Disturbed: a.Disturbed + b.Disturbed, Drawn: a.Drawn + b.Drawn, Risk: a.Risk + b.Risk, Deviation: a.Deviation + b.Deviation, Changed: a.Changed + b.Changed,
	}
}
