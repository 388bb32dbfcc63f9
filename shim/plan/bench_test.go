package plan_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// A shop shapes a request for the benchmarks: fours with sixteen valves,
// clearances read to 0.01 mm, shims in steps of 0.025 mm, one box. The engine
// is invented.
type shop struct {
	valves int
	shared bool    // pulled shims too
	pieces float64 // in the box, by valve
	noBuy  bool
	miked  bool // every installed shim and every piece in the box to 0.001 mm
}

func (s shop) request() plan.Request {
	r := rand.New(rand.NewPCG(16, uint64(s.valves)))
	train := func(tight, loose shim.Length) shim.Train {
		return shim.Train{Valves: 2, Limits: shim.Limits{Tight: tight, Loose: loose}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}}
	}
	e := &shim.Engine{
		Name: "Sandpiper 1000 four", Cylinders: 4, Diameter: 8900 * um,
		Intake: train(140*um, 210*um), Exhaust: train(200*um, 270*um),
		Catalogue: []shim.Range{{From: 1200 * um, To: 3000 * um, Step: 25 * um, Quote: shim.Quote{Price: 78_000, Priced: true}}},
	}
	size := func() shim.Length {
		// Sizes in use gather in the middle of the range.
		steps := 0
		for range 6 {
			steps += r.IntN(13)
		}
		size := 1200*um + shim.Length(steps)*25*um
		if s.miked {
			size += shim.Length(r.IntN(25)-12) * um
		}
		return size
	}
	q := plan.Request{Margin: plan.DefaultMargin, SharePulled: s.shared, NoBuy: s.noBuy}
	for i := range (s.valves + 15) / 16 {
		j := plan.JobRequest{Name: fmt.Sprintf("job %06d", i), Engine: e}
		for _, v := range e.Valves() {
			// Most have closed up a little, some are outside.
			clearance := e.Train(v.Side).Aim() - 20*um + shim.Length(r.NormFloat64()*40)*um
			clearance = max(0, (clearance+5*um)/(10*um)*(10*um))
			j.Check = append(j.Check, shim.Measurement{Valve: v, Reading: shim.ReadingOf(clearance), Marks: shim.Marks{Stamp: size()}})
		}
		q.Jobs = append(q.Jobs, j)
	}
	for range int(s.pieces * float64(s.valves)) {
		q.Box = append(q.Box, shim.BoxRow{Marks: shim.Marks{Stamp: size()}, Count: 1})
	}
	return q
}

func (s shop) run(b *testing.B) {
	q := s.request()
	b.ReportAllocs()
	var p *plan.Plan
	var err error
	for b.Loop() {
		p, err = plan.Make(context.Background(), q)
		require.NoError(b, err)
	}
	b.ReportMetric(float64(p.Criteria.Unserved), "unserved")
	b.ReportMetric(float64(p.Criteria.Changed), "changed")
}

// Engines are whole, so that 100 valves are 112 and 1000 are 1008.
func BenchmarkMake(b *testing.B) {
	for _, n := range []int{16, 100, 1000, 10000} {
		b.Run(fmt.Sprint(n), shop{valves: n, pieces: 1}.run)
		b.Run(fmt.Sprint(n, "-shared"), shop{valves: n, pieces: 1, shared: true}.run)
	}
}

// BenchmarkMakeMiked is the hardest class, where hardly two shims are equal.
func BenchmarkMakeMiked(b *testing.B) {
	for _, n := range []int{1000, 10000} {
		b.Run(fmt.Sprint(n), shop{valves: n, pieces: 0.3, miked: true}.run)
		b.Run(fmt.Sprint(n, "-shared"), shop{valves: n, pieces: 0.3, miked: true, shared: true}.run)
	}
}

// BenchmarkMakeHundredThousand has the classes of a large shop; run it with
// -benchtime 1x.
func BenchmarkMakeHundredThousand(b *testing.B) {
	const n = 100_000
	for _, shared := range []bool{false, true} {
		name := map[bool]string{false: "byjob", true: "shared"}[shared]
		b.Run(name+"/plentiful", shop{valves: n, pieces: 1, shared: shared}.run)
		b.Run(name+"/scarce", shop{valves: n, pieces: 0.05, shared: shared}.run)
		b.Run(name+"/nothing", shop{valves: n, noBuy: true, shared: shared}.run)
		b.Run(name+"/miked", shop{valves: n, pieces: 0.3, shared: shared, miked: true}.run)
	}
}
