package recheck

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/testdata/effort"
)

const micrometre = shim.Micrometre

// invented is a job of eight valves that came out as expected to a few
// micrometres, sizes 0.025 mm apart, alternately in two crank positions. All
// figures are invented.
func invented() []Refit {
	e := shim.Engine{Cylinders: 2, Intake: shim.Train{Valves: 2}, Exhaust: shim.Train{Valves: 2}}
	errors := []shim.Length{2, -3, 4, 0, -5, 1, 3, -2}
	var refits []Refit
	for i, v := range e.Valves() {
		size := 2200*micrometre + shim.Length(i*i%11)*25*micrometre
		refits = append(refits, Refit{
			Valve: v, Expected: 175 * micrometre, Reading: shim.ReadingOf((175 + errors[i]) * micrometre),
			Error: doubt.Gaussian(6000), Ratio: shim.Ratio{Times: shim.One}, Before: 2600 * micrometre, Size: size,
			Out: true, Position: 1 + i%2,
		})
	}
	return refits
}

// move changes what was measured at a valve.
func move(r *Refit, by shim.Length) { r.Reading = shim.ReadingOf(r.Reading.Low + by) }

// said lists the explanations in short.
func said(r Report) []string {
	var list []string
	for _, e := range r.Explanations {
		text := ""
		for _, f := range e.Faults {
			text += fmt.Sprint(f.Kind, " ", f.Valves, f.Sizes, "; ")
		}
		list = append(list, text)
	}
	return list
}

func TestNothingWrong(t *testing.T) {
	r := Explain(invented(), Usual)
	require.Len(t, r.Explanations, 1, "%v", said(r))
	assert.Empty(t, r.Explanations[0].Faults)
	assert.Greater(t, r.Explanations[0].Probability, 0.9)
	assert.Zero(t, r.Explanations[0].Gain)
	assert.Empty(t, r.Off)
}

func TestExchange(t *testing.T) {
	for _, ratio := range []shim.Ratio{{Times: shim.One}, {Times: shim.One * 143 / 100}, shim.RockerRatio(2 * shim.One)} {
		job := invented()
		for i := range job {
			job[i].Ratio = ratio
		}
		d := ratio.Of(job[1].Size - job[6].Size)
		require.NotZero(t, d)
		move(&job[1], d)
		move(&job[6], -d)
		r := Explain(job, Usual)
		require.Len(t, r.Explanations, 1, "ratio %s: %v", ratio, said(r))
		require.Len(t, r.Explanations[0].Faults, 1, "ratio %s", ratio)
		f := r.Explanations[0].Faults[0]
		assert.Equal(t, Exchanged, f.Kind)
		assert.Equal(t, []shim.Valve{job[1].Valve, job[6].Valve}, f.Valves)
		assert.Equal(t, []shim.Length{job[6].Size, job[1].Size}, f.Sizes, "what lies in them in truth")
		assert.Equal(t, d, f.Shift)
		assert.Greater(t, r.Explanations[0].Gain, 10.0)
		assert.NotEmpty(t, f.Look())
		require.Len(t, r.Off, 2)
		assert.Equal(t, job[1].Valve, r.Off[0].Valve)
	}
}

// The gain is the log-likelihood ratio: for Gaussian errors, worked out by hand.
func TestGainByHand(t *testing.T) {
	job := invented()
	d := job[0].Size - job[1].Size // one step
	require.Equal(t, 25*micrometre, d.Abs())
	move(&job[0], d)
	move(&job[1], -d)
	a := Usual
	a.Unseated, a.WrongSize = 1e-9, 1e-9 // other faults take a little off; see [valve.total]
	r := Explain(job, a)
	require.NotEmpty(t, r.Explanations)
	require.Len(t, r.Explanations[0].Faults, 1, "%v", said(r))
	square := func(x shim.Length) float64 { return math.Pow(float64(x)/6000, 2) / 2 }
	c := func(i int) shim.Length { return job[i].Reading.Low - job[i].Expected }
	want := square(c(0)) - square(c(0)-d) + square(c(1)) - square(c(1)+d)
	assert.InDelta(t, want, r.Explanations[0].Gain, 0.1)
}

