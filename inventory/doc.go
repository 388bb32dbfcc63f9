// Package inventory keeps a shop's shim box and its jobs, and keeps them true.
//
// The box is the sum of an append-only ledger. Every [Movement] of pieces
// (received, fitted, pulled, counted, scrapped, corrected) is one row, chained
// to the row before by a hash; a command books its rows as one batch, whole or
// not at all; an undo books the reverse, and nothing is ever deleted.
//
// A [Job] takes one engine from its first readings to the closed file: open,
// measured, planned, fitting, fitted, rechecked, closed. Its plan holds
// (reserves) the pieces that it draws, so no two plans count on one shim.
//
// Enter at [Shop]: its methods are the commands. The rules here are pure Go;
// under them stands a [Store], which only keeps rows and gives atomic
// transactions. Packages memory and sqlite are stores, and package storetest
// is the suite that any store has to pass.
//
// After every command, in every store: the box equals the sum of the ledger,
// no count is below zero, and what is reserved is on hand.
package inventory
