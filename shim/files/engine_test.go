package files

import (
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

func TestReadEngine(t *testing.T) {
	assert.Equal(t, &shim.Engine{
		Name: "Sandpiper 720 twin", Cylinders: 2, FiringOrder: []int{1, 2}, FiringIntervals: []float64{270, 450}, Banks: [][]int{{1, 2}},
		Intake:    shim.Train{Valves: 2, Limits: shim.Limits{Tight: 140_000, Loose: 210_000}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}, Timing: &shim.Timing{Opens: 15, Closes: 45.5}},
		Exhaust:   shim.Train{Valves: 2, Limits: shim.Limits{Tight: 200_000, Loose: 270_000}, AimAt: 600_000, Ratio: shim.Ratio{Times: 800_000}},
		Diameter:  8_900_000,
		Catalogue: []shim.Range{{From: 1_200_000, To: 3_000_000, Step: 25_000, Quote: shim.Quote{Price: 78_000, Priced: true}}},
	}, twin(t))
}

// TestReadEngineForms writes the same engine in other manners of TOML.
func TestReadEngineForms(t *testing.T) {
	want := twin(t)
	for name, text := range map[string]string{
		"CRLF and mark": "\ufeff" + strings.ReplaceAll(twinText, "\n", "\r\n"),
		"inline": `name = "Sandpiper 720 twin"
cylinders = 2
firing_order = [
  1, # front
  2,
]
firing_intervals = [2.7e2, 450]
banks = [ [ 1, 2 ] ]
intake = { valves = 2, clearance = [0.14, 0.21], timing = [15, 45.5] }
exhaust = { valves = 2, clearance = [0.2, 0.27], aim = 0.6, ratio = 0.8 }
shims = { diameter = 8.9, catalogue = [ { from = 1.2, to = 3, step = 0.025, price = 7.8 } ] }
`,
		"dotted": `shims.diameter = "8.9"
name = 'Sandpiper 720 twin'
units = "MM"
cylinders = "2"
firing_order = [+1, 2]
firing_intervals = [270, 450]
banks = [[1,2]]
access = "Camshaft"
intake.valves = 2
intake.clearance = ["0.14", ".21"]
intake.aim = 0.50
intake.ratio = 1
intake.timing = [15, 45.5]
exhaust.valves = 2
exhaust.clearance = [0.20, 0.27]
"exhaust".aim = 0.6
exhaust.'ratio' = "0.8"
shims.catalogue = [ { from = 1.200_0, to = 3, step = 0.025, price = 7.80 } ]
`,
	} {
		have, warnings, err := ReadEngine("e.toml", strings.NewReader(text))
		require.NoError(t, err, name)
		assert.Empty(t, warnings, name)
		assert.Equal(t, want, have, name)
	}
}

func TestReadEngineInches(t *testing.T) {
	e, _, err := ReadEngine("e.toml", strings.NewReader(`name = "Plover 250"
units = "in"
cylinders = 1
access = "valve"
camshafts = "shared"
[exhaust]
valves = 1
clearance = [0.003, 0.005]
ratio = 1.5
[shims]
diameter = 1
[[shims.catalogue]]
from = 0.0950
to = 0.0960
step = 0.0005
[[shims.catalogue]]
from = 0.1
to = 0.1
step = 0.001
price = 3
`))
	require.NoError(t, err)
	assert.Equal(t, shim.IN.Both(), e.Units)
	assert.Equal(t, shim.ByValve, e.Access)
	assert.True(t, e.SharedCams)
	assert.Zero(t, e.Intake.Valves)
	// An inch is 25.4 mm exactly (NIST SP 811).
	assert.Equal(t, shim.Limits{Tight: 76_200, Loose: 127_000}, e.Exhaust.Limits)
	assert.Equal(t, shim.Ratio{Times: shim.One * 3 / 2}, e.Exhaust.Ratio)
	assert.Equal(t, []shim.Range{{From: 2_413_000, To: 2_438_400, Step: 12_700}, {From: 2_540_000, To: 2_540_000, Step: 25_400, Quote: shim.Quote{Price: 30_000, Priced: true}}}, e.Catalogue)
}

