package files

import (
	"fmt"
	"io"
	"strings"

	"shimwright/shim"
)

// The columns of a box.
const (
	boxSize = iota
	boxCount
	boxMic
	boxDiameter
	boxFamily
	boxBin
	boxNote
	boxUsed
)

var boxColumns = []column{
	{"size", true, true}, {"count", true, false}, {"mic", false, true}, {"diameter", false, true}, {"family", false, false}, {"bin", false, false}, {"note", false, false}, {"used", false, false},
}

// ReadBox reads the shop's box, its lengths in the given unit
// where the columns do not state theirs. The rows come
// in the order of the file, without those that count 0. A box without rows is
// an empty box, with a warning. The second result are warnings; the error is
// a [Faults].
func ReadBox(name string, r io.Reader, u shim.Unit) ([]shim.BoxRow, []Fault, error) {
	t := newTable(name, r, boxColumns)
	if !t.readable() {
		return nil, nil, t.faults.err()
	}
	var rows []shim.BoxRow
	for t.next() {
		if t.ragged {
			continue
		}
		if row := boxRow(t, u); row.Count > 0 {
			rows = append(rows, row)
		}
	}
	if err := t.faults.err(); err != nil {
		return nil, nil, err
	}
	if t.rows == 0 {
		t.warnings = append(t.warnings, newFault(name, 0, 0, "", "the box is empty: no rows under the header", ""))
	}
	return rows, t.warnings.sorted(), nil
}

func boxRow(t *table, u shim.Unit) shim.BoxRow {
	var row shim.BoxRow
	size, mic, count := t.cell(boxSize), t.cell(boxMic), t.cell(boxCount)
	if t.swapped(boxCount, count, boxSize, u) {
		return row
	}
	if size != "" {
		row.Stamp, _ = t.size(boxSize, size, "", u)
	}
	if mic != "" {
		row.Mic, _ = t.size(boxMic, mic, "", u)
	}
	if size == "" && mic == "" {
		t.fault(boxSize, "", "the size is missing", "write the size on the shim, or the micrometer's in a column mic")
	}
	if count == "" {
		t.fault(boxCount, "", "the count is missing", "write how many there are, 0 for none")
	} else {
		row.Count, _ = t.count(boxCount, count, "a count")
	}
	t.compare(boxMic, "", row.Marks, u)
	row.Family = shim.Family{Kind: t.kind(boxFamily), Diameter: t.diameter(boxDiameter, u)}
	row.Bin, row.Note = t.text(boxBin), t.text(boxNote)
	switch used := t.cell(boxUsed); strings.ToLower(used) {
	case "yes":
		row.Used = true
	case "no":
	case "":
		row.Used = strings.EqualFold(row.Note, "used")
	default:
		t.fault(boxUsed, "", fmt.Sprintf("%q is neither yes nor no", used), "write yes for shims that have been in an engine, no for new ones")
	}
	return row
}
