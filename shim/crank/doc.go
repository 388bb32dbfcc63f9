// Package crank finds where to turn the crank so that valves can be measured:
// a clearance is the gap on the cam's base circle, so a valve may be measured
// only while its lobe points away from it.
//
// [At] tells which valves stand on their base circle at one angle, and [Plan]
// the fewest angles at which every valve of the engine can be measured.
//
// # Model
//
// The engine is a four-stroke: its cycle is 720 degrees of the crank, counted
// from the firing top dead centre (TDC) of the first cylinder in the firing
// order and in the running direction. A cylinder's phase is the crank angle
// less the angle of its own firing TDC: 0 firing TDC, 180 bottom dead centre,
// 360 the TDC of the gas exchange, 540 bottom dead centre again. An exhaust
// valve is off its base circle from its opening before 180 to its closing
// after 360, an intake valve from its opening before 360 to its closing after
// 540, both angles included: a valve that is just about to open, or has just
// closed, is not measured. Which bank a cylinder stands in makes no difference
// beyond its place in the firing order.
//
// # Pressing
//
// Where a shim on top is changed, its valve is pressed down, and near its top
// the piston is in the way. [Openings] says where that may be done: on the base
// circle, and where the maker gives a depress offset, at least so far from the
// piston's dead centres at the top (see [shim.Engine.Pressing]). By the
// slider-crank formula the piston is the lower the further the crank is from
// there. Measuring presses nothing: [Plan] and [At] know no offset.
//
// # Exactness
//
// Angles are whole numbers inside, one 2000 n-th of a degree for n cylinders,
// so that every dead centre of an evenly firing engine is met exactly; valve
// timing and firing intervals are taken to the thousandth of a degree. The
// number of positions is the exact minimum (see fewest.go).
//
// All functions want a sound engine, one of which [shim.Engine.Validate] finds
// nothing wrong.
package crank
