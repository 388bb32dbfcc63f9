// Package doubt says how sure a clearance is: what a feeler gauge, a stamp and
// a micrometer leave open, and how likely a planned clearance lies inside its
// limits.
//
// Start at [Model], which knows the shop's [shim.Gauge] and the confidence asked
// for, and at [Parts], which says what one expected clearance was worked out
// from. [Model.Forecast] is what a plan shows for a valve; [Model.Guard] is what a
// planner asks before it calls a clearance near a limit.
//
// Uncertainty is combined as the GUM says (JCGM 100:2008, 5.1.2), and the
// probability of conformity is that of JCGM 106:2012, 7.2. Lengths come in and go
// out as [shim.Length]; probabilities are float64 from 0 to 1. Everything here
// is a pure function of its arguments.
package doubt
