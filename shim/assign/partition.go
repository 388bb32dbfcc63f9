package assign

// A partition says which bins are shared by all rows, and into which groups the
// rows fall apart that have nothing in common but those.
type partition struct {
	shared []bool  // by bin
	group  []int32 // by row
	groups int
	alone  bool // whether every row is a group of its own and every bin shared
}

// partition shares the bins of the pools that every row lists.
func (p *Problem) partition() *partition {
	pool := make([]int32, len(p.Bins)) // by bin, counted from 0
	number := map[int32]int32{}
	for j := range p.Bins {
		if j > 0 && p.Bins[j].Pool == p.Bins[j-1].Pool {
			pool[j] = pool[j-1]
			continue
		}
		pool[j] = int32(len(number))
		number[p.Bins[j].Pool] = pool[j]
	}
	listed := make([]int, len(number))
	for i := range p.Rows {
		for _, id := range p.Rows[i].Pools {
			if n, ok := number[id]; ok {
				listed[n]++
			}
		}
	}
	result := &partition{shared: make([]bool, len(p.Bins)), group: make([]int32, len(p.Rows))}
	for j := range p.Bins {
		result.shared[j] = listed[pool[j]] >= len(p.Rows)
	}
	// Pools that a row has in common are of one group: each knows another one of
	// its group, the last one itself.
	other := make([]int32, len(number))
	for n := range other {
		other[n] = int32(n)
	}
	last := func(n int32) int32 {
		for other[n] != n {
			other[n] = other[other[n]]
			n = other[n]
		}
		return n
	}
	for i := range p.Rows {
		r := &p.Rows[i]
		mine := int32(None)
		join := func(n int32) {
			if listed[n] >= len(p.Rows) {
				return
			}
			n = last(n)
			if mine != None {
				other[n] = mine
				return
			}
			mine = n
		}
		for _, id := range r.Pools {
			if n, ok := number[id]; ok {
				join(n)
			}
		}
		if r.Stay != None {
			join(pool[r.Stay])
		}
		result.group[i] = mine
	}
	// Number the groups in order of their first rows.
	names := make([]int32, len(number))
	for i, n := range result.group {
		if n == None {
			result.group[i] = int32(result.groups)
			result.groups++
			continue
		}
		n = last(n)
		if names[n] == 0 {
			result.groups++
			names[n] = int32(result.groups)
		}
		result.group[i] = names[n] - 1
	}
	return result
}

// apart shares all bins and makes every row a group of its own.
func (p *Problem) apart() *partition {
	r := &partition{shared: make([]bool, len(p.Bins)), group: make([]int32, len(p.Rows)), groups: len(p.Rows), alone: true}
	for j := range r.shared {
		r.shared[j] = true
	}
	for i := range r.group {
		r.group[i] = int32(i)
	}
	return r
}
