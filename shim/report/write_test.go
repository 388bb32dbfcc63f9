package report

import (
	"errors"
	"io"
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/shim"
	"shimwright/shim/internal/plantest"
	"shimwright/shim/plan"
	"shimwright/shim/plan/planjson"
	"shimwright/shim/report/reason"
)

var errFull = errors.New("no space left")

// full takes so many bytes and then no more.
type full struct{ left int }

func (f *full) Write(p []byte) (int, error) {
	if len(p) > f.left {
		n := f.left
		f.left = 0
		return n, errFull
	}
	f.left -= len(p)
	return len(p), nil
}

// TestWriteErrorsAreTold: a form that could not be written to its end says so.
func TestWriteErrorsAreTold(t *testing.T) {
	p := plantest.Everything(t)
	for name, write := range map[string]func(io.Writer) error{
		"text":     func(w io.Writer) error { return Plan(p, Options{}).Text(w, false) },
		"markdown": Plan(p, Options{}).Markdown,
		"csv":      func(w io.Writer) error { return CSV(w, p) },
		"json":     func(w io.Writer) error { return planjson.Encode(w, p) },
	} {
		counted := &full{left: 1 << 20}
		assert.NoError(t, write(counted), name)
		size := 1<<20 - counted.left
		for _, room := range []int{0, 1, size / 2, size - 1} {
			assert.ErrorIs(t, write(&full{left: room}), errFull, "%s, %d of %d bytes", name, room, size)
		}
		assert.NoError(t, write(&full{left: size}), name)
	}
}

// TestEmptyPlan: no jobs, and every form is sound all the same.
func TestEmptyPlan(t *testing.T) {
	p := made(t, plan.Request{})
	assert.Contains(t, textOf(t, Plan(p, Options{}), false), "Nothing to buy.")
	assert.Contains(t, markdownOf(t, Plan(p, Options{})), "Nothing to buy.")
}

func TestFigures(t *testing.T) {
	for figure, want := range map[string]string{"0.0928": ".0928", "10.05": "10.05", "-0.5": "-.5", "<0.0015": "<.0015", ">0.006": ">.006", "0": "0", "": ""} {
		assert.Equal(t, want, Figure(shim.IN, figure))
		assert.Equal(t, figure, Figure(shim.MM, figure))
	}
	v := &plan.ValvePlan{
		Measured: true, Limits: shim.Limits{Tight: 152_400, Loose: 203_200}, Reading: shim.Reading{Kind: shim.Bracket, Low: 127_000, High: 228_600},
		Reason: &plan.Reason{Kind: plan.Between, Need: 2_357_120, From: 2_349_500, To: 2_374_900, Size: 2_336_800, Next: 2_387_600},
	}
	assert.Equal(t, "needs .0928 (.0925 to .0935): no available size between .092 and .094; look for a finer step", reason.Text(v, bare{shim.IN}, bare{shim.IN}))
	assert.Equal(t, "needs 0.0928 (0.0925 to 0.0935): no available size between 0.092 and 0.094; look for a finer step", reason.Text(v, shim.IN, shim.IN))
	v.Reason = &plan.Reason{Kind: plan.UnknownShim, Need: -76_200, From: -101_600, To: -50_800}
	assert.Equal(t, "needs a shim .0030 thinner (.0020 to .0040); its own is not known yet", reason.Text(v, bare{shim.IN}, bare{shim.IN}))
	v.Reason = &plan.Reason{Kind: plan.AcrossLimit}
	assert.Equal(t, "try the .006 leaf: inside if it goes, tight if not; try the .008 leaf: loose if it goes with play, inside if not", reason.Text(v, bare{shim.IN}, bare{shim.IN}))
	v.Reason = &plan.Reason{Text: "needs 0.0928"}
	assert.Equal(t, "needs 0.0928", reason.Text(v, bare{shim.IN}, bare{shim.IN}), "as it was written")
}
