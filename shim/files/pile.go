package files

import "shimwright/shim"

// A pile holds measurements in blocks, so that none is copied while it grows.
type pile struct {
	blocks [][]shim.Measurement
	n      int32
}

const block = 1 << 10

// add puts the measurement on the pile and gives its place.
func (p *pile) add(m shim.Measurement) int32 {
	if p.n%block == 0 {
		p.blocks = append(p.blocks, make([]shim.Measurement, 0, block))
	}
	last := &p.blocks[len(p.blocks)-1]
	*last = append(*last, m)
	p.n++
	return p.n - 1
}

// at is the measurement in the place.
func (p *pile) at(i int32) shim.Measurement { return p.blocks[i/block][i%block] }
