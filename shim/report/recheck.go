package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/recheck"
	"shimwright/shim/report/reason"
)

// A comparison is a job to lay out.
type comparison struct{ *recheck.ComparedJob }

// Recheck lays a comparison out for people: per job a table of the valves, what
// most likely happened, and what to do next.
func Recheck(c *recheck.Comparison) *Document {
	d := &Document{}
	for i := range c.Jobs {
		j := &comparison{&c.Jobs[i]}
		title := j.Engine.Name
		if j.Job != "" {
			title = "Job " + j.Job + ": " + title
		}
		d.add(Section{Level: 1, Heading: title + ", after fitting (" + j.Units.String() + ")", Lines: append(j.summary(), j.warmth()...)})
		d.add(Section{Table: j.table(), Notes: j.notes()})
		// Two readings that contradict each other come first: what follows leans on them.
		first := j.Contradicted()
		if first {
			j.addSuspects(d)
		}
		if !j.wellInOneLine() {
			j.addExplanations(d)
		}
		if !first {
			j.addSuspects(d)
		}
		d.add(Section{Level: 2, Heading: "What comes next", Notes: j.next()})
	}
	if c.Well() {
		last := cautions()
		last.Notes = last.Notes[len(last.Notes)-1:]
		d.add(last)
	} else {
		d.add(cautions(c.Engines()...))
	}
	return d
}

// suspicion says what is suspicious.
func (j *comparison) suspicion(s recheck.Suspicion) string {
	if s.OfSize() {
		return s.WhatIn(bare{j.Units.Size})
	}
	return s.WhatIn(bare{j.Units.Clearance})
}

// wellInOneLine reports whether there is nothing to say beyond that all is well.
func (j *comparison) wellInOneLine() bool {
	return j.Well() && !j.Faulty() && len(j.Report.Explanations) <= 1
}

// tally counts the valves of a job.
type tally struct{ setUp, inside, outside, unread, undecided, provisional, off, beyond, compared, earlier int }

func (j *comparison) tally() tally {
	var t tally
	for i := range j.Valves {
		v := &j.Valves[i]
		if v.SetUp {
			t.setUp++
		}
		switch v.Verdict {
		case shim.OK:
			if v.SetUp {
				break
			}
			if v.Undecided() {
				t.undecided++
				break
			}
			if v.CloserFirst {
				t.provisional++
				break
			}
			t.inside++
		case shim.Unmeasured:
			t.unread++
		default:
			t.outside++
		}
		if v.Off {
			t.off++
		} else if unlikely(v) {
			t.beyond++
		}
		if v.Compared {
			t.compared++
		}
		if v.Earlier {
			t.earlier++
		}
	}
	return t
}

func (j *comparison) summary() []string {
	t := j.tally()
	if j.Well() {
		all := fmt.Sprintf("All %d valves are inside their limits", len(j.Valves))
		if len(j.Valves) == 1 {
			all = "The valve is inside its limits"
		}
		switch {
		case t.off > 0:
			return []string{all + ": the job is done.", "Note: OFF by more than the doubt explains: " + j.names(off) + "."}
		case j.Faulty():
			return []string{all + ": the job is done.", "Note: none is off on its own; taken together they are not as expected."}
		case t.beyond > 0:
			return []string{all + ": the job is done.", "Note: further from the plan than the doubt explains, but most likely no fault: " + j.names(unlikely) + "."}
		case t.earlier > 0:
			return []string{all + fmt.Sprintf(": %d measured before this fit and not touched since, %d now and, within the doubt, as expected.", t.earlier, t.compared)}
		case t.compared == 0:
			return []string{all + "; the plan says of none what to expect."}
		case t.compared < len(j.Valves):
			return []string{all + fmt.Sprintf(", and, within the doubt, as expected where the plan says what to expect (%d).", t.compared)}
		}
		return []string{all + " and, within the doubt, as expected."}
	}
	found := fmt.Sprintf("Found: %d of %d valves inside their limits, %d outside", t.inside, len(j.Valves), t.outside)
	if t.unread > 0 {
		found += fmt.Sprintf(", %d without a number", t.unread)
	}
	if t.undecided > 0 {
		found += fmt.Sprintf(", %d undecided", t.undecided)
	}
	if t.provisional > 0 {
		found += fmt.Sprintf(", %d provisional", t.provisional)
	}
	lines := []string{found + "."}
	if t.setUp > 0 {
		lines = append(lines, "No shim of its own, so nothing is proven there: "+j.names(setUp)+".")
	}
	if t.off > 0 {
		lines = append(lines, "OFF by more than the doubt explains: "+j.names(off)+".")
	} else if j.Faulty() {
		lines = append(lines, "None is off on its own; taken together they are not as expected.")
	} else if t.beyond > 0 {
		lines = append(lines, "Further from the plan than the doubt explains, but most likely no fault: "+j.names(unlikely)+".")
	} else {
		lines = append(lines, "None is off by more than the doubt explains.")
	}
	return append(lines, "NOT READY: do not start the engine.")
}

