package model_test

import (
	"bytes"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/model"
	"shimwright/testdata/effort"
)

// types types lines, parted by "|", of which none may be refused.
func types(t *testing.T, w *model.Walk, lines string) {
	t.Helper()
	for _, line := range strings.Split(lines, "|") {
		require.False(t, w.Done(), "%q comes after the last question", line)
		asked := w.Asks()
		if refused, is := w.Type(strings.TrimSpace(line)).(model.Refused); is {
			require.Fail(t, refused.Message, "%q at %+v; %s", line, asked, refused.Hint)
		}
	}
}

func mm(t *testing.T, text string) shim.Length {
	t.Helper()
	l, err := shim.MM.Parse(text)
	require.NoError(t, err)
	return l
}

// single are the answers for a head of one cylinder up to its limits.
const single = "Heron 250 single | single | | | | | | | under | | mm | | | | | "

func TestSingle(t *testing.T) {
	w := model.New(files.ParseMarks)
	types(t, w, single+"| 0.10-0.15 | y | | | 0,17 to 0,22 mm | y | 0,6 | 1 | | 8.9 | 1.20 | 3.00 | .025 | 7,80 | y | none | | | y")
	require.True(t, w.Done())
	half := shim.One / 2
	one := shim.Ratio{Times: shim.One}
	assert.Equal(t, &shim.Engine{
		Name: "Heron 250 single", Cylinders: 1, FiringOrder: []int{1},
		Intake:   shim.Train{Valves: 2, Limits: shim.Limits{Tight: mm(t, "0.10"), Loose: mm(t, "0.15")}, AimAt: half, Ratio: one},
		Exhaust:  shim.Train{Valves: 2, Limits: shim.Limits{Tight: mm(t, "0.17"), Loose: mm(t, "0.22")}, AimAt: 600_000, Ratio: one},
		Diameter: mm(t, "8.9"),
		Catalogue: []shim.Range{{From: mm(t, "1.2"), To: mm(t, "3"), Step: mm(t, "0.025"),
			Quote: shim.Quote{Price: 78_000, Priced: true}}},
	}, w.Engine())
}

// A V with its cam drive at the far end, a rocker, inches, and a gauge.
func TestV(t *testing.T) {
	w := model.New(files.ParseMarks)
	types(t, w, "Teal V4 | v | 4 | 1 3 / 2 4 | 1-3-2-4 | 90 270 90 270 | 2 | 1 | 3 | outside | | | top | 90 | shared | in | | warm | | | ")
	types(t, w, ".004 .006 | y | | 1.4 | cam | .006 +- .001 | y | | 1.4 | valve | | .35 | .05 | .05 | | y | .1|.12|.002|1|y| | | .001 | | | .0001 | y")
	require.True(t, w.Done())
	e := w.Engine()
	assert.Equal(t, [][]int{{3, 1}, {4, 2}}, e.Banks)
	assert.Equal(t, []int{1, 3, 2, 4}, e.FiringOrder)
	assert.Equal(t, []float64{90, 270, 90, 270}, e.FiringIntervals)
	assert.Equal(t, shim.RockerRatio(1_400_000), e.Intake.Ratio)
	assert.Equal(t, shim.Ratio{Times: shim.One}, e.Exhaust.Ratio)
	assert.Equal(t, shim.Limits{Tight: 127_000, Loose: 177_800}, e.Exhaust.Limits)
	assert.Equal(t, 90.0, e.DepressOffset)
	assert.Equal(t, shim.Warm, e.State)
	assert.True(t, e.SharedCams)
	assert.Len(t, e.Catalogue, 2)
	assert.Equal(t, shim.Length(25_400), e.Gauge.Step)
	assert.Equal(t, shim.Length(2_540), e.Gauge.Mic)
}

// Closers have limits and shims of their own, the exhaust's those of the intake
// where they are the same.
func TestClosers(t *testing.T) {
	w := model.New(files.ParseMarks)
	types(t, w, "Whimbrel 900 twin | closers | 2 | 1 / 2 | | | | | | | | | under | shared | mm | | | | | ")
	types(t, w, ".10-.15|y|| | 0-.10|y| | .10-.15|y|| | 0.03-0.20|y| | | 8 | | |7|2.5|3.5|.05||y||| yes | | y")
	require.True(t, w.Done())
	e := w.Engine()
	require.NotNil(t, e.Exhaust.Closer)
	assert.Equal(t, shim.Limits{Tight: 0, Loose: mm(t, "0.10")}, e.Intake.Closer.Limits)
	assert.Equal(t, shim.Family{Kind: "closer", Diameter: mm(t, "7")}, e.Exhaust.Closer.Family)
	assert.Equal(t, e.Intake.Closer.Catalogue, e.Exhaust.Closer.Catalogue)
}

