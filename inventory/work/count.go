package work

import (
	"fmt"

	"shimwright/inventory"
	"shimwright/shim"
)

// A MixedError says that a count does not say how many pieces there are of each
// mark.
type MixedError struct {
	Size              shim.Length
	OnRecord, Counted int
}

func (e *MixedError) Error() string {
	return fmt.Sprintf("shims with different marks measure %s mm: %d are on record and %d were counted", e.Size, e.OnRecord, e.Counted)
}

// Counted gives the rows of a count the marks of the pieces on record: a typed
// size, a label and a row of a file without a mic reading tell the size to
// calculate with. A row that tells both stands for just those marks. Where pieces
// of several marks have the size and the row does not tell how many there are of
// each, it is a [MixedError].
func Counted(take *inventory.Stocktake, lots []inventory.Balance, u shim.Unit) ([]inventory.Counting, error) {
	type place struct {
		shim.Marks
		shim.Family
		bin string
	}
	at := func(c inventory.Counting) place { return place{c.Marks, c.Family, c.Bin} }
	told := map[place]bool{}
	for _, row := range take.Rows {
		told[at(row)] = true
	}
	var rows []inventory.Counting
	for _, row := range take.Rows {
		if row.Stamp != 0 && row.Mic != 0 {
			rows = append(rows, row)
			continue
		}
		here, elsewhere := map[shim.Marks]int{}, map[shim.Marks]int{}
		for _, l := range lots {
			c := row
			c.Marks = l.Marks
			switch {
			case row.Kind != l.Kind, !Same(row.Diameter, l.Diameter, u), !Same(row.Size(), l.Size(), u), c != row && told[at(c)]:
			case take.ByBin && row.Bin != l.Bin:
				elsewhere[l.Marks] += l.Count
			default:
				here[l.Marks] += l.Count
			}
		}
		if len(here) == 0 && len(elsewhere) == 1 {
			here = elsewhere // it was put into another bin, with its mark and reading
		}
		split, err := shareOut(row, here)
		if err != nil {
			return nil, err
		}
		rows = append(rows, split...)
	}
	return rows, nil
}

// shareOut shares the counted pieces out to the marks on record.
func shareOut(row inventory.Counting, here map[shim.Marks]int) (rows []inventory.Counting, err error) {
	all := 0
	for _, n := range here {
		all += n
	}
	switch {
	case len(here) == 0:
		return []inventory.Counting{row}, nil
	case len(here) > 1 && row.Count != 0 && row.Count != all:
		return nil, &MixedError{row.Size(), all, row.Count}
	}
	for marks, n := range here {
		c := row
		c.Marks = marks
		if len(here) > 1 {
			c.Count = min(n, row.Count)
		}
		rows = append(rows, c)
	}
	return rows, nil
}
