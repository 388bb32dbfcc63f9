package shim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// sound is an invented engine with the given number of valves a cylinder.
func sound(cylinders, intake, exhaust int) *Engine {
	return &Engine{
		Name:      "Invented test engine",
		Cylinders: cylinders,
		Intake:    Train{Valves: intake, Limits: limits("0.14", "0.21"), AimAt: One / 2, Ratio: Ratio{Times: One}},
		Exhaust:   Train{Valves: exhaust, Limits: limits("0.20", "0.27"), AimAt: factor("0.6"), Ratio: Ratio{Times: One}},
		Diameter:  mm("8.9"),
		Catalogue: []Range{{From: mm("1.20"), To: mm("3.00"), Step: mm("0.025"), Quote: Quote{Price: 78_000, Priced: true}}},
	}
}

func names(valves []Valve) []string {
	var list []string
	for _, v := range valves {
		list = append(list, v.String())
	}
	return list
}

func TestValves(t *testing.T) {
	assert.Equal(t, []string{"in1a", "in1b", "ex1a", "ex1b", "in2a", "in2b", "ex2a", "ex2b"}, names(sound(2, 2, 2).Valves()))
	assert.Equal(t, []string{"in1", "ex1", "in2", "ex2", "in3", "ex3"}, names(sound(3, 1, 1).Valves()))
	assert.Equal(t, []string{"in1a", "in1b", "in1c", "ex1a", "ex1b"}, names(sound(1, 3, 2).Valves()))
	assert.Equal(t, []string{"in1a", "in1b", "ex1", "in2a", "in2b", "ex2"}, names(sound(2, 2, 1).Valves()))
	assert.Equal(t, []string{"ex1", "ex2"}, names(sound(2, 0, 1).Valves()), "a side without adjustable valves")
}

// Find is checked against a search in the list of the engine's valves, for
// every engine of up to five valves a side and every name near its own.
func TestFindAgreesWithValves(t *testing.T) {
	for intake := 0; intake <= MaxValves; intake++ {
		for exhaust := 0; exhaust <= MaxValves; exhaust++ {
			for _, cylinders := range []int{1, 2, 3, 12} {
				e := sound(cylinders, intake, exhaust)
				valves := e.Valves()
				require.Len(t, valves, cylinders*(intake+exhaust))
				require.True(t, slices.IsSortedFunc(valves, Valve.Compare), "%v", valves)
				for cylinder := -1; cylinder <= cylinders+1; cylinder++ {
					for _, side := range Sides {
						for _, letter := range []byte{0, 'A', '`', 'a', 'b', 'c', 'd', 'e', 'f', 255} {
							v := Valve{Side: side, Cylinder: cylinder, Letter: letter}
							listed := v
							if letter == 'a' && e.Train(side).Valves == 1 {
								listed.Letter = 0 // in2 is in2a where the side has one valve
							}
							want := slices.Index(valves, listed)
							place, found := e.Find(v)
							require.Equal(t, want >= 0, found, "%+v of %d+%d valves", v, intake, exhaust)
							if found {
								require.Equal(t, want, place, "%+v of %d+%d valves", v, intake, exhaust)
							}
						}
					}
				}
			}
		}
	}
}

func TestTrain(t *testing.T) {
	e := sound(2, 2, 2)
	assert.Equal(t, mm("0.175"), e.Train(Intake).Aim())
	assert.Equal(t, mm("0.242"), e.Train(Exhaust).Aim())
}

func TestEngineSetting(t *testing.T) {
	e := sound(2, 2, 2)
	e.Exhaust.Ratio = Ratio{Times: factor("0.7")}
	valve := Valve{Side: Exhaust, Cylinder: 2, Letter: 'b'}
	s, ok := e.Setting(Measurement{Valve: valve, Reading: Reading{Kind: Bracket, Low: mm("0.15"), High: mm("0.18")}, Marks: Marks{Stamp: mm("2.70"), Mic: mm("2.687")}})
	require.True(t, ok)
	assert.Equal(t, Setting{Limits: limits("0.20", "0.27"), Aim: mm("0.242"), Ratio: Ratio{Times: factor("0.7")}, Clearance: mm("0.165"), Size: mm("2.687")}, s)

	for _, m := range []Measurement{
		{Valve: valve, Marks: Marks{Stamp: mm("2.70")}},
		{Valve: valve, Marks: Marks{Stamp: mm("2.70")}, Reading: Reading{Kind: Below, High: mm("0.05")}},
		{Valve: valve, Marks: Marks{Stamp: mm("2.70")}, Reading: Reading{Kind: Above, Low: mm("0.60")}},
		{Valve: valve, Reading: ReadingOf(mm("0.15"))},
	} {
		_, ok := e.Setting(m)
		assert.False(t, ok, "%+v", m)
	}
}

