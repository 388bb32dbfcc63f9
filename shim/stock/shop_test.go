package stock_test

import (
	"math"
	"math/rand/v2"

	"shimwright/shim"
	"shimwright/shim/stock"
)

const um = shim.Micrometre

// The synthetic shop is our own invention: five models, and engines whose valves wear
// at rates of their own. Lengths in micrometres.
type synthetic struct {
	share     float64
	cylinders int
	sides     [2]side
}

type side struct{ valves, tight, loose, nominal int }

var models = []synthetic{
	{0.34, 4, [2]side{{2, 110, 190, 2610}, {2, 210, 300, 2680}}},
	{0.24, 2, [2]side{{2, 140, 210, 2420}, {2, 200, 270, 2520}}},
	{0.18, 3, [2]side{{2, 100, 200, 2750}, {2, 220, 310, 2830}}},
	{0.14, 1, [2]side{{2, 100, 150, 2050}, {2, 200, 250, 2150}}},
	{0.10, 4, [2]side{{3, 130, 190, 2230}, {2, 190, 270, 2350}}},
}

var disc = shim.Family{Diameter: 29 * shim.Millimetre}

// catalogue is 1.200 to 3.000 mm in steps of 0.025.
func catalogue() []shim.Offer {
	var list []shim.Offer
	for i := range shim.Length(73) {
		list = append(list, shim.Offer{Disc: disc.Of((1200 + 25*i) * um), Quote: shim.Quote{Price: 10_000, Priced: true}})
	}
	return list
}

// nearest is the size on sale that comes closest.
func nearest(size float64) float64 {
	return 1200 + 25*min(max(math.Round((size-1200)/25), 0), 72)
}

// visits are the shop's next jobs. In three of ten nothing is outside.
func visits(seed uint64, n int) []stock.Job {
	r := rand.New(rand.NewPCG(seed, 14))
	jobs := make([]stock.Job, n)
	for i := range jobs {
		jobs[i] = visit(r)
	}
	return jobs
}

// visit is an engine at one of its checks: what is open of it.
func visit(r *rand.Rand) stock.Job {
	at, m := r.Float64(), models[len(models)-1]
	for _, model := range models {
		if at -= model.share; at < 0 {
			m = model
			break
		}
	}
	offset := 35 * r.NormFloat64()
	intervals := 1
	for intervals < 5 && r.Float64() < 0.55 {
		intervals++
	}
	pace := math.Exp(0.3 * r.NormFloat64())
	var job stock.Job
	for i, s := range m.sides {
		var open stock.Job
		outside := false
		tight, loose := float64(s.tight), float64(s.loose)
		for range s.valves * m.cylinders {
			stack := float64(s.nominal) + offset + 65*r.NormFloat64()
			fitted := nearest(stack - (tight+loose)/2)
			rate := pace * [2]float64{12, 20}[i] / 2 * (r.ExpFloat64() + r.ExpFloat64())
			var read float64
			for k := range intervals {
				if k > 0 && (read < tight || read > loose) {
					fitted = nearest(fitted + read - (tight+loose)/2)
				}
				if r.Float64() < 0.1 {
					stack += 6 * math.Abs(r.NormFloat64())
				} else {
					stack -= rate * (0.7 + 0.6*r.Float64())
				}
				read = max(0, 10*math.Round((stack-fitted+6*r.NormFloat64())/10))
			}
			outside = outside || read < tight || read > loose
			sum := fitted + read
			length := func(x float64) shim.Length { return shim.Length(math.Round(x * 1000)) }
			open = append(open, stock.Need{Family: disc, Thin: length(sum - loose), Thick: length(sum - tight),
				Ideal: length(sum - (tight+loose)/2), Pulled: length(fitted)})
		}
		if outside {
			job = append(job, open...)
		}
	}
	return job
}