// How far to turn before a tappet is pressed, on or back; what cannot be is one
// fault at its place.
func TestReadEngineDepressOffset(t *testing.T) {
	read := func(line string) (*shim.Engine, error) {
		e, _, err := ReadEngine("e.toml", strings.NewReader("name = \"Auk\"\ncylinders = 1\n"+line+"\n[intake]\nvalves = 1\nclearance = [0.1, 0.2]\n[exhaust]\nvalves = 1\nclearance = [0.1, 0.2]\n[shims]\ndiameter = 29\n"))
		return e, err
	}
	for line, want := range map[string]float64{"": 0, "depress_offset = -40": -40, `depress_offset = "90"`: 90} {
		e, err := read("access = \"valve\"\n" + line)
		require.NoError(t, err, line)
		assert.Equal(t, want, e.DepressOffset)
	}
	for line, want := range map[string]string{
		"access = \"valve\"\ndepress_offset = 100":      "4:18: depress_offset: turned on 100° from the firing TDC of its cylinder, no exhaust valve",
		"access = \"valve\"\ndepress_offset = \"back\"": `4:18: depress_offset: "back" is not a number of degrees`,
		"depress_offset = 40":                           "3:18: depress_offset: no tappet is pressed down",
	} {
		_, err := read(line)
		var faults Faults
		require.ErrorAs(t, err, &faults, line)
		require.Len(t, faults, 1, line)
		assert.Contains(t, faults[0].Error(), "e.toml:"+want)
	}
}

