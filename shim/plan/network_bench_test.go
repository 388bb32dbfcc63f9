package plan

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/assign"
	"shimwright/shim/files"
)

// BenchmarkNetwork times the solver on its finished model, without building it,
// as other solvers are timed on a finished matrix. It needs a job that
// testdata/peers/make wrote:
//
//	SHIMWRIGHT_BENCH_JOB=/tmp/job go test ./shim/plan -run '^$' -bench Network
func BenchmarkNetwork(b *testing.B) {
	folder := os.Getenv("SHIMWRIGHT_BENCH_JOB")
	if folder == "" {
		b.Skip("SHIMWRIGHT_BENCH_JOB names no folder of testdata/peers/make")
	}
	open := func(name string) *os.File {
		f, err := os.Open(filepath.Join(folder, name))
		require.NoError(b, err)
		b.Cleanup(func() { f.Close() })
		return f
	}
	e, _, err := files.ReadEngine("engine.toml", open("engine.toml"))
	require.NoError(b, err)
	checks, _, err := files.ReadCheck("check.csv", open("check.csv"), []*shim.Engine{e}, files.CheckOptions{})
	require.NoError(b, err)
	q := Request{Margin: DefaultMargin}
	q.Box, _, err = files.ReadBox("box.csv", open("box.csv"), e.Units.Size, files.Marks{})
	require.NoError(b, err)
	for _, c := range checks {
		q.Jobs = append(q.Jobs, JobRequest{Name: c.Job, Engine: c.Of, Check: c.Measurements, Lift: shim.LiftAll})
	}
	for _, name := range []string{"by engine", "pooled"} {
		b.Run(name, func(b *testing.B) {
			q.SharePulled = name == "pooled"
			m, err := newMaker(context.Background(), q)
			require.NoError(b, err)
			n := newNetwork(m, e.Families()[0], Thrift.places(), m.clear)
			b.ReportMetric(float64(len(n.problem.Rows)), "rows")
			b.ReportMetric(float64(len(n.problem.Bins)), "bins")
			for b.Loop() {
				_, err := assign.Solve(context.Background(), &n.problem)
				require.NoError(b, err)
			}
		})
	}
}
