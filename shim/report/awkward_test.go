package report

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

func mm(t testing.TB, text string) shim.Length { return length(t, shim.MM, text) }

func length(t testing.TB, u shim.Unit, text string) shim.Length {
	t.Helper()
	l, err := u.Parse(text)
	require.NoError(t, err)
	return l
}

// made plans a request that can be planned.
func made(t testing.TB, q plan.Request) *plan.Plan {
	t.Helper()
	p, err := plan.Make(context.Background(), q)
	require.NoError(t, err)
	return p
}

// single is an invented single with one valve a side.
func single(t testing.TB, name string) *shim.Engine {
	e := &shim.Engine{
		Name: name, Cylinders: 1, Diameter: mm(t, "8.9"),
		Intake:    shim.Train{Valves: 1, Limits: shim.Limits{Tight: mm(t, "0.10"), Loose: mm(t, "0.15")}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}},
		Exhaust:   shim.Train{Valves: 1, Limits: shim.Limits{Tight: mm(t, "0.20"), Loose: mm(t, "0.25")}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}},
		Catalogue: []shim.Range{{From: mm(t, "2.00"), To: mm(t, "3.00"), Step: mm(t, "0.025"), Quote: shim.Quote{Price: 78_000, Priced: true}}},
	}
	require.Empty(t, e.Validate())
	return e
}

// check is a measurement of each valve of the engine: reading, then size.
func check(t testing.TB, e *shim.Engine, rows ...string) []shim.Measurement {
	t.Helper()
	require.Len(t, rows, len(e.Valves()))
	var list []shim.Measurement
	for i, v := range e.Valves() {
		clearance, size, _ := strings.Cut(rows[i], " ")
		m := shim.Measurement{Valve: v, Marks: shim.Marks{Stamp: length(t, e.Units, size)}}
		low, high, bracket := strings.Cut(clearance, "-")
		switch {
		case clearance[0] == '<':
			m.Reading = shim.Reading{Kind: shim.Below, High: length(t, e.Units, clearance[1:])}
		case clearance[0] == '>':
			m.Reading = shim.Reading{Kind: shim.Above, Low: length(t, e.Units, clearance[1:])}
		case bracket:
			m.Reading = shim.Reading{Kind: shim.Bracket, Low: length(t, e.Units, low), High: length(t, e.Units, high)}
		default:
			m.Reading = shim.ReadingOf(length(t, e.Units, clearance))
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

// awkward makes a plan of several jobs with everything that makes a table wide:
// sixteen cylinders of five valves, inches to a hundredth of a thousandth,
// brackets, readings without a number, long names, shims from other jobs.
func awkward(t testing.TB, seed uint64) *plan.Plan {
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
		return shim.Train{Valves: 5, Limits: shim.Limits{Tight: length(t, unit, tight), Loose: length(t, unit, loose)}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}}
	}
	e := &shim.Engine{
		Name: awkwardText[random.IntN(len(awkwardText))] + "x", Units: unit, Cylinders: 16, Diameter: length(t, unit, figures[4]),
		Intake: train(figures[0], figures[1]), Exhaust: train(figures[2], figures[3]), Access: shim.ByValve,
	}
	if random.IntN(2) == 0 {
		e.Access = shim.ByCamshaft
	}
	for range 1 + random.IntN(2) {
		e.Catalogue = append(e.Catalogue, shim.Range{From: length(t, unit, catalogue[0]), To: length(t, unit, catalogue[1]), Step: length(t, unit, catalogue[2]), Quote: shim.Quote{Price: 12_347_500, Priced: random.IntN(2) == 0}})
	}
	q := plan.Request{Policy: plan.Policy(random.IntN(3)), Margin: plan.DefaultMargin, SharePulled: true, NoBuy: random.IntN(4) == 0}
	for i := range 1 + random.IntN(3) {
		var rows []string
		for range e.Valves() {
			rows = append(rows, pick(clearances...)+" "+pick(sizes...))
		}
		name := awkwardText[random.IntN(len(awkwardText))]
		q.Jobs = append(q.Jobs, plan.Job{Name: name + strings.Repeat("'", i), Engine: e, Check: check(t, e, rows...), Lift: shim.LiftAll})
	}
	for range random.IntN(20) {
		q.Box = append(q.Box, shim.BoxRow{Marks: shim.Marks{Stamp: length(t, unit, pick(sizes...))}, Count: 1 + random.IntN(40)})
	}
	return made(t, q)
}

// eachAwkward runs a test on a number of awkward plans.
func eachAwkward(t *testing.T, test func(t *testing.T, p *plan.Plan)) {
	for seed := range awkwardPlans {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			if awkwardPlans[seed] == nil {
				awkwardPlans[seed] = awkward(t, uint64(seed))
			}
			test(t, awkwardPlans[seed])
		})
	}
}

// awkwardPlans are made once; no test changes them.
var awkwardPlans [12]*plan.Plan
