package files

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

func mm(t testing.TB, text string) shim.Length {
	t.Helper()
	l, err := shim.MM.Parse(text)
	require.NoError(t, err)
	return l
}

// TestReadCheckHabits reads one check in the manners of many spreadsheets: all
// mean the same.
func TestReadCheckHabits(t *testing.T) {
	e := single(t, "mm")
	for name, text := range map[string]string{
		"plain":                "valve,clearance,shim\nin1,0.07,2.45\nex1,0.08-0.10,2.5\n",
		"no last line end":     "valve,clearance,shim\nin1,0.07,2.45\nex1,0.08-0.10,2.5",
		"columns in any order": "shim,valve,clearance\n2.45,in1,0.07\n2.50,ex1,0.08-0.10\n",
		"rows in any order":    "valve,clearance,shim\nex1,0.08-0.10,2.5\nin1,0.07,2.45\n",
		"case and space":       " Valve , CLEAR ANCE,Shim \n IN1 , 0.07 , 2.45 \nEx1,0.08 - 0.10,2.5\n",
		"byte order mark":      "\ufeffvalve,clearance,shim\nin1,0.07,2.45\nex1,0.08-0.10,2.5\n",
		"CRLF":                 "valve,clearance,shim\r\nin1,0.07,2.45\r\nex1,0.08-0.10,2.5\r\n",
		"CR alone":             "valve,clearance,shim\rin1,0.07,2.45\rex1,0.08-0.10,2.5\r",
		"blank lines":          "\n\nvalve,clearance,shim\n\nin1,0.07,2.45\n   \nex1,0.08-0.10,2.5\n\n",
		"empty rows":           ",,\nvalve,clearance,shim\n , ,\nin1,0.07,2.45\n,,\nex1,0.08-0.10,2.5\n,,,,\n",
		"comments":             "# bench 2, \"cold\nvalve,clearance,shim\n# intake\nin1,0.07,2.45\n\"# exhaust, rear\",,\nex1,0.08-0.10,2.5\n",
		"quoted cells":         "\"valve\",\"clearance\",\"shim\"\n\"in1\", \"0.07\",\"2.45\"\n\"ex1\",\"0.08-0.10\",\"2.5\"\n",
		"semicolons":           "valve;clearance;shim\nin1;0,07;2,45\nex1;0,08-0,10;2,5\n",
		"semicolons, points":   "valve;clearance;shim\nin1;0.07;2.45\nex1;0.08-0.10;2.5\n",
		"sep line":             "sep=;\nvalve;clearance;shim\nin1;0,07;2,45\nex1;0,08-0,10;2,5\n",
		"quoted comment first": "\"# bench, cold\"\nvalve;clearance;shim\nin1;0,07;2,45\nex1;0,08-0,10;2,5\n",
		"tabs":                 "valve\tclearance\tshim\nin1\t0.07\t2.45\nex1\t0.08-0.10\t2.5\n",
		"tabs, empty cells":    "note\tvalve\tclearance\tmic\tshim\n\tin1\t0.07\t\t2.45\n\tex1\t0.08-0.10\t\t2.5\n",
		"en dash":              "valve,clearance,shim\nin1,0.07,2.45\nex1,0.08–0.10,2.5\n",
		"bare points":          "valve,clearance,shim\nin1,.07,2.45\nex1,.08-.10,2.5\n",
		"trailing separators":  "valve,clearance,shim,,\nin1,0.07,2.45,,\nex1,0.08-0.10,2.5,,\n",
		"no-break space":       "valve,clearance,shim\nin1,\u00a00.07,2.45\u00a0\nex1,0.08-0.10,2.5\n",
		"empty engine, job":    "valve,clearance,shim,engine,job\nin1,0.07,2.45,,\nex1,0.08-0.10,2.5,plover  250,\n",
	} {
		checks, warnings, err := ReadCheck("check.csv", strings.NewReader(text), []*shim.Engine{e}, CheckOptions{})
		require.NoError(t, err, name)
		assert.Empty(t, warnings, name)
		assert.Equal(t, []Check{{Engine: "Plover 250", Of: e, Measurements: []shim.Measurement{
			{Valve: shim.Valve{Side: shim.Intake, Cylinder: 1}, Reading: shim.ReadingOf(mm(t, "0.07")), Marks: shim.Marks{Stamp: mm(t, "2.45")}},
			{Valve: shim.Valve{Side: shim.Exhaust, Cylinder: 1}, Reading: shim.Reading{Kind: shim.Bracket, Low: mm(t, "0.08"), High: mm(t, "0.10")}, Marks: shim.Marks{Stamp: mm(t, "2.5")}},
		}}}, checks, name)
	}
}

