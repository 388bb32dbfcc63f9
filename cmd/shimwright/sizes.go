package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/files"
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
	shim.Disc // a diameter as a label says it; 0 where only a size was typed
	count     int
	told      bool // whether the count was typed; it is 1 otherwise
	marked    bool // whether a mark was typed
}

// of returns the family: the label's, else that of the flags, with a diameter of 0
// if neither says it.
func (p pieces) of(o familyOptions, u shim.Unit) (shim.Family, error) {
	f, err := o.typed(u)
	switch {
	case err != nil || p.Diameter == 0:
		return f, err
	case f.Diameter != 0 && !work.Same(f.Diameter, p.Diameter, u):
		return f, wrong("leave --diameter out; the label has it", "the label says diameter %s, but --diameter %s", p.Diameter, o.diameter)
	case f.Kind != "" && f.Kind != p.Kind:
		return f, wrong("leave --family out; the label has it", "the label says %s, but --family %s", p.Family, f.Kind)
	}
	return p.Family, nil
}

// parsePieces reads 2.400, 2.400x3, or a label's text: 2.400;8.9 or 2.900;7;closer.
func parsePieces(text string, u shim.Unit) (pieces, error) {
	head, tail, told := cutCount(text)
	disc, err := parseShim(head, u)
	if err != nil {
		return pieces{}, err
	}
	p := pieces{Disc: disc, count: 1, told: told}
	if told {
		if p.count, err = parseCount(tail); err != nil {
			return pieces{}, fmt.Errorf("%s: %w", text, err)
		}
	}
	return p, nil
}

// times are what stands between a size and its count.
const times = "xX*×"

// cutCount parts a size or a label from the count after it.
func cutCount(text string) (head, tail string, told bool) {
	label := strings.Count(text, ";") >= 2 // with a family, whose name may have an x
	at := strings.IndexAny(text, times)
	if label {
		at = strings.LastIndexAny(text, times)
	}
	if at < 0 {
		return text, "", false
	}
	_, mark := utf8.DecodeRuneInString(text[at:])
	head, tail = text[:at], text[at+mark:]
	if _, err := strconv.ParseUint(strings.TrimSpace(tail), 10, 64); label && err != nil {
		return text, "", false
	}
	return head, tail, true
}

// An asked is what is to be listed; zero fields are all. A diameter without a kind
// is that of plain discs.
type asked struct {
	shim.Disc
	unit shim.Unit
}

// asked reads the size and the family to list.
func (o familyOptions) asked(a *app, cmd *cobra.Command, args []string, u shim.Unit) (q asked, err error) {
	var p pieces
	if len(args) > 0 {
		r, err := o.reader(a, u, true, a.marksLater(cmd))
		if err != nil {
			return q, err
		}
		r.onHand = true
		if p.Disc, err = r.disc(args[0]); err != nil {
			return q, err
		}
	}
	q = asked{p.Disc, u}
	q.Family, err = p.of(o, u)
	return q, err
}

// family reports whether shims of the family are asked for.
func (q asked) family(f shim.Family) bool {
	return q.Family == shim.Family{} || q.Kind == f.Kind && work.Same(q.Diameter, f.Diameter, q.unit)
}

// lots leaves out what is not asked for.
func (q asked) lots(lots []inventory.Balance) []inventory.Balance {
	return filterLots(lots, func(l inventory.Lot) bool { return q.family(l.Family) && work.Same(q.Size, l.Size(), q.unit) })
}

// parseCount reads a number of pieces, 0 and up.
func parseCount(text string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 0 {
		return 0, wrong("type a size with a count like 2.400x3", "%q is not a count", strings.TrimSpace(text))
	}
	return n, nil
}

// parseShim reads a size, or the text of a label: size;diameter or
// size;diameter;family, in mm whatever the unit. The diameter is 0 if it is not
// given.
func parseShim(text string, u shim.Unit) (d shim.Disc, err error) {
	before, after, label := strings.Cut(text, ";")
	if !label {
		d.Size, err = parseSize(text, u)
		return d, err
	}
	if d.Size, err = parseSize(before, shim.MM); err != nil {
		return d, err
	}
	diameter, kind, whose := strings.Cut(after, ";")
	if whose {
		// Without its family it would be taken for a plain disc.
		if d.Kind = files.FamilyName(kind); strings.Contains(kind, ";") || !strings.ContainsFunc(d.Kind, unicode.IsLetter) {
			return d, wrong("scan the label again", "%q is not a label", text)
		}
		if err := shim.ImplausibleText(d.Kind); err != nil {
			return d, wrong("", "%w", err)
		}
	}
	d.Diameter, err = parseDiameter(diameter, shim.MM)
	return d, err
}

