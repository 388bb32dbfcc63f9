package shim_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// micrometres writes a size.
const micrometres = shim.Micrometre

// A mark of two sizes: 50 is 2.50 and 3.50 mm in one range (Kawasaki KLE650,
// seen). A known size of the shim tells which, else the sizes on sale.
func TestMarkOfTwoSizes(t *testing.T) {
	marks := shim.MarkList{{Text: "05", Size: 2050 * micrometres}, {Text: "50", Size: 2500 * micrometres}, {Text: "50", Size: 3500 * micrometres}}
	all := []shim.Range{{From: 2000 * micrometres, To: 3500 * micrometres, Step: 50 * micrometres}}
	thin := []shim.Range{{From: 2000 * micrometres, To: 3200 * micrometres, Step: 50 * micrometres}}
	for _, c := range []struct {
		name  string
		sale  []shim.Range
		mic   shim.Length
		known shim.Length
		want  shim.Length
	}{
		{"nothing known", all, 0, 0, 0},
		{"no catalogue", nil, 0, 0, 0},
		{"on sale", thin, 0, 0, 2500},
		{"on record", all, 0, 3487 * micrometres, 3500},
		{"on record, though on sale no more", thin, 0, 3487 * micrometres, 3500},
		{"the micrometer before the record", all, 2493 * micrometres, 3500 * micrometres, 2500},
		{"another shim on record", thin, 0, 2800 * micrometres, 2500},
		{"another shim on record, both on sale", all, 0, 2800 * micrometres, 0},
	} {
		m, is := marks.Read("50", shim.MM, c.sale, c.mic, c.known)
		require.True(t, is, c.name)
		assert.Equal(t, c.want*micrometres, m.Size, c.name)
		assert.Equal(t, "2.500 or 3.500", m.Sizes(shim.MM), c.name)
		assert.Equal(t, c.want != 0, m.By != shim.Untold, c.name)
	}
	// A spreadsheet drops the zero of 05; no shim of the family has 5.00 mm.
	m, is := marks.Read("5", shim.MM, all, 0)
	require.True(t, is)
	assert.False(t, m.Plain)
	assert.Equal(t, 2050*micrometres, m.Size)
	m, _ = marks.Read("no. 5", shim.MM, nil, 0)
	assert.Equal(t, 2050*micrometres, m.Size)
	_, is = marks.Read("2.50", shim.MM, all, 0)
	assert.False(t, is, "a size")
	assert.Equal(t, "05", marks.Of(2050*micrometres))
	assert.Empty(t, marks.Of(2051*micrometres))
}

// A whole number that is a mark and a size is neither until something says so.
func TestMarkOrSize(t *testing.T) {
	marks := shim.MarkList{{Text: "3", Size: 2525 * micrometres}, {Text: "34", Size: 3300 * micrometres}}
	m, is := marks.Read("3", shim.MM, nil, 0)
	require.True(t, is)
	assert.Zero(t, m.Size)
	err := m.Open("3", shim.MM, "type it")
	assert.ErrorContains(t, err, "2.525 or 3.000")
	assert.Contains(t, shim.HintOf(err), "No. 3")
	m, _ = marks.Read("#3", shim.MM, nil, 0)
	assert.Equal(t, 2525*micrometres, m.Size)
}

// Not even where only one of them is on sale or a shim of that size is on record:
// 02 is the mark of 2.02 that is on the shim.
func TestMarkOrSizeOfOneOnSale(t *testing.T) {
	marks := shim.MarkList{{Text: "00", Size: 2000 * micrometres}, {Text: "02", Size: 2020 * micrometres}, {Text: "40", Size: 2400 * micrometres}}
	sale := []shim.Range{{From: 2000 * micrometres, To: 3000 * micrometres, Step: 25 * micrometres}}
	e := &shim.Engine{Name: "Invented", Diameter: 8900 * micrometres, Marks: marks, Catalogue: sale}
	book := shim.NewMarkBook([]*shim.Engine{e})
	for _, typed := range []string{"2", "02"} {
		m, is := marks.Read(typed, shim.MM, sale, 0, 2020*micrometres)
		require.True(t, is, typed)
		assert.Zero(t, m.Size, typed)
		assert.True(t, m.Plain, typed)
		_, is, err := book.Read(typed, shim.MarkQuery{Unit: shim.MM})
		assert.True(t, is, typed)
		assert.ErrorContains(t, err, "may be a mark or a size", typed)
	}
	// 40 lies where no shim is, 3.000 is on sale beyond the marks.
	m, _ := marks.Read("40", shim.MM, sale, 0)
	assert.Equal(t, 2400*micrometres, m.Size)
	marks = append(marks, shim.Mark{Text: "3", Size: 2030 * micrometres})
	m, _ = marks.Read("3", shim.MM, sale, 0)
	assert.True(t, m.Plain)
	assert.Zero(t, m.Size)
	// A micrometer tells a mark from a size that is no near one.
	for mic, want := range map[shim.Length]shim.Length{2028: 2030, 2999: 3000, 2500: 0} {
		m, _ = marks.Read("3", shim.MM, sale, mic*micrometres)
		assert.Equal(t, want*micrometres, m.Size)
	}
}
