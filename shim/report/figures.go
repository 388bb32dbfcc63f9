package report

import (
	"strings"

	"shimwright/shim"
)

// Lengths for people. Those of files in the printed unit are written as they
// are. Converted ones are rounded to 0.001 mm or 0.0001 in: limits towards each
// other, and what stands beside them so that no verdict seems another. Sizes
// of shims get one decimal more in inches, so that micrometres stay apart.

// places is the usual number of decimals of a size in the unit.
func places(u shim.Unit) int { return u.Places() }

// digits is how many decimals clearances beside the limits are written with at
// most: one more than usual, for half steps, unless the limits are converted.
func digits(u shim.Unit, l shim.Limits) int {
	if usual := places(u); !u.Exact(l.Tight, usual) || !u.Exact(l.Loose, usual) {
		return usual
	}
	return places(u) + 1
}

// Limits writes limits; converted ones never widen.
func Limits(u shim.Unit, l shim.Limits) string {
	tight, loose := bare{u}.ShowLimits(l, places(u)-1, digits(u, l))
	return tight + "-" + loose
}

// clearance writes a clearance beside its limits.
func clearance(u shim.Unit, l shim.Limits, c shim.Length) string {
	return bare{u}.ShowClearance(l, c, places(u), digits(u, l))
}

// room writes how far inside its limits a clearance is, never more than that.
func room(u shim.Unit, l shim.Limits, c shim.Length) string {
	return Figure(u, u.ShowDown(l.Room(c), places(u), digits(u, l)))
}

// Reading writes a reading beside its limits, in the unit; one that the maker's
// table moved with what it counts as: "0.45 as 0.428".
func Reading(u shim.Unit, l shim.Limits, r shim.Reading) string {
	if r.Converted() {
		counts := r.AsCounted().Format(bare{u})
		if c, known := r.Estimate(); known {
			counts = bare{u}.ShowClearance(l, c, places(u), digits(u, l))
		}
		return Reading(u, shim.Limits{Tight: l.Tight - r.Shifted, Loose: l.Loose - r.Shifted}, r.AsRead()) + " as " + counts
	}
	if first, second, twice := r.Twice(); twice && r.Unloaded == (shim.Unloaded{}) {
		return Reading(u, l, first) + "/" + Reading(u, l, second)
	}
	most := digits(u, l)
	if most > places(u) && u.Exact(r.Low, most) && u.Exact(r.High, most) {
		return r.Format(bare{u})
	}
	if r.Unloaded != (shim.Unloaded{}) { // the table has room for what it comes to
		if r = r.Gap(); r.Kind != shim.Below {
			estimate, _ := r.Estimate()
			return Figure(u, u.ShowClearance(l, estimate, places(u), most))
		}
	}
	text, least := "", places(u)
	switch r.Kind {
	case shim.Single:
		text = u.ShowClearance(l, r.Low, least, most)
	case shim.Bracket:
		return bare{u}.Show(r.Low, least, most) + "-" + bare{u}.Show(r.High, least, most)
	case shim.Below:
		text = "<" + u.ShowUp(r.High, least, most)
	case shim.Above:
		text = ">" + u.ShowDown(r.Low, least, most)
	}
	return Figure(u, text)
}

// size writes the size of a shim; a converted one in inches with all decimals.
func size(u shim.Unit, l shim.Length) string {
	const most = 5
	least := places(u)
	if u == shim.IN && !u.Exact(l, most) {
		least = most
	}
	return bare{u}.Show(l, least, most)
}

// show writes a length that stands beside no limits, to one decimal more than
// usual.
func show(u shim.Unit, l shim.Length, least int) string {
	return bare{u}.Show(l, least, places(u)+1)
}

// signed writes a difference with its sign.
func signed(u shim.Unit, l shim.Length, most int) string {
	text := bare{u}.Show(l, places(u), most)
	if l > 0 {
		return "+" + text
	}
	return text
}

// A bare unit writes figures in inches without the zero before the point, as
// drawings do (ASME Y14.5 on inch dimensions, from memory).
type bare struct{ shim.Unit }

func (b bare) FormatAtLeast(l shim.Length, decimals int) string {
	return Figure(b.Unit, b.Unit.FormatAtLeast(l, decimals))
}

func (b bare) Show(l shim.Length, least, most int) string {
	return Figure(b.Unit, b.Unit.Show(l, least, most))
}

func (b bare) ShowLimits(l shim.Limits, least, most int) (tight, loose string) {
	tight, loose = b.Unit.ShowLimits(l, least, most)
	return Figure(b.Unit, tight), Figure(b.Unit, loose)
}

func (b bare) ShowClearance(l shim.Limits, c shim.Length, least, most int) string {
	return Figure(b.Unit, b.Unit.ShowClearance(l, c, least, most))
}

// Figure is one figure, with its sign, as people read it: in inches without the
// zero before the point.
func Figure(u shim.Unit, figure string) string {
	number := strings.TrimLeft(figure, "-<>")
	if u == shim.IN && strings.HasPrefix(number, "0.") {
		return strings.TrimSuffix(figure, number) + number[1:]
	}
	return figure
}

// sizeAt is the size of a shim in the valve, with its mark.
func sizeAt(u shim.Unit, e *shim.Engine, v shim.Valve, l shim.Length) string {
	return shim.WithMark(size(u, l), e.MarksOf(v).Of(l))
}

// InPlace is the size that the shim in a valve counts as, with its mark where that
// means this size.
func InPlace(u shim.Unit, e *shim.Engine, m shim.Measurement) string {
	if m.Stamp != m.Size() {
		return size(u, m.Size())
	}
	return sizeAt(u, e, m.Valve, m.Size())
}