// Clearances are judged by the limits of their engine and by the gauge.
func TestReadCheckByLimits(t *testing.T) {
	engine := func(limits, gauge string) *shim.Engine {
		e, _, err := ReadEngine("e.toml", strings.NewReader(`name = "Puffin 2"
cylinders = 2
[intake]
valves = 2
clearance = `+limits+`
[exhaust]
valves = 2
clearance = `+limits+`
[shims]
diameter = 8
`+gauge))
		require.NoError(t, err)
		return e
	}
	all := func(cells ...string) string {
		text := "valve,clearance,shim\n"
		for i, valve := range []string{"in1a", "in1b", "ex1a", "ex1b", "in2a", "in2b", "ex2a", "ex2b"} {
			text += valve + "," + cells[i%len(cells)] + ",2.4\n"
		}
		return text
	}
	fine := &shim.Gauge{Step: 10 * shim.Micrometre}
	for name, row := range map[string]struct {
		engine  *shim.Engine
		cells   []string
		options CheckOptions
		faults  int
	}{
		"eight closers at 0.01":          {engine("[0.01, 0.05]", ""), []string{"0.01"}, CheckOptions{}, 0},
		"closers whose limits include 0": {engine("[0.00, 0.05]", ""), []string{"0", "0.00"}, CheckOptions{}, 0},
		"a job in inches":                {engine("[0.40, 0.60]", ""), []string{"0.016", "0.021"}, CheckOptions{}, 1},
		"one leaf of 0.02 among others":  {engine("[0.40, 0.60]", ""), []string{"0.02", "0.41"}, CheckOptions{}, 0},
		"a coarse gauge":                 {engine("[0.14, 0.21]", ""), []string{"0.01", "0.15"}, CheckOptions{}, 4},
		"a fine gauge of the engine":     {engine("[0.14, 0.21]", "[gauge]\nstep = 0.01\n"), []string{"0.01", "0.15"}, CheckOptions{}, 0},
		"a fine gauge given":             {engine("[0.14, 0.21]", ""), []string{"0.01", "0.15"}, CheckOptions{Gauge: fine}, 0},
	} {
		_, _, err := ReadCheck("check.csv", strings.NewReader(all(row.cells...)), []*shim.Engine{row.engine}, row.options)
		assert.Len(t, told(t, err), row.faults, "%s: %v", name, err)
	}
}

func TestReadClearanceForms(t *testing.T) {
	e := single(t, "mm")
	bracket := func(low, high string) shim.Reading {
		return shim.Reading{Kind: shim.Bracket, Low: mm(t, low), High: mm(t, high)}
	}
	for cell, want := range map[string]shim.Reading{
		"0.15":         shim.ReadingOf(mm(t, "0.15")),
		".15":          shim.ReadingOf(mm(t, "0.15")),
		"0.15-0.18":    bracket("0.15", "0.18"),
		" 0.15 -0.18 ": bracket("0.15", "0.18"),
		"0.15 – 0.18":  bracket("0.15", "0.18"),
		"0.02-0.05":    bracket("0.02", "0.05"),
		"<0.05":        {Kind: shim.Below, High: mm(t, "0.05")},
		"< 0.05":       {Kind: shim.Below, High: mm(t, "0.05")},
		">0.60":        {Kind: shim.Above, Low: mm(t, "0.60")},
		">1":           {Kind: shim.Above, Low: mm(t, "1")},
		"0.012345":     shim.ReadingOf(12345),
	} {
		text := "valve,clearance,shim\nin1," + cell + ",2.45\nex1,0.08,2.5\n"
		checks, _, err := ReadCheck("check.csv", strings.NewReader(text), []*shim.Engine{e}, CheckOptions{})
		require.NoError(t, err, cell)
		assert.Equal(t, want, checks[0].Measurements[0].Reading, cell)
	}
}

