package model

import (
	"strconv"
	"strings"

	"shimwright/shim"
)

// figure reads a length as manuals print it and hands type it: with a point or a
// comma, with or without the unit.
func figure(text string, u shim.Unit) (shim.Length, error) {
	bare := strings.TrimSpace(strings.TrimSuffix(strings.ToLower(strings.TrimSpace(text)), u.String()))
	if !strings.Contains(bare, ".") {
		bare = strings.Replace(bare, ",", ".", 1)
	}
	l, err := u.Parse(bare)
	if err != nil {
		return 0, shim.Fail(nil, "type a length in "+u.String()+", like "+u.Example("0.14", ".006"), "%q is not a length in %s", text, u)
	}
	return l, nil
}

// limits reads two figures: "0.14-0.21", "0,14 0,21", "0.14 to 0.21", or a middle
// and how far to either side, "0.17 +- 0.03".
func limits(text string, u shim.Unit) (shim.Limits, error) {
	text = strings.NewReplacer("±", " +- ", "+/-", " +- ", "+-", " +- ", "–", "-", "—", "-", "[", " ", "]", " ").Replace(strings.ToLower(text))
	middle, off, about := strings.Cut(text, "+-")
	parts := []string{middle, off}
	if !about {
		if strings.Contains(text, ".") {
			text = strings.ReplaceAll(text, ",", " ")
		}
		parts = strings.Fields(strings.NewReplacer(" to ", " ", " - ", " ", "-", " ", ", ", " ", u.String(), " ").Replace(text))
	}
	if len(parts) != 2 {
		return shim.Limits{}, shim.Fail(nil, "type the tight and the loose limit, like "+u.Example("0.14-0.21", ".006-.009"), "%q is not two limits", text)
	}
	var l shim.Limits
	for i, to := range []*shim.Length{&l.Tight, &l.Loose} {
		var err error
		if *to, err = figure(parts[i], u); err == nil {
			err = shim.ImplausibleClearance(*to, u)
		}
		if err != nil {
			return l, err
		}
	}
	if about {
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

// degrees reads an angle of the crank.
func degrees(text string) (float64, error) {
	n, err := strconv.ParseFloat(text, 64)
	if err != nil || strings.Trim(text, "+-.0123456789") != "" {
		return 0, shim.Fail(nil, "type degrees of the crank, like 90", "%q is not a number of degrees", text)
	}
	return n, nil
}

// size reads a size of a shim.
func size(text string, u shim.Unit) (shim.Length, error) {
	l, err := figure(text, u)
	if err == nil {
		err = shim.ImplausibleSize(l, u)
	}
	return l, err
}

// step reads the distance between the sizes of a range, which has to reach its
// end.
func step(text string, r shim.Range, u shim.Unit) (shim.Length, error) {
	l, err := figure(text, u)
	switch {
	case err != nil:
		return 0, err
	case l <= 0:
		return 0, shim.Fail(nil, "type the distance between neighbouring sizes, like "+u.Example("0.05", ".002"), "a step of %s %s is not possible", u.Format(l), u)
	case (r.To-r.From)%l != 0:
		return 0, shim.Fail(nil, "look at the list of sizes again; back to type the thickest size again",
			"in steps of %s from %s the last size is %s, not %s %s", u.Format(l), u.Format(r.From), u.Format(r.To-(r.To-r.From)%l), u.Format(r.To), u)
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
