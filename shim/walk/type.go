package walk

import (
	"errors"
	"slices"
	"strings"

	"shimwright/shim"
	"shimwright/shim/entry"
	"shimwright/shim/recheck"
)

// An Event is one thing that came of what was typed.
type Event interface{ event() }

type (
	// First says that there is no step before this one.
	First struct{}
	// List asks for what is kept so far, Help for what may be typed.
	List struct{}
	Help struct{}
	// A Heading is the place of the next entry, which came without being asked.
	Heading Place
	// Refused says why an entry was not taken. The hint may be empty.
	Refused shim.Hinted
	// A Guess asks whether an entry was meant so: a bare 15 is 0.15 mm.
	Guess struct {
		Typed string
		Shims bool
		As    shim.Measurement
	}
	// Taken is an entry that is kept.
	Taken struct {
		Step
		As     shim.Measurement
		Limits shim.Limits
	}
	// A Doubt names a figure that looks wrong.
	Doubt recheck.Suspicion
	// KeepOrAgain asks, after Taken and Doubt, to keep the entry or type it again.
	KeepOrAgain struct{}
	// TryLeaf asks to try the leaf that reports whether the valve is within
	// limits, or to keep the reading.
	TryLeaf struct{}
	// MeasureThird asks, where one of two readings lies inside and one outside,
	// to measure once more, or to keep both.
	MeasureThird struct{}
	// Dropped is a closer whose loaded gap the opener's new reading cannot be taken
	// off: it has no clearance now.
	Dropped struct{ Closer shim.Valve }
)

func (First) event()        {}
func (List) event()         {}
func (Help) event()         {}
func (Heading) event()      {}
func (Refused) event()      {}
func (Guess) event()        {}
func (Taken) event()        {}
func (Doubt) event()        {}
func (KeepOrAgain) event()  {}
func (TryLeaf) event()      {}
func (MeasureThird) event() {}
func (Dropped) event()      {}

// A question waits for its answer: whether to take what was guessed, or
// whether to keep what looks wrong.
type question struct {
	guess bool
	m     shim.Measurement // guess: to be kept; else what stood there before
}

// ErrOutOfStep is a figure that was not taken, or a question without an answer, where
// all was written before: the next line would land at the wrong valve.
var ErrOutOfStep = errors.New("out of step")

// Type takes one line: a figure, an answer, or one of the words back, skip,
// list, quit and ?. It gives what came of it, in order, also before an error,
// which ends the walk. The walk must not be done.
func (w *Walk) Type(text string) ([]Event, error) {
	came, err := w.line(text)
	refused := func(e Event) bool {
		_, is := e.(Refused)
		return is && e != nothingAsked
	}
	if err == nil && !w.Attended && slices.ContainsFunc(came, refused) {
		err = ErrOutOfStep
	}
	return came, err
}

// Both refuse an answer to no question, which is no valve's figure; but after one that
// takes a figure back the next is meant for the same valve.
var (
	nothingAsked      Event = Refused{Message: "nothing was asked", Hint: "type a figure, or ? for help"}
	nothingToTakeBack Event = Refused{Message: "nothing was asked", Hint: "type back and the figure to put it in place of the last one"}
)

// line takes one line.
func (w *Walk) line(text string) ([]Event, error) {
	word := strings.ToLower(strings.TrimSpace(text))
	var came []Event
	unanswered := w.asked != nil && w.asked.guess && !w.Attended
	if w.asked != nil {
		came, answered, err := w.answer(word)
		if answered || err != nil {
			return came, err
		}
		if w.Done() { // kept without a word; the line belongs to nothing
			w.spare = word
			return nil, nil
		}
	}
	if p, changed := w.Heading(); changed { // no question came between
		came = append(came, Heading(p))
	}
	enter := func() ([]Event, error) {
		if unanswered {
			return came, ErrOutOfStep
		}
		more, err := w.enter(text)
		return append(came, more...), err
	}
	if w.marked(word) {
		return enter()
	}
	switch word {
	case "":
		if w.filled(w.steps[w.at]) {
			w.advance()
		}
	case "back", "b":
		if w.at == 0 {
			return append(came, First{}), nil
		}
		w.at--
	case "skip", "s":
		w.advance()
	case "quit", "q":
		w.left = true
	case "list", "l":
		came = append(came, List{})
	case "?", "h", "help":
		came = append(came, Help{})
	case "y", "yes", "keep":
		came = append(came, nothingAsked)
	case "n", "no", "again": // a figure for the same valve follows
		came = append(came, nothingToTakeBack)
	default:
		return enter()
	}
	return came, nil
}

