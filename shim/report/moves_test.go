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
	"shimwright/shim/plan/planjson"
)

// goesRound is a four with shims on top whose intake shims go round in a ring of
// all four valves; no crank position opens them all (US Army TM
// 5-3895-383-24 p. 6-60 has two of them at each).
func goesRound(t *testing.T, order []int, box ...string) *plan.Plan {
	e := single(t, "Auk 1200 four")
	e.Cylinders, e.FiringOrder, e.Access = 4, order, shim.ByValve
	q := plan.Request{NoBuy: true, Margin: plan.DefaultMargin, Jobs: []plan.JobRequest{{Name: "7", Engine: e, Check: check(t, e,
		"0.425 2.40", "0.22 3.00", "0.025 2.50", "0.22 3.00", "0.025 2.60", "0.22 3.00", "0.025 2.70", "0.22 3.00")}}}
	for _, size := range box {
		q.Box = append(q.Box, shim.BoxRow{Marks: shim.Marks{Stamp: mm(t, size)}, Count: 1})
	}
	return made(t, q)
}

func texts(t *testing.T, d *Document) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, d.Text(&b, false))
	return b.String()
}

// A fitting list by stops of the crank comes back from a kept plan as it was,
// with its temporary shims and with what is wanting.
func TestKeptFittingList(t *testing.T) {
	order := []int{1, 3, 4, 2}
	for name, p := range map[string]*plan.Plan{
		"a piece of the box": goesRound(t, order, "2.35"),
		"its own shim":       goesRound(t, order),
		"valve by valve":     goesRound(t, nil, "2.35"),
		"wanting":            goesRound(t, nil),
	} {
		var text bytes.Buffer
		require.NoError(t, planjson.Encode(&text, p), name)
		got, err := planjson.Decode("plan 1", bytes.NewReader(text.Bytes()), p.Jobs[0].Engine)
		require.NoError(t, err, name)
		assert.Equal(t, p.Jobs[0].Moves, got.Jobs[0].Moves, name)
		assert.Equal(t, p.Jobs[0].Wants, got.Jobs[0].Wants, name)
		assert.Equal(t, p.LeftOver, got.LeftOver, name)
		assert.Equal(t, texts(t, Plan(p, Options{})), texts(t, Plan(got, Options{})), name)
	}
	box := goesRound(t, order, "2.35")
	require.Len(t, box.Jobs[0].Moves, 5)
	assert.Len(t, goesRound(t, nil).Jobs[0].Wants, 1)

	// A plan that was kept before lists were gets one from its valves.
	var text bytes.Buffer
	require.NoError(t, planjson.Encode(&text, box))
	begin, end := strings.Index(text.String(), `,"fitting":[`), strings.Index(text.String(), "}\n  ],\n  \"shopping\"")
	require.Positive(t, begin)
	require.Greater(t, end, begin)
	old := text.String()[:begin] + text.String()[end:]
	require.True(t, json.Valid([]byte(old)), old)
	got, err := planjson.Decode("plan 1", strings.NewReader(old), box.Jobs[0].Engine)
	require.NoError(t, err)
	assert.NotEmpty(t, got.Jobs[0].Moves)
	for _, m := range got.Jobs[0].Moves {
		assert.True(t, m.By != plan.Box, "nobody knows the box of then")
	}

	for name, bad := range map[string]string{
		"to nowhere":    strings.Replace(text.String(), `"to":"in`, `"to":"in9`, 1),
		"from nowhere":  strings.Replace(text.String(), `"from":"in1","temporary"`, `"from":"nowhere","temporary"`, 1),
		"another valve": strings.Replace(text.String(), `"step":1,"valve":"in`, `"step":1,"valve":"in9`, 1),
	} {
		require.NotEqual(t, text.String(), bad, name)
		_, err := planjson.Decode("plan 1", strings.NewReader(bad), box.Jobs[0].Engine)
		assert.ErrorIs(t, err, planjson.ErrNotPlan, name)
	}
}

// The fields of what is wanting, there only where something is.
func TestWantedFields(t *testing.T) {
	found := keys(t, jsonOf(t, goesRound(t, nil)))
	assert.Equal(t, [][]string{{"job", "engine", "lifted", "units", "diameter_mm", "gauge", "valves", "fitting", "temporary_wanted", "all_inside", "alike"}}, found["jobs[]"])
	assert.Equal(t, [][]string{{"ring", "valve", "diameter_mm", "from_mm", "to_mm"}}, found["jobs[].temporary_wanted[]"])
}

// Between engines the list names the other job, on both sides.
func TestFittingNamesTheOtherJob(t *testing.T) {
	e := single(t, "Plover 250")
	e.Access = shim.ByValve
	p := made(t, plan.Request{NoBuy: true, SharePulled: true, Jobs: []plan.JobRequest{
		{Name: "117", Engine: e, Check: check(t, e, "0.20 2.425", "0.225 2.5")},
		{Name: "4", Engine: e, Check: check(t, e, "0.05 2.5", "0.225 2.5")},
	}})
	var back struct {
		Jobs []struct {
			Fitting []struct {
				Step    int
				Crank   *float64 `json:"crank_deg"`
				To      string
				ToJob   string `json:"to_job"`
				From    string
				FromJob string `json:"from_job"`
			}
		}
	}
	require.NoError(t, json.Unmarshal(jsonOf(t, p), &back))
	steps := map[int]bool{}
	for i, other := range []string{"4", "117"} {
		require.Len(t, back.Jobs[i].Fitting, 1)
		row := back.Jobs[i].Fitting[0]
		assert.Equal(t, []string{"in1", other, "in1", other}, []string{row.To, row.ToJob, row.From, row.FromJob})
		assert.NotNil(t, row.Crank, "a single needs no firing order")
		steps[row.Step] = true
	}
	assert.Equal(t, map[int]bool{1: true, 2: true}, steps)
}

// On a narrow terminal a row of the fitting list reads as it is done: what comes out of
// the valve, and below it what goes in.
func TestNarrowFittingList(t *testing.T) {
	var b strings.Builder
	require.NoError(t, Plan(goesRound(t, []int{1, 3, 4, 2}, "2.35"), Options{}).Narrow(40).Text(&b, false))
	_, list, _ := strings.Cut(b.String(), FittingList)
	assert.NotRegexp(t, `(?m)^\d, |take out 2|put in 2`, list)
	assert.Regexp(t, `(?m)^1 in\d: 2\.\d00 out, to in\d$`, list)
	assert.Regexp(t, `(?m)^  2\.350 in, from the box \(until row \d\)$`, list)
	assert.Regexp(t, `(?m)^5 in\d: 2\.350 out, to the box again$`, list)
	assert.Regexp(t, `(?m)^  2\.\d00 in, from in\d$`, list)
	assert.Regexp(t, `(?m)^  piston .*TDC$`, list)
}
