package sample

import "shimwright/shim"

// Sandpiper is a twin with four valves a cylinder and shims of diameter 8.9.
// Invented.
func Sandpiper() shim.Engine {
	const um = shim.Micrometre
	train := func(tight, loose shim.Length) shim.Train {
		return shim.Train{Valves: 2, Limits: shim.Limits{Tight: tight, Loose: loose}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}}
	}
	return shim.Engine{
		Name: "Sandpiper 720 twin", Cylinders: 2, Intake: train(140*um, 210*um), Exhaust: train(200*um, 270*um), Diameter: 8900 * um,
		Catalogue: []shim.Range{{From: 1200 * um, To: 3000 * um, Step: 25 * um, Quote: shim.Quote{Price: 78000, Priced: true}}},
	}
}

// Turnstone is a single with one valve a side and shims of diameter 7.5.
// Invented.
func Turnstone() shim.Engine {
	e := Sandpiper()
	e.Name, e.Cylinders, e.Diameter = "Turnstone 400 single", 1, 7500*shim.Micrometre
	e.Intake.Valves, e.Exhaust.Valves = 1, 1
	return e
}

// Phalarope is a single with closers on both sides, whose shims have the diameter
// of its openers' and are a family of their own. Invented.
func Phalarope() shim.Engine {
	const um = shim.Micrometre
	e := Turnstone()
	e.Name = "Phalarope 450 single"
	for _, t := range []*shim.Train{&e.Intake, &e.Exhaust} {
		t.Closer = &shim.Closer{
			Limits: shim.Limits{Tight: 30 * um, Loose: 200 * um}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One},
			Family: shim.Family{Kind: "closer", Diameter: e.Diameter}, Catalogue: e.Catalogue,
		}
	}
	return e
}
