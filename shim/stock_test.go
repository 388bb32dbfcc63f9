package shim

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestBoxRowSize(t *testing.T) {
	assert.Equal(t, mm("2.687"), BoxRow{Marks: Marks{Stamp: mm("2.70"), Mic: mm("2.687")}}.Size())
	assert.Equal(t, mm("2.70"), BoxRow{Marks: Marks{Stamp: mm("2.70")}}.Size())
}

func TestOffers(t *testing.T) {
	e := sound(2, 2, 2)
	e.Catalogue = []Range{
		{From: mm("1.20"), To: mm("1.30"), Step: mm("0.05"), Quote: Quote{Price: 78_000, Priced: true}},
		{From: mm("2.00"), To: mm("2.00"), Step: mm("0.05")},
	}
	offers := e.Offers()
	require.Len(t, offers, 4)
	assert.Equal(t, Offer{Disc: Disc{Family: Family{Diameter: mm("8.9")}, Size: mm("1.25")}, Quote: Quote{Price: 78_000, Priced: true}}, offers[1])
	assert.Equal(t, Offer{Disc: Disc{Family: Family{Diameter: mm("8.9")}, Size: mm("2")}}, offers[3])
	e.Catalogue = nil
	assert.Empty(t, e.Offers())
}
