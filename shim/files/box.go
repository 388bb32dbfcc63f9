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
	boxMark
)

var boxColumns = []column{
	{"size", true, true}, {"count", true, false}, {"mic", false, true}, {"diameter", false, true}, {"family", false, false}, {"bin", false, false}, {"note", false, false}, {"used", false, false}, {"mark", false, false},
}

// ReadBox reads the shop's box, its lengths in the given unit
// where the columns do not state theirs, and its marks as the given ones. The rows come
// in the order of the file, without those that count 0. A box without rows is
// an empty box, with a warning. The second result are warnings; the error is
// a [Faults].
func ReadBox(name string, r io.Reader, u shim.Unit, marks Marks) ([]shim.BoxRow, []Fault, error) {
	t := newTable(name, r, boxColumns)
	if !t.readable() {
		return nil, nil, t.faults.err()
	}
	var rows []shim.BoxRow
	for t.next() {
		if t.ragged {
			continue
		}
		if row := boxRow(t, u, marks); row.Count > 0 {
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

func boxRow(t *table, u shim.Unit, marks Marks) shim.BoxRow {
	var row shim.BoxRow
	size, mic, count, mark := t.cell(boxSize), t.cell(boxMic), t.cell(boxCount), t.cell(boxMark)
	if t.swapped(boxCount, count, boxSize, u) {
		return row
	}
	if mic != "" {
		row.Mic, _ = t.size(boxMic, mic, "", u)
	}
	disc := t.marked(boxSize, boxMark, u, marks, shim.Family{Kind: t.kind(boxFamily), Diameter: t.diameter(boxDiameter, u)}, row.Mic)
	row.Stamp, row.Family = disc.Size, disc.Family
	if size == "" && mic == "" && mark == "" {
		t.fault(boxSize, "", "the size is missing", "write the size on the shim, or the micrometer's in a column mic")
	}
	if count == "" {
		t.fault(boxCount, "", "the count is missing", "write how many there are, 0 for none")
	} else {
		row.Count, _ = t.count(boxCount, count, "a count")
	}
	t.compare(boxMic, "", row.Marks, u)
	row.Bin, row.Note = t.text(boxBin), t.text(boxNote)
	used := t.cell(boxUsed)
	switch word := strings.ToLower(used); {
	case t.form != nil && used != "":
		row.Used = t.usedCell(boxUsed, used)
	case word == "yes":
		row.Used = true
	case word == "no":
	case word == "":
		row.Used = strings.EqualFold(row.Note, "used")
	default:
		t.fault(boxUsed, "", fmt.Sprintf("%q is neither yes nor no", used), "write yes for shims that have been in an engine, no for new ones")
	}
	return row
}
