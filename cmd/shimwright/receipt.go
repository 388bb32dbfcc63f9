package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
)

// maxReceipt bounds how many sizes a receipt names.
const maxReceipt = 6

// printReceipt says what was booked, what plans lost by it, and what comes
// next. Done is what was done, like "Received".
func (b *bench) printReceipt(done string, r inventory.Receipt, u shim.Unit, next string) error {
	return b.printBooked(done+" "+moved(r.Movements, u), r, u, next)
}

// printBooked is [bench.printReceipt] for what is said in words of its own.
func (b *bench) printBooked(what string, r inventory.Receipt, u shim.Unit, next string) error {
	return b.write(func(w io.Writer) error {
		w = talkWriter{w, b.width}
		fmt.Fprintf(w, "%s: batch %d.\n", what, r.Batch) // errors show in Flush
		for _, line := range came(r, u) {
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

// say prints one line or two.
func (b *bench) say(format string, args ...any) error {
	return b.write(func(w io.Writer) error {
		_, err := fmt.Fprintf(talkWriter{w, b.width}, format, args...)
		return err
	})
}

// moved adds movements up: "3 × 2.400, 1 × 2.425 mm of disc 8.9". Where
// pieces go both ways, each count has its sign.
func moved(list []inventory.Movement, u shim.Unit) string {
	type key struct{ diameter, size shim.Length }
	var order []key
	sums := map[key]int{}
	in, out := 0, 0
	for _, m := range list {
		k := key{m.Diameter, m.Size()}
		if _, known := sums[k]; !known {
			order = append(order, k)
		}
		sums[k] += m.Count
		in, out = in+max(0, m.Count), out+max(0, -m.Count)
	}
	// What came and went again within the booking changed nothing.
	if changed := slices.DeleteFunc(slices.Clone(order), func(k key) bool { return sums[k] == 0 }); len(changed) > 0 {
		order = changed
	}
	if len(order) > maxReceipt {
		switch {
		case out == 0:
			return fmt.Sprintf("%d pieces in %d sizes", in, len(order))
		case in == 0:
			return fmt.Sprintf("%d pieces in %d sizes", out, len(order))
		}
		return fmt.Sprintf("%d pieces in and %d out, in %d sizes", in, out, len(order))
	}
	var parts []string
	for i, k := range order {
		count := fmt.Sprint(max(sums[k], -sums[k]))
		if in > 0 && out > 0 {
			count = fmt.Sprintf("%+d", sums[k])
		}
		part := count + " × " + sizeText(k.size, u)
		if i+1 == len(order) || order[i+1].diameter != k.diameter {
			part += fmt.Sprintf(" %s of disc %s", u, discText(k.diameter, u))
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}

// assigned says which of the pieces that came in a job waited for.
func assigned(list []inventory.Movement) []string {
	var lines []string
	jobs := map[int64]int{}
	for _, m := range list {
		if m.Kind == inventory.KindReceived && m.Job != 0 && m.Count > 0 {
			if jobs[m.Job] == 0 {
				lines = append(lines, "")
			}
			jobs[m.Job] += m.Count
			lines[len(jobs)-1] = fmt.Sprintf("Job %d waited for %d of them: they are reserved for it.", m.Job, jobs[m.Job])
		}
	}
	return lines
}

// came says for each supplier what came of the orders, and at what price.
func came(r inventory.Receipt, u shim.Unit) []string {
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
		parts[l.Supplier] = append(parts[l.Supplier], fmt.Sprintf("%d × %s%s", l.Count, sizeText(l.Size, u), atPrice(l)))
	}
	var lines []string
	for _, name := range names {
		what := strings.Join(parts[name], ", ")
		if len(parts[name]) > maxReceipt {
			what = shim.Count(pieces[name], "piece")
		}
		lines = append(lines, "From "+supplierText(name)+": "+what+".")
	}
	return lines
}