func TestReadCheckJobsAndEngines(t *testing.T) {
	a, b := twin(t), single(t, "in")
	text := `job,engine,valve,clearance,shim,mic,note
10,Plover 250,EX1A,.003,.1,,
10,Plover 250,in1,.003,,.098,"worn, ""a bit"""
2,sandpiper 720 TWIN,ex2b,0.22,2.45,,
2,sandpiper 720 TWIN,ex2a,0.22,2.45,2.44,
2,sandpiper 720 TWIN,in2b,0.15,2.45,,
2,sandpiper 720 TWIN,in2a,0.15,2.45,,
2,sandpiper 720 TWIN,ex1b,0.22,2.45,,
2,sandpiper 720 TWIN,ex1a,0.22,2.45,,
2,sandpiper 720 TWIN,in1b,0.15,2.45,,
2,sandpiper 720 TWIN,in1a,0.15,2.45,,
`
	checks, warnings, err := ReadCheck("check.csv", strings.NewReader(text), []*shim.Engine{a, b}, CheckOptions{})
	require.NoError(t, err)
	assert.Empty(t, warnings)
	require.Len(t, checks, 2)
	assert.Equal(t, "2", checks[0].Job)
	assert.Equal(t, "Sandpiper 720 twin", checks[0].Engine)
	assert.Same(t, a, checks[0].Of)
	for i, v := range a.Valves() {
		assert.Equal(t, v, checks[0].Measurements[i].Valve)
	}
	assert.Equal(t, mm(t, "2.44"), checks[0].Measurements[6].Size())
	require.Len(t, checks[1].Measurements, 2)
	assert.Equal(t, shim.Measurement{Valve: shim.Valve{Side: shim.Intake, Cylinder: 1},
		Reading: shim.ReadingOf(76_200), Marks: shim.Marks{Mic: 2_489_200}, Note: `worn, "a bit"`}, checks[1].Measurements[0])
	assert.Equal(t, "ex1a", checks[1].Measurements[1].Valve.String(), "the letter stays where the file has it")
}