func TestCamshafts(t *testing.T) {
	camNames := func(e *Engine) []string {
		var list []string
		for _, cam := range e.CamshaftList() {
			list = append(list, cam.Name)
		}
		return list
	}
	e := sound(4, 2, 2)
	assert.Equal(t, []string{"intake", "exhaust"}, camNames(e))
	assert.Equal(t, [][]int{{1, 2, 3, 4}}, e.BankList())
	e.SharedCams = true
	assert.Equal(t, []string{"shared"}, camNames(e))
	e.Banks = [][]int{{1, 3}, {2, 4}}
	assert.Equal(t, []string{"shared-1", "shared-2"}, camNames(e))
	e.SharedCams = false
	assert.Equal(t, []string{"intake-1", "exhaust-1", "intake-2", "exhaust-2"}, camNames(e))
	assert.Equal(t, []string{"exhaust"}, camNames(sound(2, 0, 1)))
}

// Every valve stands under one camshaft, that of its side and its bank.
func TestCovers(t *testing.T) {
	for _, banks := range [][][]int{nil, {{1, 2, 3}, {4, 5, 6}}, {{1, 3, 5}, {2, 4, 6}}, {{6, 1}, {2, 5}, {3, 4}}} {
		for _, shared := range []bool{false, true} {
			for valves := 1; valves <= MaxValves; valves++ {
				e := sound(6, valves, (valves+1)/2)
				e.Banks, e.SharedCams = banks, shared
				require.Empty(t, e.Validate())
				for _, v := range e.Valves() {
					var over []Camshaft
					for _, cam := range e.CamshaftList() {
						if e.Covers(cam, v) {
							over = append(over, cam)
						}
					}
					require.Len(t, over, 1, "%s with banks %v", v, banks)
					assert.Equal(t, shared, over[0].Shared)
					assert.True(t, shared || over[0].Side == v.Side, "%s under %s", v, over[0].Name)
					assert.Contains(t, e.BankList()[over[0].Bank-1], v.Cylinder, "%s under %s", v, over[0].Name)
				}
			}
		}
	}
}

func TestSoundEngines(t *testing.T) {
	for intake := 0; intake <= MaxValves; intake++ {
		for exhaust := 0; exhaust <= MaxValves; exhaust++ {
			if intake+exhaust > 0 {
				assert.Empty(t, sound(4, intake, exhaust).Validate(), "%d+%d valves", intake, exhaust)
			}
		}
	}
	e := sound(2, 1, 1)
	e.FiringOrder = []int{2, 1}
	e.FiringIntervals = []float64{270, 450}
	e.Banks = [][]int{{1}, {2}}
	e.Intake.Timing = &Timing{Opens: -5, Closes: 35}
	e.Intake.Ratio, e.Exhaust.Ratio = Ratio{Times: One / 10}, Ratio{Times: 10 * One}
	e.Intake.AimAt, e.Exhaust.AimAt = 0, One
	e.Catalogue = nil
	assert.Empty(t, e.Validate(), "everything at its bounds")

	e = sound(2, 0, 2)
	e.Intake = Train{} // a side without valves needs nothing else
	assert.Empty(t, e.Validate())
}