func TestOnlyWhatWasOutIsExchanged(t *testing.T) {
	job := invented()
	d := job[1].Size - job[6].Size
	move(&job[1], d)
	move(&job[6], -d)
	job[6].Out = false
	for _, e := range Explain(job, Usual).Explanations {
		for _, f := range e.Faults {
			assert.NotEqual(t, Exchanged, f.Kind)
		}
	}
}

func TestRoundOfThree(t *testing.T) {
	job := invented()
	rounds := []int{1, 2, 3} // 1 holds the shim of 2, 2 of 3, 3 of 1
	for k, i := range rounds {
		move(&job[i], job[i].Size-job[rounds[(k+1)%3]].Size)
	}
	r := Explain(job, Usual)
	require.Len(t, r.Explanations, 1, "%v", said(r))
	require.Len(t, r.Explanations[0].Faults, 1)
	assert.Equal(t, []shim.Valve{job[1].Valve, job[2].Valve, job[3].Valve}, r.Explanations[0].Faults[0].Valves)
}

// One valve is off by three steps: a shim of another size, or that valve by
// itself. No reading can tell, so both are said.
func TestOneValveOff(t *testing.T) {
	job := invented()
	move(&job[4], 75*micrometre)
	r := Explain(job, Usual)
	require.Len(t, r.Explanations, 2, "%v", said(r))
	kinds := map[Kind]Fault{}
	for _, e := range r.Explanations {
		require.Len(t, e.Faults, 1)
		assert.Equal(t, []shim.Valve{job[4].Valve}, e.Faults[0].Valves)
		kinds[e.Faults[0].Kind] = e.Faults[0]
		assert.Greater(t, e.Gain, 3.0)
	}
	require.Contains(t, kinds, WrongSize)
	require.Contains(t, kinds, Unseated)
	assert.Equal(t, []shim.Length{job[4].Size - 75*micrometre}, kinds[WrongSize].Sizes)
	require.Len(t, r.Off, 1)
	assert.Equal(t, 70*micrometre, r.Off[0].Difference)
}

func TestMeasuredShimIsRarelyWrong(t *testing.T) {
	job := invented()
	job[4].Miked = true
	move(&job[4], 75*micrometre)
	r := Explain(job, Usual)
	require.NotEmpty(t, r.Explanations)
	assert.Equal(t, Unseated, r.Explanations[0].Faults[0].Kind)
}

func TestKeptShimHasNoWrongSize(t *testing.T) {
	job := invented()
	job[4].From = job[4].Valve
	move(&job[4], 75*micrometre)
	r := Explain(job, Usual)
	require.Len(t, r.Explanations, 1, "%v", said(r))
	assert.Equal(t, Unseated, r.Explanations[0].Faults[0].Kind)
}

func TestCatalogueSizes(t *testing.T) {
	job := invented()
	move(&job[4], 75*micrometre)
	a := Usual
	a.Sizes = []shim.Length{job[4].Size, job[4].Size - 70*micrometre, job[4].Size + 200*micrometre}
	r := Explain(job, a)
	for _, e := range r.Explanations {
		if f := e.Faults[0]; f.Kind == WrongSize {
			assert.Equal(t, []shim.Length{job[4].Size - 70*micrometre}, f.Sizes)
			return
		}
	}
	t.Errorf("no wrong size among %v", said(r))
}

// A shim went from one valve to another, and its mark misleads at both. That
// looks like an exchange where the sizes fit, and both are said; where they do
// not, the mark alone explains it.
func TestWrongMarkAtTwoValves(t *testing.T) {
	job := invented()
	job[2].From = job[5].Valve
	by := 25 * micrometre * 6
	move(&job[2], by)
	move(&job[5], -by)
	r := Explain(job, Usual)
	require.NotEmpty(t, r.Explanations)
	f := r.Explanations[0].Faults[0]
	assert.Equal(t, WrongSize, f.Kind, "%v", said(r))
	assert.Equal(t, []shim.Valve{job[2].Valve, job[5].Valve}, f.Valves)
	assert.Equal(t, []shim.Length{job[2].Size - by}, f.Sizes)

	job = invented()
	job[2].From = job[5].Valve
	by = job[2].Size - job[5].Size
	move(&job[2], by)
	move(&job[5], -by)
	a := Usual
	// Equal priors for one exchange of all and one size of all.
	a.Exchange = a.WrongSize
	r = Explain(job, a)
	require.GreaterOrEqual(t, len(r.Explanations), 2, "%v", said(r))
	assert.NotEqual(t, r.Explanations[0].Faults[0].Kind, r.Explanations[1].Faults[0].Kind)
	assert.InDelta(t, r.Explanations[0].Gain, r.Explanations[1].Gain, 0.5)
}

