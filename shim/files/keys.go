package files

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
)

// A text is a number as the file has it, so that it is read digit by digit.
type text string

func (t *text) UnmarshalText(digits []byte) error { *t = text(digits); return nil }

// A number is a kind of number: how its text is read, and what to write.
type number[T any] struct {
	parse func(text string) (T, error)
	hint  string
}

var (
	wholes  = number[int]{parseWhole, "write a whole number, like 4"}
	degrees = number[float64]{parseDegrees, "write degrees of the crank, -720 to 720"}
	factors = number[shim.Factor]{shim.ParseFactor, "write a decimal number of at most six decimals, like 0.5"}
	celsius = number[shim.Temperature]{shim.ParseCelsius, "write degrees Celsius, like 20"}
	prices  = number[shim.Price]{shim.ParsePrice, "write the price of one piece without its currency, like 7.80"}
)

func lengthsIn(u shim.Unit) number[shim.Length] {
	return number[shim.Length]{u.Parse, "write a length in " + u.String() + " without its unit, like " + u.Example("2.45", "0.098")}
}

// commaText is a number with a decimal comma.
var commaText = pattern(`^\s*([+-]?\d*),(\d+)\s*$`)

func parseWhole(text string) (int, error) {
	n, err := strconv.ParseInt(strings.TrimSpace(text), 10, 32)
	if err != nil {
		return 0, errors.New(quoted(text) + " is not a whole number")
	}
	return int(n), nil
}

// parseDegrees reads an angle of the crank. Angles are the only floats of a file.
func parseDegrees(text string) (float64, error) {
	n, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || n != n || n > 720 || n < -720 {
		return 0, errors.New(quoted(text) + " is not a number of degrees")
	}
	return n, nil
}

// read is one number of a key's value. What cannot be read is reported there.
func (n number[T]) read(d *document, key string, t text) T {
	got, err := n.parse(strings.ReplaceAll(string(t), "_", ""))
	if err != nil {
		at := d.place(key)
		if i := bytes.Index(d.text[at:], []byte(t)); i > 0 {
			at += len(bytes.TrimRight(d.text[at:at+i], `"'`))
		}
		message, hint := numberFault(string(t), err), n.hint
		if comma := commaText().FindStringSubmatch(string(t)); comma != nil {
			message, hint = fmt.Sprintf("a decimal comma: TOML writes %s.%s", cmp.Or(comma[1], "0"), comma[2]), pointHint
		} else if given := rangeValue().FindStringSubmatch(strings.TrimSpace(string(t))); given != nil {
			message, hint = aRange, rangeAsList(given)
		}
		d.add(at, key, message, hint)
	}
	return got
}

// one is a key's number, the given one where the key is missing.
func (n number[T]) one(d *document, key string, t *text, missing T) T {
	if t == nil {
		return missing
	}
	return n.read(d, key, *t)
}

// need is the number of a key that has to be there.
func (n number[T]) need(d *document, key string, t *text) T {
	var none T
	d.need(key, t != nil)
	return n.one(d, key, t, none)
}

// list is a key's list of numbers.
func (n number[T]) list(d *document, key string, texts []text) []T {
	var list []T
	for _, t := range texts {
		list = append(list, n.read(d, key, t))
	}
	return list
}

// pair is a key's list of two numbers, nil where it is missing or has not two.
func (n number[T]) pair(d *document, key string, texts []text, message, hint string) []T {
	list := n.list(d, key, texts)
	if len(list) == 2 {
		return list
	}
	if len(texts) == 4 && texts[0] == "0" && texts[2] == "0" && !d.faulty[key] {
		message, hint = fmt.Sprintf("decimal commas: TOML writes [0.%s, 0.%s]", texts[1], texts[3]), pointHint
	}
	if texts != nil && !d.faulty[key] {
		d.wrong(key, message, hint)
	}
	return nil
}

// need reports a key that is missing.
func (d *document) need(key string, given bool) {
	if !given && !d.follows(key) {
		_, last := split(key)
		d.wrong(key, "the key is missing", "write "+last+" = and its value")
	}
}

// word is one of the given words, the first where the key is missing.
func (d *document) word(key string, given *string, words ...string) string {
	if given == nil {
		return words[0]
	}
	word := strings.ToLower(strings.TrimSpace(*given))
	if !slices.Contains(words, word) {
		d.wrong(key, quoted(*given)+" is not possible", hints(didYouMean(word, words), `write "`+strings.Join(words, `" or "`)+`"`))
		return words[0]
	}
	return word
}

// numberFault is the message for a text that is no number.
func numberFault(text string, err error) string {
	switch {
	case errors.Is(err, shim.ErrTooFine):
		return quoted(text) + " has too many decimals"
	case errors.Is(err, shim.ErrTooLarge):
		return quoted(text) + " is too large"
	case errors.Is(err, strconv.ErrSyntax), errors.Is(err, shim.ErrNotNumber):
		return quoted(text) + " is not a plain decimal number"
	}
	return oneLine(err.Error())
}
