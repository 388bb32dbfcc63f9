package main

import (
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
)

// usedNote is the note by which a box file tells used shims from new ones.
const usedNote = "used"

func isUsed(note string) bool { return strings.EqualFold(strings.TrimSpace(note), usedNote) }

// boxRows gives lots as the rows of a box file.
func boxRows(lots []inventory.Balance) []shim.BoxRow {
	rows := make([]shim.BoxRow, 0, len(lots))
	for _, l := range lots {
		row := shim.BoxRow{Marks: l.Marks, Diameter: l.Diameter, Count: l.Count, Bin: l.Bin}
		if l.Used {
			row.Note = usedNote
		}
		rows = append(rows, row)
	}
	return rows
}
