package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/shim"
)

// addUnits adds the flag for the unit of typed and printed lengths.
func addUnits(cmd *cobra.Command) *choice {
	return addChoice(cmd, "units", "unit of lengths", "mm", "in")
}

// unit is the value of a flag of [addUnits].
func (c *choice) unit() shim.Unit {
	u, err := shim.ParseUnit(c.value)
	if err != nil {
		panic(err) // the flag takes no other word
	}
	return u
}

// pieces are a number of shims of one size, as typed.
type pieces struct {
	size  shim.Length
	count int
	told  bool // whether the count was typed; it is 1 otherwise
}

// parsePieces reads 2.400 or 2.400x3.
func parsePieces(text string, u shim.Unit) (pieces, error) {
	head, tail, told := text, "", false
	if at := strings.IndexAny(text, "xX*"); at >= 0 {
		head, tail, told = text[:at], text[at+1:], true
	} else if before, after, found := strings.Cut(text, "×"); found {
		head, tail, told = before, after, true
	}
	size, err := parseSize(head, u)
	if err != nil {
		return pieces{}, err
	}
	p := pieces{size: size, count: 1, told: told}
	if told {
		if p.count, err = parseCount(tail); err != nil {
			return pieces{}, fmt.Errorf("%s: %w", text, err)
		}
	}
	return p, nil
}

// parseCount reads a number of pieces, 0 and up.
func parseCount(text string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 0 {
		return 0, hint(usage(fmt.Errorf("%q is no number of pieces", strings.TrimSpace(text))), "a size with a count is typed 2.400x3")
	}
	return n, nil
}

// parseSize reads the size of a shim.
func parseSize(text string, u shim.Unit) (shim.Length, error) {
	size, err := parseLength(text, u, "a size, like "+u.FormatAtLeast(2400*shim.Micrometre, 3))
	if err != nil {
		return 0, err
	}
	if problem, way := shim.ImplausibleSize(size, u); problem != "" {
		return 0, hint(usage(errors.New(problem)), way)
	}
	return size, nil
}

// parseDiameter reads the diameter of a disc. Its bounds are checked where it
// is used.
func parseDiameter(text string, u shim.Unit) (shim.Length, error) {
	return parseLength(text, u, "the diameter of the disc, like "+u.Format(8900*shim.Micrometre))
}

// parseLength reads a typed length, with a decimal point or comma.
func parseLength(text string, u shim.Unit, like string) (shim.Length, error) {
	text = strings.TrimSpace(text)
	l, err := u.Parse(strings.Replace(text, ",", ".", 1))
	switch {
	case errors.Is(err, shim.ErrTooFine):
		return 0, hint(usage(fmt.Errorf("%q is finer than a nanometre", text)), "write fewer decimals")
	case err != nil:
		return 0, hint(usage(fmt.Errorf("%q is not a length", text)), "give "+like+" in "+u.String())
	}
	return l, nil
}

// sizeText is a size for people, three decimals at least; empty for none.
func sizeText(l shim.Length, u shim.Unit) string {
	if l == 0 {
		return ""
	}
	return bare(u.FormatAtLeast(l, 3), u)
}

// discText is a diameter for people.
func discText(l shim.Length, u shim.Unit) string { return bare(u.Format(l), u) }

// bare is the number without the zero before the point where it is of inches,
// as on drawings.
func bare(number string, u shim.Unit) string {
	if u == shim.IN && strings.HasPrefix(number, "0.") {
		return number[1:]
	}
	return number
}
