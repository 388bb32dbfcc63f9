package paper

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/report"
)

// The engines of these tests are invented.

// engineOf is an engine with banks of equal length, every valve with limits.
func engineOf(name string, cylinders, banks, intake, exhaust int, u shim.Unit) *shim.Engine {
	const um = shim.Micrometre
	e := &shim.Engine{Name: name, Units: u.Both(), Cylinders: cylinders, Diameter: 8900 * um,
		Intake:    shim.Train{Valves: intake, Limits: shim.Limits{Tight: 140 * um, Loose: 210 * um}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}},
		Exhaust:   shim.Train{Valves: exhaust, Limits: shim.Limits{Tight: 200 * um, Loose: 270 * um}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}},
		Catalogue: []shim.Range{{From: 1200 * um, To: 3000 * um, Step: 25 * um, Quote: shim.Quote{Price: 78000, Priced: true}}},
	}
	for bank := range banks {
		var list []int
		for i := range cylinders / banks {
			list = append(list, bank*(cylinders/banks)+i+1)
		}
		e.Banks = append(e.Banks, list)
	}
	for i := range cylinders {
		e.FiringOrder = append(e.FiringOrder, i+1)
	}
	return e
}

// checkOf measures every valve: a seeded mixture of all that a gauge can say.
func checkOf(e *shim.Engine, seed uint64) []shim.Measurement {
	random := rand.New(rand.NewPCG(seed, 1))
	var check []shim.Measurement
	for _, v := range e.Valves() {
		t := e.Train(v.Side)
		at := t.Tight + shim.Length(random.IntN(21)-7)*10*shim.Micrometre
		m := shim.Measurement{Valve: v, Marks: shim.Marks{Stamp: shim.Length(2200+25*random.IntN(20)) * shim.Micrometre}, Reading: shim.ReadingOf(at)}
		switch random.IntN(8) {
		case 0:
			m.Reading = shim.Reading{Kind: shim.Bracket, Low: at, High: at + 30*shim.Micrometre}
		case 1:
			m.Mic = m.Stamp - 3*shim.Micrometre
		}
		check = append(check, m)
	}
	return check
}

func planOf(t *testing.T, jobs ...plan.JobRequest) *plan.Plan {
	t.Helper()
	p, err := plan.Make(context.Background(), plan.Request{Jobs: jobs, Margin: plan.DefaultMargin, Box: []shim.BoxRow{{Marks: shim.Marks{Stamp: 2425 * shim.Micrometre}, Count: 3}}})
	require.NoError(t, err)
	return p
}

func jobOf(e *shim.Engine, check []shim.Measurement) plan.JobRequest {
	return plan.JobRequest{Engine: e, Check: check}
}

// afterOf is a recheck of every valve: brackets, which are the widest.
func afterOf(e *shim.Engine) map[shim.Valve]shim.Reading {
	after := map[shim.Valve]shim.Reading{}
	for _, v := range e.Valves() {
		t := e.Train(v.Side)
		after[v] = shim.Reading{Kind: shim.Bracket, Low: t.Loose + 120*shim.Micrometre, High: t.Loose + 150*shim.Micrometre}
	}
	return after
}

// certificateOf is an invented certificate of so many valves, each with its closer where asked
// for: every third was out, some have a note, two checks before and one after.
func certificateOf(name string, valves int, closers bool) Certificate {
	c := Certificate{
		Title: name + ", certificate 12, issue 2", Heading: "Job 12: " + name + ", issue 2", Replaces: "Replaces issue 1 of 2026-03-02. Meter: was \"24,310 km\", now \"24,310 mi\". Remark: was nothing, now \"stem seals new\".",
		Fields: []Entry{{Label: "Shop", Value: name}, {Label: "Customer", Value: name}, {Label: "Machine", Value: name}, {Label: "Frame or engine number"}, {Label: "Odometer or hours", Value: "24,310 mi"},
			{Label: "Came in", Value: "2026-03-01"}, {Label: "Closed", Value: "2026-03-02"}, {Label: "Certificate", Value: "12, issued 2026-03-02"},
			{Label: "Limits", Value: "engine file version 3 (0123456789ab), cold engine", Wide: true}, {Label: "Remark", Value: "stem seals new", Wide: true}},
		Signs:  []Sign{{Label: "Measured by", Name: "R. Example, A. Example"}, {Label: "Checked by", Name: name}, {Label: "Approved by"}},
		Ledger: "Certificate 12, issue 2, made 2026-03-02 by R. Example. The shop's ledger then ended with row 4711, SHA-256 " + strings.Repeat("0123456789abcdef", 4) + "; the job's last booking is 4700.",
	}
	e := engineOf(name, 4, 1, 2, 2, shim.MM)
	c.Cautions, _ = shim.CautionsFor(e)
	measured := &report.Table{Kind: "measured", Header: []string{"check", "when", "measured by", "gauge set", "calibrated", "due", "engine", "note"}, Right: []int{0}}
	for i, when := range []string{"before", "before", "after"} {
		measured.Rows = append(measured.Rows, []string{strconv.Itoa(i + 1), "2026-03-02 08:1" + strconv.Itoa(i) + ", " + when + " the fit", "R. Example", "Set 2 (FG-0417)", "2026-01-10", "2027-01-10", "cold, 20 to 21 °C", ""})
	}
	t := &report.Table{Kind: "certified", Header: []string{"valve", "nominal", "limits", "as found", "as left", "shim was", "shim left", "mic", "checks", "remark"}, Right: []int{1, 5, 6, 7}}
	for i := range valves {
		found, note := "0.15-0.18", ""
		if i%3 == 0 {
			found = "0.10-0.12 TIGHT"
		}
		if i%8 == 3 {
			note = "cam pitted"
		}
		for _, closer := range []string{"", ".closer"}[:1+map[bool]int{true: 1}[closers]] {
			t.Rows = append(t.Rows, []string{fmt.Sprintf("in%d%s%s", 1+i/4, string(rune('a'+i%4)), closer), "0.165", "0.13-0.20", found, "0.17/0.18", "2.425", "2.350", "2.352", "1, 3", note})
		}
	}
	c.Sections = []report.Section{{Heading: "Measured", Table: measured}, {Heading: "Valves (clearances in mm, shims in mm)", Table: t}, {Heading: "To be noted", Lines: []string{"Note: " + name}}}
	return c
}

// longNames gives the checks of a certificate what ordinary shops call themselves and
// their gauges, and one number that is a single long word.
func longNames(c Certificate) Certificate {
	for i, row := range c.Sections[0].Table.Rows {
		row[2], row[3] = "Anna Example-Samplewright", []string{"feeler set bench 2 (FG-0417-2026)", "Feelers 0.05-1.00 workbench 2 (SN 20260417-3)", "Feelers (SN20260417000300040005000600070008)"}[i]
		row[5] += " OUT OF DATE"
		row[7] = "stiff leaf, read twice by two of us, then once more with the other spring"
	}
	return c
}
