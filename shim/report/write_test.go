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
	const in, out = "needs 0.0928 (10.05 to -0.5): <0.0015, 0.006-0.0065", "needs .0928 (10.05 to -.5): <.0015, .006-.0065"
	assert.Equal(t, out, Figures(shim.IN, in))
	assert.Equal(t, in, Figures(shim.MM, in))
}
