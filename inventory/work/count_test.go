package work

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

func TestCounted(t *testing.T) {
	row := func(stamp, mic, bin string, n int) inventory.Counting {
		c := inventory.Counting{Family: shim.Family{Diameter: mm(t, "8.9")}, Marks: shim.Marks{Stamp: mm(t, stamp), Mic: mm(t, mic)}, Bin: bin}
		c.Count = n
		return c
	}
	on := func(stamp, mic, bin string, n int) inventory.Balance {
		return inventory.Balance{Lot: inventory.Lot{Family: shim.Family{Diameter: mm(t, "8.9")}, Marks: shim.Marks{Stamp: mm(t, stamp), Mic: mm(t, mic)}, Bin: bin}, Count: n}
	}
	worn := on("2.45", "2.4", "A1", 1) // calculates as 2.4
	for _, c := range []struct {
		name  string
		byBin bool
		box   []inventory.Balance
		row   inventory.Counting
		want  []inventory.Counting
	}{
		{"nothing on record", false, nil, row("2.4", "0", "", 2), []inventory.Counting{row("2.4", "0", "", 2)}},
		{"one mark", false, []inventory.Balance{on("2.4", "0", "A1", 3)}, row("2.4", "0", "", 5), []inventory.Counting{row("2.4", "0", "", 5)}},
		{"a worn one", false, []inventory.Balance{worn}, row("2.4", "0", "", 1), []inventory.Counting{row("2.45", "2.4", "", 1)}},
		{"both told", false, []inventory.Balance{worn}, row("2.4", "2.39", "", 1), []inventory.Counting{row("2.4", "2.39", "", 1)}},
		{"two marks, all there", false, []inventory.Balance{on("2.4", "0", "A1", 3), worn}, row("2.4", "0", "", 4), []inventory.Counting{row("2.4", "0", "", 3), row("2.45", "2.4", "", 1)}},
		{"two marks, none there", false, []inventory.Balance{on("2.4", "0", "A1", 3), worn}, row("2.4", "0", "", 0), []inventory.Counting{row("2.4", "0", "", 0), row("2.45", "2.4", "", 0)}},
		{"put into another bin", true, []inventory.Balance{worn}, row("2.4", "0", "B2", 1), []inventory.Counting{row("2.45", "2.4", "B2", 1)}},
		{"another bin has two marks", true, []inventory.Balance{on("2.4", "0", "A1", 3), worn}, row("2.4", "0", "B2", 1), []inventory.Counting{row("2.4", "0", "B2", 1)}},
	} {
		rows, err := Counted(&inventory.Stocktake{Rows: []inventory.Counting{c.row}, ByBin: c.byBin}, c.box, shim.MM)
		require.NoError(t, err, c.name)
		assert.ElementsMatch(t, c.want, rows, c.name)
	}
	_, err := Counted(&inventory.Stocktake{Rows: []inventory.Counting{row("2.4", "0", "", 3)}}, []inventory.Balance{on("2.4", "0", "A1", 3), worn}, shim.MM)
	var mixed *MixedError
	require.ErrorAs(t, err, &mixed)
	assert.Equal(t, MixedError{mm(t, "2.4"), 4, 3}, *mixed)
}
