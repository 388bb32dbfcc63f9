package main

import (
	"errors"
	"slices"
	"strings"

	"shimwright/shim"
	"shimwright/shim/entry"
	"shimwright/shim/recheck"
)

// A question waits for its answer: whether to take what was guessed, or
// whether to keep what looks wrong.
type question struct {
	guess bool
	m     shim.Measurement // guess: to be written; else what stood there before
}

// line takes one line that was typed. An error ends the walk.
func (w *walk) line(text string) error {
	word := strings.ToLower(strings.TrimSpace(text))
	if q := w.asked; q != nil {
		answered, err := w.answer(q, word)
		if answered || err != nil {
			return err
		}
		if w.done() { // kept without a word; the line belongs to nothing
			w.spare = word
			return nil
		}
		w.heading() // no prompt came between
	}
	switch word {
	case "":
		if w.filled(w.steps[w.at]) {
			w.advance()
		}
	case "back", "b":
		w.back()
	case "skip", "s":
		w.advance()
	case "quit", "q":
		w.left = true
	case "list", "l":
		w.list()
	case "?", "h", "help":
		w.help()
	case "y", "yes", "n", "no", "keep", "again":
		w.refuse("nothing was asked", "type a figure, or ? for help")
	default:
		return w.enter(text)
	}
	return nil
}

// answer takes a line as the answer to a question. It is false for a line that
// is none: a figure typed again, a word.
//
// On a terminal a figure is meant for the valve that was asked about. What
// comes through a pipe was written before the question was asked: there a
// suspicious reading is kept, and the line goes to the next valve.
func (w *walk) answer(q *question, word string) (answered bool, err error) {
	switch word {
	case "y", "yes", "keep", "k":
		if q.guess {
			return true, w.enterAs(q.m)
		}
		w.advance()
		return true, nil
	case "n", "no", "again":
		w.asked = nil
		if q.guess {
			return true, nil
		}
		_, err := w.put(w.steps[w.at].valve, q.m)
		return true, err
	case "":
		if !q.guess && w.terminal {
			w.advance()
		}
		return true, nil
	}
	w.asked = nil
	if !q.guess && !w.terminal {
		w.advance()
	}
	return false, nil
}

// enter takes a figure for the valve at hand.
func (w *walk) enter(text string) error {
	s, u := w.steps[w.at], w.engine.Units
	m := w.check.Measurements[s.valve]
	var sure bool
	var err error
	if s.shims {
		var typed entry.Shim
		typed, sure, err = entry.Size(text, u, w.engine.Catalogue)
		if typed.Stamp != 0 {
			// Another shim than before, so an old mic reading goes.
			m.Stamp, m.Mic = typed.Stamp, 0
		}
		if typed.Mic != 0 {
			m.Mic = typed.Mic
		}
	} else {
		m.Reading, sure, err = entry.Clearance(text, u)
		if m.Reading == shim.ReadingOf(0) && err == nil {
			sure = true // taken where the maker allows none, else refused
		}
	}
	var wrong *entry.Error
	if errors.As(err, &wrong) {
		w.refuse(wrong.Message, wrong.Hint)
		return nil
	}
	if err != nil {
		return err
	}
	if !sure {
		w.asked = &question{guess: true, m: m}
		w.ask(text)
		return nil
	}
	return w.enterAs(m)
}

// enterAs writes the measurement, says how it is and goes on, or asks whether
// it can be.
func (w *walk) enterAs(m shim.Measurement) error {
	s := w.steps[w.at]
	before := w.check.Measurements[s.valve]
	w.asked = nil
	if written, err := w.put(s.valve, m); !written || err != nil {
		return err
	}
	w.judge(s)
	if w.suspect(s) {
		w.asked = &question{m: before}
		if w.terminal {
			w.tell("  keep it (Enter), or type it again")
		}
		return nil
	}
	if w.terminal && !s.shims && w.limits(s).Undecided(m.Reading) {
		w.asked = &question{m: before}
		w.tell("  try that leaf and type the reading again, or Enter keeps it")
		return nil
	}
	w.advance()
	return nil
}

// limits are those of the step's valve.
func (w *walk) limits(s step) shim.Limits {
	return w.engine.Train(w.check.Measurements[s.valve].Valve.Side).Limits
}

// A suspicion is named once, and again when its figure is typed again.
type suspicion struct {
	valve  shim.Valve
	reason recheck.Reason
}

// suspicions lists what looks wrong so far.
func (w *walk) suspicions() []recheck.Suspicion {
	var known, recalled []shim.Measurement
	for i, m := range w.check.Measurements {
		if m.Reading.Kind == shim.Unread && m.Size() == 0 {
			continue
		}
		known = append(known, m)
		if m.Size() == 0 && w.last != nil {
			// Until the shims are seen they are those of the last check.
			m.Stamp, m.Mic = w.last[i].Stamp, w.last[i].Mic
		}
		recalled = append(recalled, m)
	}
	found := recheck.Suspects(w.engine, known, nil, recheck.UsualRules)
	if w.last != nil {
		moved := recheck.Suspects(w.engine, recalled, w.last, recheck.UsualRules)
		found = append(found, slices.DeleteFunc(moved, func(s recheck.Suspicion) bool { return s.Reason != recheck.Moved })...)
	}
	return found
}

// suspect names what looks wrong since the step was typed, and tells whether
// it is what was typed.
func (w *walk) suspect(at step) bool {
	own := false
	for _, s := range w.suspicions() {
		key := suspicion{s.Valve, s.Reason}
		mine := s.Valve == w.check.Measurements[at.valve].Valve && at.shims != (s.Reason == recheck.FarClearance)
		if w.told[key] && !mine {
			continue
		}
		w.told[key] = true
		own = own || mine
		w.doubt(s)
	}
	return own
}
