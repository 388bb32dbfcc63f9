// Package plantest has plans to test with, all invented.
package plantest

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/testdata/effort"
)

// MM is a length in mm.
func MM(t testing.TB, text string) shim.Length { return Length(t, shim.MM, text) }

// Length is a length in the unit.
func Length(t testing.TB, u shim.Unit, text string) shim.Length {
	t.Helper()
	l, err := u.Parse(text)
	require.NoError(t, err)
	return l
}

// Made plans a request that can be planned.
func Made(t testing.TB, q plan.Request) *plan.Plan {
	t.Helper()
	p, err := plan.Make(context.Background(), q)
	require.NoError(t, err)
	return p
}

// Single is an invented single with one valve a side.
func Single(t testing.TB, name string) *shim.Engine {
	e := &shim.Engine{
		Name: name, Cylinders: 1, Diameter: MM(t, "8.9"),
		Intake:    shim.Train{Valves: 1, Limits: shim.Limits{Tight: MM(t, "0.10"), Loose: MM(t, "0.15")}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}},
		Exhaust:   shim.Train{Valves: 1, Limits: shim.Limits{Tight: MM(t, "0.20"), Loose: MM(t, "0.25")}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}},
		Catalogue: []shim.Range{{From: MM(t, "2.00"), To: MM(t, "3.00"), Step: MM(t, "0.025"), Quote: shim.Quote{Price: 78_000, Priced: true}}},
	}
	require.Empty(t, e.Validate())
	return e
}

// Check is a measurement of each valve of the engine: reading, then size.
func Check(t testing.TB, e *shim.Engine, rows ...string) []shim.Measurement {
	t.Helper()
	require.Len(t, rows, len(e.Valves()))
	var list []shim.Measurement
	for i, v := range e.Valves() {
		clearance, size, _ := strings.Cut(rows[i], " ")
		m := shim.Measurement{Valve: v, Marks: shim.Marks{Stamp: Length(t, e.Units.Size, size)}}
		low, high, bracket := strings.Cut(clearance, "-")
		switch {
		case clearance[0] == '<':
			m.Reading = shim.Reading{Kind: shim.Below, High: Length(t, e.Units.Clearance, clearance[1:])}
		case clearance[0] == '>':
			m.Reading = shim.Reading{Kind: shim.Above, Low: Length(t, e.Units.Clearance, clearance[1:])}
		case bracket:
			m.Reading = shim.Reading{Kind: shim.Bracket, Low: Length(t, e.Units.Clearance, low), High: Length(t, e.Units.Clearance, high)}
		default:
			m.Reading = shim.ReadingOf(Length(t, e.Units.Clearance, clearance))
		}
		list = append(list, m)
	}
	return list
}

// awkwardText is what people put into names.
var awkwardText = []string{
	"",
	"4711",
	`the "red" one, left | right`,
	"*_<b>`code`</b>_* [link](x) &amp; ~~no~~ \\",
	"Größe µ 三気筒",
	strings.Repeat("no end of a job number ", 8),
	strings.Repeat("Unbroken", 20),
}

// Awkward makes a plan of several jobs with everything that makes a table wide:
// sixteen cylinders of five valves, inches to a hundredth of a thousandth,
// brackets, readings without a number, long names, shims from other jobs.
func Awkward(t testing.TB, seed uint64) *plan.Plan {
	t.Helper()
	random := rand.New(rand.NewPCG(seed, 1))
	pick := func(list ...string) string { return list[random.IntN(len(list))] }
	unit := []shim.Unit{shim.MM, shim.IN}[seed%2]
	figures := map[shim.Unit][5]string{
		shim.MM: {"0.0975", "0.1525", "0.2025", "0.2575", "8.95"},
		shim.IN: {"0.00375", "0.00575", "0.00775", "0.01125", "0.35255"},
	}[unit]
	clearances := map[shim.Unit][]string{
		shim.MM: {"<0.05", ">0.605", "0.1275-0.1525", "0.2225-0.2475", "0.123456", "0", "0.2", "0.9"},
		shim.IN: {"<0.0015", ">0.02375", "0.00375-0.00425", "0.00875-0.01025", "0.0145", "0.03", "0", "0.0075"},
	}[unit]
	sizes := map[shim.Unit][]string{
		shim.MM: {"2.4", "2.475", "2.4975", "2.512345", "2.6", "11.25"},
		shim.IN: {"0.0955", "0.09825", "0.105", "0.11075", "0.0985"},
	}[unit]
	catalogue := map[shim.Unit][3]string{shim.MM: {"2.40", "2.80", "0.0625"}, shim.IN: {"0.0955", "0.1105", "0.0025"}}[unit]
	train := func(tight, loose string) shim.Train {
		return shim.Train{Valves: 5, Limits: shim.Limits{Tight: Length(t, unit, tight), Loose: Length(t, unit, loose)}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}}
	}
	e := &shim.Engine{
		Name: awkwardText[random.IntN(len(awkwardText))] + "x", Units: unit.Both(), Cylinders: 16, Diameter: Length(t, unit, figures[4]),
		Intake: train(figures[0], figures[1]), Exhaust: train(figures[2], figures[3]), Access: shim.ByValve,
	}
	if random.IntN(2) == 0 {
		e.Access = shim.ByCamshaft
	}
	for range 1 + random.IntN(2) {
		r := shim.Range{From: Length(t, unit, catalogue[0]), To: Length(t, unit, catalogue[1]), Step: Length(t, unit, catalogue[2])}
		if random.IntN(2) == 0 {
			r.Price, r.Priced = 12_347_500, true
		}
		e.Catalogue = append(e.Catalogue, r)
	}
	q := plan.Request{Policy: plan.Policy(random.IntN(3)), Margin: plan.DefaultMargin, SharePulled: true, NoBuy: random.IntN(4) == 0}
	for i := range 1 + random.IntN(3) {
		var rows []string
		for range e.Valves() {
			rows = append(rows, pick(clearances...)+" "+pick(sizes...))
		}
		name := awkwardText[random.IntN(len(awkwardText))]
		q.Jobs = append(q.Jobs, plan.JobRequest{Name: name + strings.Repeat("'", i), Engine: e, Check: Check(t, e, rows...), Lift: shim.LiftAll})
	}
	for range random.IntN(20) {
		q.Box = append(q.Box, shim.BoxRow{Marks: shim.Marks{Stamp: Length(t, unit, pick(sizes...))}, Count: 1 + random.IntN(40)})
	}
	return Made(t, q)
}

