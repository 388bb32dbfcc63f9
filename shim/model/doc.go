// Package model leads through what an engine file says of a model, in the order
// in which the trade asks: what the head is like, the maker's limits, the shims
// on sale, the gauge. It is data only: a terminal or a page words the questions
// and keeps what comes of them. No limit and no size is known beforehand: each is
// typed and read back.
//
// [New] begins a walk. [Walk.Asks] is what to ask, [Walk.Type] takes an answer
// and gives what came of it, and after [Walk.Done] [Walk.Engine] is the model.
// [Picture] draws a head as text.
package model