func TestReadEngineFaults(t *testing.T) {
	const shims = "[shims]\ndiameter = 8.9\n"
	const intake = "[intake]\nvalves = 1\nclearance = [0.1, 0.2]\n"
	const top = "name = \"x\"\ncylinders = 2\n"
	for name, c := range map[string]struct {
		text string
		want []string
	}{
		"empty":             {"", []string{"0:0 : the file is empty"}},
		"spreadsheet":       {"PK\x03\x04", []string{"0:0 : this looks like a spreadsheet file"}},
		"too large":         {strings.Repeat("# big\n", 200_000), []string{"0:0 : the file is larger than 256 KB, more than an engine can need"}},
		"only a comment":    {"# x\n", []string{"1:1 name: the key is missing", "1:1 cylinders: the key is missing", "1:1 shims.diameter: the key is missing", "1:1 intake.valves: the engine has no valves"}},
		"unknown key":       {top + "cilinders = 2\n" + intake + "clearence = 1\n" + shims, []string{"3:1 cilinders: unknown key", "7:1 intake.clearence: unknown key"}},
		"unknown table":     {top + "[inlet]\nvalves = 2\n[inlet.more]\nx = 1\n" + intake + shims, []string{"3:2 inlet: unknown table"}},
		"dotted in quotes":  {top + "\"shims.diameter\" = 3\n" + intake + shims, []string{`3:1 "shims.diameter": unknown key`}},
		"number for table":  {top + "[shims]\ndiameter = 8.9\n[shims.catalogue.0]\nfrom=1\nto=2\nstep=1\n" + intake, []string{`5:2 shims.catalogue."0": unknown table`}},
		"single brackets":   {top + intake + shims + "[shims.catalogue]\nfrom = 1\n", []string{"8:2 shims.catalogue: the catalogue is not a list of ranges"}},
		"list of numbers":   {top + intake + shims + "catalogue = [1.2, 3]\n", []string{"8:1 shims.catalogue: the catalogue is not a list of ranges"}},
		"key for table":     {top + "intake = 2\n" + shims, []string{"3:1 intake: intake is a table of its own"}},
		"table for key":     {top + intake + "[shims]\n[shims.diameter]\nmm = 3\n", []string{"7:2 shims.diameter: shims.diameter is a key, not a table"}},
		"missing keys":      {"name = \"x\"\n[intake]\n[shims]\n", []string{"1:1 cylinders: the key is missing", "2:2 intake.valves: the key is missing", "3:2 shims.diameter: the key is missing"}},
		"missing limits":    {top + "[intake]\nvalves = 2\n" + shims, []string{"3:2 intake.clearance: the key is missing"}},
		"missing range end": {top + intake + shims + "[[shims.catalogue]]\nfrom = 1.2\nstep = 0.1\n", []string{"8:3 shims.catalogue, range 1, to: the key is missing"}},
		"no side":           {top + shims, []string{"1:1 intake.valves: the engine has no valves"}},
		"doubled key":       {top + "name = \"y\"\n", []string{"3:1 : not valid TOML: key name is already defined"}},
		"no quotes":         {"name = Heron\n", []string{"1:8 name: this is neither a number nor a text in quotation marks"}},
		"open quote":        {"name = \"Heron\n", []string{"1:8 name: the quotation mark is not closed"}},
		"range for list":    {top + "[intake]\nvalves = 1\nclearance = 0.12-0.18\n", []string{"5:13 clearance: a range is a list here"}},
		"range, no zeros":   {top + "[intake]\nvalves = 1\nclearance = .005-.007\n", []string{"5:13 clearance: a range is a list here"}},
		"range in a list":   {top + "[intake]\nvalves = 1\nclearance = [\"0.12-0.18\"]\n" + shims, []string{"5:14 intake.clearance: a range is a list here"}},
		"range as a text":   {top + "[intake]\nvalves = 1\nclearance = \"0.12-0.18\"\n" + shims, []string{"5:13 intake.clearance: a range is a list here"}},
		"wrong types": {"name = \"x\"\nunits = \"cm\"\ncylinders = 2.5\naccess = \"camshafts\"\n[intake]\nvalves = true\nclearance = [\"a\", 0.2]\naim = \"half\"\n[shims]\ndiameter = \"\"\n",
			[]string{`2:9 units: "cm" is not possible`, `3:13 cylinders: "2.5" is not a whole number`, `4:10 access: "camshafts" is not possible`, `6:10 intake.valves: "true" is not a whole number`,
				`7:14 intake.clearance: "a" is not a plain decimal number`, `8:7 intake.aim: "half" is not a plain decimal number`, `10:12 shims.diameter: "" is not a plain decimal number`}},
		"comma in limits":  {top + "[intake]\nvalves = 2\nclearance = [0,8, 0,13]\n" + shims, []string{"5:13 intake.clearance: decimal commas: TOML writes [0.8, 0.13]"}},
		"comma in a text":  {top + "[intake]\nvalves = 2\nclearance = [\"0,08\", 0.13]\n" + shims, []string{"5:14 intake.clearance: a decimal comma: TOML writes 0.08"}},
		"number for text":  {"name = 7\n" + intake + shims, []string{"1:8 name: a text is needed, this is 7"}},
		"date for text":    {"name = 1979-05-27\n" + intake + shims, []string{"1:8 name: a text is needed, this is 1979-05-27"}},
		"number for list":  {top + "firing_order = 1\n" + intake + shims, []string{"3:16 firing_order: a list is needed, this is 1"}},
		"number for pair":  {top + "[intake]\nvalves = 1\nclearance = 0.1\n" + shims, []string{"5:13 intake.clearance: a list is needed, this is 0.1"}},
		"number for bank":  {top + "banks = [1, 2]\n" + intake + shims, []string{"3:10 banks: a list is needed, this is 1"}},
		"date for number":  {top + intake + "ratio = 1979-05-27\n" + shims, []string{"6:9 intake.ratio: a number is needed, this is 1979-05-27"}},
		"date in list":     {top + "firing_order = [1, 07:32:00]\n" + intake + shims, []string{"3:20 firing_order: a number is needed, this is 07:32:00"}},
		"list for number":  {top + intake + "[shims]\ndiameter = [8.9]\n", []string{"7:12 shims.diameter: a number is needed, this is [8.9]"}},
		"list in list":     {top + "firing_order = [[1, 2]]\n" + intake + shims, []string{"3:16 firing_order: a number is needed, this is [[1, 2]]"}},
		"tables for table": {top + "[[intake]]\nvalves = 1\n" + shims, []string{"3:1 intake: intake is a table of its own"}},
		"tables for key":   {top + "[[firing_order]]\nx = 1\n" + shims, []string{"3:3 firing_order: firing_order is a key, not a table"}},
		"numbers": {top + "[intake]\nvalves = 1\nclearance = [0.1, 0.2000001]\naim = 0.1234567\n[shims]\ndiameter = 8e0\n[[shims.catalogue]]\nfrom = nan\nto = 3\nstep = 1\nprice = -1\n",
			[]string{`5:19 intake.clearance: "0.2000001" has too many decimals`, `6:7 intake.aim: "0.1234567" has too many decimals`, `8:12 shims.diameter: "8e0" is not a plain decimal number`, `10:8 shims.catalogue, range 1, from: "nan" is not a plain decimal number`, `13:9 shims.catalogue, range 1, price: "-1": a price is not negative`}},
		"all at once": {"name = \"x\"\ncylinders = 4.5\nbanks = [[1, 2], [2, 3]]\n[intake]\nvalves = 6\nclearance = [0.1, 21]\n[exhaust]\nvalves = 1\nclearance = [0.2, 0.1]\nratio = 0\n" + shims + "[[shims.catalogue]]\nfrom = 3\nto = 2\nstep = 1\n",
			[]string{`2:13 cylinders: "4.5" is not a whole number`, "5:10 intake.valves: 6 intake valves a cylinder are not possible: 0 to 5", "6:13 intake.clearance: limits of 0.1 to 21 mm are not plausible: 0 to 1 mm",
				"9:13 exhaust.clearance: the limits 0.2 and 0.1 mm are the wrong way round", "10:9 exhaust.ratio: a ratio of 0 is not possible: 0.1 to 10", "13:3 shims.catalogue, range 1: the catalogue runs from 3 down to 2 mm"}},
		"case":             {top + intake + "Clearance = [0.1, 0.3]\n" + shims, []string{"6:1 intake.Clearance: unknown key"}},
		"case of a table":  {top + "[Intake]\nvalves = 1\nclearance = [0.1, 0.2]\n" + shims, []string{"3:2 Intake: unknown key"}},
		"case of a range":  {top + intake + shims + "[[shims.catalogue]]\nfrom=1\nto=2\nstep=1\n[[shims.catalogue]]\nfrom=3\nTo=4\nstep=1\n", []string{"14:1 shims.catalogue, range 2, To: unknown key"}},
		"case, inline":     {top + "intake = { Valves = 1, clearance = [0.1, 0.2] }\nshims = { \"Diameter\" = 8.9, catalogue = [\n{ from = 1, to = 2, step = 1 },\n{ from = 3, to = 4, Step = 1 } ] }\n", []string{"3:12 intake.Valves: unknown key", "4:12 shims.Diameter: unknown key", "6:21 shims.catalogue, range 2, Step: unknown key"}},
		"behind a text":    {"name = \"\"\"\ncylinders = 9\n[shims.catalogue]\n\"\"\"\ncylinders = 2.5\n" + intake + shims, []string{`5:13 cylinders: "2.5" is not a whole number`}},
		"dotted unknown":   {top + "banks.left = 1\ninlet.valves = 2\n" + intake + shims, []string{"3:7 banks.left: banks.left is a key, not a table"}},
		"inline":           {top + "intake = { valves = 1, clearence = [0.1, 0.2] }\nshims = { diameter = 8.9, price = 1, catalogue = [\n{ from = 1, to = 2, step = 1 },\n{ from = 3, to = 2, stop = 1 } ] }\n", []string{"3:10 intake.clearance: the key is missing", "3:24 intake.clearence: unknown key", "4:9 shims.catalogue, range 2, step: the key is missing", "4:27 shims.price: unknown key", "6:21 shims.stop: unknown key"}},
		"list over lines":  {top + "firing_order = [\n  1, # front\n  \"x\",\n]\n" + intake + shims, []string{"5:3 firing_order: \"x\" is not a whole number"}},
		"table for value":  {top + "[intake]\nvalves = { n = 1 }\nclearence = 1\n" + shims, []string{"4:10 intake.valves: intake.valves is a key, not a table"}},
		"limits reversed":  {top + "[intake]\nvalves = 1\nclearance = [0.2, 0.1]\n" + shims, []string{"5:13 intake.clearance: the limits 0.2 and 0.1 mm are the wrong way round"}},
		"one limit":        {top + "[intake]\nvalves = 1\nclearance = [0.2]\n" + shims, []string{"5:13 intake.clearance: two limits are needed, this is a list of 1"}},
		"timing":           {top + intake + "timing = [15]\n" + shims, []string{"6:10 intake.timing: two figures are needed, when the valves open and when they close"}},
		"range reversed":   {top + intake + shims + "[[shims.catalogue]]\nfrom=1\nto=2\nstep=1\n[[shims.catalogue]]\nfrom=3\nto=2\nstep=1\n", []string{"12:3 shims.catalogue, range 2: the catalogue runs from 3 down to 2 mm"}},
		"range step":       {top + intake + shims + "[[shims.catalogue]]\nfrom=1\nto=2\nstep=0\n", []string{"11:6 shims.catalogue, range 1, step: a catalogue step of 0 mm is not possible"}},
		"range thin":       {top + intake + shims + "[[shims.catalogue]]\nfrom=0.1\nto=2\nstep=1\n", []string{"9:6 shims.catalogue, range 1, from: a catalogue size of 0.1 mm is not plausible: 0.5 to 15 mm"}},
		"range thick":      {top + intake + shims + "[[shims.catalogue]]\nfrom=1\nto=20\nstep=1\n", []string{"10:4 shims.catalogue, range 1, to: a catalogue size of 20 mm is not plausible: 0.5 to 15 mm"}},
		"firing order":     {top + "firing_order = [1, 3]\n" + intake + shims, []string{"3:16 firing_order: the firing order must name each of the 2 cylinders once"}},
		"firing intervals": {top + "firing_intervals = [360, 350]\n" + intake + shims, []string{"3:20 firing_intervals: 2 firing intervals that add up to 710 degrees: 2 are needed that add up to 720"}},
	} {
		e, _, err := ReadEngine("e.toml", strings.NewReader(c.text))
		assert.Nil(t, e, name)
		have := told(t, err)
		assert.Equal(t, c.want, have, name)
	}
}

