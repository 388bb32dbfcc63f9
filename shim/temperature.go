package shim

import (
	"errors"
	"fmt"
	"slices"
)

// A Temperature is in thousandths of a kelvin; 0 is not known.
type Temperature int64

const (
	ice         = 273_150
	minEngine   = ice - 40_000
	maxEngine   = ice + 200_000
	celsiusHint = "write degrees Celsius, like 20"
)

// ParseCelsius reads degrees Celsius, a decimal of at most three places.
func ParseCelsius(text string) (Temperature, error) {
	n, err := parseScaled(text, 1000)
	if err != nil {
		return 0, Fail(err, celsiusHint, "%q is not a temperature", text)
	}
	if t := Temperature(n + ice); t >= minEngine && t <= maxEngine {
		return t, nil
	}
	return 0, Fail(nil, celsiusHint, "%s °C is not a plausible temperature of an engine: -40 to 200", text)
}

// Celsius is the temperature in degrees Celsius, without trailing zeros.
func (t Temperature) Celsius() string { return formatScaled(int64(t)-ice, 3, 0) }

// String is [Temperature.Celsius] with the unit.
func (t Temperature) String() string { return t.Celsius() + " °C" }

// MarshalJSON writes degrees Celsius, an exact decimal number; null where it is
// not known.
func (t Temperature) MarshalJSON() ([]byte, error) {
	if t == 0 {
		return []byte("null"), nil
	}
	return []byte(t.Celsius()), nil
}

// UnmarshalJSON reads what MarshalJSON writes.
func (t *Temperature) UnmarshalJSON(data []byte) (err error) {
	if string(data) == "null" {
		*t = 0
		return nil
	}
	*t, err = ParseCelsius(string(data))
	return err
}

// fahrenheit is above what a cold engine has in degrees Celsius.
const fahrenheit = ice + 50_000

// Fahrenheit reports whether a temperature given for an engine of that state makes
// sense in degrees Fahrenheit only: a cold engine has no 59 to 77 degrees Celsius.
func (t Temperature) Fahrenheit(s State) bool { return s == Cold && t > fahrenheit }

// A Window is the range of temperatures to measure at, both ends inside.
type Window struct{ From, To Temperature }

// String is like "15 to 25 °C".
func (w Window) String() string { return w.From.Celsius() + " to " + w.To.String() }

// Step is the window as a thing to do before the first valve.
func (w Window) Step(s State) string { return fmt.Sprintf("Engine %s: %s.", s, w) }

// perKelvin is how far a clearance may be from what it would be inside the window,
// for each kelvin outside it, either way. The one table that was found published
// rises by 0.01 mm in 5 K at most (Volvo B5254T2, from 15 to 45 °C); other engines
// may well do otherwise, so that it widens the doubt and moves nothing.
const perKelvin = 2 * Micrometre

// away is what a temperature outside the window leaves open.
func (w Window) away(t Temperature) Length {
	outside := max(w.From-t, t-w.To, 0)
	return perKelvin * Length(outside) / 1000
}

// A Correction is by how much a clearance is larger at a temperature than at the
// one that the limits are for, as the maker's own table has it.
type Correction struct {
	At Temperature
	By Length
}

// Before is what the file says of the work before measuring. All figures are the
// user's, from the maker's manual.
type Before struct {
	Lines []string `json:",omitempty"` // in the user's words: torque of the caps, their order
	Turns int      `json:",omitempty"` // of the crank, to seat the parts
	// Temperature is the window of the engine's [State] to measure in; nil where
	// the file says none.
	Temperature *Window      `json:",omitempty"`
	Corrections []Correction `json:",omitempty"` // from cold to warm; empty where the maker gives none
}

// Steps lists what is to be done before the first valve, a line each.
func (b *Before) Steps(s State) []string {
	if b == nil {
		return nil
	}
	list := slices.Clone(b.Lines)
	if b.Turns > 0 {
		list = append(list, "Turn the crank by hand, in its running direction: "+Count(b.Turns, "full turn")+", to seat the parts.")
	}
	if b.Temperature != nil {
		list = append(list, b.Temperature.Step(s))
	}
	return list
}

// A TemperatureNote says what comes of the temperature that a valve was measured
// at; see [Engine.AtLimits].
type TemperatureNote uint8

// The notes.
const (
	InsideWindow TemperatureNote = iota // or nothing is known of either
	Converted                           // by the maker's table
	NotConverted                        // outside the window, and there is no table, or it does not reach
)

