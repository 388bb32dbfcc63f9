package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/testdata/effort"
)

// A workshop invents jobs on a four with sixteen valves: gaps, leaves that are
// off by up to 0.003 mm, shims that are off their marks by up to 0.005 mm. It
// works as a person would, with the commands and their files. Everything is
// invented.
type workshop struct {
	*testing.T
	random *rand.Rand
	folder string
	step   shim.Length // between neighbouring leaves
	leaves []shim.Length
	shims  map[string]disc // in each valve, before the job
	gaps   map[string]shim.Length
	order  []string
}

// A disc is a shim as it is marked and as it is.
type disc struct{ mark, truth shim.Length }

const invented = `name = "Invented four"
cylinders = 4
firing_order = [1, 3, 4, 2]
[intake]
valves = 2
clearance = [0.14, 0.22]
[exhaust]
valves = 2
clearance = [0.20, 0.28]
[shims]
diameter = 9
[[shims.catalogue]]
from = 1.80
to = 3.20
step = 0.025
[gauge]
step = %s
leaf = 0.003
stamp = 0.005
`

func newWorkshop(t *testing.T, step shim.Length, seed uint64) *workshop {
	w := &workshop{T: t, random: rand.New(rand.NewPCG(3, seed)), folder: t.TempDir(), step: step}
	w.write("engine.toml", fmt.Sprintf(invented, step))
	for cylinder := 1; cylinder <= 4; cylinder++ {
		for _, side := range []string{"in", "ex"} {
			w.order = append(w.order, fmt.Sprintf("%s%da", side, cylinder), fmt.Sprintf("%s%db", side, cylinder))
		}
	}
	return w
}

func (w *workshop) path(name string) string { return filepath.Join(w.folder, name) }

func (w *workshop) write(name, text string) {
	require.NoError(w, os.WriteFile(w.path(name), []byte(text), 0o666))
}

// shimwright runs the program on an app of its own.
func (w *workshop) shimwright(args ...string) (out []byte, status int) {
	var stdout, stderr bytes.Buffer
	status = run(args, &app{in: strings.NewReader(""), out: &stdout, err: &stderr})
	require.Contains(w, []int{exitDone, exitOutside}, status, "%q: %s", args, stderr.String())
	return stdout.Bytes(), status
}

func (w *workshop) within(half shim.Length) shim.Length {
	return shim.Length((2*w.random.Float64() - 1) * float64(half))
}

func (w *workshop) disc(mark shim.Length) disc {
	return disc{mark, mark + w.within(5*shim.Micrometre)}
}

// feel writes down the leaf that drags, the one closest to the gap; a leaf that
// does not go or falls through, where none drags.
func (w *workshop) feel(gap shim.Length) string {
	switch last := len(w.leaves) - 1; {
	case gap <= 0:
		return "0"
	case gap < w.leaves[0]-w.step/2:
		return "<" + w.step.String()
	case gap > w.leaves[last]+w.step/2:
		return ">" + (shim.Length(last+1) * w.step).String()
	}
	best := 0
	for i, leaf := range w.leaves {
		if (leaf - gap).Abs() < (w.leaves[best] - gap).Abs() {
			best = i
		}
	}
	return (shim.Length(best+1) * w.step).String()
}

// planned is what the tests ask of a plan's JSON.
type planned struct {
	Jobs []struct {
		Valves []struct {
			Valve  string      `json:"valve"`
			Action string      `json:"action"`
			Shim   shim.Length `json:"shim_mm"`
			From   *string     `json:"from"`
		} `json:"valves"`
	} `json:"jobs"`
}

// plan invents a job, plans it and gives the shim that lies in each valve once
// the plan is carried out.
func (w *workshop) plan() map[string]disc {
	w.leaves, w.shims, w.gaps = nil, map[string]disc{}, map[string]shim.Length{}
	for mark := w.step; mark < 700*shim.Micrometre; mark += w.step {
		w.leaves = append(w.leaves, mark+w.within(3*shim.Micrometre))
	}
	check := "valve,clearance,shim\n"
	for _, v := range w.order {
		w.shims[v] = w.disc(2300*shim.Micrometre + shim.Length(w.random.IntN(17))*25*shim.Micrometre)
		w.gaps[v] = 70*shim.Micrometre + shim.Length(w.random.IntN(280_000))
		check += fmt.Sprintf("%s,%s,%s\n", v, w.feel(w.gaps[v]), w.shims[v].mark)
	}
	w.write("check.csv", check)
	text, _ := w.shimwright("solve", "--engine", w.path("engine.toml"), "--lift", "all", "--policy", "target", "--output", "json", w.path("check.csv"))
	w.write("plan.json", string(text))
	var p planned
	require.NoError(w, json.Unmarshal(text, &p))
	fitted := map[string]disc{}
	for _, v := range p.Jobs[0].Valves {
		switch v.Action {
		case "keep", "leave":
			fitted[v.Valve] = w.shims[v.Valve]
		case "swap":
			fitted[v.Valve] = w.shims[*v.From]
		default:
			fitted[v.Valve] = w.disc(v.Shim)
		}
		require.Equal(w, v.Shim, fitted[v.Valve].mark, "%s", v.Valve)
	}
	return fitted
}

