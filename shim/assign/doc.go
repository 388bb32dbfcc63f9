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
// piece to spare or to some row's way outside. After each the assignment is the
// cheapest for those placed so far (successive shortest paths: Busacker and
// Gowen, 1961; Ahuja, Magnanti and Orlin, Network Flows, 1993, chapter 9). The
// prices of the bins are the node potentials: with them no step of a path
// costs less than nothing, so Dijkstra's algorithm finds the path (Tomizawa,
// 1971; Edmonds and Karp, 1972). The references are from memory; docs/solver.md
// has them in full, and all this for a reader who is new to it.
//
// Rows that are best off with a piece of their own get it before all others.
// The others are placed in an order that keeps neighbours apart in time.
//
// That uses nothing of a cost but addition and a total order that addition
// respects. Integer vectors compared in order have both, so the optimum is
// exact in every criterion at once, without weights, tolerances or packing
// several criteria into one number. The constraint matrix is totally
// unimodular, so whole pieces are no restriction.
//
// # Two ways to look for a path
//
// Both place the same rows in the same order and give the same cost to the
// last criterion. Where there is more than one cheapest assignment they may give
// different ones; the same problem always takes the same way.
//
// The plain one (plain.go) is the reference. It looks at every arc of every row
// that holds a piece on the way, and it prices going outside as one more bin,
// so that it alone can keep to a bound ([Problem.MostOutside]). It solves
// problems of up to 2,000 demands, and all that have a bound.
//
// With many rows that share bins, the same moves would be looked at again and
// again, which is what the one by group (groups.go, moves.go) spares:
//
//   - Rows fall apart into groups that have only the shared bins in common, as
//     engines have only the box (partition.go). What a group can do for the
//     others is a few moves: give back a piece of one shared bin, take one of
//     another or none. A move's cost holds no prices, so it stays until the
//     group changes.
//   - Each crowded shared bin keeps the cheapest move to each other place. The
//     path is looked for among the shared bins along those moves alone; a group
//     is looked into where the path leads through it. The prices of the groups'
//     own bins follow at the end.
//   - Where no such groups exist, or they are large, all bins are shared, and
//     each row is a group.
//
// So 100,000 demands of 6,250 groups that share 33 bins take paths among 33
// bins, not among 90,000.
//
// The second one pays from about 5,000 demands on. Measured on one core of a
// server, in seconds of processor time for a whole plan from a scarce box (a
// piece for one valve in twenty; package plan's BenchmarkMake has the class),
// pulled shims kept by their engine and pooled:
//
//	valves   plain           by group
//	 2,000   0.011   0.013   0.013   0.012
//	 5,000   0.034   0.036   0.034   0.024
//	10,000   0.103   0.066   0.067   0.036
//	20,000   0.310   0.128   0.166   0.056
//
// # What is not exact here
//
// Greedy choice and keeping demands and pieces in the same order, which solve
// the simplest cases (Glover, Maximum matching in a convex bipartite graph,
// Naval Research Logistics Quarterly 14, 1967; faster: Lipski and Preparata,
// 1981; Gallo, 1984; Steiner and Yeomans, 1996): intervals differ in width,
// aims do not sit in their middle, a demand has a piece of its own, and pools
// differ. Package plan's tests use Glover's rule as an oracle.
//
// # The proof
//
// A [Solution] carries its prices, and they prove it. If no price is below
// zero, every bin with a piece to spare has price zero, and every row sits
// where cost plus price is least, then no other assignment is cheaper (weak
// duality). Going outside has a price too, above zero only where a bound is
// reached. [Problem.Verify] checks exactly that, in time linear in the arcs
// and sharing no code with the search.
package assign
