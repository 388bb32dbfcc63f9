package files

import (
	"io"

	"shimwright/shim"
)

// ReadStocktake reads what was counted, in the form of a box, its lengths in
// the given unit. Unlike with [ReadBox], rows that count 0 stay: none was
// found. The second result are warnings; the error is a [Faults].
func ReadStocktake(name string, r io.Reader, u shim.Unit, marks Marks) ([]shim.BoxRow, []Fault, error) {
	t := newTable(name, r, boxColumns)
	if !t.readable() {
		return nil, nil, t.faults.err()
	}
	var rows []shim.BoxRow
	for t.next() {
		if !t.ragged {
			rows = append(rows, boxRow(t, u, marks))
		}
	}
	if t.rows == 0 && len(t.faults) == 0 {
		t.faults = append(t.faults, newFault(name, 0, 0, "", "nothing was counted: no rows under the header", "write a row for each size, with 0 where none was found"))
	}
	if err := t.faults.err(); err != nil {
		return nil, nil, err
	}
	return rows, t.warnings.sorted(), nil
}