func TestCrankPosition(t *testing.T) {
	job := invented()
	for i, by := range map[int]shim.Length{0: 60, 2: 95, 6: 40} { // of the first position
		move(&job[i], -by*micrometre)
	}
	r := Explain(job, Usual)
	require.Len(t, r.Explanations, 1, "%v", said(r))
	require.Len(t, r.Explanations[0].Faults, 1)
	f := r.Explanations[0].Faults[0]
	assert.Equal(t, OffBase, f.Kind)
	assert.Equal(t, []shim.Valve{job[0].Valve, job[2].Valve, job[6].Valve}, f.Valves)
	assert.Negative(t, f.Shift)
}

func TestGaugeOffset(t *testing.T) {
	for _, by := range []shim.Length{-40 * micrometre, 25 * micrometre} {
		job := invented()
		for i := range job {
			move(&job[i], by)
		}
		r := Explain(job, Usual)
		require.Len(t, r.Explanations, 1, "%s: %v", by, said(r))
		require.Len(t, r.Explanations[0].Faults, 1)
		f := r.Explanations[0].Faults[0]
		assert.Equal(t, GaugeOffset, f.Kind)
		assert.InDelta(t, float64(by), float64(f.Shift), 3000)
	}
}

func TestOffsetAndExchange(t *testing.T) {
	job := invented()
	for i := range job {
		move(&job[i], -40*micrometre)
	}
	d := job[1].Size - job[6].Size
	move(&job[1], d)
	move(&job[6], -d)
	r := Explain(job, Usual)
	require.NotEmpty(t, r.Explanations)
	e := r.Explanations[0]
	require.Len(t, e.Faults, 2, "%v", said(r))
	assert.Equal(t, GaugeOffset, e.Faults[0].Kind)
	assert.Equal(t, Exchanged, e.Faults[1].Kind)
	assert.Equal(t, []shim.Valve{job[1].Valve, job[6].Valve}, e.Faults[1].Valves)
}

func TestExchangeAndOneValveOff(t *testing.T) {
	job := invented()
	d := job[1].Size - job[6].Size
	move(&job[1], d)
	move(&job[6], -d)
	move(&job[4], -130*micrometre)
	r := Explain(job, Usual)
	require.NotEmpty(t, r.Explanations)
	for _, e := range r.Explanations {
		require.Len(t, e.Faults, 2, "%v", said(r))
		assert.Equal(t, Exchanged, e.Faults[0].Kind)
		assert.Equal(t, []shim.Valve{job[4].Valve}, e.Faults[1].Valves)
	}
}

// A leaf that does not go is a reading too: the gap is smaller than it.
func TestReadingsWithoutANumber(t *testing.T) {
	job := invented()
	require.Equal(t, 200*micrometre, job[3].Size-job[1].Size)
	job[1].Reading = shim.Reading{Kind: shim.Below, High: 50 * micrometre}
	job[3].Reading = shim.Reading{Kind: shim.Above, Low: 300 * micrometre}
	r := Explain(job, Usual)
	require.Len(t, r.Off, 2)
	require.NotEmpty(t, r.Explanations)
	require.NotEmpty(t, r.Explanations[0].Faults)
	f := r.Explanations[0].Faults[0]
	assert.Equal(t, Exchanged, f.Kind, "%v", said(r))
	assert.Contains(t, f.Valves, job[1].Valve)

	// One that says nothing against the plan accuses nobody.
	job = invented()
	job[1].Reading = shim.Reading{Kind: shim.Below, High: 300 * micrometre}
	r = Explain(job, Usual)
	assert.Empty(t, r.Explanations[0].Faults)
	assert.Empty(t, r.Off)
}

