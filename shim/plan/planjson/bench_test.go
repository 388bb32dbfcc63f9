package planjson

import (
	"context"
	"io"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// BenchmarkEncode writes the plan of 100,000 valves.
func BenchmarkEncode(b *testing.B) {
	e := single(b, "Plover 250")
	e.Cylinders = 8
	var q plan.Request
	rows := make([]string, len(e.Valves()))
	for i := range rows {
		rows[i] = []string{"0.12 2.5", "0.05 2.475", "0.23 2.45", "0.21-0.24 2.525"}[i%4]
	}
	list := check(b, e, rows...)
	for i := range 100_000 / len(rows) {
		q.Jobs = append(q.Jobs, plan.JobRequest{Name: strconv.Itoa(i), Engine: e, Check: list, Lift: shim.LiftAll})
	}
	p, err := plan.Make(context.Background(), q)
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		require.NoError(b, Encode(io.Discard, p))
	}
}