// What cannot be is refused with a way out, and the question stands.
func TestRefused(t *testing.T) {
	for _, row := range []struct{ before, line, with, hint string }{
		{"", "", "has to be answered", "quit"},
		{"Heron", "five", "none of them", "single"},
		{"Heron | single", "0", "0 cylinders", "type how many"},
		{"Heron | line | | ", "1-3-4-4", "firing order", ""},
		{"Heron | v | 4", "1 2 / 3", "banks", "parted by /"},
		{"Heron | v | 4", "", "has to be answered", ""},
		{"Heron | single | | 0", "0", "no valves", ""},
		{"Heron | single | | | | | | | under | ", "", "has to be answered", ""},
		{single, "", "has to be answered", ""},
		{single, "0.14", "not two limits", "0.14-0.21"},
		{single, "0.21-0.14", "wrong way round", ""},
		{single, "14-21", "not a plausible clearance", "0.14?"},
		{single, "1.4-2.1", "not a plausible clearance", "0.14?"},
		{single, "<0.05-0.2", "not two limits", ""},
		{single, "-0.1-0.2", "below zero", ""},
		{single, "0,14", "\"0,14\" is not two limits", ""},
		{single, "0.14-0.21 0.3", "\"0.14-0.21 0.3\" is not two limits", ""},
		{single, "0.24mm-.009in", "wrong way round", ""},
		{single + "| 0.10-0.15 ", "maybe", "question", "y if"},
		{single + "| 0.10-0.15 | y ", "1.5", "aim of 1.5", ""},
		{single + "| 0.10-0.15 | y | | | 0.17-0.22 | y | ", "12", "rocker ratio of 12", ""},
		{single + "| 0.10-0.15 | y | | | 0.17-0.22 | y | ", "0.35in", "not a decimal", ""},
		{single + "| 0.10-0.15 | y | | | 0.17-0.22 | y | | | | 8.9 ", "0.098", "not a plausible shim size", "inches in a file of mm"},
		{single + "| 0.10-0.15 | y | | | 0.17-0.22 | y | | | | 8.9 | 2 ", "1", "thinner", ""},
		{single + "| 0.10-0.15 | y | | | 0.17-0.22 | y | | | | 8.9 | 1.2 | 3 ", "0.07", "the last size is 2.95, not 3", "3 as a further range of one size"},
		{single + "| 0.10-0.15 | y | | | 0.17-0.22 | y | | | | 8.9 | 1.2 | 3 ", "0.000001", "more than", ""},
		{single + "| 0.10-0.15 | y | | | 0.17-0.22 | y | | | | 8.9 | 1.2 | 3 | 0.05 | | y | | ", "0", "no set of leaves", "0.03"},
	} {
		w := model.New(files.ParseMarks)
		if row.before != "" {
			types(t, w, row.before)
		}
		asked := w.Asks()
		came := w.Type(row.line)
		require.IsType(t, model.Refused{}, came, "%s%q", row.before, row.line)
		refused := came.(model.Refused)
		assert.Contains(t, refused.Message, row.with, "%q", row.line)
		assert.NotEmpty(t, refused.Hint, "%q", row.line)
		assert.Contains(t, refused.Hint, row.hint, "%q", row.line)
		assert.Equal(t, asked, w.Asks(), "the question stands")
	}
}

// Limits that can be but look like a mistake are asked about; no takes them back,
// and what was typed is offered again.
func TestDoubted(t *testing.T) {
	for _, row := range []struct{ line, with, hint string }{
		{"0.006-0.009", "finer than a feeler gauge", "0.006 to 0.009 in would be 0.152 to 0.229 mm"},
		{"0.014-0.21", "15 times", "manual"},
	} {
		w := model.New(files.ParseMarks)
		types(t, w, single+"|"+row.line)
		q := w.Asks()
		require.True(t, q.ReadBack)
		require.NotNil(t, q.Doubt)
		assert.Contains(t, q.Doubt.Message, row.with)
		assert.Contains(t, q.Doubt.Hint, row.hint)
		require.Equal(t, model.Again{}, w.Type("n"))
		assert.Equal(t, model.Limits, w.Asks().Topic)
		assert.Equal(t, row.line, w.Asks().Usual)
		types(t, w, "0.14-0.21")
		assert.Nil(t, w.Asks().Doubt)
	}
}