// names names the valves that are such, or counts them where they are many.
func (j *comparison) names(such func(*recheck.ComparedValve) bool) string {
	const most = 8
	var names []string
	for i := range j.Valves {
		if such(&j.Valves[i]) {
			names = append(names, j.Valves[i].Valve.String())
		}
	}
	if len(names) > most {
		return strconv.Itoa(len(names)) + " valves"
	}
	return strings.Join(names, ", ")
}

func off(v *recheck.ComparedValve) bool { return v.Off }

// unlikely reports whether a valve is off by more than the doubt explains though no
// fault is likelier than none.
func unlikely(v *recheck.ComparedValve) bool { return v.Beyond && !v.Off }

func undecided(v *recheck.ComparedValve) bool { return v.Undecided() }

// setUp is a valve of a fresh build without a shim of its own.
func setUp(v *recheck.ComparedValve) bool { return v.SetUp }

// split is undecided by two readings of which one lies outside.
func split(v *recheck.ComparedValve) bool { return v.Undecided() && v.Reading.Joined().Second.Taken }

func (j *comparison) table() *Table {
	u := j.Units.Clearance
	t := &Table{
		Kind:   "recheck",
		Header: []string{"", "valve", "limits", "reading", "status", "expected", "differs", "doubt", "as expected"},
		Right:  []int{5, 6, 7},
		Strong: map[int]bool{4: true, 8: true},
	}
	for i := range j.Valves {
		v := &j.Valves[i]
		row := []string{
			"", v.Valve.String(), Limits(u, v.Limits), Reading(u, v.Limits, v.Reading),
			verdictWord(v.Verdict, v.Undecided()), "?", "?", "?", "?",
		}
		if row[3] == "" {
			row[3] = "-"
		}
		if v.CloserFirst && v.Verdict == shim.OK {
			row[4] = "?"
		}
		if v.Planned {
			row[5] = clearance(u, v.Limits, v.Expected)
		}
		if v.Earlier {
			row[8] = "earlier"
		}
		if v.Compared {
			row[6], row[7], row[8] = signed(u, v.Difference, digits(u, v.Limits)), bare{u}.Show(v.Bound, places(u), places(u)), "ok"
			if _, numbered := v.Reading.Estimate(); !numbered {
				row[6] = map[shim.ReadingKind]string{shim.Below: "<", shim.Above: ">"}[v.Reading.Kind] + row[6]
			}
			switch {
			case v.Off:
				row[8] = "OFF"
			case unlikely(v):
				row[8] = "ok?"
			}
		}
		if v.SetUp {
			row[4], row[8] = "set-up", "-"
		}
		if v.Verdict != shim.OK || v.Undecided() || v.CloserFirst || v.Off || v.SetUp || row[8] == "ok?" {
			row[0] = ">"
		}
		if i > 0 && j.Valves[i-1].Valve.Cylinder != v.Valve.Cylinder {
			t.Breaks = append(t.Breaks, i)
		}
		t.Rows = append(t.Rows, row)
	}
	header := []string{"", "valve", "limits", "reading", "status", "expect", "differs", "doubt", "as expected"}
	first, second := t.pick(header, 0, 1, 3, 4, 5, 6, 8), t.pick(header, 0, 1, 3, 4, 5, 8)
	first.leftOut([]string{"limits", "doubt"})
	second.leftOut([]string{"limits", "doubt", "differs"})
	second.say = sayCompared
	t.Narrower = []*Table{first, second}
	return t
}

