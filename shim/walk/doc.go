// Package walk leads through the valves of one engine while they are measured:
// in which order, what is asked next, what becomes of what is typed, and which
// readings look wrong. It is data only: a terminal or a page words it, and keeps
// what it hands over.
//
// [New] lists the steps: clearances by crank position, then shims by camshaft.
// [Walk.Asks] is what to ask, [Walk.Type] takes an answer and gives what came
// of it, and [Walk.Done] ends the walk.
package walk