// AtLimits is the measurement as the limits judge it. One taken outside the
// window is converted by the maker's table where the file has one: a reading at
// a temperature between two rows is between them in proportion, and open by half
// of what the two differ by. Nothing else is ever converted. Converting twice
// changes nothing.
func (e *Engine) AtLimits(m Measurement) (Measurement, TemperatureNote) {
	switch {
	case m.Reading.Converted():
		return m, Converted
	case m.Reading.Unconverted:
		return m, NotConverted
	case m.Reading.Kind == Unread || e.inside(m.Temperature):
		return m, InsideWindow
	}
	w := e.Before.Temperature
	by, open, found := e.Before.correction(m.Temperature)
	if !found || m.Valve.Closer { // a closer's gap goes the other way as the parts grow, by nobody knows how much
		if w != nil {
			m.Reading.Open, m.Reading.Unconverted = w.away(m.Temperature), true
		}
		return m, NotConverted
	}
	m.Reading = m.Reading.Shift(-by)
	m.Reading.Shifted, m.Reading.Open = -by, open
	return m, Converted
}

// inside reports whether readings of an engine as warm as that stay as they are:
// the temperature lies inside the window, or nothing is known of one of them.
func (e *Engine) inside(t Temperature) bool {
	if t == 0 || e.Before == nil {
		return true
	}
	w := e.Before.Temperature
	return w != nil && w.From <= t && t <= w.To || w == nil && len(e.Before.Corrections) == 0
}

// shopSwing is how far two temperatures that are stated may lie apart in a cold shop,
// where the engine file has no window: as far as the usual one of 15 to 25 °C is wide (a
// choice of our own).
const shopSwing = 10_000

// AsWarm reports whether gaps measured at the two temperatures may be taken off
// each other: inside the window, or at the same one; without a window, where they
// do not lie more than 10 K apart. Else the parts have grown in between, and the
// difference is no clearance. One that is not known counts as like the other.
func (e *Engine) AsWarm(one, other Temperature) bool {
	windowed := e.Before != nil && e.Before.Temperature != nil
	apart := one != 0 && other != 0 && !windowed && max(one-other, other-one) > shopSwing
	return one == other || e.inside(one) && e.inside(other) && !apart
}

// correction is what the table says for a temperature, and how far that leaves
// the clearance open; false where it has none.
func (b *Before) correction(t Temperature) (by, open Length, found bool) {
	for i := 1; i < len(b.Corrections); i++ {
		from, to := b.Corrections[i-1], b.Corrections[i]
		if t < from.At || t > to.At {
			continue
		}
		rise := to.By - from.By
		return from.By + Length(divHalfEven(int64(rise)*int64(t-from.At), int64(to.At-from.At))), rise.Abs() / 2, true
	}
	return 0, 0, false
}

// Reaches reports whether the maker's table has that temperature.
func (b *Before) Reaches(t Temperature) bool {
	if b == nil {
		return false
	}
	_, _, found := b.correction(t)
	return found
}

// errWindow and errTable say what a sound file has.
var (
	errWindow = errors.New("the temperatures are the wrong way round")
	errTable  = errors.New("the temperatures of the table do not rise from row to row")
)

// validate gives what is wrong, nil where it is sound, and the key under before.
func (b *Before) validate() (key string, err error) {
	switch {
	case b.Turns < 0 || b.Turns > 100:
		return "turns", Fail(nil, "how many full turns of the crank seat the parts", "%d turns are not plausible: 0 to 100", b.Turns)
	case b.Temperature != nil && b.Temperature.From >= b.Temperature.To:
		return "temperature", Fail(errWindow, "write the cooler one first, like temperature = [15, 25]", "%s: %s", b.Temperature, errWindow)
	case len(b.Corrections) == 1:
		return "corrections", Fail(nil, "write two rows or more, like corrections = [[20, 0], [30, 0.02]]", "a table of one row converts nothing")
	}
	for i, c := range b.Corrections {
		if i > 0 && c.At <= b.Corrections[i-1].At {
			return "corrections", Fail(errTable, "write the coolest row first", "%s", errTable)
		}
		if c.By.Abs() > MaxClearance/2 {
			return "corrections", Fail(nil, "write by how much the clearance is larger at that temperature", "a correction of %s mm is not plausible", c.By)
		}
	}
	for _, line := range b.Lines {
		if err := ImplausibleText(line); err != nil {
			return "lines", err
		}
	}
	return "", nil
}
