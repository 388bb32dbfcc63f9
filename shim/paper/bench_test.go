package paper

import (
	"context"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

func BenchmarkSheet(b *testing.B) {
	e := engineOf("Albatross 16 flat sixteen", 16, 2, 5, 5, shim.MM)
	for b.Loop() {
		require.NoError(b, Sheet(io.Discard, e, Info{}))
	}
}

// A card of 160 valves.
func BenchmarkCard(b *testing.B) {
	e := engineOf("Albatross 16 flat sixteen", 16, 2, 5, 5, shim.MM)
	p, err := plan.Make(context.Background(), plan.Request{Jobs: []plan.JobRequest{jobOf(e, checkOf(e, 4))}, Margin: plan.DefaultMargin})
	require.NoError(b, err)
	for b.Loop() {
		require.NoError(b, Card(io.Discard, p))
	}
}
