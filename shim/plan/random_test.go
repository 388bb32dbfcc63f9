package plan_test

import (
	"fmt"
	"math/rand/v2"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/plan"
)

const (
	um = shim.Micrometre
	mm = shim.Millimetre
)

// A family shapes random requests.
type family struct {
	jobs      int // at most
	valves    int // at most, in all
	sizes     int // on the grid
	boxRows   int // at most
	offers    int // at most
	pieces    int // a box row, at most
	cylinders int // an engine, at most
	fine      bool
}

// small is small enough for trying everything.
var small = family{jobs: 3, valves: 6, sizes: 12, boxRows: 7, offers: 8, pieces: 2, cylinders: 3, fine: true}

func pick[T any](r *rand.Rand, list ...T) T { return list[r.IntN(len(list))] }

// randomRequest builds a sound request in which sizes, prices and costs tie often.
func randomRequest(r *rand.Rand, f family) plan.Request {
	q := plan.Request{
		Policy:      plan.Policy(r.IntN(3)),
		Margin:      pick(r, 0, plan.DefaultMargin, plan.DefaultMargin, 25*um, 200*um),
		NoBuy:       r.IntN(5) == 0,
		SharePulled: r.IntN(3) > 0,
	}
	if r.IntN(2) == 0 {
		q.Confidence = pick(r, 0.5, 0.8, 0.9, 0.95, 0.95, 0.99)
		q.Gauge = randomGauge(r)
	}
	g := grid{from: 2 * mm, step: pick(r, 25*um, 10*um, 50*um), sizes: f.sizes, fine: f.fine}
	diameters := pick(r, []shim.Length{8900 * um}, []shim.Length{8900 * um}, []shim.Length{8900 * um, 25 * mm})
	var engines []*shim.Engine
	for left := f.valves; len(q.Jobs) < 1+r.IntN(f.jobs) || len(q.Jobs) == 0; {
		var e *shim.Engine
		if len(engines) > 0 && r.IntN(4) == 0 {
			e = pick(r, engines...)
		} else {
			e = randomEngine(r, f, g)
			e.Diameter = pick(r, diameters...)
			e.Gauge = randomGauge(r)
		}
		n := e.Cylinders * (e.Intake.Valves + e.Exhaust.Valves)
		if n > left {
			if len(q.Jobs) > 0 {
				break
			}
			continue
		}
		left -= n
		engines = append(engines, e)
		job := plan.JobRequest{
			Name: fmt.Sprintf("job %d", len(q.Jobs)), Engine: e, Check: randomCheck(r, e, g), Lift: randomLift(r, e),
		}
		if job.Provisional = r.IntN(6) == 0; job.Provisional {
			forget(r, job.Check)
		}
		if seed := sumOf(job.Check); seed%3 == 0 {
			job.Risk = randomRisk(seed)
		}
		q.Jobs = append(q.Jobs, job)
	}
	oneDiameter := true
	for _, j := range q.Jobs {
		oneDiameter = oneDiameter && j.Engine.Diameter == q.Jobs[0].Engine.Diameter
	}
	diameter := func() shim.Length {
		if oneDiameter {
			return pick(r, 0, q.Jobs[0].Engine.Diameter, diameters[len(diameters)-1])
		}
		return pick(r, diameters...)
	}
	for range r.IntN(f.boxRows + 1) {
		row := shim.BoxRow{Marks: shim.Marks{Stamp: g.size(r)}, Family: shim.Family{Diameter: diameter()}, Count: r.IntN(f.pieces + 1), Bin: pick(r, "", "A1", "B2"), Used: r.IntN(3) == 0}
		switch r.IntN(12) {
		case 0, 1:
			row.Mic = g.size(r)
		case 2, 3:
			other := row
			other.Mic, other.Count = row.Stamp, 1+r.IntN(f.pieces)
			q.Box = append(q.Box, other)
		}
		q.Box = append(q.Box, row)
	}
	if r.IntN(2) == 0 {
		q.Offers = []shim.Offer{}
		for range r.IntN(f.offers + 1) {
			o := shim.Offer{Disc: shim.Disc{Size: g.size(r), Family: shim.Family{Diameter: diameter()}}, Part: pick(r, "", "P1", "P2")}
			if o.Priced = r.IntN(8) > 0; o.Priced {
				o.Price = pick[shim.Price](r, 0, 50_000, 78_000, 78_000, 81_250)
			}
			if o.Limited = r.IntN(2) == 0; o.Limited {
				o.Stock = r.IntN(3)
			}
			q.Offers = append(q.Offers, o)
		}
	}
	return q
}

