package storetest

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/shim"
)

var jobTests = map[string]func(*testing.T, inventory.Store){
	"a ratio kept as a decimal":    keptDecimal,
	"story":                        story,
	"states":                       states,
	"plans never share a piece":    plansNeverShare,
	"a plan on an old box":         planOnOldBox,
	"plans made together":          plansTogether,
	"together or not at all":       togetherOrNot,
	"bad plans":                    badPlans,
	"bad readings":                 badReadings,
	"reading again frees the plan": readAgain,
	"close wants proof":            closeWantsProof,
	"cancel puts back":             cancelPutsBack,
	"cancel after use elsewhere":   cancelAfterUse,
	"valve names":                  valveNames,
	"edits keep what was":          editsKeep,
}

// story is one job from open to close: in1a is tight and ex1a loose, so in1a
// gets a thinner shim from the box, ex2b the one pulled from in1a, and ex1a a
// bought one.
func story(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "ex1a": {"0.33", "2.4"}, "ex2b": {"0.3", "2.35"}})
	assert.Equal(t, inventory.StateMeasured, b.state(job))

	basis, err := b.Basis(ctx, job)
	require.NoError(t, err)
	assert.Len(t, basis.Readings, 8)
	assert.Equal(t, inventory.Seat{Valve: v("in1a"), Marks: shim.Marks{Stamp: mm("2.425")}}, basis.Seats[0])
	assert.Equal(t, []inventory.Stock{{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.35")}, OnHand: 1}}, basis.Free)

	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), moved("ex2b", "2.425", "in1a"), bought("ex1a", "2.475")))
	assert.Equal(t, inventory.StatePlanned, b.state(job))
	assert.Equal(t, [2]int{1, 1}, b.on("2.35"))
	list, err := b.Shopping(ctx)
	require.NoError(t, err)
	assert.Equal(t, []inventory.Demand{{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.475")}, Missing: 1, Terms: inventory.Terms{Quote: shim.Quote{Price: 78000, Priced: true}}, Jobs: []int64{job}}}, list)

	_, err = b.Order(ctx, nil)
	require.NoError(t, err)
	arrived, err := b.Arrived(ctx, []inventory.Item{{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.475")}}, Count: 1, Quote: shim.Quote{Price: 78000, Priced: true}}})
	require.NoError(t, err)
	assert.Equal(t, job, arrived.Movements[0].Job)
	assert.Equal(t, [2]int{1, 1}, b.on("2.475"), "what was bought for a job is reserved for it")

	r := b.fitAll(job)
	assert.Len(t, r.Movements, 6, "three out of the engine, three into it")
	assert.Equal(t, inventory.StateFitted, b.state(job))
	assert.Equal(t, [][2]int{{1}, {1}, {}, {}}, [][2]int{b.on("2.35"), b.on("2.4"), b.on("2.425"), b.on("2.475")}, "the pulled 2.35 and 2.4 are left over")

	_, err = b.Read(ctx, job, check(map[string][2]string{"in1a": {"0.175", "2.35"}, "ex1a": {"0.255", "2.475"}, "ex2b": {"0.225", "2.425"}, "ex1b": {"0.2", "2.4"}}), "after two turns")
	require.NoError(t, err)
	assert.Equal(t, inventory.StateRechecked, b.state(job))
	require.NoError(t, b.Close(ctx, job, false))
	assert.Equal(t, inventory.StateClosed, b.state(job))

	f := b.file(job)
	assert.Len(t, f.Checks, 2)
	assert.Empty(t, f.Holds)
	assert.Len(t, f.Movements, 7)
	assert.Equal(t, inventory.Seat{Valve: v("ex2b"), Marks: shim.Marks{Stamp: mm("2.425")}}, f.Seats[7])
	b.sound()
}

func states(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job, err := b.OpenJob(ctx, inventory.Opening{Spec: sample.Sandpiper(), Source: "sandpiper"})
	require.NoError(t, err)
	again, err := b.OpenJob(ctx, inventory.Opening{Spec: sample.Sandpiper(), Source: "sandpiper", Date: noon})
	require.NoError(t, err)
	assert.Equal(t, noon, again.Opened)
	assert.Equal(t, job.Engine, again.Engine, "the same file is the same engine")

	require.ErrorIs(t, b.plan(job.ID, drawn("in1a", "2.4")), inventory.ErrState, "no readings yet")
	_, err = b.Fit(ctx, job.ID, inventory.Fit{})
	require.ErrorIs(t, err, inventory.ErrState)
	require.ErrorIs(t, b.Close(ctx, job.ID, false), inventory.ErrState)
	_, err = b.Cancel(ctx, job.ID, "")
	require.NoError(t, err)
	for name, step := range map[string]func() error{
		"cancel": func() error { _, err := b.Cancel(ctx, job.ID, ""); return err },
		"close":  func() error { return b.Close(ctx, job.ID, true) },
		"read":   func() error { _, err := b.Read(ctx, job.ID, check(nil), ""); return err },
		"plan":   func() error { return b.plan(job.ID) },
		"fit":    func() error { _, err := b.Fit(ctx, job.ID, inventory.Fit{}); return err },
	} {
		assert.ErrorIs(t, step(), inventory.ErrState, "%s on a cancelled job", name)
	}
	_, err = b.Job(ctx, 99)
	require.ErrorIs(t, err, inventory.ErrUnknown)
	_, err = b.OpenJob(ctx, inventory.Opening{Spec: shim.Engine{}, Source: "x"})
	require.ErrorIs(t, err, inventory.ErrInvalid)
	list, err := b.Jobs(ctx, inventory.JobFilter{States: []inventory.State{inventory.StateCancelled}})
	require.NoError(t, err)
	require.Len(t, list, 1)
	b.sound()
}

func plansNeverShare(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(2, "2.45")
	first, second := b.measured(nil), b.measured(nil)
	require.NoError(t, b.plan(first, drawn("in1a", "2.45")))
	require.ErrorIs(t, b.plan(second, drawn("in1a", "2.45"), drawn("in1b", "2.45")), inventory.ErrShort)
	assert.Equal(t, inventory.StateMeasured, b.state(second))
	require.NoError(t, b.plan(second, drawn("in1a", "2.45")))
	require.NoError(t, b.plan(first, drawn("in2a", "2.45")), "a job's own pieces are free to its next plan")
	assert.Equal(t, [2]int{2, 2}, b.on("2.45"))
	basis, err := b.Basis(ctx, first)
	require.NoError(t, err)
	assert.Equal(t, 1, basis.Free[0].Free())
	b.sound()
}

func planOnOldBox(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(2, "2.45")
	job, other := b.measured(nil), b.measured(nil)
	basis, err := b.Basis(ctx, job)
	require.NoError(t, err)
	proposal := inventory.Proposal{Job: job, Revision: basis.Revision, Placements: []inventory.Placement{drawn("in1a", "2.45")}}

	_, err = b.Receive(ctx, []inventory.Item{{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("7.5")}, Marks: shim.Marks{Stamp: mm("2.4")}}, Count: 1}})
	require.NoError(t, err)
	_, err = b.PlanTogether(ctx, []inventory.Proposal{proposal})
	require.NoError(t, err, "shims of another diameter do not matter")

	basis, err = b.Basis(ctx, job)
	require.NoError(t, err)
	proposal.Revision = basis.Revision
	require.NoError(t, b.plan(other, drawn("in1a", "2.45")))
	_, err = b.PlanTogether(ctx, []inventory.Proposal{proposal})
	require.ErrorIs(t, err, inventory.ErrStale, "another plan changed what is free")
	_, err = b.Fit(ctx, job, inventory.Fit{})
	require.NoError(t, err, "the plan that stands holds its piece, whatever others planned")
	b.sound()
}

// plansTogether: what one of the jobs held the other one draws, and one
// transaction keeps both plans.
func plansTogether(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.45", "2.475")
	first, second, third := b.measured(nil), b.measured(nil), b.measured(nil)
	require.NoError(t, b.plan(first, drawn("in1a", "2.45")))
	require.NoError(t, b.plan(third, drawn("in1a", "2.475")))
	bases, err := b.Bases(ctx, second, first)
	require.NoError(t, err)
	require.Len(t, bases, 2)
	assert.Equal(t, second, bases[0].Job.ID, "in the order that they were asked for")
	for _, basis := range bases {
		require.Len(t, basis.Free, 2)
		assert.Equal(t, []int{1, 0}, []int{basis.Free[0].Free(), basis.Free[1].Free()}, "job %d: the third job's piece is not free", basis.Job.ID)
	}
	propose := func(job int64, list ...inventory.Placement) inventory.Proposal {
		return inventory.Proposal{Job: job, Revision: bases[0].Revision, Placements: list}
	}
	plans, err := b.PlanTogether(ctx, []inventory.Proposal{propose(second, drawn("in1a", "2.45")), propose(first, bought("in1a", "2.5"))})
	require.NoError(t, err)
	require.Len(t, plans, 2)
	assert.Equal(t, []int64{second, first}, []int64{plans[0].Job, plans[1].Job})
	assert.Equal(t, []int{1, 2}, []int{plans[0].Number, plans[1].Number})
	for job, want := range map[int64]int{first: 0, second: 1, third: 1} {
		f := b.file(job)
		assert.Len(t, f.Holds, want, "job %d", job)
		assert.Equal(t, inventory.StatePlanned, f.Job.State, "job %d", job)
		assert.Zero(t, f.Job.Short, "job %d", job)
	}
	b.sound()
	for _, job := range []int64{first, second} {
		b.fitAll(job)
	}
	b.sound()
}

// togetherOrNot: where one of the plans cannot stand, none does.
func togetherOrNot(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.45")
	first, second := b.measured(nil), b.measured(nil)
	opened, err := b.OpenJob(ctx, inventory.Opening{Spec: sample.Sandpiper(), Source: "sandpiper"})
	require.NoError(t, err)
	require.NoError(t, b.plan(first, drawn("in1a", "2.45")))
	bases, err := b.Bases(ctx, first, second)
	require.NoError(t, err)
	revision := bases[0].Revision
	propose := func(job int64, list ...inventory.Placement) inventory.Proposal {
		return inventory.Proposal{Job: job, Revision: revision, Placements: list}
	}
	for name, c := range map[string]struct {
		second inventory.Proposal
		kind   error
	}{
		"one piece twice":    {propose(second, drawn("in1a", "2.45")), inventory.ErrShort},
		"an old box":         {inventory.Proposal{Job: second, Revision: revision - 1}, inventory.ErrStale},
		"a wrong valve":      {propose(second, bought("in9a", "2.5")), inventory.ErrInvalid},
		"a job without data": {propose(opened.ID), inventory.ErrState},
		"a job twice":        {propose(first), inventory.ErrInvalid},
		"no such job":        {propose(99), inventory.ErrUnknown},
	} {
		_, err := b.PlanTogether(ctx, []inventory.Proposal{propose(first, drawn("in2a", "2.45")), c.second})
		require.ErrorIs(t, err, c.kind, name)
		f := b.file(first)
		assert.Equal(t, 1, f.Job.Plan, name)
		assert.Equal(t, [2]int{1, 1}, b.on("2.45"), name)
		assert.Equal(t, inventory.StateMeasured, b.state(second), name)
	}
	b.sound()
}

func badPlans(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(2, "2.45")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	for name, list := range map[string][]inventory.Placement{
		"a valve twice":                {drawn("in1a", "2.45"), drawn("IN1A", "2.45")},
		"a valve that is not there":    {drawn("in3a", "2.45")},
		"a valve without its letter":   {drawn("in1", "2.45")},
		"a size that cannot be":        {drawn("in1a", "24.5")},
		"a shim moved twice":           {drawn("in1a", "2.45"), moved("in1b", "2.425", "in1a"), moved("in2a", "2.425", "in1a")},
		"a valve left without a shim":  {moved("in1b", "2.425", "in1a")},
		"a moved shim of another size": {drawn("in1a", "2.45"), moved("in1b", "2.4", "in1a")},
		"no source":                    {{Valve: v("in1a"), Size: mm("2.45")}},
	} {
		assert.ErrorIs(t, b.plan(job, list...), inventory.ErrInvalid, name)
	}
	assert.ErrorIs(t, b.plan(job, drawn("in1a", "2.475")), inventory.ErrShort)
	assert.Equal(t, [2]int{2, 0}, b.on("2.45"))
	assert.Equal(t, inventory.StateMeasured, b.state(job))
	b.sound()
}

func badReadings(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job, err := b.OpenJob(ctx, inventory.Opening{Spec: sample.Sandpiper(), Source: "sandpiper"})
	require.NoError(t, err)
	good := shim.Measurement{Valve: v("in1a"), Reading: shim.ReadingOf(mm("0.2")), Marks: shim.Marks{Stamp: mm("2.4")}}
	for name, spoil := range map[string]func(*shim.Measurement){
		"twice":                     func(*shim.Measurement) {},
		"a valve that is not there": func(m *shim.Measurement) { m.Valve = v("in9a") },
		"a slipped point":           func(m *shim.Measurement) { m.Valve = v("in1b"); m.Reading = shim.ReadingOf(mm("2")) },
		"a shim that cannot be":     func(m *shim.Measurement) { m.Valve = v("in1b"); m.Mic = mm("24") },
	} {
		bad := good
		spoil(&bad)
		_, err := b.Read(ctx, job.ID, []shim.Measurement{good, bad}, "")
		assert.ErrorIs(t, err, inventory.ErrInvalid, name)
	}
	_, err = b.Read(ctx, job.ID, nil, "")
	require.ErrorIs(t, err, inventory.ErrInvalid)
	assert.Equal(t, inventory.StateOpen, b.state(job.ID))
}

func readAgain(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.45")
	job := b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.45"), bought("in1b", "2.5")))
	_, err := b.Read(ctx, job, check(nil), "")
	require.NoError(t, err)
	assert.Equal(t, inventory.StateMeasured, b.state(job))
	assert.Equal(t, [2]int{1, 0}, b.on("2.45"))
	list, err := b.Shopping(ctx)
	require.NoError(t, err)
	assert.Empty(t, list)
	b.sound()
}

func closeWantsProof(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	err := b.Close(ctx, job, false)
	require.ErrorIs(t, err, inventory.ErrState)
	assert.Contains(t, err.Error(), "in1a")
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	b.fitAll(job)
	require.ErrorIs(t, b.Close(ctx, job, false), inventory.ErrState, "not measured since")
	_, err = b.Read(ctx, job, []shim.Measurement{{Valve: v("in1a"), Reading: shim.ReadingOf(mm("0.175"))}}, "")
	require.NoError(t, err)
	require.NoError(t, b.Close(ctx, job, false))

	fine := b.measured(nil)
	require.NoError(t, b.Close(ctx, fine, false), "nothing to change: 0.2 lies inside both limits")
	loose := b.measured(map[string][2]string{"in1a": {"0.3", "2.4"}})
	require.ErrorIs(t, b.Close(ctx, loose, false), inventory.ErrState)
	require.NoError(t, b.Close(ctx, loose, true))
	b.sound()
}

func cancelPutsBack(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(2, "2.35")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "in2a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), drawn("in2a", "2.35"), bought("ex1a", "2.5")))
	_, err := b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1a"), v("ex1a")}})
	require.NoError(t, err)
	assert.Equal(t, inventory.StateFitting, b.state(job))
	assert.Equal(t, [][2]int{{1, 1}, {1}, {1}, {}}, [][2]int{b.on("2.35"), b.on("2.425"), b.on("2.4"), b.on("2.5")})
	_, err = b.Cancel(ctx, job, "customer took it away")
	require.NoError(t, err)
	assert.Equal(t, [][2]int{{2}, {}, {}, {1}}, [][2]int{b.on("2.35"), b.on("2.425"), b.on("2.4"), b.on("2.5")}, "what was bought stays")
	assert.Equal(t, inventory.StateCancelled, b.state(job))
	b.sound()
}

func cancelAfterUse(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	b.fitAll(job)
	_, err := b.Scrap(ctx, []inventory.Item{{Lot: lot("2.425"), Count: 1}})
	require.NoError(t, err)
	_, err = b.Cancel(ctx, job, "")
	require.ErrorIs(t, err, inventory.ErrShort)
	assert.Equal(t, inventory.StateFitted, b.state(job))
	assert.Equal(t, [2]int{}, b.on("2.35"))
	b.sound()
}

func valveNames(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job, err := b.OpenJob(ctx, inventory.Opening{Spec: sample.Turnstone(), Source: "turnstone"})
	require.NoError(t, err)
	_, err = b.Read(ctx, job.ID, []shim.Measurement{{Valve: v("in1a"), Reading: shim.ReadingOf(mm("0.1")), Marks: shim.Marks{Stamp: mm("2.4")}}}, "")
	require.NoError(t, err)
	require.NoError(t, b.plan(job.ID, bought("in1", "2.35")), "in1 and in1a are one valve where a side has one")
	r, err := b.Fit(ctx, job.ID, inventory.Fit{Valves: []shim.Valve{v("in1a")}})
	require.NoError(t, err)
	assert.Len(t, r.Movements, 3)
	b.sound()
}

func editsKeep(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	edits, err := b.EditJob(ctx, job, map[inventory.Field]string{inventory.TagField: " T-2 ", inventory.MeterField: "18300 km", inventory.NoteField: ""}, nil)
	require.NoError(t, err)
	require.Len(t, edits, 2, "the note was empty before")
	f := b.file(job)
	assert.Equal(t, "T-2", f.Job.Tag)
	assert.Equal(t, "18300 km", f.Job.Meter)
	assert.Equal(t, edits, f.Edits)
	assert.Equal(t, "T-1", f.Edits[0].Old)
	assert.Equal(t, "R. Example", f.Edits[0].Who)

	require.NoError(t, b.Close(ctx, job, true))
	_, err = b.EditJob(ctx, job, map[inventory.Field]string{inventory.NoteField: "the plate was misread"}, nil)
	require.NoError(t, err, "a finished job can be mended")
	for name, fields := range map[string]map[inventory.Field]string{
		"nothing":  {},
		"the same": {inventory.TagField: "T-2"},
		"too long": {inventory.NoteField: strings.Repeat("x", 3000)},
	} {
		_, err = b.EditJob(ctx, job, fields, nil)
		assert.ErrorIs(t, err, inventory.ErrInvalid, name)
	}
	_, err = b.EditJob(ctx, 99, map[inventory.Field]string{inventory.NoteField: "x"}, nil)
	assert.ErrorIs(t, err, inventory.ErrUnknown)
	f = b.file(job)
	assert.Equal(t, 3, f.Edits[2].Number)
	b.sound()
}

// keptDecimal: an earlier release kept rocker_ratio = 1.43 as 0.699301. The same
// file, read as 1/1.43, is no new version; another ratio is one.
func keptDecimal(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	spec := sample.Sandpiper()
	open := func(r shim.Ratio) int64 {
		spec.Intake.Ratio = r
		job, err := b.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "rocker_ratio = 1.43"})
		require.NoError(t, err)
		return job.Engine
	}
	old := open(shim.Ratio{Times: 699_301})
	assert.Equal(t, old, open(shim.RockerRatio(1_430_000)))
	engines, err := b.Engines(ctx, inventory.Page{})
	require.NoError(t, err)
	require.Len(t, engines, 1)
	known, had := inventory.KnownEngine(engines, spec, "rocker_ratio = 1.43")
	assert.True(t, had)
	assert.Equal(t, old, known.ID)
	assert.Equal(t, shim.RockerRatio(1_430_000), spec.Intake.Ratio, "what was asked about is as it was")
	assert.NotEqual(t, old, open(shim.RockerRatio(1_440_000)))
}
