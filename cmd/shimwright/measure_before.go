package main

import (
	"strings"

	"shimwright/shim"
	"shimwright/shim/entry"
	"shimwright/shim/walk"
)

// An ahead is one thing to do before the first valve: a line of the engine file,
// or the temperature to enter.
type ahead struct {
	line        string
	temperature bool
	last        shim.Temperature // of the valves in the file; 0 is not known
}

// lastTemperature is that of the last valve that has one.
func lastTemperature(list []shim.Measurement) (last shim.Temperature) {
	for _, m := range list {
		if m.Temperature != 0 {
			last = m.Temperature
		}
	}
	return last
}

// donePrefix begins the comment of a line that is done. So the file says what was
// done, and a later call does not ask again.
const donePrefix = "# done: "

// pending lists what is left to do before measuring, nothing where nobody can
// answer.
func pending(e *shim.Engine, f *checkFile, o walk.Options) []ahead {
	if !o.Attended || e.Before == nil {
		return nil
	}
	var list []ahead
	comments := strings.Split(string(f.comments), "\n")
	asks := o.Temperature == 0 && (e.Before.Temperature != nil || len(e.Before.Corrections) > 0)
	for _, line := range e.Before.Steps(e.State) {
		if w := e.Before.Temperature; asks && w != nil && line == w.Step(e.State) {
			continue // the temperature itself is asked for
		}
		done := false
		for _, comment := range comments {
			done = done || comment == donePrefix+line
		}
		if !done {
			list = append(list, ahead{line: line})
		}
	}
	if asks {
		list = append(list, ahead{temperature: true, last: lastTemperature(f.check.Measurements)})
	}
	return list
}

func (b ahead) prompt(e *shim.Engine) string {
	if !b.temperature {
		return b.line + " Done? (y, skip): "
	}
	usual := " [not known]: "
	if b.last != 0 {
		usual = " [" + b.last.String() + ", as before]: "
	}
	if w := e.Before.Temperature; w != nil {
		return "Engine temperature, now (" + w.String() + ")" + usual
	}
	return "Engine temperature, now, in °C" + usual
}

// ahead handles a line typed before the first valve.
func (t *measureTalk) ahead(text string) error {
	now, word := t.before[0], strings.ToLower(strings.TrimSpace(text))
	switch word {
	case "quit", "q":
		t.before = nil
		return t.line("quit")
	case "skip", "s", "n", "no":
		t.before = t.before[1:]
		return nil
	case "list", "l":
		t.list()
		return nil
	case "back", "b":
		t.tell("  nothing to go back to: answer, or skip")
		return nil
	case "?", "h", "help":
		if now.temperature {
			t.tell("  the engine's temperature in degrees Celsius, like 20; Enter takes what stands in brackets, skip leaves it out, quit stops")
			return nil
		}
		t.tell("  y when it is done, skip to go on without, quit to stop; a line that is skipped is asked again next time")
		return nil
	}
	if now.temperature && word == "" {
		t.Temperature, t.before = now.last, t.before[1:]
		if now.last != 0 {
			t.outside()
		}
		return nil
	}
	if now.temperature {
		at, err := shim.ParseCelsius(strings.Replace(strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(word, "c"), "°")), ",", ".", 1))
		if err != nil {
			t.refused(err)
			return nil
		}
		switch gap, _, wrongly := entry.Clearance(word, t.Engine.Units.Clearance); {
		case wrongly == nil && strings.ContainsAny(word, ".,") && gap.Low < shim.MaxClearance && gap.Low > 0:
			t.refused(shim.Fail(nil, "type degrees Celsius, like 20, or skip", "%s looks like a clearance; the engine's temperature comes first", word))
			return nil
		case at.Fahrenheit(t.Engine.State):
			t.refused(shim.Fail(nil, "type degrees Celsius, like 20; for a warm engine: measure --state warm", "%s is no cold engine: Fahrenheit?", at))
			return nil
		}
		t.Temperature, t.before = at, t.before[1:]
		if now.last != 0 && now.last != at {
			t.tell("The valves in the file were measured at %s; each keeps its own.", now.last)
		}
		t.outside()
		return nil
	}
	switch word {
	case "", "y", "yes", "done":
	default:
		t.tell("  type y when it is done, or skip")
		return nil
	}
	t.before = t.before[1:]
	t.file.comments = append(t.file.comments, donePrefix+now.line+"\n"...)
	return t.file.keep(t.Measurements)
}

// refused says why an entry was not taken.
func (t *measureTalk) refused(err error) {
	t.tell("  not accepted: %s", err)
	t.tell("  hint: %s", shim.HintOf(err))
}

// outside says what comes of a temperature outside the window.
func (t *measureTalk) outside() {
	at := shim.Measurement{Reading: shim.ReadingOf(shim.Millimetre / 2), Temperature: t.Temperature}
	u := t.Engine.Units.Clearance
	switch at, note := t.Engine.AtLimits(at); {
	case note == shim.NotConverted && at.Reading.Open == 0:
		t.tell("CAUTION: the maker's table in the engine file does not reach %s, so nothing is converted: wait, or the readings are not to be relied on", t.Temperature)
	case note == shim.NotConverted:
		t.tell("CAUTION: %s is outside %s, and the engine file has no table that reaches it: wait, or each clearance counts as open by %s %s more", t.Temperature, t.Engine.Before.Temperature, u.Show(at.Reading.Open, u.Places(), u.Places()), u)
	case note == shim.Converted:
		more := ""
		if t.Engine.Closers() {
			more = "; it is for openers, a closer is never converted"
		}
		t.tell("CAUTION: %s is not what the limits are for; the maker's table in the engine file converts the readings, which adds to the doubt%s", t.Temperature, more)
	}
}

// announce prints what is to be done before measuring where nobody is asked.
func (t *measureTalk) announce() {
	if t.Engine.Before == nil {
		return
	}
	if !t.Attended {
		for _, line := range t.Engine.Before.Steps(t.Engine.State) {
			t.tell("Before measuring: %s", line)
		}
	}
	if t.Temperature != 0 {
		t.outside()
	}
}
