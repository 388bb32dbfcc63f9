package model

import (
	"cmp"
	"errors"
	"maps"
	"strconv"
	"strings"

	"shimwright/shim"
)

// A Walk asks for one model.
type Walk struct {
	answers []string // taken so far
	typed   map[topicOf]string
	left    bool
	now     *script // what the answers come to
	marks   MarksReader
	mending bool               // asks which answer to mend
	kept    map[topicOf]string // answers that still hold while one is mended
	fresh   int                // of the answers, the first that was typed anew
}

// A MarksReader reads what is written on shims, as engine files have it.
type MarksReader func(text string, u shim.Unit, sale []shim.Range) (shim.MarkList, error)

// New begins a walk. Without a reader it asks for no marks.
func New(marks MarksReader) *Walk {
	w := &Walk{typed: map[topicOf]string{}, marks: marks}
	w.run()
	return w
}

// run goes through all answers from the beginning. What is asked depends on the
// answers before it, so that going back is to forget the last one.
func (w *Walk) run() {
	w.now = &script{engine: &shim.Engine{}, answers: w.answers, marks: w.marks}
	w.now.run()
}

// Done reports whether nothing is asked any more.
func (w *Walk) Done() bool { return w.left || w.now.asks == nil }

// Left reports whether the walk was ended before its last question.
func (w *Walk) Left() bool { return w.left }

// Engine is what is known of the model so far. It is sound, and can be written
// and read again, when the walk is done and was not left.
func (w *Walk) Engine() *shim.Engine { return w.now.engine }

// Asks is what the walk asks for. It must not be done.
func (w *Walk) Asks() Question {
	if w.mending {
		return Question{Topic: Mend, Optional: true}
	}
	q := *w.now.asks
	q.Usual = cmp.Or(w.typed[topicOf{q.Topic, q.Part}], q.Usual)
	return q
}

// Type takes one answer, or one of the words back, list, quit and ?. The walk
// must not be done.
func (w *Walk) Type(text string) Event {
	text = strings.TrimSpace(text)
	switch strings.ToLower(text) {
	case "back", "b":
		return w.back()
	case "list":
		return List{}
	case "?", "h", "help":
		return Help{}
	case "quit", "q":
		w.left = true
		return Taken{}
	}
	q := w.Asks()
	if w.mending {
		return w.mend(text)
	}
	if q.ReadBack {
		return w.agree(q, text)
	}
	answer := text
	switch strings.ToLower(text) {
	case "":
		if answer = q.Usual; answer == "" && !q.Optional {
			return Refused{Message: "this has to be answered", Hint: "? says what may be typed; quit leaves without writing anything"}
		}
	case "none", "-":
		if q.Optional {
			answer = ""
		}
	}
	if err := w.take(answer); err != nil {
		var wrong *shim.Hinted
		if errors.As(err, &wrong) {
			return Refused(*wrong)
		}
		return Refused{Message: err.Error()}
	}
	topic := topicOf{q.Topic, q.Part}
	if (q.Topic == Units || q.Topic == ShimUnits) && w.typed[topic] != answer {
		w.kept = nil // figures without a unit would change
		asked := map[topicOf]bool{}
		for _, a := range w.Trail() {
			asked[topicOf{a.Topic, a.Part}] = true
		}
		maps.DeleteFunc(w.typed, func(t topicOf, _ string) bool { return !asked[t] })
	}
	if before, asked := w.typed[topic]; q.Topic == State && asked && before != answer {
		// The maker's limits and temperatures are for one state.
		ofState := func(t topicOf, _ string) bool { return t.Topic == Limits || t.Topic == Celsius }
		maps.DeleteFunc(w.kept, ofState)
		maps.DeleteFunc(w.typed, ofState)
	}
	w.typed[topic] = answer
	if w.kept != nil {
		w.kept[topic], w.fresh = answer, len(w.answers)-1
	}
	w.goOn()
	return Taken{}
}

// take takes an answer, or says why it cannot be.
func (w *Walk) take(answer string) error {
	w.answers = append(w.answers, answer)
	w.run()
	err := w.now.refused
	if err != nil {
		w.forget(len(w.answers) - 1)
	}
	return err
}

// goOn gives the answers that still hold after one was mended. What a new answer
// is part of is read back again.
func (w *Walk) goOn() {
	for w.kept != nil && w.now.asks != nil {
		q := *w.now.asks
		answer, known := w.kept[topicOf{q.Topic, q.Part}]
		switch {
		case q.Topic == Whole:
			w.kept = nil
			return
		case q.ReadBack && q.from > w.fresh:
			answer = "y"
		case q.ReadBack || !known:
			w.fresh = len(w.answers)
			return
		}
		if w.take(answer) != nil {
			w.fresh = len(w.answers)
			return
		}
	}
}

