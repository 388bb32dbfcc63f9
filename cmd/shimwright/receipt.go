package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/report"
)

// maxReceipt limits how many sizes a receipt names.
const maxReceipt = 6

// printReceipt prints what was booked, what plans lost by it, and the next step.
// Done is a verb, like "Received".
func (a *app) printReceipt(done string, r inventory.Receipt, u shimText, next string) error {
	return a.printBooked(done+" "+moved(r.Movements, u), r, u, next)
}

// printBooked is [app.printReceipt] with a text of its own.
func (a *app) printBooked(what string, r inventory.Receipt, u shimText, next string) error {
	return a.write(func(w io.Writer) error {
		w = talkWriter{w, a.width}
		fmt.Fprintf(w, "%s: booking %d.\n", what, r.Batch) // errors show in Flush
		for _, line := range arrivals(r, u) {
			fmt.Fprintln(w, line)
		}
		for _, line := range assigned(r.Movements) {
			fmt.Fprintln(w, line)
		}
		for _, line := range given(r, u) {
			fmt.Fprintln(w, line)
		}
		if next != "" {
			fmt.Fprintf(w, "Next: %s\n", next)
		}
		return nil
	})
}

// say prints a line or two.
func (a *app) say(format string, args ...any) error {
	return a.write(func(w io.Writer) error {
		_, err := fmt.Fprintf(talkWriter{w, a.width}, format, args...)
		return err
	})
}

