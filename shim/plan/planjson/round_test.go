package planjson

import (
	"bytes"
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/internal/plantest"
	"shimwright/shim/plan"
	"shimwright/shim/report/reason"
)

// A plan comes back as it was: every valve, the fitting list, the lots, and every
// byte that is written.
func TestDecodeGivesThePlanBack(t *testing.T) {
	twin := single(t, "Dunlin 500")
	twin.Cylinders = 2
	request := func(change func(*plan.Request)) plan.Request {
		list := check(t, twin, "0.05 2.500", "0.32-0.34 2.425", "0.00 2.500", "<0.05 2.600")
		list[0].Mic = mm(t, "2.497")
		q := plan.Request{
			Margin: plan.DefaultMargin,
			Jobs:   []plan.JobRequest{{Name: "11", Engine: twin, Check: list, Lift: shim.LiftAll}},
			Box:    []shim.BoxRow{{Marks: shim.Marks{Stamp: mm(t, "2.375"), Mic: mm(t, "2.373")}, Count: 1}},
			Offers: []shim.Offer{{Disc: shim.Disc{Size: mm(t, "2.4")}, Quote: shim.Quote{Price: 78000, Priced: true}}, {Disc: shim.Disc{Size: mm(t, "2.65")}}},
		}
		if change != nil {
			change(&q)
		}
		return q
	}
	for name, q := range map[string]plan.Request{
		"usual":   request(nil),
		"nothing": request(func(q *plan.Request) { q.NoBuy, q.Box = true, nil }),
		"margin":  request(func(q *plan.Request) { q.Margin = 40 * shim.Micrometre }),
		"policy":  request(func(q *plan.Request) { q.Policy = plan.Blueprint }),
		"confidence": request(func(q *plan.Request) {
			q.Confidence, q.Gauge = 0.9, &shim.Gauge{Step: 20_000, Leaf: 1000, Stamp: 2000, Mic: 3000}
		}),
		"sets": request(func(q *plan.Request) {
			q.Jobs[0].Gauge = &shim.Gauge{Step: 20_000, Leaf: 1000, Stamp: 2000, Mic: 3000}
			q.Jobs[0].Check[1].With = shim.Gauge{Step: 50_000, Leaf: 4000, Stamp: 1, Mic: 1}
		}),
	} {
		same(t, name, made(t, q))
	}
	in := shim.IN
	for name, shown := range map[string]shim.Showing{"inches": {Clearance: &in, Size: &in}, "gauge in inches": {Clearance: &in}, "shims in inches": {Size: &in}} {
		p := made(t, request(nil))
		p.ShowIn(shown)
		same(t, name, p)
	}
	bought, err := plan.Buying(t.Context(), request(nil), 2)
	require.NoError(t, err)
	same(t, "purchases", bought)
	same(t, "several", plantest.Everything(t))
	eachAwkward(t, func(t *testing.T, p *plan.Plan) { same(t, "awkward", p) })
}

// same holds a plan against what comes back of it.
func same(t *testing.T, name string, p *plan.Plan) {
	t.Helper()
	text := jsonOf(t, p)
	var engines []*shim.Engine
	for i := range p.Jobs {
		if e := p.Jobs[i].Engine; !slices.Contains(engines, e) {
			engines = append(engines, e)
		}
	}
	got, err := Decode("plan 1", bytes.NewReader(text), engines...)
	require.NoError(t, err, name)
	require.Equal(t, p.Jobs, got.Jobs, name)
	assert.Equal(t, p.Criteria, got.Criteria, name)
	assert.Equal(t, string(text), string(jsonOf(t, got)), name)

	// Without the engines, what the plan does not tell is as usual: all else is the same.
	got, err = Decode("plan 1", bytes.NewReader(text))
	require.NoError(t, err, name)
	for i := range p.Jobs {
		assert.Equal(t, p.Jobs[i].Valves, got.Jobs[i].Valves, name)
		assert.Equal(t, p.Jobs[i].Moves, got.Jobs[i].Moves, name)
		assert.Equal(t, p.Jobs[i].Engine.Intake.Ratio, got.Jobs[i].Engine.Intake.Ratio, name)
	}
}