// shimFor reads a shim of the valve: its mark, its size, or the text of a label. What
// a micrometer reads, else the shims that it may be, tell which of two sizes a mark
// means; what they told is said. A mark that versions of the model in the book read
// differently is an error. Only a label gives the family.
func (a *app) shimFor(e *shim.Engine, book *shim.MarkBook, v shim.Valve, text string, mic shim.Length, recorded ...shim.Length) (shim.Disc, error) {
	u := e.Units.Size
	if err := book.Differ(text, e.FamilyOf(v), u); err != nil {
		return shim.Disc{}, wrong("", "%w", err)
	}
	m, is := e.MarksOf(v).Read(text, u, e.Ranges(v), mic, recorded...)
	switch {
	case !is:
		return parseShim(text, u)
	case m.Size == 0:
		return shim.Disc{}, wrong("", "%w", m.Open(text, u, "give the size in full"))
	case m.By != shim.Untold:
		a.doubt(v.String()+": "+m.Taken(text, u), "measure it if that cannot be")
	}
	return shim.Disc{Size: m.Size}, nil
}

// parseSize reads the size of a shim.
func parseSize(text string, u shim.Unit) (shim.Length, error) {
	size, err := parseLength(text, u, "a size, like "+u.FormatAtLeast(2400*shim.Micrometre, 3))
	if err != nil {
		return 0, err
	}
	_, in := shim.CutUnit(text, u)
	if err := shim.ImplausibleSize(size, in); err != nil {
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
	l, err := u.ParseTyped(strings.Replace(text, ",", ".", 1))
	switch {
	case errors.Is(err, shim.ErrTooFine):
		return 0, wrong("write fewer decimals", "%q is finer than a nanometre", text)
	case err != nil:
		return 0, wrong("give "+like+" in "+u.String()+", or with its unit behind it", "%q is not a length", text)
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

// familyText is a family for people, as in "diameter 8.9" or "diameter 7 (closer)".
func familyText(f shim.Family, u shim.Unit) string {
	text := "diameter " + report.Figure(u, u.Format(f.Diameter))
	if f.Kind != "" {
		text += " (" + f.Kind + ")"
	}
	return text
}

// familyOptions are the flags for the family of shims.
type familyOptions struct{ diameter, kind string }

// add adds the flags; of says what no --family means.
func (o *familyOptions) add(a *app, cmd *cobra.Command, of string) {
	flags := cmd.Flags()
	flags.StringVar(&o.diameter, "diameter", "", "shim `DIAMETER` (default: the only one in the shop)")
	flags.StringVar(&o.kind, "family", "", "shims that are no plain discs, by the `NAME` in the engine file, like closer (default: "+of+")")
	completesFlag(cmd, "diameter", a.completeDiameters())
	completesFlag(cmd, "family", a.completeKinds())
}

// Defaults of --family.
const (
	plainDiscs  = "plain discs"
	allFamilies = "all shims"
)

// typed is the family that the flags name, with a diameter of 0 if none does.
func (o familyOptions) typed(u shim.Unit) (shim.Family, error) {
	f := shim.Family{Kind: files.FamilyName(o.kind)}
	if o.diameter == "" {
		return f, nil
	}
	var err error
	f.Diameter, err = parseDiameter(o.diameter, u)
	return f, err
}

// theDiameter returns the typed diameter, else the only one that the shop has of
// the kind, else the answer to a question.
func (a *app) theDiameter(ctx context.Context, shop *inventory.Shop, typed, kind string, u shim.Unit) (shim.Length, error) {
	families, err := work.Families(ctx, shop)
	if err != nil {
		return 0, err
	}
	var list []shim.Length
	for _, f := range families {
		if f.Kind == kind {
			list = append(list, f.Diameter)
		}
	}
	if len(list) == 0 && kind != "" && len(families) > 0 {
		a.doubt("the shop has no other shims of family "+kind, "in the shop: "+kindNames(families))
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

// kindNames names the kinds of the families.
func kindNames(families []shim.Family) string {
	var names []string
	for _, f := range families {
		name := f.Kind
		if name == "" {
			name = plainDiscs
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return strings.Join(names, ", ")
}

// diametersOf lists the diameters of families, for [snap].
func diametersOf(families []shim.Family) []shim.Length {
	var list []shim.Length
	for _, f := range families {
		list = append(list, f.Diameter)
	}
	return list
}

// hasKinds reports whether some of the shims are no plain discs.
func hasKinds(list []shim.Family) bool {
	return slices.ContainsFunc(list, func(f shim.Family) bool { return f.Kind != "" })
}