func TestReadCheckFaults(t *testing.T) {
	const header = "valve,clearance,shim\n"
	const good = "in1,0.07,2.45\nex1,0.08,2.5\n"
	for name, c := range map[string]struct {
		text string
		want []string
	}{
		"unknown column":       {"valve,clearence,clearance,shim\nin1,,0.07,2.45\nex1,,0.08,2.5\n", []string{`1:7 clearence: unknown column "clearence"`}},
		"missing column":       {"valve,clearance\nin1,0.07\n", []string{"1:0 shim: the column shim is missing"}},
		"doubled column":       {"valve,shim,clearance,Shim\nin1,2.45,0.07,\nex1,2.5,0.08,\n", []string{"1:22 shim: duplicate column shim, first at column 7"}},
		"not our header":       {"in1,0.07,2.45\nex1,0.08,2.5\n", []string{`1:1 : the first line is not a header of ours: "in1,0.07,2.45"`}},
		"empty":                {"", []string{"0:0 : the file is empty"}},
		"blank":                {"\n \n\r\n", []string{"0:0 : the file is empty"}},
		"comments only":        {"# nothing\n", []string{"0:0 : the file is empty"}},
		"no rows":              {header + "# none\n,,\n", []string{"0:0 : the file has a header and no rows"}},
		"unknown valve":        {header + good + "in2,0.07,2.45\nin1b,0.07,2.45\n", []string{"4:1 in2: the engine has no such valve", "5:1 in1b: the engine has no such valve"}},
		"not a valve":          {header + good + "left,0.07,2.45\n,0.07,2.45\n", []string{`4:1 valve: "left" is not the name of a valve`, "5:1 valve: the row names no valve"}},
		"doubled valve":        {header + good + "# \nIN1A,0.07,2.45\nin1,0.07,2.45\n", []string{"5:1 in1a: duplicate row for this valve, first on line 2", "6:1 in1: duplicate row for this valve, first on line 2"}},
		"missing valve":        {header + "in1,0.07,2.45\n", []string{"2:0 : missing valve ex1"}},
		"clearance too large":  {header + "in1,1.5,2.45\nex1,0.08,2.5\n", []string{"2:5 in1: 1.5 mm is not a plausible clearance"}},
		"clearance below zero": {header + "in1,-0.05,2.45\nex1,−0.1,2.5\n", []string{"2:5 in1: a clearance of -0.05 mm is below zero", "3:5 ex1: a clearance of -0.1 mm is below zero"}},
		"shim a slip":          {header + "in1,0.07,24.5\nex1,0.08,0.25\n", []string{"2:10 in1: 24.5 mm is not a plausible shim size", "3:10 ex1: 0.25 mm is not a plausible shim size"}},
		"shim of 0":            {header + "in1,0.07,0\nex1,0.08,2.5\n", []string{"2:10 in1: 0 mm is not a plausible shim size"}},
		"inches, shims":        {header + "in1,0.07,.098\nex1,0.08,2.5\n", []string{"2:10 in1: 0.098 mm is not a plausible shim size"}},
		"inches, clearances":   {header + "in1,0.003,2.45\nex1,0.0045,2.5\n", []string{"2:5 in1: a clearance of 0.003 mm is finer than the gauge can tell: inches in a file of mm?", "3:5 ex1: a clearance of 0.0045 mm is finer than the gauge can tell: inches in a file of mm?"}},
		"an inch among mm":     {header + "in1,0.003,2.45\nex1,0.07,2.5\n", []string{"2:5 in1: a clearance of 0.003 mm is finer than the gauge can tell: inches in a file of mm?"}},
		"zero":                 {header + "in1,0,2.45\nex1,0-0.05,2.5\n", []string{"2:5 in1: a clearance of 0 is no measurement", "3:5 ex1: a clearance of 0 is no measurement"}},
		"wrong way round":      {header + "in1,0.18-0.15,2.45\nex1,0.1-0.1,2.5\n", []string{`2:5 in1: "0.18-0.15" is the wrong way round`, `3:5 ex1: "0.1-0.1" is the wrong way round`}},
		"bad numbers":          {header + "in1,0.1.5,2.4x\nex1,0.15-,1e1\n", []string{`2:5 in1: "0.1.5" is not a number`, `2:11 in1: "2.4x" is not a number`, `3:5 ex1: "0.15-" is not a number`, `3:11 ex1: "1e1" is not a number`}},
		"bad gauge":            {header + "in1,<,2.45\nex1,<0,2.5\n", []string{`2:5 in1: "<" is not a number`, "3:5 ex1: no leaf has a thickness of 0"}},
		"too fine":             {header + "in1,0.0700001,2.45\nex1,0.08,99999999999999\n", []string{`2:5 in1: "0.0700001" is finer than a nanometre`, `3:10 ex1: "99999999999999" is too large`}},
		"empty cells":          {header + "in1,,2.45\nex1,0.08,\n", []string{"2:5 in1: the clearance is missing", "3:10 ex1: the installed shim is missing"}},
		"too few cells":        {header + "in1,0.07\nex1,0.08,2.5\n", []string{"2:5 : the row has 2 cells where the header has 3"}},
		"too many cells":       {header + "in1,0,07,2,45\nex1,0.08,2.5\n", []string{"2:10 : the row has 5 cells where the header has 3"}},
		"an empty cell more":   {header + "in1,0.07,2.45,\nex1,0.08,2.5\n", []string{"2:15 : the row has 4 cells where the header has 3"}},
		"nameless column":      {"valve,clearance,shim,\nin1,0.07,2.45,x\nex1,0.08,2.5,\n", []string{`2:15 : "x" stands under no column`}},
		"decimal comma":        {header + "in1,\"0,07\",2.45\nex1,0.08,2.5\n", []string{`2:5 in1: "0,07" is not a number`}},
		"comma, four columns":  {"valve,clearance,shim,note\nin1,0,07,2.45\nex1,<0,05,2.5\n", []string{`2:5 in1: "0,07" fell into two cells at its decimal comma`, `3:5 ex1: "<0,05" fell into two cells at its decimal comma`}},
		"comma, one decimal":   {"valve,clearance,shim,note\nin1,0,1,2.45\nex1,0.08,2.5,\n", []string{`2:5 in1: "0,1" fell into two cells at its decimal comma`}},
		"comma in a bracket":   {"valve,clearance,shim,mic,note\nin1,0,07-0,08,2.45\nex1,0.08,2.5,,\n", []string{`2:5 in1: "0,07-0" fell into two cells at its decimal comma`}},
		"comma in a shim":      {"valve,clearance,shim,note\nin1,0.07,2,45\nex1,0.08,2.5,12\n", []string{`2:10 in1: "2,45" fell into two cells at its decimal comma`}},
		"no comma":             {"valve,clearance,shim,job\nin1,0,2,12\nex1,0.08,2,12\n", []string{`2:5 in1: a clearance of 0 is no measurement`}},
		"two commas":           {"valve;clearance;shim\nin1;0,0,7;2,45\nex1;0,08;1.2,5\n", []string{`2:5 in1: "0,0,7" is not a number`, `3:10 ex1: "1.2,5" is not a number`}},
		"unknown engine":       {"valve,clearance,shim,engine\nin1,0.07,2.45,Plover 350\nex1,0.08,2.5,Plover 250\nin1,0.08,2.5,Plover 250\n", []string{`2:15 engine: unknown engine "Plover 350"`}},
		"jobs mixed":           {"valve,clearance,shim,job\nin1,0.07,2.45,7\nex1,0.08,2.5,\n", []string{"3:14 job: the row names no job where others do"}},
		"missing by job":       {"valve,clearance,shim,job\nin1,0.07,2.45,7\nex1,0.08,2.5,8\n", []string{`2:0 : missing valve ex1 in job "7"`, `3:0 : missing valve in1 in job "8"`}},
		"open quote":           {header + "\"in1,0.07,2.45\nex1,0.08,2.5\nex1,0.08,2.5\n", []string{"2:0 : a quotation mark does not close its cell"}},
		"open quote, one line": {header + good + "in1,0.07,\"2.45", []string{"4:15 : a quotation mark does not close its cell"}},
		"bare quote":           {header + good + "in1,0.0\"7,2.45\n", []string{"4:8 : there is a quotation mark in the middle of a cell"}},
		"spreadsheet":          {"PK\x03\x04\x14\x00\x06", []string{"0:0 : this looks like a spreadsheet file"}},
		"UTF-16":               {"\xff\xfev\x00a\x00", []string{"0:0 : this is text in UTF-16"}},
		"NUL at once":          {"val\x00ve", []string{"0:0 : this is not text: it holds a NUL byte; it looks like a spreadsheet file"}},
		"garbage":              {"\x9c\xf0\x28\x8c\x28,\xff", []string{"0:0 : this is not text in UTF-8"}},
		"Latin 1":              {header[:len(header)-1] + ",note\nin1,0.07,2.45,gr\xfcn\nex1,0.08,2.5,gr\xfcn\n", []string{"2:15 : the text is not UTF-8"}},
		"huge header":          {strings.Repeat("valve,", 20_000), []string{"1:0 : the line is longer than 65536 bytes"}},
		"huge line":            {header + good + "in1," + strings.Repeat("0", 70_000) + ",2.4\n", []string{"4:0 : the line is longer than 65536 bytes"}},
		"sorted":               {header + "in1,1.5,24.5\nin1,0.07,2.45\nfoo,0.07,2.45\n", []string{"2:5 in1: 1.5 mm is not a plausible clearance", "2:9 in1: 24.5 mm is not a plausible shim size", "3:1 in1: duplicate row for this valve, first on line 2", "4:0 : missing valve ex1", `4:1 valve: "foo" is not the name of a valve`}},
	} {
		checks, _, err := ReadCheck("check.csv", strings.NewReader(c.text), []*shim.Engine{single(t, "mm")}, CheckOptions{})
		assert.Nil(t, checks, name)
		assert.Equal(t, c.want, told(t, err), name)
	}
}

