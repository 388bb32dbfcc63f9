package main

import (
	"fmt"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

// A kind is what tells pieces of one size and diameter apart: mark and mic.
type kind struct{ stamp, mic shim.Length }

// kindsOf gives the rows the marks and mic readings of the pieces on record: a
// typed size, a label and a row of a file without a mic reading tell the size
// to calculate with. A row that tells both stands for just that kind. Where
// several kinds have the size and the row does not tell how many there are of
// each, it is refused.
func kindsOf(take *inventory.Stocktake, lots []inventory.Balance, u shim.Unit) ([]inventory.Counting, error) {
	type place struct {
		kind
		diameter shim.Length
		bin      string
	}
	at := func(c inventory.Counting) place { return place{kind{c.Stamp, c.Mic}, c.Diameter, c.Bin} }
	told := map[place]bool{}
	for _, row := range take.Rows {
		told[at(row)] = true
	}
	var rows []inventory.Counting
	for _, row := range take.Rows {
		size := inventory.Lot{Marks: row.Marks}.Size()
		if row.Stamp != 0 && row.Mic != 0 {
			rows = append(rows, row)
			continue
		}
		here, elsewhere := map[kind]int{}, map[kind]int{}
		for _, l := range lots {
			c := row
			c.Stamp, c.Mic = l.Stamp, l.Mic
			switch {
			case !work.Same(row.Diameter, l.Diameter, u), !work.Same(size, l.Size(), u), c != row && told[at(c)]:
			case take.ByBin && row.Bin != l.Bin:
				elsewhere[kind{l.Stamp, l.Mic}] += l.Count
			default:
				here[kind{l.Stamp, l.Mic}] += l.Count
			}
		}
		if len(here) == 0 && len(elsewhere) == 1 {
			// It was put into another bin, with its mark and reading.
			here = map[kind]int{}
			for k := range elsewhere {
				here[k] = row.Count
			}
		}
		all := 0
		for _, n := range here {
			all += n
		}
		switch {
		case len(here) == 0:
			rows = append(rows, row)
			continue
		case len(here) > 1 && row.Count != 0 && row.Count != all:
			return nil, hint(fmt.Errorf("shims with different marks measure %s %s: %d are on record and %d were counted", sizeText(size, u), u, all, row.Count), "count these with stamp and mic in a file: --from")
		}
		for k, n := range here {
			c := row
			c.Stamp, c.Mic = k.stamp, k.mic
			c.Count = min(n, row.Count)
			if len(here) == 1 {
				c.Count = row.Count
			}
			rows = append(rows, c)
		}
	}
	return rows, nil
}
