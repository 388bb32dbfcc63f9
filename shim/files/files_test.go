package files

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// twinText is an invented engine, the example of the design.
const twinText = `name = "Sandpiper 720 twin"
units = "mm"
cylinders = 2
firing_order = [1, 2]
firing_intervals = [270, 450.0]
access = "camshaft"
camshafts = "per-side"
banks = [[1, 2]]

[intake]
valves = 2
clearance = [0.14, 0.21]
timing = [15, 45.5]

[exhaust]
valves = 2
clearance = [0.20, 0.27]
aim = 0.6
ratio = 0.8

[shims]
diameter = 8.9
[[shims.catalogue]]
from = 1.20
to = 3.00
step = 0.025
price = 7.80
`

func twin(t testing.TB) *shim.Engine {
	t.Helper()
	e, warnings, err := ReadEngine("twin.toml", strings.NewReader(twinText))
	require.NoError(t, err)
	require.Empty(t, warnings)
	return e
}

// single is an invented single with one valve a side and no catalogue.
func single(t testing.TB, units string) *shim.Engine {
	t.Helper()
	limits := map[string]string{"mm": "[0.05, 0.10]", "in": "[0.002, 0.004]"}[units]
	diameter := map[string]string{"mm": "25", "in": "1"}[units]
	e, _, err := ReadEngine("single.toml", strings.NewReader(fmt.Sprintf(`name = "Plover 250"
units = %q
cylinders = 1
[intake]
valves = 1
clearance = %s
[exhaust]
valves = 1
clearance = %s
[shims]
diameter = %s
`, units, limits, limits, diameter)))
	require.NoError(t, err)
	return e
}

// told is each fault as "line:column subject: message".
func told(t *testing.T, err error) []string {
	t.Helper()
	if err == nil {
		return nil
	}
	var faults Faults
	require.True(t, errors.As(err, &faults), "%T", err)
	return lines(faults)
}

func lines(faults []Fault) []string {
	var list []string
	for _, f := range faults {
		list = append(list, fmt.Sprintf("%d:%d %s: %s", f.Line, f.Column, f.Subject, f.Message))
	}
	return list
}

// manyRows is a check of many jobs of a sixteen-valve four.
func manyRows(jobs int, shuffled bool) (*shim.Engine, string) {
	e := &shim.Engine{Name: "Curlew four", Cylinders: 4, Diameter: 29 * shim.Millimetre,
		Intake:    shim.Train{Valves: 2, Limits: shim.Limits{Tight: 150_000, Loose: 220_000}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}},
		Exhaust:   shim.Train{Valves: 2, Limits: shim.Limits{Tight: 200_000, Loose: 270_000}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}},
		Catalogue: []shim.Range{{From: 1_500_000, To: 3_000_000, Step: 25_000}}}
	random := rand.New(rand.NewPCG(1, 2))
	var rows []string
	for job := range jobs {
		for _, v := range e.Valves() {
			rows = append(rows, fmt.Sprintf("%s,0.%02d,2.%03d,,bench note %d,2026-%05d\n", v, 10+random.IntN(20), 25*random.IntN(40), random.IntN(1000), job))
		}
	}
	if shuffled {
		random.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
	}
	return e, "valve,clearance,shim,mic,note,job\n" + strings.Join(rows, "")
}

func BenchmarkReadCheck(b *testing.B) {
	for _, shuffled := range []bool{false, true} {
		b.Run(fmt.Sprintf("rows=100000/shuffled=%v", shuffled), func(b *testing.B) {
			e, text := manyRows(6250, shuffled)
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				checks, _, err := ReadCheck("many.csv", strings.NewReader(text), []*shim.Engine{e}, CheckOptions{})
				if err != nil || len(checks) != 6250 {
					b.Fatal(len(checks), err)
				}
			}
		})
	}
}

func BenchmarkReadEngine(b *testing.B) {
	for b.Loop() {
		if _, _, err := ReadEngine("twin.toml", strings.NewReader(twinText)); err != nil {
			b.Fatal(err)
		}
	}
}

func TestFaultLendsItsHint(t *testing.T) {
	_, _, err := ReadBox("box.csv", strings.NewReader("size,count\n24.5,1\n"), shim.MM, Marks{})
	var faults Faults
	require.ErrorAs(t, err, &faults)
	require.NotEmpty(t, faults[0].Hint)
	assert.Equal(t, faults[0].Hint, shim.HintOf(faults[0]))
}
