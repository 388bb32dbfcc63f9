package model

import (
	"cmp"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"shimwright/shim"
)

// figure reads a length as manuals print it and hands type it: with a point or a
// comma, with or without a unit behind it, which may be the other one.
func figure(text string, u shim.Unit) (shim.Length, error) {
	return figureLike(text, u, u.Example("0.14", ".006"))
}

// figureLike is [figure] with another example.
func figureLike(text string, u shim.Unit, example string) (shim.Length, error) {
	bare, in := shim.CutUnit(text, u)
	if !strings.Contains(bare, ".") {
		bare = strings.Replace(bare, ",", ".", 1)
	}
	l, err := in.Parse(bare)
	if err != nil {
		return 0, shim.Fail(nil, "type "+unitWord(u)+", like "+example+"; a figure with mm or in behind it is taken too", "%q is not a length", text)
	}
	return l, nil
}

// unitWord is the unit in a sentence.
func unitWord(u shim.Unit) string { return u.Example("mm", "inches") }

// Two figures with their units, and what may stand between them. Only between two
// figures with decimals is a comma alone no decimal comma.
var (
	twoFigures   = pattern(`^(-?\d*[.,]?\d+) *(mm|in|")?(?: *- *| *\bto\b *| *, +| +)(-?\d*[.,]?\d+) *(mm|in|")?$`)
	twoDecimals  = pattern(`^(-?\d*[.,]\d+) *(mm|in|")? *, *(-?\d*[.,]\d+) *(mm|in|")?$`)
	middleAndOff = pattern(`^(-?\d*[.,]?\d+) *(mm|in|")? *\+- *(\d*[.,]?\d+) *(mm|in|")?$`)
)

// pattern compiles an expression when it is first used.
func pattern(expression string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expression) })
}

// limits reads two figures: "0.14-0.21", "0,14 0,21", "0.14 to 0.21", or a middle
// and how far to either side, "0.17 +- 0.03". A unit behind one of them is that of
// both.
func limits(text string, u shim.Unit) (shim.Limits, error) {
	plain := strings.NewReplacer("±", "+-", "+/-", "+-", "–", "-", "—", "-", "[", "", "]", "").Replace(strings.ToLower(text))
	plain = strings.Join(strings.Fields(plain), " ")
	about := middleAndOff().FindStringSubmatch(plain)
	parts := about
	for _, form := range []func() *regexp.Regexp{twoFigures, twoDecimals} {
		if parts == nil {
			parts = form().FindStringSubmatch(plain)
		}
	}
	if parts == nil {
		return shim.Limits{}, shim.Fail(nil, "type the tight and the loose limit, like "+u.Example("0.14-0.21", ".006-.009"), "%q is not two limits", strings.TrimSpace(text))
	}
	first, second := cmp.Or(parts[2], parts[4]), cmp.Or(parts[4], parts[2])
	var l shim.Limits
	for _, f := range []struct {
		to   *shim.Length
		text string
		unit string
	}{{&l.Tight, parts[1], first}, {&l.Loose, parts[3], second}} {
		var err error
		_, in := shim.CutUnit("0"+f.unit, u)
		if *f.to, err = figure(f.text, in); err == nil {
			err = shim.ImplausibleClearance(*f.to, in)
		}
		if err != nil {
			return l, err
		}
	}
	if about != nil {
		l = shim.Limits{Tight: l.Tight - l.Loose, Loose: l.Tight + l.Loose}
	}
	return l, nil
}

// whole reads a number of things.
func whole(text string) (int, error) {
	n, err := strconv.ParseInt(text, 10, 32)
	if err != nil {
		return 0, shim.Fail(nil, "type a whole number, like 4", "%q is not a whole number", text)
	}
	return int(n), nil
}

// factor reads a fraction or a ratio: "0.6", "0,6", "1.4:1".
func factor(text string) (shim.Factor, error) {
	f, err := shim.ParseFactor(strings.Replace(strings.TrimSuffix(strings.TrimSpace(text), ":1"), ",", ".", 1))
	if err != nil {
		return 0, shim.Fail(nil, "type a decimal number, like 0.6", "%q is not a decimal number", text)
	}
	return f, nil
}

// between are what may stand between the figures of a list.
func between(c rune) bool { return strings.ContainsRune(" ,-–\t", c) }

// order reads numbers of cylinders: "1-3-4-2", "1 3 4 2".
func order(text string) ([]int, error) {
	var list []int
	for _, part := range strings.FieldsFunc(text, between) {
		n, err := whole(part)
		if err != nil {
			return nil, shim.Fail(nil, "type the cylinders by number, like 1-3-4-2", "%q is not the number of a cylinder", part)
		}
		list = append(list, n)
	}
	return list, nil
}

