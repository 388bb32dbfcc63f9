// Package wear says from a machine's checks how fast its valves wear, and when
// the first of them is likely to leave its limits.
//
// What is followed is the stack, clearance plus shim (times the ratio): it does
// not change when a shim is exchanged, so only wear moves it. A check reads it as
//
//	stack = a - b x + g + e
//
// where x is the meter counted from the last check, a the stack there, b the
// valve's rate (it closes where b is positive), g an offset that all readings of
// one check share (a gauge, a hand, a temperature), and e the reading's own error
// with the scatter of wear, which grows with the distance. The rates of one side
// are drawn together: a valve is taken to wear like its neighbours until its own
// readings say otherwise. How far rates differ and how large the offset is are
// not known either; a grid of both is weighed by what was read.
//
// Flow: Series -> Fit -> Model -> Forecast, and Model.Risk for a plan.
//
// The figures of the prior come from trials on invented engines; no published
// rates for single valves were found.
package wear