// What looks like a key in a text over several lines is none.
func TestReadEngineTextOverLines(t *testing.T) {
	for _, mark := range []string{`"""`, `'''`} {
		text := "name = " + mark + "Heron\nName = \nvalves = 'x'\n[shims.catalogue]\nUnits = 3" + mark + "\ncylinders = 2\n[intake]\nvalves = 1\nclearance = [0.1, 0.2]\n[shims]\ndiameter = 8.9\n"
		e, _, err := ReadEngine("e.toml", strings.NewReader(text))
		require.NoError(t, err, mark)
		assert.Equal(t, "Heron Name = valves = 'x' [shims.catalogue] Units = 3", e.Name)
	}
}

// A catalogue may name each size by itself, with its price.
func TestReadEngineManyRanges(t *testing.T) {
	var b strings.Builder
	b.WriteString("name = \"Heron\"\ncylinders = 1\n[intake]\nvalves = 1\nclearance = [0.1, 0.2]\n[shims]\ndiameter = 9\n")
	for i := range 500 {
		fmt.Fprintf(&b, "[[shims.catalogue]]\nfrom = %d.%02d\nto = %d.%02d\nstep = 0.01\nprice = 7.80\n", 1+i/100, i%100, 1+i/100, i%100)
	}
	e, _, err := ReadEngine("e.toml", strings.NewReader(b.String()))
	require.NoError(t, err)
	require.Len(t, e.Catalogue, 500)
	assert.Equal(t, shim.Length(5_990_000), e.Catalogue[499].To)
}

