package report

import (
	"bytes"
	"runtime"

	"shimwright/shim/plan"
)

// A batch of jobs is put into words at once.
const batch = 64

// jobs writes the jobs in order. Of many jobs, as many batches as there are
// processors are put into words at the same time; no more are held.
func (e *lineEncoder) jobs(p *plan.Plan) {
	if len(p.Jobs) <= batch {
		for i := range p.Jobs {
			e.job(p, i)
		}
		return
	}
	type words struct {
		text bytes.Buffer
		err  error
	}
	batches := make(chan chan *words, runtime.GOMAXPROCS(0))
	go func() {
		defer close(batches)
		for from := 0; from < len(p.Jobs); from += batch {
			done := make(chan *words, 1)
			batches <- done
			go func() {
				w := &words{}
				one := newLineEncoder(&w.text)
				for i := from; i < min(from+batch, len(p.Jobs)); i++ {
					one.job(p, i)
				}
				w.err = one.err
				done <- w
			}()
		}
	}()
	for done := range batches { // to the end, even after an error
		w := <-done
		if e.err == nil {
			e.err = w.err
		}
		if e.err == nil {
			_, e.err = w.text.WriteTo(e.w)
		}
	}
}
