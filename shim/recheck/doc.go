// Package recheck finds human mistakes before metal does. [Explain] compares
// the clearances measured after fitting with those that the plan expected and
// says what went wrong, how sure that is and where to look first. [Suspects]
// names figures of a check that look wrong before anything is planned.
//
// Explanations compete by Bayes' rule: each is a theory of what was done, with
// a stated prior ([Assumptions]) and a likelihood from the distribution of the
// error of each reading (package doubt). A theory that moves shims between
// valves is found by an exact assignment, so no permutation is overlooked.
// Everything here is a pure function of its arguments.
package recheck
