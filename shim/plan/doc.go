// Package plan turns checks of engines, a box and a catalogue into the best
// assignment of shims to valves.
//
// [Make] is the way in. It opens the valves that the lift of each job asks
// for, gathers what shims there are (the pulled shims of the open valves, the
// box, the supplier), has package assign find the exact optimum of the policy
// over all of them together, and says in a [Plan] what to do at every valve,
// where every pulled shim goes, and what to buy.
package plan
