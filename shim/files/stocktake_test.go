package files

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

func TestReadStocktakeKeepsNone(t *testing.T) {
	rows, warnings, err := ReadStocktake("count.csv", strings.NewReader("size,count,bin\n2.400,0,A1\n2.425,3,A1\n"), shim.MM, Marks{})
	require.NoError(t, err)
	assert.Empty(t, warnings)
	assert.Equal(t, []shim.BoxRow{
		{Marks: shim.Marks{Stamp: 2400 * shim.Micrometre}, Bin: "A1"},
		{Marks: shim.Marks{Stamp: 2425 * shim.Micrometre}, Count: 3, Bin: "A1"},
	}, rows)
}

func TestReadStocktakeFaults(t *testing.T) {
	for _, text := range []string{"size,count\n", "size,count\n2.4,\n", "size,count\n24.5,1\n", "size\n2.4\n", "size,count\n2.4,-1\n"} {
		_, _, err := ReadStocktake("count.csv", strings.NewReader(text), shim.MM, Marks{})
		var faults Faults
		require.ErrorAs(t, err, &faults, "%q", text)
		assert.NotEmpty(t, faults[0].Hint, "%q", text)
	}
}
