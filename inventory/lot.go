package inventory

import (
	"cmp"
	"strings"
	"unicode/utf8"

	"shimwright/shim"
)

// A Lot names equal pieces that lie together: pieces of one lot cannot be told
// apart, and a piece is in one lot only. All five fields are the key, so
// nothing that is known of a piece is lost by adding it up.
type Lot struct {
	Diameter shim.Length // of the disc; 2 to 60 mm
	shim.Marks
	Used bool   // was in an engine before
	Bin  string // where it lies; may be empty
}

// Disc is the kind of shim that the pieces are.
func (l Lot) Disc() shim.Disc { return shim.Disc{Diameter: l.Diameter, Size: l.Size()} }

// Compare orders lots by diameter, size, stamp, mic, new before used, bin.
func (l Lot) Compare(m Lot) int {
	return cmp.Or(l.Disc().Compare(m.Disc()), cmp.Compare(l.Stamp, m.Stamp),
		cmp.Compare(l.Mic, m.Mic), compareBool(l.Used, m.Used), strings.Compare(l.Bin, m.Bin))
}

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// String names the lot for a message, sizes in mm.
func (l Lot) String() string {
	text := l.Disc().String()
	if l.Bin != "" {
		text += " in bin " + l.Bin
	}
	return text
}

// Bounds of a disc diameter, as [shim.Engine.Validate] has them.
const (
	minDiameter = 2 * shim.Millimetre
	maxDiameter = 60 * shim.Millimetre
)

// maxText bounds a bin, a note or a name, in bytes.
const maxText = 2000

func (l Lot) validate() error {
	if l.Diameter < minDiameter || l.Diameter > maxDiameter {
		return Fail(ErrInvalid, "the disc diameter says which shims interchange; measure a shim", "a shim diameter of %s mm cannot be: %s to %s mm", l.Diameter, minDiameter, maxDiameter)
	}
	if l.Stamp == 0 && l.Mic == 0 {
		return Fail(ErrInvalid, "give the stamp or the mic reading", "a shim without a size cannot be booked")
	}
	for _, size := range []shim.Length{l.Stamp, l.Mic} {
		if size == 0 {
			continue
		}
		if problem, hint := shim.ImplausibleSize(size, shim.MM); problem != "" {
			return Fail(ErrInvalid, hint, "%s", problem)
		}
	}
	return validText("bin", l.Bin)
}

// validText refuses what a store could not keep byte for byte.
func validText(name, text string) error {
	switch {
	case len(text) > maxText:
		return Fail(ErrInvalid, "make it shorter", "the %s is longer than %d bytes", name, maxText)
	case !utf8.ValidString(text) || strings.ContainsRune(text, 0):
		return Fail(ErrInvalid, "use plain UTF-8 text", "the %s is not UTF-8 text", name)
	}
	return nil
}

// A Balance is how many pieces of a lot are on hand. The count is never below
// zero.
type Balance struct {
	Lot
	Count int
	Seal  Hash // the store's; rules see none
}

// A Stock is how many pieces of one diameter and size are on hand and how many
// of them are reserved: 0 <= Reserved <= OnHand. Plans reserve by size, since
// pieces of one size and diameter interchange.
type Stock struct {
	shim.Disc
	OnHand, Reserved int
	Seal             Hash // the store's; rules see none
}

// A Revision counts the changes of what is on hand, reserved, to be ordered or on
// order in a diameter.
type Revision struct {
	Diameter shim.Length
	Number   int64
	Seal     Hash // the store's; rules see none
}

// Free is how many pieces no plan counts on.
func (s Stock) Free() int { return s.OnHand - s.Reserved }