func TestReadCheckFaultsOfSeveralEngines(t *testing.T) {
	engines := []*shim.Engine{twin(t), single(t, "mm")}
	_, _, err := ReadCheck("check.csv", strings.NewReader("valve,clearance,shim\nin1,0.07,2.45\n"), engines, CheckOptions{})
	assert.Equal(t, []string{"1:0 engine: the column engine is missing: 2 engines are given"}, told(t, err))
	_, _, err = ReadCheck("check.csv", strings.NewReader("valve,clearance,shim,engine\nin1,0.07,2.45,Plover 250\nex1,0.07,2.45,\nex1,0.07,2.45,plover 250\n"), engines, CheckOptions{})
	assert.Equal(t, []string{"3:15 engine: the row names no engine"}, told(t, err))
	_, _, err = ReadCheck("check.csv", strings.NewReader("valve,clearance,shim\nin1,0.07,2.45\n"), nil, CheckOptions{})
	assert.Equal(t, []string{"0:0 : no engine is given for this check"}, told(t, err))
	_, _, err = ReadCheck("check.csv", strings.NewReader("valve,clearance,shim,mic\nin1a,2.5,2.45,0.1\n"), []*shim.Engine{single(t, "in")}, CheckOptions{})
	assert.Equal(t, []string{"2:0 : missing valve ex1", "2:6 in1a: 2.5 in is not a plausible clearance", "2:10 in1a: 2.45 in is not a plausible shim size"}, told(t, err))
}

