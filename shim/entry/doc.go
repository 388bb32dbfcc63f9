// Package entry reads what a hand types at the bench: a clearance or the size
// of a shim, with or without its zero, with a point or a comma, or as a bare
// number of hundredths.
//
// Start at Clearance and Size. Both say whether they are sure: a bare number
// stands for hundredths or thousandths, and that is a guess which the one who
// typed it has to confirm.
package entry