// answer takes a word as the answer to the question. It is false for one that
// is none: a figure typed again, a word.
//
// Where somebody attends, a figure is meant for the valve that was asked about.
// Else it was written before the question was asked: there a suspicious reading
// is kept, and the line goes to the next valve; after a guess it may belong to
// either, see [ErrOutOfStep].
func (w *Walk) answer(word string) (came []Event, answered bool, err error) {
	q := w.asked
	switch word {
	case "y", "yes", "keep", "k":
		if q.guess {
			came, err = w.take(q.m)
			return came, true, err
		}
		w.advance()
		return nil, true, nil
	case "n", "no", "again":
		w.asked = nil
		if q.guess {
			return nil, true, nil
		}
		came, _, err = w.keep(w.steps[w.at].Valve, q.m)
		return came, true, err
	case "":
		if !q.guess && w.Attended {
			w.advance()
		}
		return nil, true, nil
	}
	w.asked = nil
	if !q.guess && !w.Attended {
		w.advance()
	}
	return nil, false, nil
}

// enter takes a figure for the valve at hand.
func (w *Walk) enter(text string) ([]Event, error) {
	s, u := w.steps[w.at], w.Engine.Units
	m := w.Measurements[s.Valve]
	var sure bool
	var err error
	if s.Shims && w.Build && none(text) {
		m.Marks = shim.Marks{} // measured without a shim
		sure = true
		err = w.Engine.TrainOf(m.Valve).ImplausibleSetUp(m.Reading, 0, u.Clearance)
	} else if s.Shims {
		var typed entry.Shim
		typed, sure, err = w.shim(text, s.Valve)
		if typed.Stamp != 0 {
			// Another shim than before, so an old mic reading goes.
			m.Stamp, m.Mic = typed.Stamp, 0
		}
		if typed.Mic != 0 {
			m.Mic = typed.Mic
		}
	} else {
		gap, loaded := cutLoaded(text)
		read := entry.Clearance
		if w.Build {
			read = entry.SetUp
		}
		m.Reading, sure, err = read(gap, u.Clearance)
		m.Reading, m.Temperature = w.Engine.Counted(m.Reading), w.Temperature
		if loaded && err == nil {
			m.Reading, err = w.lessOpener(s.Valve, m.Reading)
		}
		if w.Build && err == nil && m.Reading == shim.ReadingOf(0) {
			err = w.Engine.TrainOf(m.Valve).ImplausibleSetUp(m.Reading, 0, u.Clearance)
		}
		if m.Reading == shim.ReadingOf(0) && err == nil {
			sure = true // taken where the maker allows none, else refused
		}
	}
	var wrong *shim.Hinted
	if errors.As(err, &wrong) {
		return []Event{Refused(*wrong)}, nil
	}
	if err != nil {
		return nil, err
	}
	if !sure {
		w.asked = &question{guess: true, m: m}
		return []Event{Guess{strings.TrimSpace(text), s.Shims, m}}, nil
	}
	return w.take(m)
}

// shim reads a shim of the valve in that place: by its mark, or its size.
func (w *Walk) shim(text string, valve int) (entry.Shim, bool, error) {
	v, u := w.Measurements[valve].Valve, w.Engine.Units.Size
	last := shim.Length(0)
	if w.Last != nil {
		last = w.Last[valve].Size()
	}
	if typed, sure, marked, err := entry.Marked(text, u, w.Engine.MarksOf(v), w.Engine.Ranges(v), last); marked {
		return typed, sure, err
	}
	return entry.Size(text, u, w.Engine.Ranges(v))
}

// marked reports whether the valve at hand is asked for its shim and the word is a
// mark that it may bear: the letter b then stands for no command.
func (w *Walk) marked(word string) bool {
	s := w.steps[w.at]
	return s.Shims && len(w.Engine.MarksOf(w.Measurements[s.Valve].Valve).Sizes(word)) > 0
}

// none reports whether the text says that there is no shim.
func none(text string) bool {
	text = strings.ToLower(strings.TrimSpace(text))
	return text == "none" || text != "" && strings.Trim(text, "0.,") == "" && strings.Contains(text, "0")
}

// cutLoaded takes the word off a loaded gap.
func cutLoaded(text string) (gap string, loaded bool) {
	word, gap, two := strings.Cut(strings.TrimSpace(text), " ")
	if two && strings.EqualFold(word, "loaded") {
		return gap, true
	}
	return text, false
}

