package files

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/testdata/effort"
)

// randomEngine is a sound engine in which any key may be set.
func randomEngine(r *rand.Rand) *shim.Engine {
	one := func(of ...string) string { return of[r.IntN(len(of))] }
	some := func() bool { return r.IntN(2) == 0 }
	e := &shim.Engine{
		Name:       one("Sandpiper 720 twin", `The "Heron" 6\8`, "Rotschenkel Größe 3", "# = [x]"),
		Cylinders:  1 + r.IntN(shim.MaxCylinders),
		Access:     shim.Access(r.IntN(2)),
		SharedCams: some(),
		IntakeSide: shim.Placing(r.IntN(len(shim.Placings))),
		Readings:   shim.Combining(r.IntN(2)),
		Units:      shim.UnitPair{Clearance: shim.Unit(r.IntN(2)), Size: shim.Unit(r.IntN(2))},
	}
	if some() {
		e.Interval = shim.Meter{Hundredths: 1 + r.Int64N(5_000_000), Kind: shim.MeterKind(one("km", "mi", "h"))}
	}
	// Figures as they are typed: up to six decimals in mm, five in inches.
	grain := shim.Nanometre
	if e.Units != (shim.UnitPair{}) {
		grain = 254
	}
	length := func(from, to shim.Length) shim.Length {
		return (from/grain + 1 + shim.Length(r.Int64N(int64((to-from)/grain-1)))) * grain
	}
	factor := func(from, to shim.Factor) shim.Factor {
		return from + shim.Factor(r.Int64N(int64(to-from)+1))
	}
	order := func() (list []int) {
		for _, i := range r.Perm(e.Cylinders) {
			list = append(list, i+1)
		}
		return list
	}
	if some() {
		e.FiringOrder = order()
	}
	if some() {
		left := 720.0
		for range e.Cylinders - 1 {
			degrees := float64(r.IntN(int(left)*8/e.Cylinders+1)) / 8
			e.FiringIntervals, left = append(e.FiringIntervals, degrees), left-degrees
		}
		e.FiringIntervals = append(e.FiringIntervals, left)
	}
	if some() {
		for all := order(); len(all) > 0; {
			n := 1 + r.IntN(len(all))
			e.Banks, all = append(e.Banks, all[:n:n]), all[n:]
		}
	}
	if e.Access == shim.ByValve && some() {
		e.DepressOffset = float64(r.IntN(8)-4) * 22.5
	}
	limits := func() shim.Limits {
		tight := length(0, shim.MaxClearance/2)
		return shim.Limits{Tight: tight, Loose: tight + length(0, shim.MaxClearance/2)}
	}
	family := func(kind string) (shim.Family, []shim.Range) {
		var list []shim.Range
		for range r.IntN(3) {
			from, step := length(shim.MinSize, 5*shim.Millimetre), length(10*shim.Micrometre, 100*shim.Micrometre)
			of := shim.Range{From: from, Step: step, To: from + step*shim.Length(r.IntN(90))}
			if some() {
				of.Quote = shim.Quote{Priced: true, Price: shim.Price(r.IntN(200_000))}
			}
			list = append(list, of)
		}
		return shim.Family{Kind: kind, Diameter: length(shim.MinDiameter, shim.MaxDiameter)}, list
	}
	marks := func() shim.MarkList {
		var list shim.MarkList
		switch from, step, digits := length(shim.MinSize, 5*shim.Millimetre), length(0, 100*shim.Micrometre), 1+r.IntN(3); r.IntN(4) {
		case 0:
			for n := range 1 + r.IntN(40) {
				list = append(list, shim.Mark{Text: fmt.Sprintf("%0*d", digits, n+r.IntN(3)/2), Size: from + shim.Length(n)*step})
			}
		case 1:
			for range 1 + r.IntN(9) {
				list = append(list, shim.Mark{Text: one("A", "b", "2P", "+1", "Ö", "50", "7"), Size: length(shim.MinSize, shim.MaxSize)})
			}
		}
		return shim.SortMarks(list)
	}
	allowance := func() (a shim.Allowance) {
		if some() {
			a.By = length(0, shim.MaxAllowance)
			if some() {
				a.By = -a.By
			}
		}
		if some() {
			a.Doubt = length(0, shim.MaxAllowance)
		}
		return a
	}
	train := func() shim.Train {
		t := shim.Train{Valves: 1 + r.IntN(shim.MaxValves), Limits: limits(), AimAt: factor(0, shim.One), Ratio: shim.Ratio{Times: shim.One}}
		switch r.IntN(3) {
		case 0:
			t.Ratio = shim.RockerRatio(factor(shim.One, 2*shim.One))
		case 1:
			t.Ratio.Times = factor(shim.One/10, shim.One)
		}
		t.Allowance = allowance()
		if some() {
			most := length(0, shim.Millimetre)
			t.StemGrindMax, t.ShimProudMin = &most, length(0, shim.Millimetre)
		}
		if some() {
			t.Timing = &shim.Timing{Opens: float64(r.IntN(300))/8 - 1, Closes: float64(r.IntN(300))/8 - 1}
		}
		if some() {
			l := limits()
			t.OtherLimits = &l
		}
		if some() {
			c := &shim.Closer{Limits: limits(), AimAt: factor(0, shim.One), Ratio: shim.Ratio{Times: factor(shim.One/10, shim.One)}}
			c.Family, c.Catalogue = family(one("", "closer", "half ring"))
			c.Marks, c.Allowance = marks(), allowance()
			t.Closer = c
		}
		return t
	}
	if e.Intake = train(); some() {
		e.Exhaust = train()
		if in, ex := e.Intake.Closer, e.Exhaust.Closer; in != nil && ex != nil && some() {
			ex.Family, ex.Catalogue, ex.Marks = in.Family, in.Catalogue, in.Marks
		}
		if r.IntN(8) == 0 {
			e.Intake = shim.Train{}
		}
	}
	e.State = shim.State(r.IntN(2))
	if some() {
		e.Before = &shim.Before{Turns: r.IntN(3)}
		if some() {
			e.Before.Lines = []string{`Caps to "10 Nm", crosswise`, one("Spark plugs out", "Battery off")}
		}
		celsius := shim.Temperature(290_000 + r.IntN(3000))
		if some() {
			e.Before.Temperature = &shim.Window{From: celsius, To: celsius + 10_001}
		}
		if some() {
			e.Before.Corrections = []shim.Correction{{At: celsius}, {At: celsius + 20_500, By: -length(0, 300*shim.Micrometre)}}
		}
	}
	f, catalogue := family(one("", "lash cap"))
	e.Kind, e.Diameter, e.Catalogue, e.Marks = f.Kind, f.Diameter, catalogue, marks()
	if some() {
		e.Gauge = &shim.Gauge{Step: length(0, 100*shim.Micrometre), Leaf: length(0, 50*shim.Micrometre), Stamp: length(0, 50*shim.Micrometre), Mic: length(0, 50*shim.Micrometre)}
		if some() {
			e.Gauge.Stamp, e.Gauge.Used = shim.UsualGauge.Stamp, shim.UsualGauge.Used
		}
	}
	return e
}

