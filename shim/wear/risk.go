package wear

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"shimwright/shim"
)

// Outlook is what is expected of one valve's stack at the last check and at a
// later meter reading: a sum of normal distributions, one for each point of the
// grid.
type Outlook struct {
	limits shim.Limits
	parts  []part
}

// part is one normal distribution: its weight, and mean and variance of the stack
// now and then, in micrometres.
type part struct{ weight, now, nowVar, then, thenVar float64 }

// Outlooks are those of all valves that were read, until a meter reading.
func (m *Model) Outlooks(until float64) (map[shim.Valve]Outlook, error) {
	t := m.after(until)
	if !(t > 0) || math.IsInf(t, 0) {
		return nil, fmt.Errorf("a meter reading of %.0f is not after the last check", until)
	}
	all := map[shim.Valve]Outlook{}
	for _, p := range m.points {
		if p.weight < 1e-6 { // less than one part in a million of any risk
			continue
		}
		covariance, err := p.covariance()
		if err != nil {
			return nil, err
		}
		for k, v := range m.valves {
			a, b := k, m.rate(k)
			scatter := um(v.Prior.Scatter)
			o := all[v.Valve]
			o.limits = v.Limits
			o.parts = append(o.parts, part{
				weight: p.weight,
				now:    p.mean.AtVec(a),
				nowVar: covariance.At(a, a),
				then:   p.mean.AtVec(a) - t*p.mean.AtVec(b),
				// The clearance then: where it is now, the rate's part, the scatter on the way.
				thenVar: covariance.At(a, a) - 2*t*covariance.At(a, b) + t*t*covariance.At(b, b) + scatter*scatter*t,
			})
			all[v.Valve] = o
		}
	}
	return all, nil
}

func (p point) covariance() (*mat.SymDense, error) {
	n := p.mean.Len()
	var chol mat.Cholesky
	chol.SetFromU(mat.NewTriDense(n, mat.Upper, p.upper.Data))
	inverse := mat.NewSymDense(n, nil)
	return inverse, chol.InverseTo(inverse)
}

// Risk is how much a shim risks, in parts per million: the chance that the valve
// is outside its limits now, and what each side of it gains by the later reading.
// The sum over the valves is the expected number outside. Fill is ratio times the
// shim's size, doubt the standard deviation of that.
func (o Outlook) Risk(fill, doubt shim.Length) int64 {
	risk := 0.0
	for _, p := range o.parts {
		now := distuv.Normal{Mu: p.now - um(fill), Sigma: math.Sqrt(p.nowVar + um(doubt)*um(doubt))}
		then := distuv.Normal{Mu: p.then - um(fill), Sigma: math.Sqrt(p.thenVar + um(doubt)*um(doubt))}
		tight, loose := now.CDF(um(o.limits.Tight)), now.Survival(um(o.limits.Loose))
		risk += p.weight * (max(tight, then.CDF(um(o.limits.Tight))) + max(loose, then.Survival(um(o.limits.Loose))))
	}
	return int64(math.Round(1e6 * min(risk, 1)))
}
