package plan_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"

	"shimwright/shim/plan"
	"shimwright/testdata/effort"
)

// A program is the linear program of a request: one variable for each choice
// of each valve, one equation for each valve, one inequality for each source
// that could run out.
type program struct {
	columns []column
	valves  int
	left    []int // by source row
}

type column struct {
	valve, source int // source is -1 where there is enough for all
	cost          [9]int64
}

func newProgram(choices [][]option) *program {
	wanted := map[*source]int{}
	for _, list := range choices {
		for _, o := range list {
			wanted[o.from]++
		}
	}
	p := &program{valves: len(choices)}
	rows := map[*source]int{}
	for valve, list := range choices {
		for k, o := range list {
			// The same source at a higher price is no choice.
			if slices.ContainsFunc(list[:k], func(other option) bool {
				return other.from == o.from || other.cost == o.cost && other.from.left >= wanted[other.from]
			}) || o.from.left == 0 {
				continue
			}
			row := -1
			if o.from.left < wanted[o.from] {
				known := false
				if row, known = rows[o.from]; !known {
					row = len(p.left)
					rows[o.from] = row
					p.left = append(p.left, o.from.left)
				}
			}
			p.columns = append(p.columns, column{valve, row, o.cost})
		}
	}
	return p
}

// patience ends a run of the reference that goes round in circles: it reads
// one column of the matrix at each step.
type patience struct {
	mat.Matrix
	reads int
}

func (p *patience) At(i, j int) float64 {
	if p.reads--; p.reads < 0 {
		panic(errNotTrusted("it does not end"))
	}
	return p.Matrix.At(i, j)
}

// errNotTrusted is an answer of the reference that does not bear checking.
type errNotTrusted string

func (e errNotTrusted) Error() string { return string(e) }

// optimum minimises one criterion after the other.
//
// What a criterion has reached is fixed by leaving out every column whose
// reduced cost is above zero: the answers without them are exactly the best
// ones (complementary slackness). That keeps the matrix one of zeros and ones,
// and totally unimodular, where an equation for the criterion would not.
// The counts of the sources are raised by small unlike amounts, so that no
// step stands still; a vertex of the raised program rounds to the vertex of the
// true one with the same basis, since the inverse of a basis holds 0, 1 and -1
// only. Prices and answer are rounded and checked in whole numbers.
func (p *program) optimum(r *rand.Rand) (best [9]int64, err error) {
	defer func() {
		if caught := recover(); caught != nil {
			refused, ok := caught.(errNotTrusted)
			if !ok {
				panic(caught)
			}
			err = refused
		}
	}()
	m := p.valves + len(p.left)
	b := make([]float64, m)
	for i := range p.valves {
		b[i] = 1
	}
	columns := slices.Clone(p.columns)
	for i, left := range p.left {
		b[p.valves+i] = float64(left) + (1+r.Float64())*1e-3
		columns = append(columns, column{valve: -1, source: i}) // what the source keeps
	}
	var basis []int // to begin with, every valve keeps its own shim
	for j, c := range columns {
		if c.valve < 0 || c.cost[8] == 0 {
			basis = append(basis, j)
		}
	}
	x := slices.Repeat([]float64{1}, len(columns)) // where nobody has a choice
	for criterion := range best {
		a := mat.NewDense(m, len(columns), nil)
		objective := make([]float64, len(columns))
		for j, c := range columns {
			for _, row := range p.rows(c) {
				a.Set(row, j, 1)
			}
			objective[j] = float64(c.cost[criterion])
		}
		if len(columns) > m {
			_, x, err = lp.Simplex(objective, &patience{Matrix: a, reads: 3*m*len(columns) + 500*m}, b, 1e-10, basis)
			if err != nil {
				return best, errNotTrusted(err.Error())
			}
		}
		kept, err := p.fix(columns, x, a, criterion)
		if err != nil {
			return best, err
		}
		var still []column
		var value []float64
		basis = basis[:0]
		for _, j := range kept {
			if x[j] > 1e-9 {
				basis = append(basis, len(still))
			}
			still, value = append(still, columns[j]), append(value, x[j])
		}
		columns, x = still, value
	}
	return p.sum(columns, x)
}

// rows lists the equations that a column stands in.
func (p *program) rows(c column) (rows []int) {
	if c.valve >= 0 {
		rows = append(rows, c.valve)
	}
	if c.source >= 0 {
		rows = append(rows, p.valves+c.source)
	}
	return rows
}

