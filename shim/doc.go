// Package shim holds the rules of the trade for setting valve clearance with
// shims: lengths, valve names, engines, readings, and the arithmetic that
// links the clearance at a valve to the thickness of its shim.
//
// Start at [Engine], which says what the engine's maker asks for, and at
// [Setting], which says what one valve shows now and answers what another
// shim would give. Packages below this one plan with those answers (plan),
// solve (assign), read files (files) and print (report).
//
// The package promises exact arithmetic: a [Length] is a whole number of
// nanometres, a [Factor] a whole number of millionths, and no float touches
// either. It imports the standard library only and knows no file, terminal or
// store.
package shim