// moved adds movements up: "3 × 2.400, 1 × 2.425 mm of diameter 8.9". If
// shims go both ways, each count has a sign.
func moved(list []inventory.Movement, u shimText) string {
	var order []shim.Disc
	sums, names := map[shim.Disc]int{}, map[shim.Disc]string{}
	in, out := 0, 0
	for _, m := range list {
		k := m.Disc()
		if _, known := sums[k]; !known {
			order = append(order, k)
			names[k] = u.counted(m.Lot)
		}
		sums[k] += m.Count
		in, out = in+max(0, m.Count), out+max(0, -m.Count)
	}
	// Shims that arrived and left in the same booking changed nothing.
	if order = slices.DeleteFunc(order, func(k shim.Disc) bool { return sums[k] == 0 }); len(order) == 0 {
		return "nothing in the box changed"
	}
	if len(order) > maxReceipt {
		switch {
		case out == 0:
			return fmt.Sprintf("%d shims in %d sizes", in, len(order))
		case in == 0:
			return fmt.Sprintf("%d shims in %d sizes", out, len(order))
		}
		return fmt.Sprintf("%d shims in and %d out, in %d sizes", in, out, len(order))
	}
	var parts []string
	for i, k := range order {
		count := fmt.Sprint(max(sums[k], -sums[k]))
		if in > 0 && out > 0 {
			count = fmt.Sprintf("%+d", sums[k])
		}
		part := count + " × " + names[k]
		if i+1 == len(order) || order[i+1].Family != k.Family {
			part += fmt.Sprintf(" %s of %s", u.Unit, familyText(k.Family, u.Unit))
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}

// assigned says which arrived shims a job was waiting for.
func assigned(list []inventory.Movement) []string {
	pieces := map[int64]int{}
	for _, m := range list {
		if m.Kind == inventory.KindReceived && m.Job != 0 && m.Count > 0 {
			pieces[m.Job] += m.Count
		}
	}
	var lines []string
	for _, job := range slices.Sorted(maps.Keys(pieces)) {
		lines = append(lines, fmt.Sprintf("%d reserved for job %d, which was waiting for them.", pieces[job], job))
	}
	return lines
}

// arrivals says for each supplier what arrived on order, and at what price.
func arrivals(r inventory.Receipt, u shimText) []string {
	var names []string
	parts := map[string][]string{}
	pieces := map[string]int{}
	for _, l := range r.Came {
		if l.Supplier == "" && !(l.NoName && l.Priced) {
			continue
		}
		if !slices.Contains(names, l.Supplier) {
			names = append(names, l.Supplier)
		}
		pieces[l.Supplier] += l.Count
		parts[l.Supplier] = append(parts[l.Supplier], fmt.Sprintf("%d × %s%s", l.Count, u.disc(l.Disc), atPrice(l)))
	}
	var lines []string
	for _, name := range names {
		what := strings.Join(parts[name], ", ")
		if len(parts[name]) > maxReceipt {
			what = shim.Count(pieces[name], "shim")
		}
		lines = append(lines, "From "+supplierText(name)+": "+what+".")
	}
	return lines
}

// movementList is a list of movements, read in chunks.
type movementList struct {
	unit  shimText
	kinds bool                                 // whether some shims are no plain discs
	next  func() ([]inventory.Movement, error) // empty at the end
	older int64                                // the last row if older ones are left out, else 0
}

// print is [app.list] for a list whose reading may fail.
func (l *movementList) print(a *app, form string) error {
	return a.write(func(w io.Writer) error {
		switch form {
		case "json":
			return l.json(visibleJSON{w})
		case "csv":
			return l.csv(w)
		}
		d, err := l.document()
		if err != nil {
			return err
		}
		if form == "markdown" {
			return d.Markdown(w)
		}
		return d.Narrow(a.width).Text(w, a.color)
	})
}

func (l *movementList) each(do func(inventory.Movement) error) error {
	for {
		rows, err := l.next()
		if err != nil || len(rows) == 0 {
			return err
		}
		for _, m := range rows {
			if err := do(m); err != nil {
				return err
			}
		}
	}
}

func (l *movementList) document() (*report.Document, error) {
	t := movementTable()
	err := l.each(func(m inventory.Movement) error {
		t.Rows = append(t.Rows, movementRow(m, l.unit))
		return nil
	})
	if err != nil {
		return nil, err
	}
	section := report.Section{Table: t}
	switch {
	case len(t.Rows) == 0:
		section = report.Section{Lines: []string{"No movements."}}
	case l.older != 0:
		section.Notes = []string{fmt.Sprintf("For older movements: --before %d, or --all.", l.older)}
	}
	return &report.Document{Sections: []report.Section{section}}, nil
}

func movementTable() *report.Table {
	return &report.Table{Kind: "movements", Header: []string{"booking", "when", "what", "pieces", "size", "dia.", "bin", "who, why"}, Right: []int{0, 3, 4, 5}}
}

func movementRow(m inventory.Movement, u shimText) []string {
	what := string(m.Kind)
	if m.Reverses != 0 {
		what = "undo: " + what
	}
	why := m.Who
	if m.Job != 0 {
		why += fmt.Sprintf(", job %d", m.Job)
		if m.Valve != (shim.Valve{}) {
			why += " " + m.Valve.String()
		}
	}
	if m.Note != "" {
		why += ": " + m.Note
	}
	return []string{strconv.FormatInt(m.Batch, 10), when(m.Time), what, fmt.Sprintf("%+d", m.Count), u.counted(m.Lot), report.Family(u.Unit, m.Family), m.Bin, why}
}

type movementJSON struct {
	Movement int64  `json:"movement"`
	Batch    int64  `json:"batch"`
	Time     string `json:"time"`
	Kind     string `json:"kind"`
	shim.Disc
	Stamp    *shim.Length `json:"stamp_mm"`
	Mic      *shim.Length `json:"mic_mm"`
	Used     bool         `json:"used"`
	Bin      string       `json:"bin"`
	Count    int          `json:"count"`
	Job      *int64       `json:"job"`
	Valve    string       `json:"valve"`
	Price    *shim.Price  `json:"price"`
	Who      string       `json:"who"`
	Note     string       `json:"note"`
	Reverses *int64       `json:"reverses"`
	Hash     string       `json:"hash"`
	Supplier *string      `json:"supplier"` // null where no order waited for it
	Part     *string      `json:"part"`
	Mark     string       `json:"mark,omitempty"`
}

func movementOf(m inventory.Movement, mark string) movementJSON {
	out := movementJSON{
		Movement: m.Seq, Batch: m.Batch, Time: stamp(m.Time), Kind: string(m.Kind), Disc: m.Disc(),
		Stamp: known(m.Stamp), Mic: known(m.Mic), Used: m.Used, Bin: m.Bin, Count: m.Count,
		Who: m.Who, Note: m.Note, Hash: m.Hash.String(), Mark: mark,
	}
	if m.Job != 0 {
		out.Job = &m.Job
	}
	if m.Valve != (shim.Valve{}) {
		out.Valve = m.Valve.String()
	}
	if m.Priced {
		out.Price = &m.Price
	}
	if m.Reverses != 0 {
		out.Reverses = &m.Reverses
	}
	if m.Order != nil {
		out.Supplier, out.Part = &m.Order.Supplier, &m.Order.Part
	}
	return out
}

// json writes one line per movement, as they are read.
func (l *movementList) json(w io.Writer) error {
	if _, err := io.WriteString(w, "{\n  \"movements\": ["); err != nil {
		return err
	}
	separator := "\n    "
	err := l.each(func(m inventory.Movement) error {
		line, err := json.Marshal(movementOf(m, l.unit.on(m.Lot)))
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(w, "%s%s", separator, line)
		separator = ",\n    "
		return err
	})
	if err != nil {
		return err
	}
	older := "null"
	if l.older != 0 {
		older = strconv.FormatInt(l.older, 10)
	}
	_, err = fmt.Fprintf(w, "\n  ],\n  \"older\": %s\n}\n", older)
	return err
}

func (l *movementList) csv(w io.Writer) error {
	out := csv.NewWriter(w)
	header := []string{"movement", "batch", "time", "kind", "diameter_mm", "size_mm", "stamp_mm", "mic_mm", "used", "bin", "count", "job", "valve", "price", "who", "note", "reverses", "hash", "supplier", "part"}
	if l.kinds {
		header = append(header, "family")
	}
	if l.unit.marked {
		header = append(header, "mark")
	}
	if err := out.Write(header); err != nil {
		return err
	}
	number := func(n int64) string {
		if n == 0 {
			return ""
		}
		return strconv.FormatInt(n, 10)
	}
	err := l.each(func(m inventory.Movement) error {
		valve, price := "", ""
		if m.Valve != (shim.Valve{}) {
			valve = m.Valve.String()
		}
		if m.Priced {
			price = m.Price.String()
		}
		var order inventory.Terms
		if m.Order != nil {
			order = *m.Order
		}
		row := []string{
			number(m.Seq), number(m.Batch), stamp(m.Time), string(m.Kind), m.Diameter.String(), m.Size().String(), cellOf(m.Stamp), cellOf(m.Mic),
			strconv.FormatBool(m.Used), shim.SheetText(m.Bin), strconv.Itoa(m.Count), number(m.Job), valve, price, shim.SheetText(m.Who), shim.SheetText(m.Note), number(m.Reverses), m.Hash.String(), shim.SheetText(order.Supplier), shim.SheetText(order.Part),
		}
		if l.kinds {
			row = append(row, shim.SheetText(m.Family.Kind))
		}
		if l.unit.marked {
			row = append(row, shim.SheetText(l.unit.on(m.Lot)))
		}
		return out.Write(row)
	})
	if err != nil {
		return err
	}
	out.Flush()
	return out.Error()
}