// sayCompared words a row of the narrowest table: what was read, and what to expect.
func sayCompared(row []string) []string {
	text := strings.TrimSpace(row[0]+" "+row[1]) + ": " + row[2] + ", " + row[3]
	switch {
	case row[2] == "-":
		text = strings.TrimSpace(row[0]+" "+row[1]) + ": not measured"
	case row[4] != "?":
		text += "; expected " + row[4]
	}
	switch row[5] {
	case "OFF", "ok?":
		text += ", " + row[5]
	case "earlier":
		text += ", read earlier"
	}
	return []string{text}
}

func verdictWord(v shim.Verdict, undecided bool) string {
	if undecided {
		return "ok?"
	}
	return map[shim.Verdict]string{shim.OK: "ok", shim.Tight: "TIGHT", shim.Loose: "LOOSE", shim.Unmeasured: "?"}[v]
}

// notes say what the table cannot.
func (j *comparison) notes() []string {
	u := j.Units
	var list []string
	if note := j.unsettled(); note != "" {
		list = append(list, note)
	}
	for i := range j.Valves {
		v := &j.Valves[i]
		if v.CloserFirst {
			list = append(list, v.Valve.String()+": "+reason.CloserFirst(v.Valve)+".")
		}
		if leaf := v.Limits.Deciding(v.Reading, bare{u.Clearance}); leaf != "" {
			list = append(list, v.Valve.String()+": "+leaf+".")
		}
		if v.Size == v.Plan || !v.Planned {
			continue
		}
		list = append(list, fmt.Sprintf("%s: the check names a shim of %s, the plan %s; expected is what the check's gives.", v.Valve, sizeAt(u.Size, j.Engine, v.Valve, v.Size), sizeAt(u.Size, j.Engine, v.Valve, v.Plan)))
	}
	return list
}

// addSuspects names figures that are worth a second look.
func (j *comparison) addSuspects(d *Document) {
	if len(j.Suspects) == 0 {
		return
	}
	s := Section{Level: 2, Heading: "Worth a second look"}
	for _, x := range j.Suspects {
		s.Notes = append(s.Notes, x.Valve.String()+": "+j.suspicion(x)+"; "+x.Hint()+".")
	}
	d.add(s)
}

// addExplanations says what most likely happened.
func (j *comparison) addExplanations(d *Document) {
	lines := j.Report.Lines()
	if len(lines) == 0 {
		return
	}
	s := Section{Level: 2, Heading: "What most likely happened"}
	switch {
	case len(lines) > 1 && j.Well() && !j.Faulty():
		s.Heading = "What the readings cannot rule out"
	case len(lines) > 1:
		s.Lines = []string{"More than one explanation fits, the likelier first:"}
	}
	for i, l := range lines {
		text := percent(l.Probability) + " (" + j.Sureness(l.Probability) + "): "
		if len(lines) > 1 {
			text = strconv.Itoa(i+1) + ". " + text
		}
		for k, kinds := range l.Faults {
			if k > 0 {
				text += "; and "
			}
			text += j.what(kinds)
		}
		if len(l.Faults) == 0 {
			text += "no fault shows; a slip within the doubt would not show"
		}
		s.Notes = append(s.Notes, text+".")
		if looks := j.looks(l.Faults); looks != "" {
			s.Notes = append(s.Notes, "Look first: "+looks+".")
		}
	}
	d.add(s)
}

// looks says where to look first for faults of those kinds, at which valves if there is
// more than one place.
func (j *comparison) looks(faults [][]recheck.Fault) string {
	var looks []string
	at := map[string][]shim.Valve{}
	for _, kinds := range faults {
		look := recheck.Look(kinds)
		if r := j.Remedy(kinds[0]); kinds[0].Kind == recheck.Exchanged && !r.Open && len(r.Outside) > 0 {
			look = "compare with the job's bookings: one of them was never done at the engine"
		}
		if _, said := at[look]; !said {
			looks = append(looks, look)
		}
		at[look] = append(at[look], kinds[0].Valves...)
	}
	if len(looks) > 1 {
		for i, look := range looks {
			if valves := at[look]; len(valves) > 0 {
				looks[i] = names(valves) + ": " + look
			}
		}
	}
	return strings.Join(looks, "; ")
}