// Trail lists what was asked and answered so far, without what was read back.
func (w *Walk) Trail() []Answered {
	var list []Answered
	for i, q := range w.now.trail {
		if !q.ReadBack {
			list = append(list, Answered{q, w.answers[i]})
		}
	}
	return list
}

// mend goes to the answer of a number.
func (w *Walk) mend(text string) Event {
	switch strings.ToLower(text) {
	case "", "none", "-", "n", "no":
		w.mending = false
		return Taken{}
	case "all":
		w.mending = false
		w.forget(0)
		return Again{}
	}
	n, err := whole(text)
	if trail := w.Trail(); err != nil || n < 1 || n > len(trail) {
		return Refused{Message: strconv.Quote(text) + " is not the number of an answer", Hint: "type a number from 1 to " + strconv.Itoa(len(trail)) + ", all to be asked everything again, or Enter for none"}
	}
	w.mending = false
	kept, at := map[topicOf]string{}, 0
	for i, q := range w.now.trail {
		if q.ReadBack {
			continue
		}
		kept[topicOf{q.Topic, q.Part}] = w.answers[i]
		if n--; n == 0 {
			at = i
		}
	}
	w.kept, w.fresh = kept, at
	w.forget(at)
	return Again{}
}

// agree takes the answer to what was read back.
func (w *Walk) agree(q Question, text string) Event {
	switch strings.ToLower(text) {
	case "y", "yes":
		w.answers = append(w.answers, "y")
		w.run()
		w.goOn()
		return Taken{}
	case "n", "no":
		if q.Topic == Whole {
			w.mending = true
			return Taken{}
		}
		w.forget(q.from)
		return Again{}
	}
	return Refused{Message: "this is a question", Hint: "y if it is right, n to type it again"}
}

// back goes to the question before, past what was only read back.
func (w *Walk) back() Event {
	if w.mending {
		w.mending = false
		return Taken{}
	}
	for n := len(w.answers); n > 0; n-- {
		if q := w.now.trail[n-1]; !q.ReadBack {
			delete(w.kept, topicOf{q.Topic, q.Part}) // not read back yet, it may be
			w.forget(n - 1)
			return Taken{}
		}
	}
	return First{}
}

// forget keeps the first n answers.
func (w *Walk) forget(n int) {
	w.answers = w.answers[:n]
	w.run()
}

// A script goes through the questions as far as there are answers.
type script struct {
	engine  *shim.Engine
	like    layout
	marks   MarksReader
	answers []string
	trail   []Question // those that were answered
	asks    *Question  // the one without an answer, nil where there is none
	refused error      // why the answer to asks cannot be
}

// ask takes the answer to a question. After one that has no answer, or a wrong
// one, it does nothing.
func (s *script) ask(q Question, take func(text string) error) {
	if s.asks != nil {
		return
	}
	if len(s.trail) == len(s.answers) {
		s.asks = &q
		return
	}
	if err := take(s.answers[len(s.trail)]); err != nil {
		s.asks, s.refused = &q, err
		return
	}
	s.trail = append(s.trail, q)
}

// readBack asks whether what was answered since is right.
func (s *script) readBack(from int, q Question) {
	q.ReadBack, q.from = true, from
	s.ask(q, func(string) error { return nil })
}

// choose asks for one of the words, which may be shortened.
func (s *script) choose(q Question, take func(word string) error) {
	s.ask(q, func(text string) error {
		text = strings.ToLower(text)
		found := ""
		for _, word := range q.Choices {
			switch {
			case word == text:
				return take(word)
			case text != "" && strings.HasPrefix(word, text) && found == "":
				found = word
			case text != "" && strings.HasPrefix(word, text):
				return oneOf(q.Choices, text)
			}
		}
		if found == "" {
			return oneOf(q.Choices, text)
		}
		return take(found)
	})
}

func oneOf(words []string, text string) error {
	return shim.Fail(nil, "choose one of "+strings.Join(words, ", "), "%q is none of them", text)
}

// sound is what the rules of the trade say is wrong with a key of the engine.
func (s *script) sound(keys ...string) error {
	for _, problem := range s.engine.Validate() {
		for _, key := range keys {
			if problem.Key == key || strings.HasPrefix(problem.Key, key+".") {
				if hint := promptHints[key[strings.LastIndexByte(key, '.')+1:]]; hint != "" {
					problem.Hint = hint
				}
				return &problem.Hinted
			}
		}
	}
	return nil
}

// promptHints are the ways out that files write another way than prompts.
var promptHints = map[string]string{
	"name":        "type a name, like Heron 250 single",
	"cylinders":   "type how many cylinders the engine has",
	"banks":       "type every cylinder once, the banks parted by /, like 1 3 / 2 4",
	"valves":      "type the valves per cylinder on this side",
	"timing":      "type degrees of the crank, like 15 45",
	"temperature": "type the cooler one first, like 15-25",
	"clearance":   "type the maker's limits, the tight one first",
}
