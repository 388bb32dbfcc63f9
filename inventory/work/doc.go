// Package work holds the use cases of the shop, over the rules of package
// inventory: data in, data out. It knows neither terminal nor page, and no
// store by name; a command or a page reads what is asked, calls it, and words
// the answer. What has to be asked of a person comes back as data, and the next
// call goes on.
//
// To plan a job, [Draft] makes it ready and [Planner.Plan] plans it and keeps the
// plan; [Planner.PlanAll] does so for all jobs together. [Next] tells what comes
// next in a job, [Fit] and [Recheck] book its work, [Placements] how far it is.
// [Order] is about the shopping list.
package work
