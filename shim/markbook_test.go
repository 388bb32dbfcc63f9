package shim_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// marked is a model whose shims do not bear their size.
func marked(name string, diameter shim.Length, from, to shim.Length, marks ...shim.Mark) *shim.Engine {
	return &shim.Engine{Name: name, Diameter: diameter * shim.Millimetre, Marks: marks,
		Catalogue: []shim.Range{{From: from * micrometres, To: to * micrometres, Step: 50 * micrometres}}}
}

func mark(text string, size shim.Length) shim.Mark {
	return shim.Mark{Text: text, Size: size * micrometres}
}

// Marks of a shop: which shim a mark is, and when it is left open. 50 of 2.50 and 3.50
// mm in one range: Kawasaki KLE650, seen.
func TestMarkBook(t *testing.T) {
	big, small := shim.Family{Diameter: 28 * shim.Millimetre}, shim.Family{Diameter: 9 * shim.Millimetre}
	auk := marked("Auk", 28, 2500, 3000, mark("50", 2500), mark("50", 3500), mark("B", 2600), mark("3", 2650), mark("5", 2700), mark("X", 2800))
	only := func(f shim.Family) func(shim.Family) bool { return func(of shim.Family) bool { return of == f } }
	teal := marked("Teal", 28, 2500, 3000, mark("B", 2600), mark("5", 2750), mark("Y", 2800))
	rail := marked("Rail", 9, 2000, 4000, mark("B", 2400), mark("7", 2450))
	both := []shim.Disc{big.Of(2500 * micrometres), big.Of(3490 * micrometres)}
	for _, c := range []struct {
		name    string
		engines []*shim.Engine
		text    string
		q       shim.MarkQuery
		want    shim.Disc // none where the error is
		err     string
		said    bool
	}{
		{"a letter, of either case", []*shim.Engine{auk}, "b", shim.MarkQuery{}, big.Of(2600 * micrometres), "", false},
		{"two sizes: on sale", []*shim.Engine{auk}, "50", shim.MarkQuery{}, big.Of(2500 * micrometres), "", true},
		{"two sizes: by micrometer", []*shim.Engine{auk}, "50", shim.MarkQuery{Known: 3480 * micrometres}, big.Of(3500 * micrometres), "", false},
		{"the micrometer fits neither", []*shim.Engine{auk}, "50", shim.MarkQuery{Known: 3 * shim.Millimetre}, shim.Disc{}, "50", false},
		{"two sizes: on record before on sale", []*shim.Engine{auk}, "50", shim.MarkQuery{Record: both[1:]}, big.Of(3500 * micrometres), "", true},
		{"both on record, one on sale", []*shim.Engine{auk}, "50", shim.MarkQuery{Record: both}, shim.Disc{}, "nothing says", false},
		{"a size among the marked ones", []*shim.Engine{auk}, "3", shim.MarkQuery{}, shim.Disc{}, "2.650 or 3.000", false},
		{"said to be a mark", []*shim.Engine{auk}, "No. 3", shim.MarkQuery{}, big.Of(2650 * micrometres), "", false},
		{"no size of the family", []*shim.Engine{auk}, "5", shim.MarkQuery{}, big.Of(2700 * micrometres), "", false},
		{"two families", []*shim.Engine{auk, rail}, "B", shim.MarkQuery{}, shim.Disc{}, "of diameter 28 and for 2.400 mm of diameter 9", false},
		{"the one that is asked for", []*shim.Engine{auk, rail}, "B", shim.MarkQuery{Asked: only(small)}, small.Of(2400 * micrometres), "", false},
		{"a size on sale in another family", []*shim.Engine{auk, marked("Smew", 9, 5000, 6000)}, "5", shim.MarkQuery{}, shim.Disc{}, "2.700 or 5.000", false},
		{"models agree", []*shim.Engine{auk, teal}, "B", shim.MarkQuery{}, big.Of(2600 * micrometres), "", false},
		{"models give the mark different sizes", []*shim.Engine{auk, teal}, "5", shim.MarkQuery{}, shim.Disc{}, "2.700 mm for Auk and for 2.750 mm for Teal", false},
		{"models give the size different marks", []*shim.Engine{auk, teal}, "X", shim.MarkQuery{}, shim.Disc{}, "X for Auk, Y for Teal", false},
	} {
		c.q.Unit = shim.MM
		m, is, err := shim.NewMarkBook(c.engines).Read(c.text, c.q)
		require.True(t, is, c.name)
		if c.err != "" {
			assert.ErrorContains(t, err, c.err, c.name)
			assert.NotEmpty(t, shim.HintOf(err), c.name)
			continue
		}
		require.NoError(t, err, c.name)
		assert.Equal(t, c.want, m.Disc, c.name)
		assert.Equal(t, c.said, m.Said != "", c.name)
	}
	_, is, err := shim.NewMarkBook([]*shim.Engine{auk}, big.Of(5*shim.Millimetre)).Read("5", shim.MarkQuery{Unit: shim.MM})
	assert.True(t, is)
	assert.ErrorContains(t, err, "2.700 or 5.000", "the shop has a shim of that size")
	for text, book := range map[string]*shim.MarkBook{"2.60": shim.NewMarkBook([]*shim.Engine{auk}), "Z": shim.NewMarkBook([]*shim.Engine{auk}), "B": nil} {
		_, is, err = book.Read(text, shim.MarkQuery{Unit: shim.MM})
		assert.False(t, is, text)
		assert.NoError(t, err, text)
	}

	book := shim.NewMarkBook([]*shim.Engine{auk, teal})
	assert.Equal(t, "B", book.Of(big.Of(2600*micrometres)))
	assert.Empty(t, book.Of(big.Of(2800*micrometres)), "the models differ")
	assert.Empty(t, book.Of(small.Of(2600*micrometres)))
}
