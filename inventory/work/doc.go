// Package work holds the use cases of the shop, over the rules of package
// inventory: data in, data out. It knows neither terminal nor page, and no
// store by name; a command or a page reads what is asked, calls it, and words
// the answer.
//
// To plan a job: [Prepare] turns what the shop knows of it into a request,
// [plan.Make] plans it, and [Ready.Proposal] is what the shop keeps of it.
package work
