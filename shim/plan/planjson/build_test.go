package planjson

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// A fresh build is read back as it was written: set-up shims, valves measured
// without a shim, allowances, and what is to be taken off.
func TestABuildIsReadBack(t *testing.T) {
	e := single(t, "Plover 250")
	e.Cylinders = 2
	most := mm(t, "0.25")
	e.Intake.Allowance = shim.Allowance{By: mm(t, "-0.012"), Doubt: mm(t, "0.004")}
	e.Intake.StemGrindMax, e.Intake.ShimProudMin = &most, mm(t, "0.3")
	list := check(t, e, "0.05 2.500", "0.276 2.450", "0.12-0.13 2.4975", "<0.05 2.600")
	list[0].Reading, list[0].Marks = shim.ReadingOf(mm(t, "2.3")), shim.Marks{} // without a shim
	p := made(t, plan.Request{
		Margin: plan.DefaultMargin,
		Jobs:   []plan.JobRequest{{Name: "7", Engine: e, Check: list, Build: true, Own: map[shim.Valve]bool{list[2].Valve: true}}},
		Box:    []shim.BoxRow{{Marks: shim.Marks{Stamp: mm(t, "2.5")}, Count: 3}},
		Offers: []shim.Offer{},
	})
	require.NotNil(t, p.Jobs[0].Valves[0].Reason.Machine)
	text := jsonOf(t, p)
	back, err := Decode("plan.json", bytes.NewReader(text), e)
	require.NoError(t, err)
	assert.Equal(t, string(text), string(jsonOf(t, back)))
	for k := range p.Jobs[0].Valves {
		was, is := &p.Jobs[0].Valves[k], &back.Jobs[0].Valves[k]
		assert.Equal(t, []any{was.SetUp, was.Allowance, was.Installed, was.Size, was.Expected, was.Verdict, was.Served()},
			[]any{is.SetUp, is.Allowance, is.Installed, is.Size, is.Expected, is.Verdict, is.Served()}, "%s", was.Valve)
	}
	assert.Equal(t, p.Jobs[0].Moves, back.Jobs[0].Moves)
}
