package report

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// A plan that was kept comes back as it was: every valve, the fitting list, the
// lots, and every word of what is printed.
func TestKept(t *testing.T) {
	twin := single(t, "Dunlin 500")
	twin.Cylinders = 2
	request := func(change func(*plan.Request)) plan.Request {
		list := check(t, twin, "0.05 2.500", "0.32-0.34 2.425", "0.00 2.500", "<0.05 2.600")
		list[0].Mic = mm(t, "2.497")
		q := plan.Request{
			Margin: plan.DefaultMargin,
			Jobs:   []plan.Job{{Name: "11", Engine: twin, Check: list, Lift: shim.LiftAll}},
			Box:    []shim.BoxRow{{Marks: shim.Marks{Stamp: mm(t, "2.375"), Mic: mm(t, "2.373")}, Count: 1}},
			Offers: []shim.Offer{{Disc: shim.Disc{Size: mm(t, "2.4")}, Quote: shim.Quote{Price: 78000, Priced: true}}, {Disc: shim.Disc{Size: mm(t, "2.65")}}},
		}
		if change != nil {
			change(&q)
		}
		return q
	}
	inches, two := shim.IN, 2
	for name, q := range map[string]plan.Request{
		"usual":     request(nil),
		"nothing":   request(func(q *plan.Request) { q.NoBuy, q.Box = true, nil }),
		"margin":    request(func(q *plan.Request) { q.Margin = 40 * shim.Micrometre }),
		"inches":    request(func(q *plan.Request) { q.Units = &inches }),
		"purchases": request(func(q *plan.Request) { q.Buy = &two }),
		"policy":    request(func(q *plan.Request) { q.Policy = plan.Blueprint }),
		"confidence": request(func(q *plan.Request) {
			q.Confidence, q.Gauge = 0.9, &shim.Gauge{Step: 20_000, Leaf: 1000, Stamp: 2000, Mic: 3000}
		}),
	} {
		p := made(t, q)
		var text bytes.Buffer
		require.NoError(t, Keep(&text, p), name)
		got, err := Kept("plan 1", bytes.NewReader(text.Bytes()), twin)
		require.NoError(t, err, name)
		assert.Equal(t, p.Jobs, got.Jobs, name)
		assert.Equal(t, p.Criteria, got.Criteria, name)
		assert.Equal(t, texts(t, Plan(p)), texts(t, Plan(got)), name)

		// It is the contract's JSON, with one field more.
		var whole map[string]json.RawMessage
		require.NoError(t, json.Unmarshal(text.Bytes(), &whole), name)
		delete(whole, "kept")
		plain, err := json.Marshal(whole)
		require.NoError(t, err)
		assert.JSONEq(t, string(jsonOf(t, p)), string(plain), name)

		// Without it the plan comes back by the figures alone.
		got, err = Kept("plan 1", bytes.NewReader(plain), twin)
		require.NoError(t, err, name)
		assert.Equal(t, len(p.Jobs[0].Moves), len(got.Jobs[0].Moves), name)
		for k := range p.Jobs[0].Valves {
			want, v := p.Jobs[0].Valves[k], got.Jobs[0].Valves[k]
			assert.Equal(t, []any{want.Size, want.Action, want.Expected, want.Reason}, []any{v.Size, v.Action, v.Expected, v.Reason}, "%s: %s", name, v.Valve)
		}
	}
}

func texts(t *testing.T, d *Document) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, d.Text(&b, false))
	return b.String()
}

func TestKeptFaults(t *testing.T) {
	e := single(t, "Plover 250")
	p := made(t, plan.Request{Jobs: []plan.Job{{Name: "7", Engine: e, Check: check(t, e, "0.05 2.500", "0.12 2.5"), Lift: shim.LiftAll}}})
	var b bytes.Buffer
	require.NoError(t, Keep(&b, p))
	text := b.String()
	other := single(t, "Dunlin 500")
	other.Cylinders = 2
	_, err := Kept("plan 1", strings.NewReader(text), other)
	require.ErrorIs(t, err, ErrNotPlan, "another engine")
	for name, bad := range map[string]string{
		"no JSON":       "{",
		"no job":        `{"jobs":[]}`,
		"another valve": strings.Replace(text, `"valve":"in1"`, `"valve":"in2"`, 1),
		"no action":     strings.Replace(text, `"action":"`, `"action":"x`, 1),
		"no unit":       strings.Replace(text, `"units":"mm"`, `"units":"ell"`, 1),
	} {
		require.NotEqual(t, text, bad, name)
		_, err := Kept("plan 1", strings.NewReader(bad), e)
		assert.ErrorIs(t, err, ErrNotPlan, name)
		assert.ErrorContains(t, err, "plan 1", name)
	}
	assert.Error(t, Keep(&b, everything(t)), "two jobs")
}
