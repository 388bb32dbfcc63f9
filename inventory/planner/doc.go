// Package planner stands between the shop and the solver: it turns what the
// shop knows of a job into a request to package plan, and the plan into the
// proposal that the shop keeps.
//
// Enter at [Prepare], have [plan.Make] plan its Request, and hand the result to
// [Ready.Proposal].
package planner