// What shops kept in the field "kept" is what each valve says by itself now.
func TestDecodeKept(t *testing.T) {
	for name, want := range map[string]struct {
		units  shim.Unit
		stated bool
		gauge  shim.Gauge
	}{
		"shop":       {shim.MM, false, shim.Gauge{Step: 30_000, Leaf: 5_000, Stamp: 5_000, Mic: 4_000}},
		"shop-gauge": {shim.IN, true, shim.Gauge{Step: 20_000, Leaf: 3_000, Stamp: 4_000, Mic: 2_000}},
	} {
		text, err := os.ReadFile("../../../cmd/shimwright/testdata/earlier/" + name + "/plan.json")
		require.NoError(t, err)
		p, err := Decode(name, bytes.NewReader(text))
		require.NoError(t, err)
		j := &p.Jobs[0]
		assert.Equal(t, []any{want.units.Both(), want.stated, want.gauge}, []any{j.Units, j.GaugeStated, j.Gauge}, name)
		assert.Equal(t, shim.Reading{Kind: shim.Bracket, Low: 150_000, High: 180_000}, j.Valves[1].Reading, name)
		again, err := Decode(name, bytes.NewReader(jsonOf(t, p)))
		require.NoError(t, err)
		p.Jobs[0].Engine, again.Jobs[0].Engine = nil, nil // the old one does not tell its disc
		assert.Equal(t, p.Jobs, again.Jobs, name)
	}
}

// Plans of an earlier version have reasons in words alone: they stay as they are.
func TestReasonsInWordsStay(t *testing.T) {
	text, err := os.ReadFile("../../../cmd/shimwright/testdata/earlier/shared/plan.json")
	require.NoError(t, err)
	p, err := Decode("plan", bytes.NewReader(text))
	require.NoError(t, err)
	var again struct {
		Jobs []struct {
			Valves []map[string]any `json:"valves"`
		} `json:"jobs"`
	}
	require.NoError(t, json.Unmarshal(jsonOf(t, p), &again))
	worded := 0
	for i := range p.Jobs {
		for k := range p.Jobs[i].Valves {
			v, row := &p.Jobs[i].Valves[k], again.Jobs[i].Valves[k]
			assert.NotContains(t, row, "reason_kind")
			if row["reason"] == "" {
				assert.Nil(t, v.Reason)
				continue
			}
			worded++
			assert.Equal(t, &plan.Reason{Text: row["reason"].(string)}, v.Reason)
			assert.Contains(t, string(text), row["reason"])
		}
	}
	assert.Equal(t, 3, worded)

	// So does a kind that this version does not know.
	e := single(t, "Plover 250")
	p = made(t, plan.Request{NoBuy: true, Jobs: []plan.JobRequest{{Name: "7", Engine: e, Check: check(t, e, "0.05 2.500", "0.12 2.5"), Lift: shim.LiftAll}}})
	newer := strings.Replace(string(jsonOf(t, p)), `"reason_kind":"`, `"reason_kind":"newer_`, 1)
	got, err := Decode("plan", strings.NewReader(newer), e)
	require.NoError(t, err)
	at := slices.IndexFunc(p.Jobs[0].Valves, func(v plan.ValvePlan) bool { return v.Reason != nil })
	require.GreaterOrEqual(t, at, 0)
	assert.Equal(t, &plan.Reason{Text: reason.Text(&p.Jobs[0].Valves[at], shim.MM, shim.MM)}, got.Jobs[0].Valves[at].Reason)
}

func TestDecodeForAnEngine(t *testing.T) {
	e := single(t, "Plover 250")
	p := made(t, plan.Request{Jobs: []plan.JobRequest{{Name: "7", Engine: e, Check: check(t, e, "0.05 2.500", "0.12 2.5"), Lift: shim.LiftAll}}})
	text := string(jsonOf(t, p))
	other := single(t, "Dunlin 500")
	other.Cylinders = 2
	_, err := Decode("plan 1", strings.NewReader(text), other)
	var mismatch *OtherEngineError
	require.ErrorAs(t, err, &mismatch, "another engine")
	for name, bad := range map[string]string{
		"no JSON":       "{",
		"no job":        `{"jobs":[]}`,
		"another valve": strings.Replace(text, `"valve":"in1"`, `"valve":"in2"`, 1),
		"no action":     strings.Replace(text, `"action":"`, `"action":"x`, 1),
		"no unit":       strings.Replace(text, `"units":"mm"`, `"units":"ell"`, 1),
	} {
		require.NotEqual(t, text, bad, name)
		_, err := Decode("plan 1", strings.NewReader(bad), e)
		assert.ErrorIs(t, err, ErrNotPlan, name)
		assert.ErrorContains(t, err, "plan 1", name)
	}
}