func TestReadCheckNamesFewMissingValves(t *testing.T) {
	e, _ := manyRows(0, false)
	_, _, err := ReadCheck("check.csv", strings.NewReader("valve,clearance,shim\nin1a,0.17,2.45\n"), []*shim.Engine{e}, CheckOptions{})
	list := told(t, err)
	require.Len(t, list, 9)
	assert.Equal(t, "2:0 : missing valve in1b", list[0])
	assert.Equal(t, "2:0 : 7 more valves are missing", list[8])
}

func TestReadCheckHints(t *testing.T) {
	_, _, err := ReadCheck("check.csv", strings.NewReader("valve,clearance,shim\nin3a,0.17,2.45\n"), []*shim.Engine{twin(t)}, CheckOptions{})
	var faults Faults
	require.ErrorAs(t, err, &faults)
	assert.Contains(t, faults[len(faults)-1].Hint, "did you mean in1a?")
	assert.Contains(t, faults[len(faults)-1].Hint, "in1a to ex2b")
	assert.Equal(t, "check.csv:2:1: in3a: the engine has no such valve", faults[len(faults)-1].Error())

	_, _, err = ReadCheck("check.csv", strings.NewReader("valve,clearence,shim\n"), []*shim.Engine{twin(t)}, CheckOptions{})
	require.ErrorAs(t, err, &faults)
	assert.Contains(t, err.Error(), "clearence")
	assert.Contains(t, faults[1].Hint, "did you mean clearance?")
}

// A clearance without its decimal point is guessed by the limits of its own valve.
func TestReadCheckGuessesByLimits(t *testing.T) {
	e := *twin(t)
	e.Intake.Limits = shim.Limits{Tight: 40_000, Loose: 80_000}
	_, _, err := ReadCheck("check.csv", strings.NewReader("valve,clearance,shim\nin1a,5,2.45\nex1a,5,2.45\n"), []*shim.Engine{&e}, CheckOptions{})
	hints := map[string]string{}
	var faults Faults
	require.ErrorAs(t, err, &faults)
	for _, f := range faults {
		hints[f.Error()] = f.Hint
	}
	assert.Contains(t, hints["check.csv:2:6: in1a: 5 mm is not a plausible clearance"], "; 0.05?")
	assert.Contains(t, hints["check.csv:3:6: ex1a: 5 mm is not a plausible clearance"], "; 0.5?")
}

func TestReadCheckWarnings(t *testing.T) {
	text := `valve,clearance,shim,mic
in1a,0.15,3.50,
in1b,0.15,2.50,1.15
in2a,0.15,2.50,2.44
in2b,0.15,2.50,2.451
ex1a,0.22,1.20,
ex1b,0.22,3.00,
ex2a,0.22,,2.51
ex2b,0.22,2.50,
`
	_, warnings, err := ReadCheck("check.csv", strings.NewReader(text), []*shim.Engine{twin(t)}, CheckOptions{})
	require.NoError(t, err)
	assert.Equal(t, []string{
		"2:11 in1a: a shim of 3.5 mm lies outside the engine's catalogue, 1.2 to 3 mm",
		"3:16 in1b: the micrometer reads 1.15 but the stamp says 2.5 mm",
		"3:16 in1b: a shim of 1.15 mm lies outside the engine's catalogue, 1.2 to 3 mm",
		"4:16 in2a: the micrometer reads 2.44 but the stamp says 2.5 mm",
	}, lines(warnings))
}

