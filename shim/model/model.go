package model

import (
	"cmp"
	"errors"
	"strings"

	"shimwright/shim"
)

// A Walk asks for one model.
type Walk struct {
	answers []string // taken so far
	typed   map[topicOf]string
	left    bool
	now     *script // what the answers come to
}

// New begins a walk.
func New() *Walk {
	w := &Walk{typed: map[topicOf]string{}}
	w.run()
	return w
}

// run goes through all answers from the beginning. What is asked depends on the
// answers before it, so that going back is to forget the last one.
func (w *Walk) run() {
	w.now = &script{engine: &shim.Engine{}, answers: w.answers}
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
	w.answers = append(w.answers, answer)
	w.run()
	if err := w.now.refused; err != nil {
		w.forget(len(w.answers) - 1)
		var wrong *shim.Hinted
		if errors.As(err, &wrong) {
			return Refused(*wrong)
		}
		return Refused{Message: err.Error()}
	}
	w.typed[topicOf{q.Topic, q.Part}] = answer
	return Taken{}
}

// agree takes the answer to what was read back.
func (w *Walk) agree(q Question, text string) Event {
	switch strings.ToLower(text) {
	case "y", "yes":
		w.answers = append(w.answers, "y")
		w.run()
		return Taken{}
	case "n", "no":
		w.forget(q.from)
		return Again{}
	}
	return Refused{Message: "this is a question", Hint: "y if it is right, n to type it again"}
}

// back goes to the question before, past what was only read back.
func (w *Walk) back() Event {
	for n := len(w.answers); n > 0; n-- {
		if !w.now.trail[n-1].ReadBack {
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
	return shim.Fail(nil, "type "+strings.Join(words, " or "), "%q is none of the answers", text)
}

// sound is what the rules of the trade say is wrong with a key of the engine.
func (s *script) sound(keys ...string) error {
	for _, problem := range s.engine.Validate() {
		for _, key := range keys {
			if problem.Key == key || strings.HasPrefix(problem.Key, key+".") {
				return &problem.Hinted
			}
		}
	}
	return nil
}