// sumOf is a number of the check's own, so that it takes none of the random ones.
func sumOf(check []shim.Measurement) (sum uint64) {
	for i, m := range check {
		sum += uint64(i+1) * uint64(m.Reading.Low+m.Size()) / uint64(um)
	}
	return sum
}

// randomRisk is a risk that goes by everything it may go by, with ties. A shim
// that stays is the surest of its size, then one that a micrometer measured.
func randomRisk(seed uint64) func(plan.Fit) int64 {
	return func(f plan.Fit) int64 {
		r := rand.New(rand.NewPCG(seed, uint64(f.Size)<<8|uint64(f.Valve.Cylinder)<<3|uint64(f.Valve.Side)<<2|uint64(f.Valve.Letter&1)))
		risk := 250_000 * r.Int64N(4)
		if more := 50_000 * r.Int64N(2); !f.Own && f.Known != doubt.Miked {
			risk += more
			if f.Known == doubt.Used {
				risk += more
			}
		}
		return risk
	}
}

// A grid is where sizes lie; fine lets one in eight lie beside it, to the nanometre.
type grid struct {
	from, step shim.Length
	sizes      int
	fine       bool
}

func (g grid) size(r *rand.Rand) shim.Length {
	size := g.from + shim.Length(r.IntN(g.sizes))*g.step
	if g.fine && r.IntN(8) == 0 {
		size += pick(r, um, 3*um, -um, 1, 7, 4999)
	}
	return size
}

func randomEngine(r *rand.Rand, f family, g grid) *shim.Engine {
	train := func() shim.Train {
		tight := shim.Length(8+r.IntN(10)) * 10 * um
		width := shim.Length(2+r.IntN(9)) * 10 * um
		if f.fine && r.IntN(8) == 0 {
			width++
		}
		return shim.Train{
			Valves: pick(r, 1, 1, 2, 2, 3, 0),
			Limits: shim.Limits{Tight: tight, Loose: tight + width},
			AimAt:  pick[shim.Factor](r, 500_000, 500_000, 600_000, 0, shim.One, 333_333),
			Ratio: pick(r, shim.Ratio{Times: shim.One}, shim.Ratio{Times: shim.One}, shim.Ratio{Times: shim.One},
				shim.Ratio{Times: 1_430_000}, shim.Ratio{Times: 1_600_000}, shim.Ratio{Times: 750_000}, shim.RockerRatio(1_430_000)),
		}
	}
	e := &shim.Engine{
		Name:       "engine " + fmt.Sprint(r.IntN(100)),
		Cylinders:  1 + r.IntN(f.cylinders),
		Access:     pick(r, shim.ByCamshaft, shim.ByCamshaft, shim.ByValve),
		SharedCams: r.IntN(4) == 0,
		Intake:     train(),
		Exhaust:    train(),
	}
	if e.Intake.Valves+e.Exhaust.Valves == 0 {
		e.Exhaust.Valves = 1
	}
	if e.Cylinders > 1 && r.IntN(3) == 0 {
		e.Banks = [][]int{{}, {}}
		for c := 1; c <= e.Cylinders; c++ {
			e.Banks[c%2] = append(e.Banks[c%2], c)
		}
	}
	for range r.IntN(3) {
		from := g.from + shim.Length(r.IntN(g.sizes))*g.step
		c := shim.Range{From: from, To: from + shim.Length(r.IntN(5))*g.step, Step: g.step}
		if c.Priced = r.IntN(3) > 0; c.Priced {
			c.Price = pick[shim.Price](r, 50_000, 78_000)
		}
		e.Catalogue = append(e.Catalogue, c)
	}
	return e
}

