package sample

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"shimwright/inventory"
	"shimwright/shim"
)

// History opens that many jobs and reads a check into each, as from a shop that has
// kept records for years: three jobs a week, twins and every third time a single,
// with valves that wore at rates of their own. Nothing is planned or fitted. The
// same seed gives the same jobs.
func History(ctx context.Context, shop *inventory.Shop, seed uint64, jobs int) error {
	rng := rand.New(rand.NewPCG(seed, 14))
	first := time.Date(2025, 1, 7, 9, 0, 0, 0, time.UTC)
	for i := range jobs {
		spec, nominal := Sandpiper(), [2]float64{2420, 2520}
		if i%3 == 2 {
			spec, nominal = Turnstone(), [2]float64{2050, 2150}
		}
		opened := first.AddDate(0, 0, 7*i/3)
		job, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: spec.Name, Tag: fmt.Sprintf("H-%d", i+1), Date: opened})
		if err != nil {
			return err
		}
		if _, err := shop.Read(ctx, job.ID, worn(rng, &spec, nominal), ""); err != nil {
			return err
		}
	}
	return nil
}

// worn is a check of an engine some years after its shims were fitted to the middle
// of their limits.
func worn(rng *rand.Rand, spec *shim.Engine, nominal [2]float64) (check []shim.Measurement) {
	engine := 35 * rng.NormFloat64()
	pace := math.Exp(0.3 * rng.NormFloat64())
	for _, v := range spec.Valves() {
		limits := spec.TrainOf(v).Limits
		middle := float64(limits.Tight+limits.Loose) / 2000
		stack := nominal[v.Side] + engine + 65*rng.NormFloat64()
		fitted := 25 * math.Round((stack-middle)/25)
		lost := pace * [2]float64{12, 20}[v.Side] * (rng.ExpFloat64() + rng.ExpFloat64())
		read := 10 * max(1, math.Round((stack-lost-fitted)/10))
		check = append(check, shim.Measurement{Valve: v, Reading: shim.ReadingOf(shim.Length(read) * shim.Micrometre), Marks: shim.Marks{Stamp: shim.Length(fitted) * shim.Micrometre}})
	}
	return check
}
