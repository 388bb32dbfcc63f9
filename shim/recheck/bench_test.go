package recheck

import (
	"math/rand/v2"
	"sort"

	"shimwright/shim"
	"shimwright/shim/doubt"
)

// A bench invents jobs: 16 valves, sizes 0.025 mm apart, a leaf set with leaves
// that are off, shims that are not what their marks or a micrometer say. All
// data is invented.
type bench struct {
	random *rand.Rand
	leaf   shim.Length // distance between neighbouring leaves
	miked  bool        // shims are measured (to 2 µm), else stamps are believed (5 µm)
}

const pitch = 25 * shim.Micrometre

func (b *bench) within(half shim.Length) shim.Length {
	return shim.Length((2*b.random.Float64() - 1) * float64(half))
}

// A disc is a shim as it is and as it is known.
type disc struct{ truth, known shim.Length }

func (b *bench) disc(mark shim.Length) disc {
	d := disc{truth: mark + b.within(5*shim.Micrometre), known: mark}
	if b.miked {
		d.known = d.truth + b.within(2*shim.Micrometre)
	}
	return d
}

// A job is a job as it is: what [Explain] may know of it is in the refits.
type job struct {
	*bench
	refits []Refit
	fitted []disc // in the plan's order, valve by valve
	gap    func(valve int, held disc) shim.Length
	leaves []shim.Length // true thickness
	marks  []shim.Length
	model  doubt.Model
	parts  []doubt.Parts
}

func (b *bench) job() *job {
	j := &job{bench: b, model: doubt.Model{Gauge: shim.Gauge{Step: b.leaf, Leaf: 3 * shim.Micrometre,
		Stamp: 5 * shim.Micrometre, Mic: 2 * shim.Micrometre}}}
	for l := 30 * shim.Micrometre; l < 700*shim.Micrometre; l += b.leaf {
		j.marks = append(j.marks, l)
		j.leaves = append(j.leaves, l+b.within(3*shim.Micrometre))
	}
	e := shim.Engine{Name: "invented four", Cylinders: 4,
		Intake:  shim.Train{Valves: 2, Limits: shim.Limits{Tight: 140_000, Loose: 210_000}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}},
		Exhaust: shim.Train{Valves: 2, Limits: shim.Limits{Tight: 200_000, Loose: 270_000}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}}}
	valves := e.Valves()
	var before []disc
	var gaps []shim.Length
	pool := map[shim.Length][]int{} // pulled shims by mark
	marksOf := make([]shim.Length, len(valves))
	for i := range valves {
		mark := 2200*shim.Micrometre + shim.Length(b.random.IntN(17))*pitch
		marksOf[i] = mark
		before = append(before, b.disc(mark))
		gaps = append(gaps, 60*shim.Micrometre+shim.Length(b.random.IntN(260_000)))
		pool[mark] = append(pool[mark], i)
	}
	source := doubt.Stamped
	if b.miked {
		source = doubt.Miked
	}
	for i, v := range valves {
		reading := j.read(gaps[i])
		c, _ := reading.Estimate()
		train := e.Train(v.Side)
		want := before[i].known + c - train.Aim()
		mark := (want + pitch/2) / pitch * pitch
		r := Refit{Valve: v, Ratio: shim.Ratio{Times: shim.One}, Before: before[i].known, Out: true, Miked: b.miked, Position: 1 + i%2}
		p := doubt.Parts{Reading: reading, Ratio: shim.Ratio{Times: shim.One}, Installed: source, Fitted: source}
		var fitted disc
		switch from := pool[mark]; {
		case mark == marksOf[i]:
			fitted, r.From, p.Kept = before[i], v, true
		case len(from) > 0 && marksOf[from[0]] == mark && from[0] != i:
			fitted, r.From = before[from[0]], valves[from[0]]
			pool[mark] = from[1:]
		default:
			fitted = b.disc(mark)
		}
		r.Size = fitted.known
		r.Expected = c + r.Before - r.Size
		j.fitted = append(j.fitted, fitted)
		j.refits = append(j.refits, r)
		j.parts = append(j.parts, p)
	}
	j.gap = func(i int, held disc) shim.Length { return gaps[i] + before[i].truth - held.truth }
	return j
}

// read is what the leaves say of a gap.
func (j *job) read(gap shim.Length) shim.Reading {
	at := sort.Search(len(j.leaves), func(i int) bool { return j.leaves[i] > gap })
	switch at {
	case 0:
		return shim.Reading{Kind: shim.Below, High: j.marks[0]}
	case len(j.leaves):
		return shim.Reading{Kind: shim.Above, Low: j.marks[at-1]}
	}
	return shim.Reading{Kind: shim.Bracket, Low: j.marks[at-1], High: j.marks[at]}
}

// measure fits the shims that holds names and reads every gap, moved by what
// extra gives.
func (j *job) measure(holds []int, extra func(valve int) shim.Length) []Refit {
	for i := range j.refits {
		r := &j.refits[i]
		gap := j.gap(i, j.fitted[holds[i]])
		if extra != nil {
			gap += extra(i)
		}
		r.Reading = j.read(gap)
		r.Error = j.model.Difference(j.parts[i], r.Reading)
	}
	return j.refits
}

// usable reports whether every first reading had a number.
func (j *job) usable() bool {
	for _, p := range j.parts {
		if !j.model.Spread(p).Known() {
			return false
		}
	}
	return true
}

func (b *bench) usableJob() *job {
	for {
		if j := b.job(); j.usable() {
			return j
		}
	}
}
