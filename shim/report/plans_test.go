package report

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim/internal/plantest"
	"shimwright/shim/plan"
	"shimwright/shim/plan/planjson"
)

var (
	mm, made, single, check = plantest.MM, plantest.Made, plantest.Single, plantest.Check
	eachAwkward, keys       = plantest.EachAwkward, plantest.Keys
)

func jsonOf(t *testing.T, p *plan.Plan) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, planjson.Encode(&b, p))
	return b.Bytes()
}