// Back goes to the question before, past what was read back; an empty answer
// takes what was typed there; the model is what the last answers say.
func TestBack(t *testing.T) {
	w := model.New(files.ParseMarks)
	assert.Equal(t, model.First{}, w.Type("back"))
	types(t, w, single+"| 0.10-0.15 | y | back")
	assert.Equal(t, model.Limits, w.Asks().Topic)
	types(t, w, strings.Repeat("b|", 11)+"back")
	assert.Equal(t, model.Valves, w.Asks().Topic)
	types(t, w, "1 |"+strings.Repeat("|", 10)+"| 0.12-0.15 | y | 0.7 | | 0.17-0.22 | y | | | | 8.9 | | | | n")
	assert.Equal(t, model.Mend, w.Asks().Topic)
	types(t, w, "all")
	assert.Equal(t, model.Name, w.Asks().Topic, "all of it is asked again")
	types(t, w, strings.Repeat("|", 16)+"| y | | | | y")
	require.Equal(t, 1, w.Engine().Exhaust.Valves)
	assert.Equal(t, mm(t, "0.12"), w.Engine().Intake.Tight)
	types(t, w, "| | | | | | | y")
	require.True(t, w.Done())
	assert.Equal(t, shim.Factor(700_000), w.Engine().Intake.AimAt)
}

// What is wrong at the end is mended by itself: what still holds is not asked
// again, but limits that were typed anew are read back.
func TestMend(t *testing.T) {
	const all = single + "| 0.10-0.15 | y | | | 0.17-0.22 | y | | | | 8.9 | 1.2 | 3 | .05 | | y | | | "
	number := func(w *model.Walk, topic model.Topic, side shim.Side) string {
		for i, a := range w.Trail() {
			if a.Topic == topic && a.Side == side {
				return strconv.Itoa(i + 1)
			}
		}
		require.Fail(t, "not asked")
		return ""
	}
	w := model.New(files.ParseMarks)
	types(t, w, all)
	assert.Equal(t, model.Whole, w.Asks().Topic)
	types(t, w, "n")
	require.IsType(t, model.Refused{}, w.Type("99"))
	types(t, w, number(w, model.Limits, shim.Exhaust))
	q := w.Asks()
	assert.Equal(t, model.Limits, q.Topic)
	assert.Equal(t, "0.17-0.22", q.Usual)
	types(t, w, "0.18-0.22")
	assert.True(t, w.Asks().ReadBack)
	assert.Equal(t, model.Limits, w.Asks().Topic)
	types(t, w, "y")
	assert.Equal(t, model.Whole, w.Asks().Topic, "nothing else is asked")
	assert.Equal(t, mm(t, "0.18"), w.Engine().Exhaust.Tight)
	assert.Len(t, w.Engine().Catalogue, 1)
	types(t, w, "n | back")
	assert.Equal(t, model.Whole, w.Asks().Topic)
	// More cylinders: where they lie and fire is asked, the rest holds.
	types(t, w, "n |"+number(w, model.Cylinders, shim.Intake)+"| 2 ")
	assert.Equal(t, model.Banks, w.Asks().Topic)
	types(t, w, " | 1-2 | 270 450 | 1 ")
	assert.Equal(t, model.Whole, w.Asks().Topic)
	assert.Equal(t, mm(t, "0.10"), w.Engine().Intake.Tight)
	// Back while mending: the rest still holds.
	types(t, w, "n |"+number(w, model.Limits, shim.Exhaust)+"| 0.19-0.22 | back | back")
	assert.Equal(t, model.RockerRatio, w.Asks().Topic)
	types(t, w, "1.4 | valve | 0.20-0.22 | y")
	assert.Equal(t, model.Whole, w.Asks().Topic)
	assert.Equal(t, mm(t, "0.20"), w.Engine().Exhaust.Tight)
	// In another state the limits and the temperature are asked again, and nothing is offered.
	types(t, w, "n |"+number(w, model.State, shim.Intake)+"| warm ")
	assert.Equal(t, model.Celsius, w.Asks().Topic)
	require.IsType(t, model.Refused{}, w.Type("140-180F"))
	types(t, w, "60-80")
	assert.Equal(t, model.Limits, w.Asks().Topic)
	assert.Empty(t, w.Asks().Usual)
	types(t, w, "0.15-0.20 | y")
	assert.Equal(t, shim.Exhaust, w.Asks().Side)
	assert.Empty(t, w.Asks().Usual)
	types(t, w, "0.25-0.30 | y")
	assert.Equal(t, model.Whole, w.Asks().Topic)
	types(t, w, "n |"+number(w, model.State, shim.Intake)+"| warm ")
	assert.Equal(t, model.Whole, w.Asks().Topic, "the same again changes nothing")
	assert.Equal(t, mm(t, "0.25"), w.Engine().Exhaust.Tight)
	// In another unit every figure is asked again.
	types(t, w, "n |"+number(w, model.Units, shim.Intake)+"| in ")
	assert.Equal(t, model.ShimUnits, w.Asks().Topic)
	types(t, w, "mm")
	for w.Asks().Topic != model.Limits {
		assert.NotContains(t, w.Asks().Usual, "0.2", "a figure in mm is no usual one in inches: %v", w.Asks().Topic)
		types(t, w, "")
	}
	assert.Equal(t, model.Limits, w.Asks().Topic)
	require.IsType(t, model.Refused{}, w.Type("1.0-1.5"))
}