func TestValidateFindsEachFault(t *testing.T) {
	catalogue := func(from, to, step string) func(*Engine) {
		return func(e *Engine) {
			e.Catalogue = append(e.Catalogue, Range{From: mm(from), To: mm(to), Step: mm(step)})
		}
	}
	for _, c := range []struct {
		name string
		harm func(e *Engine)
		key  string
	}{
		{"no name", func(e *Engine) { e.Name = " \t" }, "name"},
		{"no cylinders", func(e *Engine) { e.Cylinders = 0 }, "cylinders"},
		{"too many cylinders", func(e *Engine) { e.Cylinders = MaxCylinders + 1 }, "cylinders"},
		{"firing order short", func(e *Engine) { e.FiringOrder = []int{1, 3, 4} }, "firing_order"},
		{"firing order long", func(e *Engine) { e.FiringOrder = []int{1, 3, 4, 2, 5} }, "firing_order"},
		{"firing order repeats", func(e *Engine) { e.FiringOrder = []int{1, 3, 3, 2} }, "firing_order"},
		{"firing order from 0", func(e *Engine) { e.FiringOrder = []int{0, 1, 2, 3} }, "firing_order"},
		{"intervals short", func(e *Engine) { e.FiringIntervals = []float64{360, 360} }, "firing_intervals"},
		{"intervals do not add up", func(e *Engine) { e.FiringIntervals = []float64{180, 180, 180, 170} }, "firing_intervals"},
		{"intervals add up to more", func(e *Engine) { e.FiringIntervals = []float64{180, 180, 180, 181} }, "firing_intervals"},
		{"interval not a number", func(e *Engine) { e.FiringIntervals = []float64{180, math.NaN(), 180, 180} }, "firing_intervals"},
		{"bank lacks a cylinder", func(e *Engine) { e.Banks = [][]int{{1, 2}, {3}} }, "banks"},
		{"banks share a cylinder", func(e *Engine) { e.Banks = [][]int{{1, 2}, {2, 3, 4}} }, "banks"},
		{"bank without cylinders", func(e *Engine) { e.Banks = [][]int{{1, 2, 3, 4}, {}} }, "banks"},
		{"negative valves", func(e *Engine) { e.Intake.Valves = -1 }, "intake.valves"},
		{"too many valves", func(e *Engine) { e.Exhaust.Valves = MaxValves + 1 }, "exhaust.valves"},
		{"no valves", func(e *Engine) { e.Intake.Valves, e.Exhaust.Valves = 0, 0 }, "intake.valves"},
		{"limits reversed", func(e *Engine) { e.Intake.Limits = limits("0.21", "0.14") }, "intake.clearance"},
		{"limits equal", func(e *Engine) { e.Exhaust.Limits = limits("0.2", "0.2") }, "exhaust.clearance"},
		{"limits missing", func(e *Engine) { e.Exhaust.Limits = Limits{} }, "exhaust.clearance"},
		{"limit below zero", func(e *Engine) { e.Intake.Tight = -1 }, "intake.clearance"},
		{"limit slipped a place", func(e *Engine) { e.Intake.Loose = mm("2.1") }, "intake.clearance"},
		{"aim below 0", func(e *Engine) { e.Intake.AimAt = -1 }, "intake.aim"},
		{"aim above 1", func(e *Engine) { e.Exhaust.AimAt = One + 1 }, "exhaust.aim"},
		{"ratio 0", func(e *Engine) { e.Intake.Ratio = Ratio{Times: 0} }, "intake.ratio"},
		{"ratio negative", func(e *Engine) { e.Exhaust.Ratio = Ratio{Times: -One} }, "exhaust.ratio"},
		{"ratio small", func(e *Engine) { e.Exhaust.Ratio = Ratio{Times: One/10 - 1} }, "exhaust.ratio"},
		{"ratio large", func(e *Engine) { e.Exhaust.Ratio = Ratio{Times: 10*One + 1} }, "exhaust.ratio"},
		{"timing early", func(e *Engine) { e.Intake.Timing = &Timing{Opens: -91, Closes: 30} }, "intake.timing"},
		{"timing late", func(e *Engine) { e.Exhaust.Timing = &Timing{Opens: 30, Closes: 181} }, "exhaust.timing"},
		{"timing not a number", func(e *Engine) { e.Exhaust.Timing = &Timing{Opens: math.NaN(), Closes: 30} }, "exhaust.timing"},
		{"no diameter", func(e *Engine) { e.Diameter = 0 }, "shims.diameter"},
		{"diameter of a saucer", func(e *Engine) { e.Diameter = mm("89") }, "shims.diameter"},
		{"catalogue reversed", catalogue("3", "1.2", "0.025"), "shims.catalogue.1"},
		{"catalogue without step", catalogue("1.2", "3", "0"), "shims.catalogue.1.step"},
		{"catalogue step negative", catalogue("1.2", "3", "-0.025"), "shims.catalogue.1.step"},
		{"catalogue too thin", catalogue("0.12", "3", "0.025"), "shims.catalogue.1.from"},
		{"catalogue too thick", catalogue("1.2", "30", "0.025"), "shims.catalogue.1.to"},
		{"catalogue too fine", catalogue("1.2", "3", "0.000001"), "shims.catalogue.1.step"},
	} {
		e := sound(4, 2, 2)
		c.harm(e)
		found := e.Validate()
		if assert.Len(t, found, 1, c.name) {
			assert.Equal(t, c.key, found[0].Key, c.name)
			assert.NotEmpty(t, found[0].Message, c.name)
			assert.NotEmpty(t, found[0].Hint, c.name)
		}
	}
}

