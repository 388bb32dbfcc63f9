package planjson

import (
	"io"

	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/shim/doubt"
	"shimwright/shim/plan"
	"shimwright/shim/recheck"
)

// Encode writes the plan as one JSON object, a line for each valve and each lot.
// It is written piece by piece, so that a plan of many engines needs no
// second copy in memory. A trade-off is written where there is one.
func Encode(w io.Writer, p *plan.Plan, trades ...plan.Trade) error {
	l := newLineWriter(w)
	values := func(n int, element func(i int) any) {
		l.list(n, "  ", func(i int) { l.value(element(i)) })
	}
	if p.Provisional() {
		l.field("provisional").value(true)
	}
	l.field("policy").value(p.Policy)
	if p.Confidence != 0 {
		l.field("confidence").value(p.Confidence)
	}
	if p.Buy != nil {
		l.field("buy").value(*p.Buy)
	}
	l.field("margin_mm").value(p.Margin)
	l.field("criteria").value(p.Criteria)
	l.field("jobs").list(len(p.Jobs), "  ", func(i int) { l.job(p, i) })
	l.field("shopping")
	values(len(p.Shopping), func(i int) any {
		return boughtRow{lotOf(p, &p.Shopping[i]), known(&p.Shopping[i].Price, p.Shopping[i].Priced)}
	})
	if trials := p.Trials(); len(trials) > 0 {
		l.field("trials")
		values(len(trials), func(i int) any { return lotOf(p, &trials[i]) })
	}
	l.field("drawn")
	values(len(p.Drawn), func(i int) any { return lotOf(p, &p.Drawn[i]) })
	l.field("left_over")
	values(len(p.LeftOver), func(i int) any { return lotOf(p, &p.LeftOver[i]) })
	l.field("cautions")
	full, _ := shim.CautionsFor(p.Engines()...)
	values(len(full), func(i int) any { return full[i] })
	if len(p.Next) > 0 {
		l.field("measure_next")
		values(len(p.Next), func(i int) any { return nextOf(p, &p.Next[i]) })
	}
	if len(trades) > 0 {
		l.field("tradeoff")
		values(len(trades), func(i int) any { return tradeOf(&trades[i]) })
	}
	return l.close()
}

func (l *lineWriter) job(p *plan.Plan, i int) {
	j := &p.Jobs[i]
	l.value(headOf(j))
	l.cut() // the brace: more follows
	l.add(`,"valves":`).list(len(j.Valves), "    ", func(k int) { l.value(valveOf(p, j, &j.Valves[k])) })
	openings, _ := crank.NewOpenings(j.Engine) // without a firing order no move is turned
	l.add(`,"fitting":`).list(len(j.Moves), "    ", func(k int) { l.value(moveOf(p, j, &j.Moves[k], openings)) })
	if len(j.Wants) > 0 {
		rows := make([]wantRow, len(j.Wants))
		for k := range j.Wants {
			rows[k] = wantOf(p, j, &j.Wants[k])
		}
		l.add(`,"temporary_wanted":`).value(rows)
	}
	l.add(`,"all_inside":`).value(wholeOf(p.AllInside(i)))
	if u := j.Until; u != nil {
		l.add(`,"until":`).value(untilRow{u.Meter, doubt.Rounded(u.Inside), doubt.Rounded(u.Without), u.Bought})
	}
	l.add(`,"alike":`).value(append([]recheck.Pair{}, recheck.Alike(j)...))
	l.add("}")
}

func headOf(j *plan.JobPlan) jobHead {
	head := jobHead{
		Job: j.Job, Engine: j.Engine.Name, Lifted: append([]string{}, j.Lifted...), Provisional: j.Provisional, Build: j.Build,
		Units: j.Units.Clearance.String(), Family: j.Engine.Kind, Diameter: &j.Engine.Diameter,
		Gauge: &gaugeRow{j.GaugeStated, j.Gauge.Step, j.Gauge.Leaf, j.Gauge.Stamp, j.Gauge.Mic, j.Gauge.Used},
	}
	if j.Units.Mixed() {
		head.ShimUnits = j.Units.Size.String()
	}
	if j.Engine.Readings != shim.Mean {
		head.Readings = j.Engine.Readings.String()
	}
	if b := j.Engine.Before; b != nil {
		if b.Temperature != nil {
			head.Window = []shim.Temperature{b.Temperature.From, b.Temperature.To}
		}
		for _, c := range b.Corrections {
			head.Corrections = append(head.Corrections, correctionRow(c))
		}
	}
	if j.Engine.Turned {
		head.Own = j.Engine.Own().String()
	}
	if j.Engine.State != shim.Cold {
		head.State = j.Engine.State.String()
	}
	return head
}

// known is the value, or nil where it is not known.
func known[T any](value *T, known bool) *T {
	if known {
		return value
	}
	return nil
}

func valveOf(p *plan.Plan, j *plan.JobPlan, v *plan.ValvePlan) *valveRow {
	change := v.MustChange()
	reading, ratio := v.Reading.Format(shim.MM), j.Engine.TrainOf(v.Valve).Ratio.String()
	row := &valveRow{
		Valve: &v.Valve, Tight: &v.Limits.Tight, Loose: &v.Limits.Loose, Aim: &v.Aim,
		Clearance: known(&v.Clearance, v.Measured), Installed: known(&v.Installed, v.Installed != 0), Verdict: v.Verdict,
		Open: &v.Open, Action: &v.Action, Shim: known(&v.Size, v.Size != 0), Predicted: known(&v.Expected, v.Measured),
		Trial: known(&v.Trial, v.Trial != 0), Near: v.Near, Change: change, MayBind: v.MayBind, CloserFirst: v.CloserFirst, Risk: v.Risk, Undecided: v.Undecided,
		Reading: &reading, Miked: v.Miked, Used: v.Used, InstalledMiked: v.InstalledMiked, Ratio: ratio, Price: known(&v.Price, v.Priced),
	}
	if f := j.Engine.FamilyOf(v.Valve); v.Valve.Closer {
		row.Family, row.Diameter = f.Kind, &f.Diameter
	}
	row.Temperature, row.Converted, row.ConvertedOpen = v.Temperature, v.Reading.Shifted, v.Reading.Open
	row.OutsideWindow = v.Warmth == shim.NotConverted
	row.Mark, row.OldMark = j.Mark(v.Valve, v.Size), j.Mark(v.Valve, v.Installed)
	row.because(v, j.Units, j.Engine.MarksOf(v.Valve))
	if v.From != nil {
		row.From, row.FromJob = &v.From.Valve, p.OtherJob(j, *v.From)
	}
	if v.With != (shim.Gauge{}) {
		row.With = &withRow{v.With.Step, v.With.Leaf}
	}
	if v.Over != nil {
		over := v.Over.Size()
		row.Over, row.OverMiked, row.OverNone = &over, v.Over.Mic != 0, over == 0
	}
	if j.Build {
		row.SetUp, row.Allowance, row.Doubt = v.SetUp, &v.Allowance.By, &v.Allowance.Doubt
	}
	if p.Confidence != 0 || j.GaugeStated {
		if f, ok := j.Forecast(v); ok {
			inside := doubt.Rounded(f.Inside)
			row.Uncertainty, row.Probability, row.Method = &f.Expanded, &inside, f.Method.String()
		}
	}
	return row
}

func lotOf(p *plan.Plan, l *plan.Pieces) lotRow { return lotRow{l.Disc, p.Mark(l.Disc), l.Count} }