// percent is a probability for people.
func percent(p float64) string {
	switch {
	case p > 0.99:
		return "over 99 %"
	case p < 0.01:
		return "under 1 %"
	}
	return strconv.Itoa(int(100*p+0.5)) + " %"
}

// what is a fault in words, which may be any of the kinds given.
func (j *comparison) what(kinds []recheck.Fault) string {
	if len(kinds) > 1 {
		return j.either(kinds)
	}
	u, f := j.Units.Clearance, kinds[0]
	by, bound := signed(u, rounded(f.Shift), places(u)+1), orFurther(f)
	if f.AtLeast {
		by += " or more"
	}
	switch f.Kind {
	case recheck.Exchanged:
		holds := make([]string, len(f.Valves))
		for i, v := range f.Valves {
			holds[i] = v.String() + " holds " + sizeAt(j.Units.Size, j.Engine, v, f.Sizes[i])
		}
		if len(f.Valves) == 2 {
			return fmt.Sprintf("the shims of %s and %s are exchanged: %s", f.Valves[0], f.Valves[1], strings.Join(holds, ", "))
		}
		return fmt.Sprintf("%d shims lie in each other's valves: %s", len(f.Valves), strings.Join(holds, ", "))
	case recheck.WrongSize:
		at, _ := j.Engine.Find(f.Valves[0])
		text := fmt.Sprintf("the shim in %s is not %s but %s", f.Valves[0], sizeAt(j.Units.Size, j.Engine, f.Valves[0], j.Valves[at].Size), sizeAt(j.Units.Size, j.Engine, f.Valves[0], f.Sizes[0])) + bound
		if len(f.Valves) > 1 {
			text = fmt.Sprintf("the shim that went from %s to %s is not %s but %s", f.Valves[1], f.Valves[0], sizeAt(j.Units.Size, j.Engine, f.Valves[0], j.Valves[at].Size), sizeAt(j.Units.Size, j.Engine, f.Valves[0], f.Sizes[0])) + bound
		}
		return text
	case recheck.Unseated:
		// A valve held off its seat is lower: at the opener the gap is larger, at the closer smaller.
		switch closer := f.Valves[0].Closer; {
		case closer && f.Shift > 0:
			return fmt.Sprintf("%s is off on its own, by %s: misread", f.Valves[0], by)
		case closer:
			return fmt.Sprintf("%s is off on its own, by %s: its shim or half rings not seated, the valve held off its seat, its cam off the base circle, or misread", f.Valves[0], by)
		case f.Shift > 0:
			return fmt.Sprintf("%s is off on its own, by %s: the valve held off its seat, or misread", f.Valves[0], by)
		}
		return fmt.Sprintf("%s is off on its own, by %s: its shim or bucket not seated, its cam off the base circle, or misread", f.Valves[0], by)
	case recheck.OffBase:
		return fmt.Sprintf("%s, of one crank position, are tight together, by about %s: cams off the base circle", names(f.Valves), by)
	case recheck.Hollow:
		return fmt.Sprintf("%s, which got a new shim, are too tight by about the same, %s: the old shims are worn hollow, thinner in the middle than micrometer and mark say", names(f.Valves), by)
	}
	return fmt.Sprintf("every reading is off by about %s: the gauge", by)
}

// cause says what to look at where one valve is off by itself.
func cause(f recheck.Fault) string {
	switch {
	case f.Valves[0].Closer:
		return "look at its shim and half rings"
	case f.Shift > 0:
		return "look for dirt on its seat"
	}
	return "look under its shim and bucket"
}

// orFurther says how a wrong size may lie further off than the one that is named.
func orFurther(f recheck.Fault) string {
	switch {
	case !f.AtLeast:
		return ""
	case f.Shift > 0:
		return " or thinner"
	}
	return " or thicker"
}

