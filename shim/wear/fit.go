package wear

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"

	"shimwright/shim"
)

// The grids of what is not known beforehand: the offset common to a check, in
// micrometres, and how far the rates of one side differ, as a part of the rate
// expected.
var (
	offsets = []float64{3, 6, 12}
	spreads = []float64{1.5 / 8, 3. / 8, 6. / 8, 12. / 8, 24. / 8}
)

// um is a length in micrometres.
func um(l shim.Length) float64 { return float64(l) / float64(shim.Micrometre) }

// Model is what the readings make likely.
type Model struct {
	series Series
	valves []Valve // those that were read
	sides  []side
	side   []int // of each valve, into sides
	points []point
}

// point is one point of the grid: its weight, the means of all unknowns and the
// factor of their precision. The unknowns are a and b of each valve, the mean
// rate of each side, the offset of each check.
type point struct {
	weight float64
	mean   *mat.VecDense
	upper  blas64.Triangular // precision = U'U
}

// Fit weighs a series. It needs two checks; whether its forecast is worth
// telling is for Forecast.Settled to say.
func Fit(s Series) (*Model, error) { return fit(s, offsets) }

func fit(s Series, offsets []float64) (*Model, error) {
	if err := s.valid(); err != nil {
		return nil, err
	}
	m := &Model{series: s, sides: s.sides()}
	for _, v := range s.Valves {
		if len(v.Readings) > 0 {
			m.valves, m.side = append(m.valves, v), append(m.side, slices.Index(m.sides, v.side()))
		}
	}
	if len(m.valves) == 0 {
		return nil, ErrFew
	}
	precision, rhs, err := m.data()
	if err != nil {
		return nil, err
	}
	top := math.Inf(-1)
	for _, offset := range offsets {
		for _, spread := range spreads {
			p, err := m.at(precision, rhs, offset, spread)
			if err != nil {
				return nil, err
			}
			m.points, top = append(m.points, p), max(top, p.weight)
		}
	}
	sum := 0.0
	for i, p := range m.points {
		m.points[i].weight = math.Exp(p.weight - top)
		sum += m.points[i].weight
	}
	for i := range m.points {
		m.points[i].weight /= sum
	}
	return m, nil
}

func (m *Model) size() int            { return 2*len(m.valves) + len(m.sides) + len(m.series.Meters) }
func (m *Model) rate(v int) int       { return len(m.valves) + v }
func (m *Model) mean(side int) int    { return 2*len(m.valves) + side }
func (m *Model) offset(check int) int { return 2*len(m.valves) + len(m.sides) + check }

// since is where a check stands, in units of the scale from the last one: 0 or less.
func (m *Model) since(check int) float64 {
	last := m.series.Meters[len(m.series.Meters)-1]
	return (m.series.Meters[check] - last) / m.series.Unit
}

// errorsOf is the covariance of a valve's readings about its line: each reading's
// own doubt, the scatter of wear back from the last check, and the doubt of the
// shims. The shim in the valve now counts as exact, since what is sought is its
// clearance; a reading over another one bears the doubt of both.
func (m *Model) errorsOf(v Valve) *mat.SymDense {
	scatter := um(v.Prior.Scatter)
	now := len(v.Discs) - 1
	r := mat.NewSymDense(len(v.Readings), nil)
	for i, a := range v.Readings {
		for j, b := range v.Readings[:i+1] {
			c := scatter * scatter * min(-m.since(a.Check), -m.since(b.Check))
			if i == j {
				c += um(a.Doubt) * um(a.Doubt)
			}
			if a.Shim != now && b.Shim != now {
				c += um(v.Discs[now].Doubt) * um(v.Discs[now].Doubt)
				if a.Shim == b.Shim {
					c += um(v.Discs[a.Shim].Doubt) * um(v.Discs[a.Shim].Doubt)
				}
			}
			r.SetSym(i, j, c)
		}
	}
	return r
}

// data is what the readings alone say: X'R^-1 X and X'R^-1 y.
func (m *Model) data() (*mat.SymDense, *mat.VecDense, error) {
	precision, rhs := mat.NewSymDense(m.size(), nil), mat.NewVecDense(m.size(), nil)
	for k, v := range m.valves {
		var r mat.Cholesky
		if !r.Factorize(m.errorsOf(v)) {
			return nil, nil, errSingular
		}
		n := len(v.Readings)
		// Each reading's row has three entries other than 0: a, b and its check's offset.
		columns := []int{k, m.rate(k)}
		place := map[int]int{}
		for _, read := range v.Readings {
			if _, seen := place[read.Check]; !seen {
				place[read.Check] = len(columns)
				columns = append(columns, m.offset(read.Check))
			}
		}
		x, y := mat.NewDense(n, len(columns), nil), mat.NewVecDense(n, nil)
		for i, read := range v.Readings {
			x.Set(i, 0, 1)
			x.Set(i, 1, -m.since(read.Check))
			x.Set(i, place[read.Check], 1)
			y.SetVec(i, um(read.Stack))
		}
		var rx mat.Dense
		var xrx mat.Dense
		var xry mat.VecDense
		if err := r.SolveTo(&rx, x); err != nil {
			return nil, nil, err
		}
		xrx.Mul(x.T(), &rx)
		xry.MulVec(rx.T(), y)
		for i, a := range columns {
			rhs.SetVec(a, rhs.AtVec(a)+xry.AtVec(i))
			for j, b := range columns[:i+1] {
				lo, hi := min(a, b), max(a, b)
				precision.SetSym(lo, hi, precision.At(lo, hi)+xrx.At(i, j))
			}
		}
	}
	return precision, rhs, nil
}

// at adds the prior of one point of the grid to what was read.
func (m *Model) at(data *mat.SymDense, read *mat.VecDense, offset, spread float64) (point, error) {
	precision := mat.NewSymDense(m.size(), nil)
	precision.CopySym(data)
	add := func(i, j int, x float64) { precision.SetSym(i, j, precision.At(i, j)+x) }
	rhs := mat.VecDenseCopyOf(read)
	prior := -2 * float64(len(m.series.Meters)) * math.Log(offset)
	for k, v := range m.valves {
		side, differ := m.mean(m.side[k]), spread*math.Abs(um(v.Prior.Rate))
		prior -= 2 * math.Log(differ)
		add(m.rate(k), m.rate(k), 1/(differ*differ))
		add(side, side, 1/(differ*differ))
		add(m.rate(k), side, -1/(differ*differ))
	}
	for i := range m.sides {
		prior := m.valves[slices.Index(m.side, i)].Prior // the side's first valve's
		wide := um(prior.Spread) * um(prior.Spread)
		add(m.mean(i), m.mean(i), 1/wide)
		rhs.SetVec(m.mean(i), rhs.AtVec(m.mean(i))+um(prior.Rate)/wide)
	}
	for k := range m.series.Meters {
		add(m.offset(k), m.offset(k), 1/(offset*offset))
	}
	p := point{mean: mat.NewVecDense(m.size(), nil)}
	var chol mat.Cholesky
	if !chol.Factorize(precision) {
		return p, errSingular
	}
	p.upper = chol.RawU().(mat.RawTriangular).RawTriangular()
	if err := chol.SolveVecTo(p.mean, rhs); err != nil {
		return p, err
	}
	p.weight = (prior - chol.LogDet() + mat.Dot(p.mean, rhs)) / 2
	return p, nil
}
