package planjson_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/plan/planjson"
)

// many is a plan of jobs numbered from 0, each of one valve.
func many(jobs int) *plan.Plan {
	p := &plan.Plan{}
	e := &shim.Engine{Name: "Dunlin single", Cylinders: 1}
	for i := range jobs {
		p.Jobs = append(p.Jobs, plan.JobPlan{Job: strconv.Itoa(i), Engine: e, Valves: make([]plan.ValvePlan, 1)})
	}
	return p
}

func TestEncodeKeepsTheOrderOfManyJobs(t *testing.T) {
	for _, jobs := range []int{0, 1, 1000} {
		var out bytes.Buffer
		require.NoError(t, planjson.Encode(&out, many(jobs)), "%d jobs", jobs)
		var got struct{ Jobs []struct{ Job string } }
		require.NoError(t, json.Unmarshal(out.Bytes(), &got), "%d jobs", jobs)
		require.Len(t, got.Jobs, jobs)
		for i, j := range got.Jobs {
			assert.Equal(t, strconv.Itoa(i), j.Job, "%d jobs", jobs)
		}
	}
}

var errFull = errors.New("no space left")

// full takes some bytes and no more.
type full struct{ left int }

func (f *full) Write(p []byte) (int, error) {
	if f.left -= len(p); f.left < 0 {
		return 0, errFull
	}
	return len(p), nil
}

func TestEncodeTellsOfAFullDisk(t *testing.T) {
	for _, left := range []int{0, 100, 20_000, 100_000} {
		assert.ErrorIs(t, planjson.Encode(&full{left}, many(1000)), errFull, "%d bytes", left)
	}
}
