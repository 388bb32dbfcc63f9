package recheck

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/shim"
	"shimwright/testdata/effort"
)

// Faults other than exchanges, in simulated jobs: how often the right one comes
// first. The figures are printed (go test -v).
func TestSimulatedOtherFaults(t *testing.T) {
	effort.Long(t)
	const jobs = 60
	b := &bench{random: rand.New(rand.NewPCG(5, 5)), leaf: 20_000}
	sign := func() shim.Length { return shim.Length(2*b.random.IntN(2) - 1) }
	// only reports whether the report's first explanation is one fault of a kind.
	only := func(r Report, kinds ...Kind) (Fault, bool) {
		if e := r.Explanations[0]; len(e.Faults) == 1 && slices.Contains(kinds, e.Faults[0].Kind) {
			return e.Faults[0], true
		}
		return Fault{}, false
	}
	for _, c := range []struct {
		name string
		try  func(j *job) bool
	}{
		{"gauge off by 0.04 mm", func(j *job) bool {
			by := sign() * 40 * shim.Micrometre
			r := Explain(j.measure(identity(16), func(int) shim.Length { return by }), Usual)
			f, ok := only(r, GaugeOffset)
			return ok && (f.Shift-by).Abs() < 12*shim.Micrometre
		}},
		{"three valves of one position off by 0.05 to 0.12 mm", func(j *job) bool {
			lifted := b.random.Perm(8)[:3] // places 2k are of the first position
			var want []shim.Valve
			by := map[int]shim.Length{}
			slices.Sort(lifted)
			for _, k := range lifted {
				by[2*k] = -shim.Length(50+b.random.IntN(70)) * shim.Micrometre
				want = append(want, j.refits[2*k].Valve)
			}
			r := Explain(j.measure(identity(16), func(i int) shim.Length { return by[i] }), Usual)
			f, ok := only(r, OffBase)
			return ok && slices.Equal(f.Valves, want)
		}},
		{"one valve off by 0.08 to 0.2 mm", func(j *job) bool {
			one := b.random.IntN(16)
			by := sign() * shim.Length(80+b.random.IntN(120)) * shim.Micrometre
			r := Explain(j.measure(identity(16), func(i int) shim.Length {
				if i == one {
					return by
				}
				return 0
			}), Usual)
			f, ok := only(r, Unseated, WrongSize)
			return ok && f.Valves[0] == j.refits[one].Valve
		}},
	} {
		right := 0
		for range jobs {
			if c.try(b.usableJob()) {
				right++
			}
		}
		t.Logf("%s: right in %d of %d jobs", c.name, right, jobs)
		assert.GreaterOrEqual(t, 100*right, 90*jobs, c.name)
	}
}
