package main

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
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

// pieces are a number of shims of one size, as typed or scanned.
type pieces struct {
	size     shim.Length
	diameter shim.Length // as a label says it; 0 where only a size was typed
	count    int
	told     bool // whether the count was typed; it is 1 otherwise
}

// of returns the diameter: the label's, else the one of --diameter, else 0.
func (p pieces) of(typed string, u shim.Unit) (shim.Length, error) {
	d, err := anyDiameter(typed, u)
	switch {
	case err != nil || p.diameter == 0:
		return d, err
	case d != 0 && !work.Same(d, p.diameter, u):
		return 0, wrong("leave --diameter out; the label has it", "the label says diameter %s, but --diameter %s", p.diameter, typed)
	}
	return p.diameter, nil
}

// parsePieces reads 2.400, 2.400x3, or a label's text: 2.400;8.9.
func parsePieces(text string, u shim.Unit) (pieces, error) {
	head, tail, told := text, "", false
	if at := strings.IndexAny(text, "xX*"); at >= 0 {
		head, tail, told = text[:at], text[at+1:], true
	} else if before, after, found := strings.Cut(text, "×"); found {
		head, tail, told = before, after, true
	}
	size, diameter, err := parseShim(head, u)
	if err != nil {
		return pieces{}, err
	}
	p := pieces{size: size, diameter: diameter, count: 1, told: told}
	if told {
		if p.count, err = parseCount(tail); err != nil {
			return pieces{}, fmt.Errorf("%s: %w", text, err)
		}
	}
	return p, nil
}

// askedFor reads the size and the diameter to list, 0 for all.
func askedFor(args []string, typed string, u shim.Unit) (size, diameter shim.Length, err error) {
	var p pieces
	if len(args) > 0 {
		if p.size, p.diameter, err = parseShim(args[0], u); err != nil {
			return 0, 0, err
		}
	}
	diameter, err = p.of(typed, u)
	return p.size, diameter, err
}

// parseCount reads a number of pieces, 0 and up.
func parseCount(text string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 0 {
		return 0, wrong("type a size with a count like 2.400x3", "%q is not a count", strings.TrimSpace(text))
	}
	return n, nil
}

// parseShim reads a size, or the text of a label: size;diameter, in mm whatever the
// unit. The diameter is 0 if it is not given.
func parseShim(text string, u shim.Unit) (size, diameter shim.Length, err error) {
	before, after, label := strings.Cut(text, ";")
	if !label {
		size, err = parseSize(text, u)
		return size, 0, err
	}
	if size, err = parseSize(before, shim.MM); err != nil {
		return 0, 0, err
	}
	diameter, err = parseDiameter(after, shim.MM)
	return size, diameter, err
}

// parseSize reads the size of a shim.
func parseSize(text string, u shim.Unit) (shim.Length, error) {
	size, err := parseLength(text, u, "a size, like "+u.FormatAtLeast(2400*shim.Micrometre, 3))
	if err != nil {
		return 0, err
	}
	if err := shim.ImplausibleSize(size, u); err != nil {
		return 0, wrong("", "%w", err)
	}
	return size, nil
}

// parseDiameter reads the diameter of a shim. Its bounds are checked later.
func parseDiameter(text string, u shim.Unit) (shim.Length, error) {
	return parseLength(text, u, "the shim diameter, like "+u.Example("8.9", ".35"))
}

// parseLength reads a typed length, with a decimal point or comma.
func parseLength(text string, u shim.Unit, like string) (shim.Length, error) {
	text = strings.TrimSpace(text)
	l, err := u.Parse(strings.Replace(text, ",", ".", 1))
	switch {
	case errors.Is(err, shim.ErrTooFine):
		return 0, wrong("write fewer decimals", "%q is finer than a nanometre", text)
	case err != nil:
		return 0, wrong("give "+like+" in "+u.String(), "%q is not a length", text)
	}
	return l, nil
}

// parsePrice reads a price of --price, with a decimal point or comma.
func parsePrice(text string) (shim.Price, error) {
	text = strings.TrimSpace(text)
	p, err := shim.ParsePrice(strings.Replace(text, ",", ".", 1))
	if err != nil {
		return 0, wrong("give a price without the currency, like 7.80", "--price: %q is not a price", text)
	}
	return p, nil
}

// sizeText is a size for people, three decimals at least; empty for none.
func sizeText(l shim.Length, u shim.Unit) string {
	if l == 0 {
		return ""
	}
	return report.Figure(u, u.FormatAtLeast(l, 3))
}

// diameterText is a diameter for people.
func diameterText(l shim.Length, u shim.Unit) string { return report.Figure(u, u.Format(l)) }

// addDiameter adds the flag for the shim diameter.
func addDiameter(a *app, cmd *cobra.Command, into *string) {
	cmd.Flags().StringVar(into, "diameter", "", "shim `DIAMETER` (default: the only one in the shop)")
	completesFlag(cmd, "diameter", a.completeDiameters())
}

// theDiameter returns the typed diameter, else the only one in the shop, else the
// answer to a question.
func (a *app) theDiameter(ctx context.Context, shop *inventory.Shop, typed string, u shim.Unit) (shim.Length, error) {
	list, err := work.Diameters(ctx, shop)
	if err != nil {
		return 0, err
	}
	if typed != "" {
		d, err := parseDiameter(typed, u)
		if err != nil {
			return 0, err
		}
		d, found := snap(list, d, u)
		if !found && len(list) > 0 {
			a.doubt("the shop has no other shims of diameter "+u.Format(d)+" "+u.String(), "in the shop: "+diameterNames(list, u))
		}
		return d, nil
	}
	if len(list) == 1 {
		return list[0], nil
	}
	way := "give the shim diameter with --diameter"
	if len(list) > 0 {
		way += "; in the shop: " + diameterNames(list, u)
	}
	if a.person && (a.typed != nil || !a.inUsed) {
		if answer, err := a.prompt("shim diameter in " + u.String() + ": "); err == nil && answer != "" {
			return parseDiameter(answer, u)
		}
	}
	return 0, wrong(way, "the shim diameter is missing")
}

// snap returns the known length that a typed one means, and whether there is one:
// no decimal inch is exactly 8.9 mm. 0 stays 0.
func snap(list []shim.Length, typed shim.Length, u shim.Unit) (shim.Length, bool) {
	for _, l := range list {
		if typed != 0 && work.Same(typed, l, u) {
			return l, true
		}
	}
	return typed, false
}

func diameterNames(list []shim.Length, u shim.Unit) string {
	var names []string
	for _, d := range list {
		names = append(names, u.Format(d))
	}
	return strings.Join(names, ", ")
}

// anyDiameter returns the typed diameter, 0 for all.
func anyDiameter(typed string, u shim.Unit) (shim.Length, error) {
	if typed == "" {
		return 0, nil
	}
	return parseDiameter(typed, u)
}
