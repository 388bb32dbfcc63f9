package reason

import (
	"shimwright/shim"
	"shimwright/shim/plan"
)

// setUp says which set-up shim gives a reading.
func setUp(kind shim.ReadingKind) string {
	if kind == shim.Above {
		return "thicker"
	}
	return "thinner"
}

// machining says how much to take off the stem tip or the seat for a size to serve,
// and what the maker allows. A shim itself is never ground.
func machining(r *plan.Reason, u shim.Figures) string {
	m := r.Machine
	size := u.FormatAtLeast(r.Size, 2)
	off := func(l shim.Length) string { return up(u, l) }
	if m.Seat {
		return "thicker than any available shim (" + size + "); with the seat cut so that the valve stands " + off(m.Limit) + " higher, " + size +
			" gives the limit, " + off(m.Aim) + " higher the aim; ask the manual how far the seat may be cut"
	}
	says := "thinner than any available shim (" + size + "); "
	grind := off(m.Limit) + " off the stem tip gives the limit with " + size + ", " + off(m.Aim) + " the aim"
	switch {
	case m.Most == nil:
		says += grind + "; ask the manual how much may come off"
	case *m.Most == 0:
		says += "the maker forbids grinding the stem tip, which would have to lose " + off(m.Limit) + "; another valve or seat"
	case !m.Allowed():
		says += grind + ", but the maker allows at most " + u.FormatAtLeast(*m.Most, 2) + "; another valve or seat"
	case m.ShortOfAim():
		says += grind + ", and the maker allows at most " + u.FormatAtLeast(*m.Most, 2)
	default:
		says += grind + " (the maker allows " + u.FormatAtLeast(*m.Most, 2) + ")"
	}
	if m.Proud == 0 || !m.Allowed() {
		return says
	}
	after := "to the aim"
	if m.ShortOfAim() {
		after = "by the most that the maker allows"
	}
	proud := u.FormatAtLeast(m.Proud, 2) + " proud of it when ground " + after
	if m.TipDepth < 0 {
		return says + "; before that the tip must stand " + off(-m.TipDepth) + " or more above the rim of the spring cup, so that the shim stands " + proud
	}
	return says + "; before that the tip may lie at most " + u.Show(m.TipDepth, 2, u.Places()) + " below the rim of the spring cup, so that the shim stands " + proud
}

// up is a length rounded up to the usual number of decimals, so that what is taken
// off is enough.
func up(u shim.Figures, l shim.Length) string {
	text := u.Show(l, 2, u.Places())
	step := shim.Micrometre
	if u.Places() == shim.IN.Places() {
		step = shim.Inch / 10_000
	}
	if shown, err := u.Parse(text); err == nil && shown < l {
		text = u.Show(l+step/2, 2, u.Places())
	}
	return text
}
