package entry

import (
	"errors"
	"strings"

	"shimwright/shim"
)

// tidy drops the space around the text and the unit behind it, which is that of all
// figures before it that have none.
func tidy(text string, u shim.Unit) (string, shim.Unit) {
	return shim.CutUnit(strings.ToLower(text), u)
}

// length reads decimal text with a point or one comma. A bare number has
// neither: what it stands for has to be guessed.
func length(text string, u shim.Unit) (l shim.Length, bare bool, err error) {
	bare = !strings.ContainsAny(text, ".,")
	if !strings.Contains(text, ".") {
		text = strings.Replace(text, ",", ".", 1)
	}
	l, err = u.Parse(text)
	switch {
	case errors.Is(err, shim.ErrTooFine):
		return 0, bare, shim.Fail(nil, "type fewer decimals", "%q is finer than a nanometre", text)
	case errors.Is(err, shim.ErrTooLarge):
		return 0, bare, shim.Fail(nil, "type a length in "+u.String(), "%q is too large", text)
	case err != nil:
		return 0, bare, shim.Fail(nil, "", "%q is not a figure", text)
	}
	return l, bare, nil
}