// A closer's shim is held against the closers' catalogue.
func TestReadCheckWarnsOfClosersByTheirCatalogue(t *testing.T) {
	e := twin(t)
	const um = shim.Micrometre
	e.Intake.Closer = &shim.Closer{Limits: shim.Limits{Tight: 30 * um, Loose: 200 * um}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One},
		Family: shim.Family{Kind: "closer", Diameter: 9000 * um}, Catalogue: []shim.Range{{From: 2800 * um, To: 4000 * um, Step: 50 * um}}}
	text := "valve,clearance,shim\nin1a,0.15,2.5\nin1a.closer,0.10,3.5\nin1b,0.15,2.5\nin1b.closer,0.10,2.5\nin2a,0.15,2.5\nin2a.closer,0.10,3\nin2b,0.15,2.5\nin2b.closer,0.10,3\nex1a,0.22,2\nex1b,0.22,2\nex2a,0.22,2\nex2b,0.22,2\n"
	_, warnings, err := ReadCheck("check.csv", strings.NewReader(text), []*shim.Engine{e}, CheckOptions{})
	require.NoError(t, err)
	assert.Equal(t, []string{"5:18 in1b.closer: a shim of 2.5 mm lies outside the engine's catalogue, 2.8 to 4 mm"}, lines(warnings))
}

func TestReadCheckUnmeasured(t *testing.T) {
	text := "valve,clearance,shim\nin1,,2.45\nex1,0.08,\n"
	checks, _, err := ReadCheck("check.csv", strings.NewReader(text), []*shim.Engine{single(t, "mm")}, CheckOptions{AllowUnmeasured: true})
	require.NoError(t, err)
	assert.Equal(t, shim.Unread, checks[0].Measurements[0].Reading.Kind)
	assert.Zero(t, checks[0].Measurements[1].Size())
}

func TestReadCheckWithoutShims(t *testing.T) {
	e := []*shim.Engine{single(t, "mm")}
	options := CheckOptions{AllowNoShims: true}
	for _, text := range []string{"clearance,valve\n0.07,in1\n0.08,ex1\n", "valve,clearance,shim,mic\nin1,0.07,,\nex1,0.08,,\n"} {
		checks, _, err := ReadCheck("check.csv", strings.NewReader(text), e, options)
		require.NoError(t, err, text)
		for _, m := range checks[0].Measurements {
			assert.Zero(t, m.Size(), text)
			assert.Equal(t, shim.Single, m.Reading.Kind, text)
		}
	}
	checks, _, err := ReadCheck("check.csv", strings.NewReader("valve,clearance,mic\nin1,0.07,2.45\nex1,0.08,\n"), e, options)
	require.NoError(t, err)
	assert.Equal(t, mm(t, "2.45"), checks[0].Measurements[0].Size())
	// A clearance is asked for all the same, and shims where nobody does without them.
	_, _, err = ReadCheck("check.csv", strings.NewReader("valve,clearance\nin1,\nex1,0.08\n"), e, options)
	assert.Equal(t, []string{"2:5 in1: the clearance is missing"}, told(t, err))
	_, _, err = ReadCheck("check.csv", strings.NewReader("valve,clearance\nin1,0.07\nex1,0.08\n"), e, CheckOptions{})
	assert.Len(t, told(t, err), 1)
}

// TestReadCheckOrder shows that the order of the rows does not matter.
func TestReadCheckOrder(t *testing.T) {
	e, straight := manyRows(30, false)
	_, shuffled := manyRows(30, true)
	want, _, err := ReadCheck("a.csv", strings.NewReader(straight), []*shim.Engine{e}, CheckOptions{})
	require.NoError(t, err)
	have, _, err := ReadCheck("b.csv", strings.NewReader(shuffled), []*shim.Engine{e}, CheckOptions{})
	require.NoError(t, err)
	assert.Len(t, want, 30)
	assert.Equal(t, want, have)
}

func TestNatural(t *testing.T) {
	ordered := []string{"", "01", "1", "2", "2a", "10", "a", "a2", "a10", "a10b", "b"}
	for i, a := range ordered {
		for j, b := range ordered {
			have := natural(a, b)
			assert.Equal(t, i < j, have < 0, "%q %q", a, b)
			assert.Equal(t, have, -natural(b, a), "%q %q", a, b)
			assert.Equal(t, i == j, have == 0, "%q %q", a, b)
		}
	}
}

