package machinefile

import (
	"bytes"
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/memory"
	"shimwright/inventory/sample"
	"shimwright/shim"
	"shimwright/testdata/effort"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func clock() time.Time { return noon }

func length(mm string) shim.Length {
	l, err := shim.MM.Parse(mm)
	if err != nil {
		panic(err)
	}
	return l
}

// visit is one with a reading of each kind.
func visit() inventory.Visit {
	e := sample.Sandpiper()
	v := inventory.Visit{Engine: inventory.Engine{Spec: e}, Before: noon, After: noon.Add(time.Hour)}
	v.Job = inventory.Job{ID: 7, Name: e.Name, Tag: "AB 123", Meter: "12,100 km", MeterNew: "3 km", Reset: "seats cut", Note: "<b>ünder</b>\u202e", State: inventory.StateClosed, Who: "ann", Opened: noon, Changed: noon, Anyway: true}
	one, two := shim.ReadingOf(length("0.15")), shim.ReadingOf(length("0.161"))
	twice, err := one.And(two)
	if err != nil {
		panic(err)
	}
	shifted := shim.ReadingOf(length("0.1234"))
	shifted.Shifted, shifted.Open = -length("0.03"), length("0.002")
	kinds := []shim.Reading{one, {Kind: shim.Bracket, Low: length("0.14"), High: length("0.165"), Open: length("0.012"), Unconverted: true}, {Kind: shim.Below, High: length("0.05")}, {Kind: shim.Above, Low: length("0.6")}, {}, twice, shifted,
		{Kind: shim.Single, Low: length("0.2"), High: length("0.2"), Unloaded: shim.Unloaded{Low: length("0.1"), High: length("0.12")}}}
	for i, valve := range e.Valves() {
		m := shim.Measurement{Valve: valve, Reading: kinds[i%len(kinds)], Marks: shim.Marks{Stamp: length("2.300"), Mic: length("2.297001") * shim.Length(i%2)}, Note: "n"}
		v.Found = append(v.Found, m)
		m.Reading = one
		v.Left = append(v.Left, m)
		v.Seats = append(v.Seats, inventory.Seat{Valve: valve, Marks: shim.Marks{Stamp: length("2.325")}, Empty: i == 3})
	}
	return v
}

func written(t testing.TB, f inventory.MachineFile) []byte {
	var b bytes.Buffer
	require.NoError(t, Write(&b, f, "Harbour Cycles", noon))
	return b.Bytes()
}

// What is exported, imported and exported again by another shop is the same file.
func TestRoundTripThroughAnotherShop(t *testing.T) {
	v := visit()
	v.Gauges = []inventory.Gauge{{ID: 2, Name: "set 2", Number: "F 11", Spec: shim.UsualGauge, Calibrated: noon.Truncate(24 * time.Hour), Due: noon.Truncate(24*time.Hour).AddDate(1, 0, 0)}}
	other := visit()
	other.Job.ID, other.Job.Opened = 9, noon.AddDate(0, 3, 0)
	file := inventory.MachineFile{Machine: inventory.Machine{Tag: "AB 123", Model: v.Engine.Spec.Name, Number: "FR 4", Owner: "rides"}, Visits: []inventory.Visit{v, other}}
	first := written(t, file)
	read, err := Read("x.json", bytes.NewReader(first))
	require.NoError(t, err)
	require.Len(t, read.Visits, 2)
	assert.Equal(t, v.Found, read.Visits[0].Found)
	assert.Equal(t, v.Left, read.Visits[0].Left)
	assert.Equal(t, v.Seats, read.Visits[0].Seats)

	ctx := context.Background()
	store := memory.New()
	shop := inventory.New(store, "bob", func() time.Time { return noon.AddDate(0, 6, 0) })
	done, err := shop.ImportMachine(ctx, read, 0)
	require.NoError(t, err)
	assert.True(t, done.New)
	assert.Equal(t, 2, done.Added)
	kept, err := shop.Machine(ctx, done.Machine.ID)
	require.NoError(t, err)
	assert.Equal(t, string(first), string(written(t, kept)))

	again, err := shop.ImportMachine(ctx, read, 0)
	require.NoError(t, err)
	assert.Equal(t, inventory.Import{Machine: done.Machine, Known: 2}, again)
	same, err := shop.Machine(ctx, done.Machine.ID)
	require.NoError(t, err)
	assert.Equal(t, kept, same, "the same file changes nothing")
	jobs, err := shop.Jobs(ctx, inventory.JobFilter{})
	require.NoError(t, err)
	assert.Empty(t, jobs)

	// The other shop went on with the job: its visit is brought up to date, not doubled.
	read.Visits[1].Imported.Changed = noon.AddDate(0, 4, 0)
	read.Visits[1].Job.Note = "closed since"
	newer, err := shop.ImportMachine(ctx, read, 0)
	require.NoError(t, err)
	assert.Equal(t, []int{0, 1, 1}, []int{newer.Added, newer.Newer, newer.Known})
	after, err := shop.Machine(ctx, done.Machine.ID)
	require.NoError(t, err)
	require.Len(t, after.Visits, 2)
	assert.Equal(t, "closed since", after.Visits[1].Job.Note)
	findings, err := shop.Check(ctx)
	require.NoError(t, err)
	assert.Empty(t, findings)
}

// A fault in one visit keeps all of the file out.
func TestImportIsWhole(t *testing.T) {
	v := visit()
	file := inventory.MachineFile{Machine: inventory.Machine{Tag: "AB 123", Model: v.Engine.Spec.Name}, Visits: []inventory.Visit{v, visit()}}
	file.Visits[1].Job.ID = 8
	read, err := Read("x.json", bytes.NewReader(written(t, file)))
	require.NoError(t, err)
	read.Visits[1].Job.Note = strings.Repeat("x", 3000)
	shop := inventory.New(memory.New(), "bob", clock)
	_, err = shop.ImportMachine(context.Background(), read, 0)
	require.ErrorIs(t, err, inventory.ErrInvalid)
	list, err := shop.Machines(context.Background(), "")
	require.NoError(t, err)
	assert.Empty(t, list)
}

func TestReadFaults(t *testing.T) {
	v := visit()
	good := string(written(t, inventory.MachineFile{Machine: inventory.Machine{Tag: "AB 123", Model: v.Engine.Spec.Name}, Visits: []inventory.Visit{v}}))
	for _, c := range []struct{ old, new, place string }{
		{good, "", "x.json:1:1: not valid JSON"},
		{good, "[]", "x.json:1:"},
		{good, "{}", "x.json: format: "},
		{good, "\xff", "x.json: not a machine file"},
		{good, strings.Repeat("[", 20000), "x.json:"},
		{good, strings.Repeat(" ", Megabytes<<20+1), "x.json: the file is larger"},
		{`"version": 1`, `"version": 0`, "x.json: version: "},
		{`"version": 1`, `"version": "1"`, "x.json:3:"},
		{"\"machine\": {\n    \"tag\": \"AB 123\"", "\"machine\": {\n    \"tag\": \" - \"", "x.json: machine: "},
		{`"name": "Sandpiper`, `"name": 3, "n": "Sandpiper`, "models[0].name: "},
		{`"state": "closed"`, `"state": "done"`, "visits[0].state: "},
		{`"model": 0`, `"model": 1`, "visits[0].model: "},
		{`"opened": "2026`, `"opened": "1926`, "visits[0].opened: "},
		{`"changed": "2026-03-02T`, `"changed": "2026-03-02 `, "visits[0].changed: "},
		{`"gauges": []`, `"gauges": [4]`, "visits[0].gauges[0]: "},
		{`"kind": "below"`, `"kind": "under"`, "visits[0].found[2].kind: "},
		{`"high_mm": 0.165`, `"high_mm": 0.12`, "visits[0].found[1]: "},
		{`"high_mm": 0.165`, `"high_mm": "wide"`, "visits[0].found[1]: "},
		{`"high_mm": 0.165`, `"high_mm": 165`, "visits[0].found[1].high_mm: "},
		{`"mic_mm": 2.297001`, `"mic_mm": 22.97`, "visits[0].found[1].mic_mm: "},
	} {
		_, err := Read("x.json", strings.NewReader(placed(good, c.old, c.new)))
		if assert.Error(t, err, c.new) {
			assert.Contains(t, err.Error(), c.place)
			assert.NotContains(t, err.Error(), "\n")
			assert.NotEmpty(t, shim.HintOf(err), c.new)
		}
	}
	_, err := Read("x.json", strings.NewReader(placed(good, `"exported"`, `"later": {"a": [1]}, "exported"`)))
	assert.NoError(t, err, "unknown fields are passed over")
}

// placed puts a text into the first place of another below the models, or
// anywhere.
func placed(text, old, new string) string {
	if old == text {
		return new
	}
	if at := strings.Index(text, `"visits": [`); strings.Contains(text[at:], old) {
		return text[:at] + strings.Replace(text[at:], old, new, 1)
	}
	return strings.Replace(text, old, new, 1)
}

// through reads a text, and imports and exports again what could be read.
func through(t *testing.T, text []byte) (read bool) {
	t.Helper()
	file, err := Read("x.json", bytes.NewReader(text))
	if err != nil {
		require.NotEmpty(t, err.Error())
		require.Empty(t, file)
		return false
	}
	shop := inventory.New(memory.New(), "bob", clock)
	done, err := shop.ImportMachine(context.Background(), file, 0)
	if err != nil {
		return false
	}
	kept, err := shop.Machine(context.Background(), done.Machine.ID)
	require.NoError(t, err)
	again, err := Read("y.json", bytes.NewReader(written(t, kept)))
	require.NoError(t, err)
	require.Len(t, again.Visits, len(file.Visits))
	return true
}

// A file with a few bytes changed is refused whole or kept whole, and what is kept
// is exported and read again.
func TestDamagedFiles(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "cmd", "shimwright", "testdata", "machine.json"))
	require.NoError(t, err)
	r := rand.New(rand.NewPCG(13, 8))
	rounds, kept := effort.Of(100_000), 0
	for range rounds {
		damaged := bytes.Clone(text)
		for range 1 + r.IntN(3) {
			switch i := r.IntN(len(damaged)); r.IntN(3) {
			case 0:
				damaged[i] = byte(' ' + r.IntN(95))
			case 1:
				damaged = slices.Delete(damaged, i, min(len(damaged), i+1+r.IntN(8)))
			default:
				damaged = slices.Insert(damaged, i, []byte(`9"{-`[r.IntN(4):])...)
			}
		}
		if through(t, damaged) {
			kept++
		}
	}
	t.Logf("%d damaged files: %d still say something, %d refused", rounds, kept, rounds-kept)
	require.Positive(t, kept)
	require.Less(t, kept, rounds/2)
}

func FuzzRead(f *testing.F) {
	v := visit()
	f.Add(written(f, inventory.MachineFile{Machine: inventory.Machine{Tag: "AB 123", Model: v.Engine.Spec.Name}, Visits: []inventory.Visit{v}}))
	f.Add([]byte(`{"format":"shimwright-machine","version":1,"machine":{"tag":"a","model":"b"},"visits":[null]}`))
	f.Fuzz(func(t *testing.T, text []byte) { through(t, text) })
}