// fix proves an answer by its prices, in whole numbers, and lists the columns
// that a best answer may use.
func (p *program) fix(columns []column, x []float64, a *mat.Dense, criterion int) (kept []int, err error) {
	m, _ := a.Dims()
	base, cost := mat.NewDense(m, m, nil), mat.NewVecDense(m, nil)
	n := 0
	for j := range columns {
		if x[j] <= 1e-9 {
			continue
		}
		if n == m {
			return nil, errNotTrusted("an answer is no vertex")
		}
		base.SetCol(n, mat.Col(nil, j, a))
		cost.SetVec(n, float64(columns[j].cost[criterion]))
		n++
	}
	var price mat.VecDense
	if n < m || price.SolveVec(base.T(), cost) != nil {
		return nil, errNotTrusted("an answer is no vertex")
	}
	for j, c := range columns {
		reduced := c.cost[criterion]
		for _, row := range p.rows(c) {
			reduced -= int64(math.Round(price.AtVec(row)))
		}
		switch {
		case reduced < 0:
			return nil, errNotTrusted(fmt.Sprintf("criterion %d: an answer could be better", criterion))
		case reduced > 0 && x[j] > 1e-9:
			return nil, errNotTrusted(fmt.Sprintf("criterion %d: the prices do not fit the answer", criterion))
		case reduced == 0:
			kept = append(kept, j)
		}
	}
	return kept, nil
}

// sum rounds an answer, checks that it can be and adds it up.
func (p *program) sum(columns []column, x []float64) (total [9]int64, err error) {
	placed, taken := make([]int, p.valves), make([]int, len(p.left))
	for j, c := range columns {
		n := int(math.Round(x[j]))
		if c.valve < 0 || n == 0 {
			continue
		}
		placed[c.valve] += n
		if c.source >= 0 {
			taken[c.source] += n
		}
		for k := range total {
			total[k] += int64(n) * c.cost[k]
		}
	}
	for valve, n := range placed {
		if n != 1 {
			return total, errNotTrusted(fmt.Sprintf("valve %d gets %d shims", valve, n))
		}
	}
	for i, n := range taken {
		if n > p.left[i] {
			return total, errNotTrusted(fmt.Sprintf("source %d gives %d of %d", i, n, p.left[i]))
		}
	}
	return total, nil
}

// crowded jobs have few pieces for many valves, where mistakes of a search
// show; wide ones have many sizes.
var (
	crowded = family{jobs: 1, valves: 20, sizes: 5, boxRows: 4, offers: 3, pieces: 2, cylinders: 6}
	wide    = family{jobs: 3, valves: 16, sizes: 16, boxRows: 12, offers: 12, pieces: 3, cylinders: 5}
	large   = family{jobs: 3, valves: 30, sizes: 10, boxRows: 10, offers: 6, pieces: 3, cylinders: 8}
)

// The reference is gonum's simplex method, which shares nothing with the
// solver: it knows no intervals and no network. It works in floating point, so
// every answer is rounded and checked before it counts.
func TestMakeIsOptimalByLinearProgramming(t *testing.T) {
	for _, c := range []struct {
		name   string
		family family
		least  int // valves that take part
		jobs   int
	}{{"crowded", crowded, 12, 240}, {"wide", wide, 10, 240}, {"large", large, 20, 120}} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(1947, uint64(c.jobs)))
			jobs := effort.Share(c.jobs)
			trusted := 0
			for i := 0; i < jobs; {
				q := randomRequest(r, c.family)
				fixed, choices := options(&q)
				if len(choices) < c.least {
					continue
				}
				i++
				p, err := plan.Make(context.Background(), q)
				require.NoError(t, err, "job %d: %s", i, show(&q))
				require.NoError(t, audit(&q, p), "job %d: %s", i, show(&q))
				want, err := newProgram(choices).optimum(r)
				if err != nil {
					t.Logf("job %d is left out, the reference fails: %v", i, err)
					continue
				}
				trusted++
				for k, n := range ordered(q.Policy, fixed) {
					want[k] += n
				}
				require.Equal(t, want, ordered(q.Policy, p.Criteria), "job %d: %s", i, show(&q))
			}
			assert.GreaterOrEqual(t, trusted*20, jobs*19, "the reference answered %d of %d jobs", trusted, jobs)
		})
	}
}