// banks reads the cylinders of each bank: "1 3 / 2 4".
func banks(text string) ([][]int, error) {
	var list [][]int
	for _, part := range strings.Split(text, "/") {
		bank, err := order(part)
		if err != nil {
			return nil, err
		}
		list = append(list, bank)
	}
	return list, nil
}

// degrees reads an angle of the crank: "90", "-40", "40 back".
func degrees(text string) (float64, error) {
	plain, back := strings.CutSuffix(strings.ToLower(text), " back")
	plain = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(strings.TrimSuffix(plain, " on")), "°"))
	n, err := strconv.ParseFloat(strings.Replace(plain, ",", ".", 1), 64)
	if back {
		n = -n
	}
	if err != nil || strings.Trim(plain, "+-.,0123456789") != "" {
		return 0, shim.Fail(nil, "type degrees of the crank, like 90", "%q is not a number of degrees", text)
	}
	return n, nil
}

// celsius reads a window of temperatures: "15-25", "15 to 25".
func celsius(text string) (*shim.Window, error) {
	plain := strings.NewReplacer("°", "", "c", "", " to ", " ", "–", "-").Replace(strings.ToLower(text))
	if strings.HasSuffix(strings.TrimSpace(plain), "f") {
		return nil, shim.Fail(nil, "type degrees Celsius, like 15-25", "%q is in degrees Fahrenheit", strings.TrimSpace(text))
	}
	parts := strings.Fields(plain)
	if len(parts) == 1 && strings.LastIndex(plain, "-") > 0 {
		at := strings.LastIndex(plain, "-")
		if plain[at-1] == '-' {
			at--
		}
		parts = []string{plain[:at], plain[at+1:]}
	}
	if len(parts) == 3 && parts[1] == "-" {
		parts = []string{parts[0], parts[2]}
	}
	if len(parts) != 2 {
		return nil, shim.Fail(nil, "type the coolest and the warmest in degrees Celsius, like 15-25", "%q is not two temperatures", text)
	}
	var w shim.Window
	for i, to := range []*shim.Temperature{&w.From, &w.To} {
		var err error
		if *to, err = shim.ParseCelsius(strings.Replace(parts[i], ",", ".", 1)); err != nil {
			return nil, err
		}
	}
	return &w, nil
}

// timing reads when valves open and close: "15 45", "15/45".
func timing(text string) (*shim.Timing, error) {
	parts := strings.FieldsFunc(text, func(c rune) bool { return strings.ContainsRune(" ,/\t°", c) })
	if len(parts) != 2 {
		return nil, shim.Fail(nil, "type two figures in degrees of the crank, like 15 45", "%q is not when the valves open and close", text)
	}
	var t shim.Timing
	for i, to := range []*float64{&t.Opens, &t.Closes} {
		var err error
		if *to, err = degrees(parts[i]); err != nil {
			return nil, err
		}
	}
	return &t, nil
}

// size reads a size of a shim.
func size(text string, u shim.Unit) (shim.Length, error) {
	l, err := figureLike(text, u, u.Example("2.45", ".098"))
	if err == nil {
		err = shim.ImplausibleSize(l, u)
	}
	return l, err
}

// step reads the distance between the sizes of a range, which has to reach its
// end.
func step(text string, r shim.Range, u shim.Unit) (shim.Length, error) {
	l, err := figureLike(text, u, u.Example("0.05", ".002"))
	switch {
	case err != nil:
		return 0, err
	case l <= 0:
		return 0, shim.Fail(nil, "type the distance between neighbouring sizes, like "+u.Example("0.05", ".002"), "a step of %s %s is not possible", u.Format(l), u)
	case (r.To-r.From)%l != 0:
		last := u.Format(r.To - (r.To-r.From)%l)
		return 0, shim.Fail(nil, "look at the list of sizes again; if it is so, back to type "+last+" as the thickest, and "+u.Format(r.To)+" as a further range of one size",
			"in steps of %s from %s the last size is %s, not %s %s", u.Format(l), u.Format(r.From), last, u.Format(r.To), u)
	}
	return l, nil
}

// price reads the price of a piece.
func price(text string) (shim.Quote, error) {
	p, err := shim.ParsePrice(strings.Replace(text, ",", ".", 1))
	if err != nil {
		return shim.Quote{}, shim.Fail(nil, "type the price of one piece without its currency, like 7.80, or none", "%q is not a price", text)
	}
	return shim.Quote{Price: p, Priced: true}, nil
}