func TestReadEngineWarnsOfUnevenRange(t *testing.T) {
	_, warnings, err := ReadEngine("e.toml", strings.NewReader(strings.Replace(twinText, "step = 0.025", "step = 0.035", 1)))
	require.NoError(t, err)
	assert.Equal(t, []string{"25:6 shims.catalogue, range 1, to: the range is not a whole number of steps: its last size is 2.985, not 3 mm"}, lines(warnings))
}

func TestReadersReportFailingInput(t *testing.T) {
	fail := func() io.Reader {
		return io.MultiReader(strings.NewReader("valve,clearance,shim\nin1,0.07,2.45\n"), iotest.ErrReader(io.ErrClosedPipe))
	}
	_, _, err := ReadEngine("x", fail())
	assert.ErrorContains(t, err, "x: cannot be read: io: read/write on closed pipe")
	checks, _, err := ReadCheck("x", fail(), []*shim.Engine{single(t, "mm")}, CheckOptions{})
	assert.ErrorContains(t, err, "x: cannot be read")
	assert.Nil(t, checks)
}

// TestReadInSmallPieces reads through a reader that gives a byte at a time.
func TestReadInSmallPieces(t *testing.T) {
	e, text := manyRows(3, false)
	want, _, err := ReadCheck("x", strings.NewReader(text), []*shim.Engine{e}, CheckOptions{})
	require.NoError(t, err)
	have, _, err := ReadCheck("x", iotest.OneByteReader(strings.NewReader(text)), []*shim.Engine{e}, CheckOptions{})
	require.NoError(t, err)
	assert.Equal(t, want, have)
}