// A gauge of inches and shims in mm, and the other way round; a figure with its
// unit behind it is taken at any prompt. Where mm have no exact decimals in
// inches, the file is in mm.
func TestBothUnits(t *testing.T) {
	for _, row := range []struct {
		units, limits, diameter, from, to, step string
		want                                    shim.UnitPair
		tight                                   shim.Length
		size                                    shim.Length
	}{
		{"in | mm", ".006-.009", "8.9", "2.45", "3.00", "0.05", shim.UnitPair{Clearance: shim.IN, Size: shim.MM}, 152_400, 2_450_000},
		{"in | ", ".006in-.009in", "8.9mm", "2.45mm", "3.00mm", "0.05mm", shim.UnitPair{Clearance: shim.IN, Size: shim.MM}, 152_400, 2_450_000},
		{"mm | in", "0.15-0.20", ".35", ".100", ".120", ".002", shim.UnitPair{Clearance: shim.MM, Size: shim.IN}, 150_000, 2_540_000},
		{"in | in", "0.15-0.20 mm", ".35", ".100", ".120", ".002", shim.UnitPair{Clearance: shim.MM, Size: shim.IN}, 150_000, 2_540_000},
		{"mm | mm", `.006"-.009"`, ".35in", ".100in", "3.048", ".002in", shim.MM.Both(), 152_400, 2_540_000},
	} {
		w := model.New(files.ParseMarks)
		types(t, w, "Twin | single | | | 0 | | | under | "+row.units+"| | | | ")
		types(t, w, row.limits+"| y | | | | "+row.diameter+"|"+row.from+"|"+row.to+"|"+row.step+"| | y | | | | y")
		require.True(t, w.Done(), row)
		e := w.Engine()
		assert.Equal(t, row.want, e.Units, row)
		assert.Equal(t, row.tight, e.Intake.Tight, row)
		assert.Equal(t, row.size, e.Catalogue[0].From, row)
		sameAgain(t, e)
	}
}

// What only some engines have: lines before measuring, timing, figures of a build,
// marks.
func TestWhatSomeHave(t *testing.T) {
	w := model.New(files.ParseMarks)
	types(t, w, "Twin | single | | | | | 15 45 | 45/15 | top | 40 back | | mm | | | Caps  level. | Cover off. | | 2 ")
	require.IsType(t, model.Refused{}, w.Type("59-77"), "Fahrenheit")
	types(t, w, "15-25 °C | 0.10-0.15 | y | | | 0.17-0.22 | y | | | yes | 0.02 | 0.005 | 0.2 | | -0.01 | | | 0.5")
	types(t, w, "8.9 | 2.4 | 3 | 0.05 | | y | ")
	require.IsType(t, model.Refused{}, w.Type("2.45 + 0,025 n"))
	types(t, w, "2.4 + 0.05 n | | y")
	require.True(t, w.Done())
	e := w.Engine()
	assert.Equal(t, []string{"Caps level.", "Cover off."}, e.Before.Lines)
	assert.Equal(t, 2, e.Before.Turns)
	assert.Equal(t, "15 to 25 °C", e.Before.Temperature.String())
	assert.Equal(t, -40.0, e.DepressOffset)
	assert.Equal(t, &shim.Timing{Opens: 45, Closes: 15}, e.Exhaust.Timing)
	assert.Equal(t, shim.Allowance{By: mm(t, "0.02"), Doubt: mm(t, "0.005")}, e.Intake.Allowance)
	assert.Equal(t, mm(t, "0.2"), *e.Intake.StemGrindMax)
	assert.Equal(t, mm(t, "0.5"), e.Exhaust.ShimProudMin)
	assert.Equal(t, "2", e.Marks.Of(mm(t, "2.5")))
	sameAgain(t, e)
}