// rechecked is what the tests ask of the JSON of recheck.
type rechecked struct {
	Well bool `json:"well"`
	Jobs []struct {
		Valves []struct {
			Off bool `json:"off"`
		} `json:"valves"`
		Explanations []explained `json:"explanations"`
	} `json:"jobs"`
}

type explained struct {
	Faults []struct {
		Kind   string   `json:"kind"`
		Valves []string `json:"valves"`
	} `json:"faults"`
}

// names tells whether the explanation names exactly these exchanges of two.
func (e explained) names(pairs [][2]string) bool {
	for _, f := range e.Faults {
		if f.Kind != "exchanged" || len(f.Valves) != 2 || !slices.ContainsFunc(pairs, func(p [2]string) bool {
			return slices.Contains(f.Valves, p[0]) && slices.Contains(f.Valves, p[1])
		}) {
			return false
		}
	}
	return len(e.Faults) == len(pairs)
}

// recheck measures every valve with the shims that are in, and rechecks.
func (w *workshop) recheck(fitted map[string]disc) rechecked {
	check := "valve,clearance\n"
	for _, v := range w.order {
		check += fmt.Sprintf("%s,%s\n", v, w.feel(w.gaps[v]+w.shims[v].truth-fitted[v].truth))
	}
	w.write("after.csv", check)
	args := []string{"recheck", "--output", "json", w.path("plan.json"), w.path("after.csv")}
	if w.step != shim.UsualGauge.Step {
		args = append(args, "--engine", w.path("engine.toml"))
	}
	text, status := w.shimwright(args...)
	var r rechecked
	require.NoError(w, json.Unmarshal(text, &r))
	require.Equal(w, r.Well, status == exitDone)
	return r
}

// exchange exchanges the shims of so many pairs of valves, each with sizes that
// differ by two leaf steps up to 0.05 mm more: the hardest that can be told.
func (w *workshop) exchange(fitted map[string]disc, pairs int) [][2]string {
	var done [][2]string
	used := map[string]bool{}
	for range 10_000 {
		a, b := w.order[w.random.IntN(len(w.order))], w.order[w.random.IntN(len(w.order))]
		apart := (fitted[a].mark - fitted[b].mark).Abs() - 2*w.step
		if used[a] || used[b] || apart < 0 || apart > 50*shim.Micrometre {
			continue
		}
		fitted[a], fitted[b] = fitted[b], fitted[a]
		used[a], used[b] = true, true
		if done = append(done, [2]string{a, b}); len(done) == pairs {
			return done
		}
	}
	require.Fail(w, "no two shims differ as asked")
	return nil
}

// Through the files and the commands, as people go: exchanged shims are named
// first in at least 95 of 100 jobs where their sizes differ by two leaf steps or
// more, and nobody is accused in at least 99 of 100 clean jobs (issue 3, item 6).
func TestRecheckSimulated(t *testing.T) {
	effort.Long(t)
	const each = 70 // for each gauge
	var accused, doubted, jobs int
	var exchanged, first, shown [3]int // by number of pairs
	for i, step := range []shim.Length{20 * shim.Micrometre, 10 * shim.Micrometre, 30 * shim.Micrometre} {
		if i > 0 && !effort.All() {
			break // fewer jobs for each gauge could not tell 94 in 100 from 95
		}
		w := newWorkshop(t, step, uint64(step))
		for i := range each {
			fitted := w.plan()
			job := w.recheck(fitted).Jobs[0]
			jobs++
			off := false
			for _, v := range job.Valves {
				off = off || v.Off
			}
			switch {
			case off || len(job.Explanations[0].Faults) > 0:
				accused++
			case len(job.Explanations) > 1:
				doubted++
			}
			pairs := 1 + i%2
			exchanges := w.exchange(fitted, pairs)
			list := w.recheck(fitted).Jobs[0].Explanations
			exchanged[pairs]++
			if list[0].names(exchanges) {
				first[pairs]++
			}
			if slices.ContainsFunc(list, func(e explained) bool { return e.names(exchanges) }) {
				shown[pairs]++
			}
		}
	}
	t.Logf("clean: %d jobs, %d accused, %d more in which another explanation is not ruled out", jobs, accused, doubted)
	assert.LessOrEqual(t, 100*accused, jobs, "clean jobs accused")
	for pairs := 1; pairs <= 2; pairs++ {
		t.Logf("%d exchanged: %d jobs, %d found first, %d shown", pairs, exchanged[pairs], first[pairs], shown[pairs])
		assert.GreaterOrEqual(t, 100*first[pairs], 95*exchanged[pairs], "%d exchanged", pairs)
	}
}
