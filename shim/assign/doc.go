// Package assign finds the cheapest assignment of demands to pieces that lie
// on a line of sizes, where costs are vectors compared in order.
//
// # The idea
//
// A demand (a [Row]) accepts one interval of the line. Equal pieces are one
// [Bin] with a count, and equal demands one row with a count. So the whole is
// a transportation problem whose arcs are index ranges: a row reaches the bins
// of its interval in each of its pools, which two binary searches find, and no
// arc is ever stored. A row may have a way outside at a constant cost (buying
// from a supplier without limit), which keeps everything unlimited out of the
// network.
//
// # The method
//
// Rows are placed one after another, each along the cheapest path: into a bin,
// from there displacing a row into another bin, and so on to a bin with a
// piece to spare or to some row's way outside (successive shortest paths with
// node potentials: Ahuja, Magnanti and Orlin, Network Flows, 1993, chapter 9).
// The potentials are the prices of the bins; with them no step of a path costs
// less than nothing, so Dijkstra's algorithm finds the path.
//
// Rows that are best off with a piece of their own get it before all others.
//
// Two methods do so, with the same result to the last criterion; plain is the
// reference and solves small problems. It looks at every arc of every row on
// the way. With many rows that share bins, the same moves would be looked at
// again and again, and this is what byGroup spares:
//
//   - Rows fall apart into groups that have only the shared bins in common, as
//     engines have only the box. What a group can do for the others is a few
//     moves: give back a piece of one shared bin, take one of another or none.
//     A move's cost holds no prices, so it stays until the group changes.
//   - Each crowded shared bin keeps the cheapest move to each other place. The
//     path is looked for among the shared bins along those moves alone; a group
//     is looked into where the path leads through it.
//   - Where no such groups exist all bins are shared, and each row is a group.
//
// So 100,000 demands of 6,250 groups that share 33 bins take paths among 33
// bins, not among 90,000.
//
// That uses nothing of a cost but addition and a total order that addition
// respects. Integer vectors compared in order have both, so the optimum is
// exact in every criterion at once, without weights, tolerances or packing
// several criteria into one number. The constraint matrix is totally
// unimodular, so whole pieces are no restriction.
//
// Greedy choice and keeping demands and pieces in the same order, which solve
// the simplest cases (Glover, Maximum matching in a convex bipartite graph,
// Naval Research Logistics Quarterly 14, 1967), are not exact here: intervals
// differ in width, aims do not sit in their middle, a demand has a piece of its
// own, and pools differ.
//
// # The proof
//
// A [Solution] carries its prices, and they prove it. If no price is below
// zero, every bin with a piece to spare has price zero, and every row sits
// where cost plus price is least, then no other assignment is cheaper (weak
// duality). [Problem.Verify] checks exactly that, in time linear in the arcs
// and sharing no code with the search.
package assign