// either is a fault of one valve whose kind the reading does not tell.
func (j *comparison) either(kinds []recheck.Fault) string {
	valve := kinds[0].Valves[0]
	at, _ := j.Engine.Find(valve)
	words := make([]string, len(kinds))
	for i, f := range kinds {
		switch {
		case f.Kind == recheck.WrongSize:
			words[i] = fmt.Sprintf("wrong size (%s%s for %s)", sizeAt(j.Units.Size, j.Engine, f.Valves[0], f.Sizes[0]), orFurther(f), sizeAt(j.Units.Size, j.Engine, f.Valves[0], j.Valves[at].Size))
		case f.Shift > 0 && valve.Closer:
			words[i] = "misread"
		case f.Shift > 0:
			words[i] = "held off its seat"
		default:
			words[i] = "not seated"
		}
	}
	return valve.String() + ": " + strings.Join(words, " or ")
}

// hollow reports whether hollow old shims are all that most likely happened.
func (j *comparison) hollow() bool {
	return j.Faulty() && !slices.ContainsFunc(j.Report.Explanations[0].Faults, func(f recheck.Fault) bool { return f.Kind != recheck.Hollow })
}

// hollowAside says what to do with hollow shims.
const hollowAside = "Keep the hollow shims out of the box, or write down what they measure in the middle: they are thinner than they seem."

// next says what to do.
func (j *comparison) next() []string {
	t := j.tally()
	switch {
	case j.Well():
		var note []string
		if j.Faulty() {
			for _, kinds := range j.Report.Lines()[0].Faults {
				r := j.Remedy(kinds[0])
				switch {
				case kinds[0].Kind == recheck.Exchanged && len(r.Outside) > 0:
					note = append(note, j.leave(kinds[0], r, ""))
				case kinds[0].Kind == recheck.Hollow:
					note = append(note, hollowAside)
				case slices.ContainsFunc(kinds, func(f recheck.Fault) bool { return f.Kind == recheck.Unseated }):
					note = append(note, "Measure "+kinds[0].Valves[0].String()+" once more before the cover goes on, and "+cause(kinds[0])+" if it differs again.")
				}
			}
			note = append(note, "Keep the note with the job: a shim that is not the one in the record misleads the next job. Look into it the next time the cover is off.")
		} else if t.beyond > 0 {
			note = append(note, "Measure "+j.names(unlikely)+" once more before the cover goes on.")
		}
		return append(note,
			"Turn the engine over by hand once more, several turns in its running direction: it must turn freely.",
			"Then close it up and start it as the maker's manual says, and listen: stop at once if something knocks.")
	case j.Sure() && slices.ContainsFunc(j.Report.Explanations[0].Faults, recheck.Fault.OfShims):
		return j.remedies(t, cmp.Or(j.Again, "shimwright solve"))
	case j.hollow() && t.outside > 0:
		return []string{
			"New shims are flat, so what they leave is the true gap: measure the valves outside their limits once more, then plan again (" + cmp.Or(j.Again, "shimwright solve") + ") from these readings and the shims that are in now.",
			hollowAside,
		}
	case t.off > 0 || j.Faulty():
		return j.suspected(cmp.Or(j.Again, "shimwright solve"))
	case t.outside > 0:
		again := "Measure the valves outside their limits again, between two leaves."
		if t.beyond == 0 {
			again += " As far as the readings can show, the shims did what the plan expected."
		}
		return []string{
			again,
			"Where they stay outside, plan again (" + cmp.Or(j.Again, "shimwright solve") + ") from these readings and the shims that are in now.",
		}
	}
	var list []string
	if t.setUp > 0 {
		list = append(list, "Give "+j.names(setUp)+" a shim of its own, or have seat or tip ground as the plan says; a set-up shim goes back to the bench set.")
	}
	if t.undecided > 0 {
		at := j.names(undecided)
		if j.names(split) == at {
			list = append(list, "Measure "+at+" a third time, and recheck again.")
		} else {
			list = append(list, "Try the leaf that decides at "+at+", and recheck again.")
		}
	}
	if t.unread > 0 {
		list = append(list, "Measure the valves without a number, with other leaves where these do not tell, and recheck again.")
	}
	return list
}

// rounded is a length to the micrometre: an average of many has no more to say.
func rounded(l shim.Length) shim.Length {
	const unit = shim.Micrometre
	if l < 0 {
		return -rounded(-l)
	}
	return (l + unit/2) / unit * unit
}
