package main

import (
	"fmt"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/recheck"
)

// ofPiece says how to book the shim of a valve by what is read on it, and what it means
// where it is the one that the record has.
func ofPiece(f inventory.File, v shim.Valve) string {
	text := fmt.Sprintf("if another size is written on it, another piece was fitted: shimwright job correct %d %s=SIZE; if its mark is right and the micrometer reads another size: shimwright job correct %d %s=/MIC",
		f.Job.ID, v, f.Job.ID, v)
	old := work.OldShim(f, v)
	if old == (shim.Marks{}) {
		return text
	}
	return text + fmt.Sprintf("; if both are right and it is seated, measure the shim that came out: if that is not %s, nothing is wrong in the engine: plan from this reading: shimwright job plan %d --anyway",
		ofEngine(&f.Engine.Spec).lot(inventory.Lot{Family: f.Engine.Spec.FamilyOf(v), Marks: old}), f.Job.ID)
}

// notRead names the valves that got a shim of the size found, in the same fit, and were
// not measured since: the two may lie in each other's valves.
func notRead(f inventory.File, fault recheck.Fault) string {
	var valves []shim.Valve
	for _, v := range work.NotRead(f) {
		if found(f, fault, v) {
			valves = append(valves, v)
		}
	}
	if len(valves) == 0 {
		return ""
	}
	return fmt.Sprintf("measure %s first: it got a shim of that size in the same fit, and the two may be exchanged; then ", valveNames(valves))
}

// found reports whether the valve's shim, by the record, has the size that the fault
// found in another.
func found(f inventory.File, fault recheck.Fault, v shim.Valve) bool {
	e := &f.Engine.Spec
	at, known := e.Find(v)
	return known && fault.Kind == recheck.WrongSize && v != fault.Valves[0] && e.FamilyOf(v) == e.FamilyOf(fault.Valves[0]) &&
		(f.Seats[at].Stamp == fault.Sizes[0] || f.Seats[at].Size() == fault.Sizes[0])
}

// ifOld says what to do where the size found is that of the shim that was to come out.
func ifOld(f inventory.File, fault recheck.Fault) string {
	if fault.Kind != recheck.WrongSize {
		return ""
	}
	v, e := fault.Valves[0], &f.Engine.Spec
	old := work.OldShim(f, v)
	at, known := e.Find(v)
	if !known || old.Stamp != fault.Sizes[0] && old.Size() != fault.Sizes[0] {
		return ""
	}
	text := ofEngine(e)
	lot := func(m shim.Marks) string { return text.lot(inventory.Lot{Family: e.FamilyOf(v), Marks: m}) }
	return fmt.Sprintf("; if its old %s is still in, fit %s now and book nothing", lot(old), lot(f.Seats[at].Marks))
}
