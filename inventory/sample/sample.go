// Package sample fills a shop with invented engines, deliveries and jobs, small
// for a test or large for a benchmark.
package sample

import (
	"context"
	"fmt"
	"math/rand/v2"

	"shimwright/inventory"
	"shimwright/shim"
)

// Size is how large a shop to build.
type Size struct{ Movements, Jobs, Sizes int }

// thinnest is the smallest size in the box; each next one is a micrometre more.
const thinnest = 1200 * shim.Micrometre

// buildBatch is how many rows are booked at a time: a delivery.
const buildBatch = 1000

// Build fills an empty shop with invented deliveries and jobs: a box of the
// given number of sizes of one diameter, a tenth of the jobs still at work, the
// others fitted and closed, and a ledger of about the given length.
func Build(ctx context.Context, shop *inventory.Shop, size Size) error {
	rng := rand.New(rand.NewPCG(1, 2))
	spec := Sandpiper()
	at := func(i int) inventory.Lot {
		return inventory.Lot{Family: shim.Family{Diameter: spec.Diameter}, Marks: shim.Marks{Stamp: thinnest + shim.Length(i)*shim.Micrometre}, Used: i%3 != 0, Bin: fmt.Sprint(i % 40)}
	}
	booked := 0
	receive := func(n int, lot func(int) inventory.Lot) error {
		items := make([]inventory.Item, n)
		for i := range items {
			items[i] = inventory.Item{Lot: lot(i), Count: rng.IntN(3) + 2}
		}
		booked += n
		_, err := shop.Receive(ctx, items)
		return err
	}
	if err := receive(size.Sizes, at); err != nil {
		return err
	}
	for i := range size.Jobs {
		n, err := buildJob(ctx, shop, rng, spec, at, size.Sizes, i%10 == 9)
		if err != nil {
			return err
		}
		booked += n
	}
	for booked < size.Movements {
		n := min(buildBatch, size.Movements-booked)
		if err := receive(n, func(int) inventory.Lot { return at(rng.IntN(size.Sizes)) }); err != nil {
			return err
		}
	}
	return nil
}

// buildJob takes a job with four draws to its end, or leaves it planned.
func buildJob(ctx context.Context, shop *inventory.Shop, rng *rand.Rand, spec shim.Engine, at func(int) inventory.Lot, sizes int, stay bool) (rows int, err error) {
	job, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: spec.Name, Tag: fmt.Sprint("T-", rng.IntN(10000))})
	if err != nil {
		return 0, err
	}
	var before []shim.Measurement
	for _, valve := range spec.Valves() {
		before = append(before, shim.Measurement{Valve: valve, Reading: shim.ReadingOf(200 * shim.Micrometre), Marks: shim.Marks{Stamp: at(rng.IntN(sizes)).Stamp}})
	}
	if _, err := shop.Read(ctx, job.ID, before, ""); err != nil {
		return 0, err
	}
	basis, err := shop.Basis(ctx, job.ID)
	if err != nil {
		return 0, err
	}
	p := inventory.Proposal{Job: job.ID, Revision: basis.Revision, Document: []byte(`{"policy": "thrift"}`)}
	first := rng.IntN(len(basis.Free))
	for i := range basis.Free {
		if s := basis.Free[(first+i)%len(basis.Free)]; s.Free() > 0 && len(p.Placements) < 4 {
			p.Placements = append(p.Placements, inventory.Placement{Valve: before[len(p.Placements)].Valve, Size: s.Size, Source: inventory.SourceDrawn})
		}
	}
	if _, err := shop.PlanTogether(ctx, []inventory.Proposal{p}); err != nil || stay {
		return 0, err
	}
	r, err := shop.Fit(ctx, job.ID, inventory.Fit{})
	if err != nil {
		return 0, err
	}
	for i := range before {
		before[i].Stamp = 0
	}
	if _, err := shop.Read(ctx, job.ID, before, ""); err != nil {
		return 0, err
	}
	return len(r.Movements), shop.Close(ctx, job.ID, false)
}