func TestUnmeasured(t *testing.T) {
	assert.Zero(t, Explain(nil, Usual))
	job := invented()[:2]
	job[0].Reading, job[1].Error = shim.Reading{}, doubt.Spread{}
	assert.Zero(t, Explain(job, Usual))
}

func TestOneValveOnly(t *testing.T) {
	job := invented()[:1]
	move(&job[0], 80*micrometre)
	r := Explain(job, Usual)
	require.NotEmpty(t, r.Explanations)
	assert.NotEmpty(t, r.Explanations[0].Faults)
}

func TestProbabilitiesAddUpToOneAtMost(t *testing.T) {
	for by := shim.Length(0); by < 120*micrometre; by += 10 * micrometre {
		job := invented()
		move(&job[3], by)
		sum := 0.0
		for _, e := range Explain(job, Usual).Explanations {
			sum += e.Probability
		}
		assert.LessOrEqual(t, sum, 1+1e-9, "off by %s", by)
		assert.Greater(t, sum, 0.5, "off by %s", by)
	}
}

func TestSameJobSameReport(t *testing.T) {
	job := invented()
	move(&job[4], 75*micrometre)
	assert.Equal(t, Explain(job, Usual), Explain(job, Usual))
}

// Whatever is measured, the report is of numbers.
func TestAnyReadingGivesNumbers(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 9))
	length := func(most int64) shim.Length { return shim.Length(random.Int64N(most)) }
	for range effort.Share(300) {
		job := invented()[:1+random.IntN(8)]
		for i := range job {
			r := &job[i]
			low := length(1_000_000)
			r.Reading = shim.Reading{Kind: shim.ReadingKind(random.IntN(5)), Low: low, High: low + length(100_000)}
			r.Error = doubt.Gaussian([]float64{0, 1, 5000, 300_000}[random.IntN(4)])
			r.Ratio = []shim.Ratio{{Times: shim.One}, {Times: shim.One / 2}, {Times: 10 * shim.One}, {Times: shim.One / 10}}[random.IntN(4)]
			r.Out = random.IntN(2) == 0
			r.Position = random.IntN(3)
			if random.IntN(2) == 0 {
				r.From = job[random.IntN(len(job))].Valve
			}
		}
		for _, e := range Explain(job, Usual).Explanations {
			require.True(t, e.Probability > 0 && e.Probability <= 1+1e-9, "%+v: %+v", job, e)
			require.False(t, math.IsNaN(e.Gain) || math.IsInf(e.Gain, 0), "%+v: %+v", job, e)
		}
	}
}

func BenchmarkExplain(b *testing.B) {
	job := invented()
	move(&job[4], 75*micrometre)
	for b.Loop() {
		Explain(job, Usual)
	}
}

// Another piece in the place of one pulled from the engine itself shows at its valve
// alone, and is on the list with what else closes the gap of one valve.
func TestAnotherPieceInPlaceOfThePlansOwn(t *testing.T) {
	in1, ex1 := shim.Valve{Cylinder: 1, Side: shim.Intake}, shim.Valve{Cylinder: 1, Side: shim.Exhaust}
	spread := doubt.Gaussian(5_000)
	a := Usual
	a.Step = 50 * shim.Micrometre
	swapped := func(v, from shim.Valve, size, reading shim.Length) Refit {
		return Refit{Valve: v, Expected: 150 * shim.Micrometre, Reading: shim.ReadingOf(reading), Error: spread,
			Ratio: shim.Ratio{Times: shim.One}, Before: 2450 * shim.Micrometre, Size: size, From: from, Out: true, Used: true}
	}
	r := Explain([]Refit{
		swapped(in1, ex1, 2500*shim.Micrometre, 50*shim.Micrometre),
		swapped(ex1, in1, 2450*shim.Micrometre, 150*shim.Micrometre),
	}, a)
	var kinds []Kind
	for _, f := range r.Lines()[0].Faults[0] {
		kinds = append(kinds, f.Kind)
		assert.Equal(t, []shim.Valve{in1}, f.Valves)
		if f.Kind == WrongSize {
			assert.Equal(t, []shim.Length{2600 * shim.Micrometre}, f.Sizes)
		}
	}
	assert.ElementsMatch(t, []Kind{WrongSize, Unseated}, kinds)
}