// TestDistance checks the edit distance against published examples: the pairs
// of the Wagner-Fischer literature and one swap, which counts 1 (Damerau 1964).
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"kitten", "sitting", 3}, {"sunday", "saturday", 3}, {"ca", "ac", 1}, {"", "abc", 3}, {"shim", "shim", 0}} {
		assert.Equal(t, c.want, distance(c.a, c.b), "%q %q", c.a, c.b)
		assert.Equal(t, c.want, distance(c.b, c.a), "%q %q", c.b, c.a)
	}
}

// TestExact reads back random lengths in both units.
func TestExact(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for range 2000 {
		l := shim.Length(random.Int64N(20_000_000))
		for u, length := range map[shim.Unit]shim.Length{shim.MM: l, shim.IN: l / 127 * 127} {
			back, err := u.Parse(exact(length, u))
			require.NoError(t, err)
			require.Equal(t, length, back, "%d %s", length, u)
		}
	}
}

func FuzzReadEngine(f *testing.F) {
	f.Add(twinText)
	f.Add("name='x'\ncylinders=1\nintake={valves=1,clearance=[0.1,0.2]}\nshims={diameter=9,catalogue=[{from=1,to=2,step=0.3}]}\n")
	f.Add("units=\"in\"\nintake.valves=2\n[shims.catalogue.0]\n[[shims.catalogue]]\n[[a.b]]\n[a.b.c]\nd.e=[{},[]]\n")
	f.Fuzz(func(t *testing.T, text string) {
		e, _, err := ReadEngine("e.toml", strings.NewReader(text))
		if err != nil {
			require.NotEmpty(t, told(t, err))
			require.Nil(t, e)
			return
		}
		require.Empty(t, e.Validate())
		require.NotEmpty(t, e.Valves())
		require.NotContains(t, e.Name, "\n")
	})
}