func randomCheck(r *rand.Rand, e *shim.Engine, g grid) []shim.Measurement {
	var check []shim.Measurement
	for _, v := range e.Valves() {
		limits := e.Train(v.Side).Limits
		m := shim.Measurement{Valve: v, Marks: shim.Marks{Stamp: g.size(r)}, Reading: shim.ReadingOf(randomClearance(r, limits))}
		switch r.IntN(8) {
		case 0:
			m.Mic = g.size(r)
		case 1, 2:
			m.Mic = m.Stamp
		}
		switch r.IntN(24) {
		case 0:
			m.Reading = shim.Reading{Kind: shim.Below, High: max(10*um, randomClearance(r, limits))}
		case 1:
			m.Reading = shim.Reading{Kind: shim.Above, Low: randomClearance(r, limits)}
		case 2, 3, 4:
			low := randomClearance(r, limits)
			m.Reading = shim.Reading{Kind: shim.Bracket, Low: low, High: low + pick(r, 10*um, 20*um, 20*um, 40*um, 12_701)}
		case 5:
			m.Reading = shim.Reading{}
		}
		check = append(check, m)
	}
	return check
}

// forget leaves some shims unknown, as before the first teardown.
func forget(r *rand.Rand, check []shim.Measurement) {
	for i := range check {
		if r.IntN(2) == 0 {
			check[i].Stamp, check[i].Mic = 0, 0
		}
	}
}

// randomGauge is one of nobody's, of an exact one, and of some in which it
// matters much, little or the other way round what a micrometer measured.
func randomGauge(r *rand.Rand) *shim.Gauge {
	return pick(r,
		nil,
		&shim.Gauge{},
		&shim.Gauge{Step: 10 * um, Leaf: 2 * um, Stamp: 15 * um, Mic: 2 * um},
		&shim.Gauge{Step: 20 * um, Stamp: 25 * um},
		&shim.Gauge{Step: 10 * um, Stamp: 2 * um, Used: 20 * um, Mic: 4 * um},
		&shim.Gauge{Step: 50 * um, Leaf: 3 * um, Stamp: 5 * um, Mic: 4 * um},
		&shim.Gauge{Step: 10 * um, Leaf: 1 * um, Stamp: 3 * um, Mic: 12 * um},
	)
}

// randomClearance lies around the limits, on the 0.01 mm of feeler leaves.
func randomClearance(r *rand.Rand, l shim.Limits) shim.Length {
	reach := 120 * um
	steps := int((l.Loose-l.Tight+2*reach)/(10*um)) + 1
	return max(0, l.Tight-reach+shim.Length(r.IntN(steps))*10*um)
}

func randomLift(r *rand.Rand, e *shim.Engine) shim.Lift {
	if r.IntN(4) > 0 {
		return pick(r, shim.LiftNeeded, shim.LiftNeeded, shim.LiftAll)
	}
	var names []string
	if e.Access == shim.ByValve {
		for _, v := range e.Valves() {
			if len(names) == 0 || r.IntN(2) == 0 {
				names = append(names, v.String())
			}
		}
		return shim.Lift{Named: names}
	}
	side := shim.Intake
	if e.Intake.Valves == 0 || e.Exhaust.Valves > 0 && r.IntN(2) == 0 {
		side = shim.Exhaust
	}
	name := side.String()
	if e.SharedCams && r.IntN(2) == 0 {
		name = "shared"
	}
	if len(e.Banks) > 1 && r.IntN(2) == 0 {
		name += fmt.Sprint("-", 1+r.IntN(2))
	}
	return shim.Lift{Named: []string{name}}
}
