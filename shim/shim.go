package shim

import (
	"cmp"
	"fmt"
)

// Marks are what is known of a shim's size.
type Marks struct {
	Stamp Length // the size marked; 0 where it cannot be read
	Mic   Length // the size a micrometer reads; 0 where nobody measured
}

// Size is the size to calculate with, 0 where nobody knows: the mic reading
// where there is one, else the stamp, since shims wear and marks lie (Honda,
// Toyota and Suzuki service manuals ask for the micrometer).
func (m Marks) Size() Length {
	if m.Mic != 0 {
		return m.Mic
	}
	return m.Stamp
}

// WornApart is the distance between stamp and micrometer from which on one of
// them looks like a slip. Common practice: a shim wears by hundredths, and
// neighbouring sizes are 0.05 mm apart in many ranges.
const WornApart = 50 * Micrometre

// Differ reports whether the two marks are known and further apart than wear
// explains.
func (m Marks) Differ() bool {
	return m.Stamp != 0 && m.Mic != 0 && (m.Stamp-m.Mic).Abs() >= WornApart
}

// A Family is the shims that interchange but for their size. In a file a
// diameter of 0 is that of the engine at hand.
type Family struct {
	// Kind tells shims of one diameter apart that are no plain discs, like those
	// of closing followers; it is empty for discs.
	Kind     string `json:"family,omitempty"`
	Diameter Length `json:"diameter_mm"`
}

// String names the family for a message, in mm.
func (f Family) String() string {
	if f.Kind == "" {
		return "diameter " + f.Diameter.String()
	}
	return f.Kind + " shims of diameter " + f.Diameter.String()
}

// Compare orders by kind, discs first, then by diameter.
func (f Family) Compare(o Family) int {
	return cmp.Or(cmp.Compare(f.Kind, o.Kind), cmp.Compare(f.Diameter, o.Diameter))
}

// Of is the family's shim of a size.
func (f Family) Of(size Length) Disc { return Disc{Family: f, Size: size} }

// A Disc is a kind of shim: those of one family and size interchange.
type Disc struct {
	Family
	Size Length `json:"size_mm"`
}

// String names the disc for a message, in mm.
func (d Disc) String() string {
	return fmt.Sprintf("%s mm of %s", MM.FormatAtLeast(d.Size, 3), d.Family)
}

// Compare orders by family, then by size.
func (d Disc) Compare(o Disc) int {
	return cmp.Or(d.Family.Compare(o.Family), cmp.Compare(d.Size, o.Size))
}

// A Quote is the price of a piece, which may not be known.
type Quote struct {
	Price  Price
	Priced bool // whether Price is known
}

// Compare puts a price that is not known first.
func (q Quote) Compare(o Quote) int {
	switch {
	case q.Priced == o.Priced:
		return cmp.Compare(q.Price, o.Price)
	case o.Priced:
		return -1
	}
	return 1
}
