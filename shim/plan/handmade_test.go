package plan_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/report/reason"
)

// The engines and figures of the hand-made jobs are invented.

// inline is an engine with one intake and one exhaust valve a cylinder, its
// limits 0.14 to 0.21 and 0.20 to 0.27 mm, aimed at the middle.
func inline(cylinders int) *shim.Engine {
	train := func(tight, loose shim.Length) shim.Train {
		return shim.Train{Valves: 1, Limits: shim.Limits{Tight: tight, Loose: loose}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}}
	}
	return &shim.Engine{
		Name: "Tern 3", Cylinders: cylinders, Diameter: 9 * mm,
		Intake: train(140*um, 210*um), Exhaust: train(200*um, 270*um),
	}
}

// check reads lines like "in1 0.10 2.50"; every valve that is not named stands
// at its aim with a shim of 3.00. "<" and ">" are readings without a number.
func check(t *testing.T, e *shim.Engine, lines ...string) []shim.Measurement {
	t.Helper()
	var list []shim.Measurement
	for _, v := range e.Valves() {
		list = append(list, shim.Measurement{Valve: v, Reading: shim.ReadingOf(e.Train(v.Side).Aim()), Marks: shim.Marks{Stamp: 3 * mm}})
	}
	for _, line := range lines {
		words := strings.Fields(line)
		require.Len(t, words, 3, line)
		v, err := shim.ParseValve(words[0])
		require.NoError(t, err, line)
		place, found := e.Find(v)
		require.True(t, found, line)
		m := &list[place]
		switch words[1][0] {
		case '<':
			m.Reading = shim.Reading{Kind: shim.Below, High: length(t, words[1][1:])}
		case '>':
			m.Reading = shim.Reading{Kind: shim.Above, Low: length(t, words[1][1:])}
		default:
			low, high, bracket := strings.Cut(words[1], "-")
			m.Reading = shim.ReadingOf(length(t, low))
			if bracket {
				m.Reading = shim.Reading{Kind: shim.Bracket, Low: length(t, low), High: length(t, high)}
			}
		}
		m.Stamp = length(t, words[2])
	}
	return list
}

func length(t *testing.T, text string) shim.Length {
	t.Helper()
	l, err := shim.MM.Parse(text)
	require.NoError(t, err)
	return l
}

// box holds one of each size.
func box(t *testing.T, sizes ...string) (rows []shim.BoxRow) {
	t.Helper()
	for _, size := range sizes {
		rows = append(rows, shim.BoxRow{Marks: shim.Marks{Stamp: length(t, size)}, Count: 1})
	}
	return rows
}

// catalogue sells each size without limit for 7.80.
func catalogue(t *testing.T, sizes ...string) []shim.Offer {
	t.Helper()
	offers := []shim.Offer{}
	for _, size := range sizes {
		offers = append(offers, shim.Offer{Disc: shim.Disc{Size: length(t, size)}, Quote: shim.Quote{Price: 78_000, Priced: true}})
	}
	return offers
}

// made plans a job of one engine, audited.
func made(t *testing.T, q plan.Request) *plan.Plan {
	t.Helper()
	p, err := plan.Make(context.Background(), q)
	require.NoError(t, err)
	require.NoError(t, audit(&q, p))
	return p
}

// said is the valve's reason in words, in mm or in the unit.
func said(v *plan.ValvePlan, u ...shim.Unit) string {
	return reason.Text(v, append(u, shim.MM)[0], append(u, shim.MM)[0])
}

// valve gives a valve of the plan's first job.
func valve(t *testing.T, p *plan.Plan, name string) *plan.ValvePlan {
	t.Helper()
	for k := range p.Jobs[0].Valves {
		if v := &p.Jobs[0].Valves[k]; v.Valve.String() == name {
			return v
		}
	}
	require.Fail(t, "no valve "+name)
	return nil
}

// fitting names the valves of a fitting list in order.
func fitting(j *plan.JobPlan) string {
	var names []string
	for _, m := range j.Moves {
		names = append(names, m.Valve.String())
	}
	return strings.Join(names, " ")
}
