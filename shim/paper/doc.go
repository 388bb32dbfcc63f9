// Package paper makes what goes on the clipboard: the blank measuring sheet of
// an engine (Sheet), the job card of a plan (Card), labels for the drawers of the
// shim box (Labels), a machine's record (Machine) and how valves were found and
// left (Certify).
//
// Each is one HTML file that needs nothing else: no script, and nothing is
// fetched. It prints on A4 and Letter in black and white, no page breaks through
// a cylinder, and nothing is said by colour alone. Drawings are SVG with a
// title and a description; tables have headings.
//
// Figures and words of a plan are those of package report; here is only how
// they stand on paper. Sizes in drawings are mm on paper, as float64.
package paper
