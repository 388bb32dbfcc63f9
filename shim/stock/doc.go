// Package stock says which shims a box should hold for the jobs that are likely
// to come, and how far a box gets with them.
//
// # The theory
//
// A valve that is open takes any shim of an interval of sizes, and a shim that was
// pulled from the same engine costs nothing. So sizes stand in for one another, and
// a level for each size by itself answers the wrong question. Of the jobs that share
// the box until the next delivery, the most valves that can be served by box B and
// pulled shims P is the rank r(B+P) of a transversal matroid (Edmonds and Fulkerson,
// 1965). The purchases that a box saves, r(B+P) - r(P), therefore never fall as it
// grows, and each further piece saves no more than it would have saved earlier
// (monotone and submodular); so does their sum over many such periods, engines and
// diameters. Adding the piece that saves most, again and again, then saves at least
// 1 - 1/e of what the best box of as many pieces does (Nemhauser, Wolsey and Fisher,
// Mathematical Programming 14, 1978); in the trials it saved 99 %. Jobs that can be
// done at once are not submodular: one that lacks two pieces needs both. They are
// counted ([Replay]), not maximised. References are from memory.
//
// # The method
//
//   - [Draw] draws jobs from the recorded ones, each moved a little along the line
//     of sizes, so that few records are enough.
//   - [Advise] puts them into periods, matches each period's valves exactly with own
//     pulled shims and box, and adds pieces one by one. A piece saves one purchase in a
//     period or none: one search from the unserved valves tells, for all sizes.
//   - [Replay] does the drawn jobs one by one, later ones unknown.
//   - [Spare] finds the pieces that no drawn job missed, [Worth] what a kit is worth.
//   - [Even] is for a shop without enough records.
//
// Pulled shims that a job leaves over do not serve later jobs here: counting them
// fits the box to these very jobs.
package stock