// roundTrip writes the checks and reads them again.
func roundTrip(t testing.TB, checks []Check, engines []*shim.Engine) {
	var out bytes.Buffer
	require.NoError(t, WriteCheck(&out, checks))
	again, _, err := ReadCheck("again.csv", bytes.NewReader(out.Bytes()), engines, CheckOptions{AllowUnmeasured: true})
	require.NoError(t, err, "%q", out.String())
	require.Equal(t, checks, again, "%q", out.String())
}

func TestWriteCheck(t *testing.T) {
	e := single(t, "in")
	checks, _, err := ReadCheck("check.csv", strings.NewReader("valve,clearance,shim,mic,note,job\nin1,<0.001995,0.1,,\"a;b\n#\",x\nex1,0.00400-0.0045,0.0985,0.098505,,x\n"), []*shim.Engine{e}, CheckOptions{})
	require.NoError(t, err)
	var out bytes.Buffer
	require.NoError(t, WriteCheck(&out, checks))
	assert.Equal(t, "valve,clearance,shim,mic,job,note\nin1,<0.001995,0.10,,x,a;b #\nex1,0.004-0.0045,0.0985,0.098505,x,\n", out.String())
	roundTrip(t, checks, []*shim.Engine{e})
}

func FuzzReadCheck(f *testing.F) {
	f.Add("valve,clearance,shim\nin1,0.07,2.45\nex1,0.08-0.10,2.5\n", "mm")
	f.Add("\ufeffvalve;clearance;shim;mic;note;job;engine\r\nin1a;<0,07;2,45;2,44;x;1;Plover 250\r\nex1;>0,08;;2,5;\"a\n\"\"b\";1;\r\n", "mm")
	f.Add("sep=\t\nvalve\tclearance\tshim\nin1\t\t.1\n\nex1\t.003\t\n# end", "in")
	f.Add("valve,clearance,shim,job\nin1,0.01,2.45,10\nex1,0.01,2.5,10\nex1,0.01,2.5,2\n", "mm")
	f.Fuzz(func(t *testing.T, text, units string) {
		if units != "in" {
			units = "mm"
		}
		engines := []*shim.Engine{single(t, units)}
		checks, _, err := ReadCheck("check.csv", strings.NewReader(text), engines, CheckOptions{AllowUnmeasured: true})
		if err != nil {
			require.NotEmpty(t, told(t, err))
			require.Nil(t, checks)
			return
		}
		require.NotEmpty(t, checks)
		for _, c := range checks {
			require.Len(t, c.Measurements, 2)
			for i, m := range c.Measurements {
				place, found := c.Of.Find(m.Valve)
				require.True(t, found)
				require.Equal(t, i, place)
				for _, size := range []shim.Length{m.Stamp, m.Mic} {
					require.True(t, size == 0 || shim.ImplausibleSize(size, shim.MM) == nil, size)
				}
				if clearance, ok := m.Reading.Estimate(); ok {
					require.NoError(t, shim.ImplausibleClearance(clearance, shim.MM))
				}
			}
		}
		roundTrip(t, checks, engines)
	})
}

// A part of a check keeps the valves that it names, in the engine's order.
func TestReadCheckPart(t *testing.T) {
	text := "valve,clearance,shim\nex1,0.18,\nin1,,2.450\n"
	_, _, err := ReadCheck("check.csv", strings.NewReader("valve,clearance,shim\nex1,0.18,2.4\n"), []*shim.Engine{single(t, "mm")}, CheckOptions{})
	require.ErrorContains(t, err, "missing valve in1")
	checks, _, err := ReadCheck("check.csv", strings.NewReader(text), []*shim.Engine{single(t, "mm")}, CheckOptions{AllowUnmeasured: true, AllowMissing: true})
	require.NoError(t, err)
	require.Len(t, checks, 1)
	require.Len(t, checks[0].Measurements, 2)
	assert.Equal(t, "in1", checks[0].Measurements[0].Valve.String())
	checks, _, err = ReadCheck("check.csv", strings.NewReader("valve,clearance,shim\nex1,0.18,2.4\n"), []*shim.Engine{single(t, "mm")}, CheckOptions{AllowMissing: true})
	require.NoError(t, err)
	require.Len(t, checks[0].Measurements, 1)
	assert.Equal(t, "ex1", checks[0].Measurements[0].Valve.String())
}