// sameAgain writes an engine and reads it, without a warning, as it was.
func sameAgain(t *testing.T, e *shim.Engine) {
	t.Helper()
	require.Empty(t, e.Validate())
	var b bytes.Buffer
	require.NoError(t, files.WriteEngine(&b, e))
	again, warnings, err := files.ReadEngine("model.toml", bytes.NewReader(b.Bytes()))
	require.NoError(t, err, "%s", b.String())
	require.Empty(t, warnings, "%s", b.String())
	require.Equal(t, e, again, "%s", b.String())
}

func TestQuit(t *testing.T) {
	w := model.New(files.ParseMarks)
	types(t, w, single+"| quit")
	assert.True(t, w.Done())
	assert.True(t, w.Left())
}

// The valves lie as the forms on paper have them.
func TestPicture(t *testing.T) {
	train := shim.Train{Valves: 2}
	for _, row := range []struct {
		engine shim.Engine
		want   string
	}{
		{shim.Engine{Cylinders: 2, Intake: train, Exhaust: shim.Train{Valves: 1}}, `
== cam-drive end ==
 in            ex
-------------------
in1a   ( 1 )   ex1
in1b
-------------------
in2a   ( 2 )   ex2
in2b
-------------------`},
		{shim.Engine{Cylinders: 3, Banks: [][]int{{3, 1}, {2}}, Intake: train, Exhaust: train}, `
============ cam-drive end =============
 ex   bank 1   in     in   bank 2   ex
----------------------------------------
ex3a   ( 3 )  in3a   in2a   ( 2 )  ex2a
ex3b          in3b   in2b          ex2b
----------------------------------------
ex1a   ( 1 )  in1a
ex1b          in1b
----------------------------------------`},
	} {
		assert.Equal(t, strings.TrimPrefix(row.want, "\n"), strings.Join(model.Picture(&row.engine), "\n"))
	}
}

// No head is drawn wider than 40 characters, and each has all its valves.
func TestPictureOfAnyHead(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 9))
	for range max(50, effort.Of(2000)) {
		e := &shim.Engine{Cylinders: 1 + r.IntN(16), IntakeSide: shim.Placing(r.IntN(4)), Intake: shim.Train{Valves: 1 + r.IntN(5)}, Exhaust: shim.Train{Valves: r.IntN(6)}}
		for all := r.Perm(e.Cylinders); len(all) > 0; {
			n := 1 + r.IntN(len(all))
			var bank []int
			for _, i := range all[:n] {
				bank = append(bank, i+1)
			}
			e.Banks, all = append(e.Banks, bank), all[n:]
		}
		lines := model.Picture(e)
		drawn := map[string]int{}
		for _, line := range lines {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), 40, line)
			assert.Equal(t, strings.TrimRight(line, " "), line)
			for _, word := range strings.Fields(line) {
				drawn[word]++
			}
		}
		for _, v := range e.Valves() {
			assert.Equal(t, 1, drawn[v.String()], "%s in\n%s", v, strings.Join(lines, "\n"))
		}
	}
}

// FuzzModelNew types anything: nothing is taken that a file could not say. What
// comes to its end can be written and is read as the same engine, without a
// warning.
func FuzzModelNew(f *testing.F) {
	f.Add(single + "| 0.10-0.15 | y | | | 0,17 to 0,22 mm | y | 0,6 | 1 | | 8.9 | 1.20 | 3.00 | .025 | 7,80 | y | none | | | y")
	f.Add("Teal | v | 4 | 1 3/2 4 | 1-3-2-4 | 90 270 90 270 | | | | | | | top | 90 | | in | mm | | | | | .004-.006 | y | | 1.4 | cam | .006 .008 | y | | | | 8.9 | | | .001 | | | | y")
	f.Add("Whimbrel | closers | 1 | | | | | | 10 40 | | under | | mm | | | x | | 2 | 15-25 | .1-.15|y|||0-.1|y||.1-.15|y|||.03-.2|y|| yes | .01 | | | | | .02 | .01 | | | | 8|||7|2.5|3.5|.05||y||A = 2.5|yes||n|12| 5 10 |y")
	f.Add("Heron | line | | | | | | | 4 | left | | | under | | mm | | | | | | 0.1-0.2|n|0.1-0.3|y|back|back|0.1-0.2|y|?|list|x|quit")
	f.Fuzz(func(t *testing.T, lines string) {
		w := model.New(files.ParseMarks)
		for _, line := range strings.Split(lines, "|") {
			if w.Done() {
				break
			}
			if refused, is := w.Type(line).(model.Refused); is {
				require.NotEmpty(t, refused.Message)
			}
		}
		if !w.Done() || w.Left() {
			return
		}
		require.NotEmpty(t, model.Picture(w.Engine()))
		sameAgain(t, w.Engine())
	})
}
