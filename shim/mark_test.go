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
		known []shim.Length
		want  shim.Length
	}{
		{"nothing known", all, nil, 0},
		{"no catalogue", nil, nil, 0},
		{"on sale", thin, nil, 2500},
		{"on record", all, []shim.Length{3487 * micrometres}, 3500},
		{"on record, though on sale no more", thin, []shim.Length{3487 * micrometres}, 3500},
		{"the micrometer before the record", all, []shim.Length{2493 * micrometres, 3500 * micrometres}, 2500},
		{"another shim on record", thin, []shim.Length{2800 * micrometres}, 2500},
		{"another shim on record, both on sale", all, []shim.Length{0, 2800 * micrometres}, 0},
	} {
		m, is := marks.Read("50", shim.MM, c.sale, c.known...)
		require.True(t, is, c.name)
		assert.Equal(t, c.want*micrometres, m.Size, c.name)
		assert.Equal(t, "2.500 or 3.500", m.Sizes(shim.MM), c.name)
		assert.Equal(t, c.want != 0, m.ByRecord != m.BySale, c.name)
	}
	// A spreadsheet drops the zero of 05; no shim of the family has 5.00 mm.
	m, is := marks.Read("5", shim.MM, all)
	require.True(t, is)
	assert.False(t, m.Plain)
	assert.Equal(t, 2050*micrometres, m.Size)
	m, _ = marks.Read("no. 5", shim.MM, nil)
	assert.Equal(t, 2050*micrometres, m.Size)
	_, is = marks.Read("2.50", shim.MM, all)
	assert.False(t, is, "a size")
	assert.Equal(t, "05", marks.Of(2050*micrometres))
	assert.Empty(t, marks.Of(2051*micrometres))
}

// A whole number that is a mark and a size is neither until something says so.
func TestMarkOrSize(t *testing.T) {
	marks := shim.MarkList{{Text: "3", Size: 2525 * micrometres}, {Text: "34", Size: 3300 * micrometres}}
	m, is := marks.Read("3", shim.MM, nil)
	require.True(t, is)
	assert.Zero(t, m.Size)
	err := m.Open("3", shim.MM, "type it")
	assert.ErrorContains(t, err, "2.525 or 3.000")
	assert.Contains(t, shim.HintOf(err), "No. 3")
	m, _ = marks.Read("#3", shim.MM, nil)
	assert.Equal(t, 2525*micrometres, m.Size)
}
