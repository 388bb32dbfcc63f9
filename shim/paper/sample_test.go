package paper

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// The engines of these tests are invented.

// engineOf is an engine with banks of equal length, every valve with limits.
func engineOf(name string, cylinders, banks, intake, exhaust int, u shim.Unit) *shim.Engine {
	const um = shim.Micrometre
	e := &shim.Engine{Name: name, Units: u.Both(), Cylinders: cylinders, Diameter: 8900 * um,
		Intake:    shim.Train{Valves: intake, Limits: shim.Limits{Tight: 140 * um, Loose: 210 * um}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}},
		Exhaust:   shim.Train{Valves: exhaust, Limits: shim.Limits{Tight: 200 * um, Loose: 270 * um}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}},
		Catalogue: []shim.Range{{From: 1200 * um, To: 3000 * um, Step: 25 * um, Quote: shim.Quote{Price: 78000, Priced: true}}},
	}
	for bank := range banks {
		var list []int
		for i := range cylinders / banks {
			list = append(list, bank*(cylinders/banks)+i+1)
		}
		e.Banks = append(e.Banks, list)
	}
	for i := range cylinders {
		e.FiringOrder = append(e.FiringOrder, i+1)
	}
	return e
}

// checkOf measures every valve: a seeded mixture of all that a gauge can say.
func checkOf(e *shim.Engine, seed uint64) []shim.Measurement {
	random := rand.New(rand.NewPCG(seed, 1))
	var check []shim.Measurement
	for _, v := range e.Valves() {
		t := e.Train(v.Side)
		at := t.Tight + shim.Length(random.IntN(21)-7)*10*shim.Micrometre
		m := shim.Measurement{Valve: v, Marks: shim.Marks{Stamp: shim.Length(2200+25*random.IntN(20)) * shim.Micrometre}, Reading: shim.ReadingOf(at)}
		switch random.IntN(8) {
		case 0:
			m.Reading = shim.Reading{Kind: shim.Bracket, Low: at, High: at + 30*shim.Micrometre}
		case 1:
			m.Mic = m.Stamp - 3*shim.Micrometre
		}
		check = append(check, m)
	}
	return check
}

func planOf(t *testing.T, jobs ...plan.JobRequest) *plan.Plan {
	t.Helper()
	p, err := plan.Make(context.Background(), plan.Request{Jobs: jobs, Margin: plan.DefaultMargin, Box: []shim.BoxRow{{Marks: shim.Marks{Stamp: 2425 * shim.Micrometre}, Count: 3}}})
	require.NoError(t, err)
	return p
}

func jobOf(e *shim.Engine, check []shim.Measurement) plan.JobRequest {
	return plan.JobRequest{Engine: e, Check: check}
}

// afterOf is a recheck of every valve: brackets, which are the widest.
func afterOf(e *shim.Engine) map[shim.Valve]shim.Reading {
	after := map[shim.Valve]shim.Reading{}
	for _, v := range e.Valves() {
		t := e.Train(v.Side)
		after[v] = shim.Reading{Kind: shim.Bracket, Low: t.Loose + 120*shim.Micrometre, High: t.Loose + 150*shim.Micrometre}
	}
	return after
}