// Any sound engine is read as it was written; the engines tried have every key
// between them that an engine file may have, so that none is forgotten.
func TestWrittenEngineIsReadTheSame(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 8))
	unwritten := map[string]bool{}
	for table, keys := range engineSchema {
		for _, key := range keys {
			if key == "clearance_mm" || key == "clearance_in" {
				continue // other forms of the limits in clearance
			}
			unwritten[join(table, key)] = true
		}
	}
	tried := 0
	for tried < max(300, effort.Of(20_000)) {
		e := randomEngine(r)
		if len(e.Validate()) > 0 {
			continue // a depress offset without a place to press
		}
		tried++
		var b bytes.Buffer
		require.NoError(t, WriteEngine(&b, e))
		again, _, err := ReadEngine("written.toml", bytes.NewReader(b.Bytes()))
		require.NoError(t, err, "%s", b.String())
		require.Equal(t, e, again, "%s", b.String())
		var all map[string]any
		require.NoError(t, toml.Unmarshal(b.Bytes(), &all))
		strike(unwritten, "", all)
	}
	assert.Empty(t, unwritten, "keys that engine_write.go does not write, or randomEngine never sets")
	t.Logf("%d engines read as they were written; every key of the schema among them", tried)
}

func strike(unwritten map[string]bool, key string, value any) {
	delete(unwritten, key)
	switch value := value.(type) {
	case []any:
		for _, v := range value {
			strike(unwritten, key, v)
		}
	case map[string]any:
		for k, v := range value {
			strike(unwritten, join(key, k), v)
		}
	}
}

// Each key has its comment within a page's width, and the engines of the demo
// come out as they were read, without a warning.
func TestWrittenDemoEngines(t *testing.T) {
	names, err := filepath.Glob(filepath.Join("..", "..", "testdata", "demo", "*.toml"))
	require.NoError(t, err)
	require.NotEmpty(t, names)
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		e, _, err := ReadEngine(name, bytes.NewReader(text))
		require.NoError(t, err)
		var b bytes.Buffer
		require.NoError(t, WriteEngine(&b, e))
		again, warnings, err := ReadEngine(name, bytes.NewReader(b.Bytes()))
		require.NoError(t, err)
		assert.Empty(t, warnings)
		assert.Equal(t, e, again, name)
		assert.Contains(t, b.String(), fromManual, name)
		for _, line := range strings.Split(b.String(), "\n") {
			assert.LessOrEqual(t, len(line), 100, line)
		}
	}
}