// lessOpener is the clearance of the closer in that place by its loaded gap.
func (w *Walk) lessOpener(closer int, loaded shim.Reading) (shim.Reading, error) {
	v, u := w.Measurements[closer].Valve, w.Engine.Units.Clearance
	if !v.Closer {
		return loaded, shim.Fail(nil, "type its clearance alone", "%s is an opener: only a closer has a loaded gap", v)
	}
	free := w.Measurements[closer-1] // comes before its closer
	opener := free.Reading
	if opener.Kind == shim.Unread {
		return loaded, shim.Fail(nil, "type back and measure it first, or measure the closer directly", "%s has no clearance yet to take off", v.Other())
	}
	if !w.Engine.AsWarm(free.Temperature, w.Temperature) {
		return loaded, shim.Fail(nil, "type back and measure it again, or measure the closer directly", "%s was measured with the engine not as warm as now", v.Other())
	}
	r, known := shim.LoadedLess(loaded, opener, w.Engine.Measures())
	clearance, _ := r.Estimate()
	switch {
	case !known:
		return loaded, shim.Fail(nil, "measure both gaps with leaves that go, or the closer directly", "a closer's clearance needs a figure for both gaps, loaded and unloaded")
	case clearance < 0:
		return loaded, shim.Fail(nil, "measure both again: the valve free, then pressed down onto its closer", "the loaded gap of %s is smaller than the clearance of %s, %s", loaded.Format(u), v.Other(), opener.Format(u))
	}
	return r, nil
}

// take keeps the measurement and goes on, or asks whether it can be.
func (w *Walk) take(m shim.Measurement) ([]Event, error) {
	s := w.steps[w.at]
	before := w.Measurements[s.Valve]
	w.asked = nil
	reread := w.reread[s.Valve]
	w.reread[s.Valve] = reread || !s.Shims
	came, kept, err := w.keep(s.Valve, m)
	if !kept || err != nil {
		w.reread[s.Valve] = reread
		return came, err
	}
	came = slices.Insert(came, 0, Event(Taken{s, m, w.limits(s)}))
	judged, _ := w.Engine.AtLimits(m)
	if judged.Reading.Unconverted {
		judged.Reading.Open = 0 // said once, before the first valve: no leaf decides it
	}
	doubts, own := w.suspect(s)
	came = append(came, doubts...)
	switch {
	case own:
		w.asked = &question{m: before}
		if w.Attended {
			came = append(came, KeepOrAgain{})
		}
	case w.Attended && !s.Shims && w.limits(s).Undecided(judged.Reading):
		w.asked = &question{m: before}
		if m.Reading.Joined().Second.Taken || m.Reading.Second.Tighter {
			came = append(came, MeasureThird{})
		} else {
			came = append(came, TryLeaf{})
		}
	default:
		w.advance()
	}
	return came, nil
}

// keep stores one valve's measurement with the others. It is false, and
// nothing is changed, where the check cannot be kept with it.
func (w *Walk) keep(valve int, m shim.Measurement) (came []Event, kept bool, err error) {
	all := slices.Clone(w.Measurements)
	all[valve] = m
	if next := valve + 1; !m.Valve.Closer && next < len(all) && all[next].Valve == m.Valve.Other() && all[next].Reading.Unloaded != (shim.Unloaded{}) {
		// What the closer's loaded gap comes to depends on the opener, over the same shim and
		// at an engine as warm. A shim that is put right without a new reading is the same.
		other := w.reread[valve] && !w.reread[next] && w.another(valve, m.Marks)
		if all[next].Reading, kept = shim.LoadedLess(all[next].Reading.Loaded(), m.Reading, w.Engine.Measures()); !kept || other || !w.Engine.AsWarm(m.Temperature, all[next].Temperature) {
			all[next].Reading = shim.Reading{}
			came = append(came, Dropped{all[next].Valve})
		}
	}
	err = w.Keep(all)
	var refusal *Refusal
	if errors.As(err, &refusal) {
		came = nil
		for _, f := range refusal.Faults {
			came = append(came, f)
		}
		return came, false, nil
	}
	if err != nil {
		return nil, false, err
	}
	w.Measurements = all
	return came, true, nil
}

// another reports whether the shim is another than the valve had as the walk began. In a
// build a valve without one was measured so.
func (w *Walk) another(valve int, now shim.Marks) bool {
	was := w.begun[valve]
	switch {
	case was.Size() == 0:
		return w.Build && now.Size() != 0
	case was.Stamp != 0 && now.Stamp != 0: // it may have been measured since
		return was.Stamp != now.Stamp
	}
	return was.Size() != now.Size()
}

// A suspicion is named once, and again when its figure is typed again.
type doubted struct {
	valve  shim.Valve
	reason recheck.Reason
}

// suspect names what looks wrong since the step was typed, and reports whether
// it is what was typed.
func (w *Walk) suspect(at Step) (doubts []Event, own bool) {
	for _, s := range w.Suspicions() {
		key := doubted{s.Valve, s.Reason}
		mine := s.Valve == w.Measurements[at.Valve].Valve && at.Shims != (s.Reason == recheck.FarClearance || s.Reason == recheck.ReadingsApart)
		if w.told[key] && !mine {
			continue
		}
		w.told[key] = true
		own = own || mine
		doubts = append(doubts, Doubt(s))
	}
	return doubts, own
}