// A side's ratio by the rocker's, as the trade gives it.
func TestReadRocker(t *testing.T) {
	read := func(keys string) (*shim.Engine, []Fault, error) {
		return ReadEngine("e.toml", strings.NewReader("name = \"Dunlin rocker\"\ncylinders = 1\n[intake]\nvalves = 1\nclearance = [0.14, 0.17]\n"+keys+"[shims]\ndiameter = 9\n"))
	}
	for keys, want := range map[string]shim.Ratio{
		"": {Times: shim.One},
		"rocker_ratio = 1.43\nmeasured_at = \"cam\"\n":  shim.RockerRatio(1_430_000),        // Tomei's SR20 manual, page 9
		"rocker_ratio = 1.4\nmeasured_at = \"cam\"\n":   {Times: shim.One, Over: 1_400_000}, // 5/7
		"rocker_ratio = 1.6\nmeasured_at = \"cam\"\n":   {Times: shim.One, Over: 1_600_000},
		"rocker_ratio = 0.64\nmeasured_at = 'CAM'\n":    {Times: shim.One, Over: 640_000},
		"rocker_ratio = 1.4\nmeasured_at = \"valve\"\n": {Times: shim.One},
		"measured_at = \"valve\"\n":                     {Times: shim.One},
		"rocker_ratio = 1\nmeasured_at = \"cam\"\n":     {Times: shim.One},
	} {
		e, warnings, err := read(keys)
		require.NoError(t, err, keys)
		assert.Empty(t, warnings, keys)
		assert.Equal(t, want, e.Intake.Ratio, keys)
	}
	for keys, want := range map[string]string{
		"rocker_ratio = 1.4\n":                                   "6:16 intake.rocker_ratio: the side does not say where its clearance is measured",
		"measured_at = \"cam\"\n":                                "6:15 intake.measured_at: the side does not say how far its rocker multiplies the lift",
		"ratio = 0.7\nrocker_ratio = 1.4\nmeasured_at = 'cam'\n": "7:16 intake.rocker_ratio: ratio says the same in another way",
		"ratio = 0.7\nmeasured_at = 'valve'\n":                   "7:15 intake.measured_at: ratio says the same in another way",
		"rocker_ratio = 0\nmeasured_at = 'cam'\n":                "6:16 intake.rocker_ratio: a rocker ratio of 0 cannot be: 0.1 to 10",
		"rocker_ratio = -1.4\nmeasured_at = 'valve'\n":           "6:16 intake.rocker_ratio: a rocker ratio of -1.4 cannot be: 0.1 to 10",
		"rocker_ratio = 14\nmeasured_at = 'cam'\n":               "6:16 intake.rocker_ratio: a rocker ratio of 14 cannot be: 0.1 to 10",
		"rocker_ratio = 1.4\nmeasured_at = 'tip'\n":              `7:15 intake.measured_at: "tip" is not possible`,
	} {
		_, _, err := read(keys)
		assert.Equal(t, []string{want}, told(t, err), keys)
	}
	_, warnings, err := read("ratio = 1.4\n")
	require.NoError(t, err)
	require.Len(t, warnings, 1)
	assert.Contains(t, warnings[0].Hint, "rocker_ratio = 1.4")
}

func TestReadIntakeSide(t *testing.T) {
	e, _, err := ReadEngine("e.toml", strings.NewReader("intake_side = \"Right\"\n"+twinText))
	require.NoError(t, err)
	assert.Equal(t, shim.IntakeRight, e.IntakeSide)
	assert.Equal(t, shim.IntakeInside, twin(t).IntakeSide)
	_, _, err = ReadEngine("e.toml", strings.NewReader("intake_side = \"above\"\n"+twinText))
	assert.Error(t, err)
}