func TestValidateFindsAllFaults(t *testing.T) {
	e := sound(4, 2, 2)
	e.Name, e.Diameter, e.Intake.Ratio, e.Exhaust.AimAt = "", 0, Ratio{}, -1
	e.FiringOrder = []int{1}
	var keys []string
	for _, problem := range e.Validate() {
		keys = append(keys, problem.Key)
	}
	assert.ElementsMatch(t, []string{"name", "shims.diameter", "intake.ratio", "exhaust.aim", "firing_order"}, keys)
}

func TestRangeSizes(t *testing.T) {
	assert.Equal(t, []Length{mm("2.5"), mm("2.55"), mm("2.6")}, Range{From: mm("2.5"), To: mm("2.6"), Step: mm("0.05")}.Sizes())
	assert.Equal(t, []Length{mm("2.5"), mm("2.55")}, Range{From: mm("2.5"), To: mm("2.59"), Step: mm("0.05")}.Sizes(), "the last step ends short")
	assert.Equal(t, []Length{mm("2.5")}, Range{From: mm("2.5"), To: mm("2.5"), Step: mm("0.05")}.Sizes())
}

func TestSortMeasurements(t *testing.T) {
	e := sound(12, 3, 2)
	var check []Measurement
	for _, v := range e.Valves() {
		check = append(check, Measurement{Valve: v, Marks: Marks{Stamp: mm("2.5")}})
	}
	want := slices.Clone(check)
	random := rand.New(rand.NewPCG(9, 9))
	random.Shuffle(len(check), func(i, j int) { check[i], check[j] = check[j], check[i] })
	require.NotEqual(t, want, check)
	SortMeasurements(check)
	assert.Equal(t, want, check)
}

func ExampleEngine_Valves() {
	e := Engine{Cylinders: 2, Intake: Train{Valves: 2}, Exhaust: Train{Valves: 1}}
	fmt.Println(e.Valves())
	// Output: [in1a in1b ex1 in2a in2b ex2]
}

// An offset that leaves a valve no angle at which it may be pressed is one
// problem that names the side; with the exhaust timing given it may be none.
func TestDepressOffset(t *testing.T) {
	sound := func(change func(e *Engine)) []Problem {
		train := Train{Valves: 1, Limits: Limits{Tight: Millimetre / 10, Loose: Millimetre / 5}, Ratio: Ratio{Times: One}}
		e := &Engine{Name: "Auk", Cylinders: 1, Access: ByValve, Intake: train, Exhaust: train, Diameter: 29 * Millimetre}
		change(e)
		return e.Validate()
	}
	for _, off := range []float64{0, 90, 40, -40, -90} {
		assert.Empty(t, sound(func(e *Engine) { e.DepressOffset = off }), "%g", off)
	}
	// The assumed exhaust valve opens 85 before BDC: 95 past firing TDC.
	problems := sound(func(e *Engine) { e.DepressOffset = 100 })
	require.Len(t, problems, 1)
	assert.Equal(t, "depress_offset", problems[0].Key)
	assert.Contains(t, problems[0].Message, "exhaust")
	assert.NotContains(t, problems[0].Message, "intake")
	assert.Empty(t, sound(func(e *Engine) { e.DepressOffset, e.Exhaust.Timing = 100, &Timing{Opens: 40, Closes: 10} }))
	// The assumed intake valve closes 85 past BDC: 95 before firing TDC.
	problems = sound(func(e *Engine) { e.DepressOffset = -95 })
	require.Len(t, problems, 1)
	assert.Contains(t, problems[0].Message, "intake")
	for _, off := range []float64{180, -180, math.NaN(), math.Inf(1)} {
		assert.Len(t, sound(func(e *Engine) { e.DepressOffset = off }), 1, "%g", off)
	}
	assert.Len(t, sound(func(e *Engine) { e.Access, e.DepressOffset = ByCamshaft, 40 }), 1)
}