// EachAwkward runs a test on a number of awkward plans, at least 3.
func EachAwkward(t *testing.T, test func(t *testing.T, p *plan.Plan)) {
	for seed := range max(3, effort.Share(len(awkwardPlans))) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			if awkwardPlans[seed] == nil {
				awkwardPlans[seed] = Awkward(t, uint64(seed))
			}
			test(t, awkwardPlans[seed])
		})
	}
}

// awkwardPlans are made once; no test changes them.
var awkwardPlans [12]*plan.Plan

// Everything is a plan in which every list of the contract holds something:
// two jobs of which one is swapped, drawn, bought and left outside.
func Everything(t testing.TB) *plan.Plan {
	e := Single(t, "Plover 250")
	twin := Single(t, "Dunlin 500")
	twin.Cylinders = 2
	return Made(t, plan.Request{
		Margin: plan.DefaultMargin,
		Jobs: []plan.JobRequest{
			{Name: "11", Engine: twin, Check: Check(t, twin, "0.05 2.500", "0.32 2.425", "0.00 2.500", "<0.05 2.600"), Lift: shim.LiftAll},
			{Name: "12", Engine: e, Check: Check(t, e, "0.12 2.5", "0.05 2.7"), Lift: shim.LiftAll},
		},
		Box: []shim.BoxRow{{Marks: shim.Marks{Stamp: MM(t, "2.375")}, Count: 1}},
	})
}

// Keys walks through a JSON text and gives the field names of every object by
// its path, in the order of the text.
func Keys(t testing.TB, text []byte) map[string][][]string {
	t.Helper()
	found := map[string][][]string{}
	d := json.NewDecoder(bytes.NewReader(text))
	var value func(path string)
	value = func(path string) {
		token, err := d.Token()
		require.NoError(t, err)
		switch token {
		case json.Delim('{'):
			var names []string
			for d.More() {
				name, err := d.Token()
				require.NoError(t, err)
				names = append(names, name.(string))
				value(strings.TrimPrefix(path+"."+name.(string), "."))
			}
			_, err = d.Token()
			require.NoError(t, err)
			found[path] = append(found[path], names)
		case json.Delim('['):
			for d.More() {
				value(path + "[]")
			}
			_, err = d.Token()
			require.NoError(t, err)
		}
	}
	value("")
	return found
}

// FittedTwin is the plan of a twin with eight valves: ex1a and ex2a swap their shims,
// in1a gets a bought one, the rest stays.
func FittedTwin() *plan.Plan {
	train := shim.Train{Valves: 2, Limits: shim.Limits{Tight: 100_000, Loose: 200_000}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}}
	e := &shim.Engine{Name: "Dunlin 500", Cylinders: 2, Diameter: 10 * shim.Millimetre, Intake: train, Exhaust: train}
	p := &plan.Plan{Jobs: []plan.JobPlan{{Engine: e, Gauge: shim.UsualGauge, Lifted: []string{"intake", "exhaust"}}}}
	row := func(clearance, installed shim.Length, action plan.Action, size shim.Length, from string, expected shim.Length) {
		v := plan.ValvePlan{
			Valve: e.Valves()[len(p.Jobs[0].Valves)], Limits: train.Limits, Aim: train.Aim(), Reading: shim.ReadingOf(clearance * shim.Micrometre), Measured: true,
			Clearance: clearance * shim.Micrometre, Installed: installed * shim.Micrometre, Open: true, Action: action, Size: size * shim.Micrometre, Expected: expected * shim.Micrometre,
		}
		if from != "" {
			other, _ := shim.ParseValve(from)
			v.From = &plan.Place{Valve: other}
		}
		p.Jobs[0].Valves = append(p.Jobs[0].Valves, v)
	}
	row(70, 2500, plan.Buy, 2425, "", 145)
	row(150, 2450, plan.Keep, 2450, "", 150)
	row(50, 2600, plan.Swap, 2500, "ex2a", 150)
	row(150, 2550, plan.Keep, 2550, "", 150)
	row(140, 2400, plan.Keep, 2400, "", 140)
	row(160, 2500, plan.Keep, 2500, "", 160)
	row(250, 2500, plan.Swap, 2600, "ex1a", 150)
	row(120, 2500, plan.Keep, 2500, "", 120)
	p.Rebuild(false)
	return p
}

// AsExpected is a check that finds what the plan's job expects, moved by some um.
func AsExpected(j *plan.JobPlan, moved map[string]shim.Length) []shim.Measurement {
	check := make([]shim.Measurement, len(j.Valves))
	for i, v := range j.Valves {
		check[i] = shim.Measurement{Valve: v.Valve, Reading: shim.ReadingOf(v.Expected + moved[v.Valve.String()]*shim.Micrometre)}
	}
	return check
}
