// Package reason words why a plan leaves a valve as it is: the one place that
// makes sentences of a [plan.Reason], for people and for the files of a plan.
package reason

import (
	"shimwright/shim"
	"shimwright/shim/plan"
)

// Text is the valve's reason in words, without a full stop, with clearances and
// sizes of shims each in their unit, sizes with the marks of the valve's shims; empty
// where it has none. A reason of an earlier version stays as it was written.
func Text(v *plan.ValvePlan, clearances, u shim.Figures, marks ...shim.Mark) string {
	r := v.Reason
	switch {
	case r == nil:
		return ""
	case r.Text != "":
		return r.Text
	case r.Kind == plan.AcrossLimit:
		return v.Settling().Deciding(v.Reading, clearances)
	case !v.Measured:
		return unread(r, v, u, marks)
	case r.Kind == plan.NotOpened:
		return "outside its limits and not opened in this job"
	case r.Kind == plan.UnknownShim:
		return change(r, u)
	}
	need, from, to := within(u, r.Need, r.From, r.To, 2, 6)
	return "needs " + need + " (" + from + " to " + to + "): " + shortage(r, u, marks)
}

// sized is a size with its mark.
func sized(u shim.Figures, marks shim.MarkList, l shim.Length) string {
	return shim.WithMark(u.FormatAtLeast(l, 2), marks.Of(l))
}

// CloserFirst says what to do with an opener that was read while its closer showed no
// play.
func CloserFirst(opener shim.Valve) string {
	return "provisional, read while " + opener.Other().String() + " showed no play: put the closer right first, then measure both again"
}

// unread says what to do where the reading has no number.
func unread(r *plan.Reason, v *plan.ValvePlan, u shim.Figures, marks shim.MarkList) string {
	switch r.Kind {
	case plan.NotMeasured:
		return "not measured"
	case plan.CloserFirst:
		return CloserFirst(v.Valve)
	}
	kind := v.Reading.Kind
	says, again := "the thinnest leaf does not go; ", "measure again with thinner leaves"
	switch {
	case v.Reading.Unloaded.Most > 0:
		says, again = "the loaded gap is the opener's as far as the leaves tell, so the closer shows no play; ", "measure it directly, or both gaps with leaves closer together"
	case kind == shim.Above:
		says, again = "the thickest leaf falls through; ", "measure again with thicker leaves"
	}
	size := sized(u, marks, r.Size)
	switch r.Kind {
	case plan.OtherLeaves:
		return says + again
	case plan.OtherSetUp:
		switch {
		case v.Installed == 0 && kind == shim.Below:
			return says + again + ": no shim is in"
		case v.Installed == 0:
			return says + "put a set-up shim in, measure and plan again"
		}
		return says + "put a " + setUp(kind) + " set-up shim in, measure and plan again"
	case plan.NotOpened:
		return says + "not opened in this job"
	case plan.UnknownShim:
		return says + "its shim is not known yet"
	case plan.TrialBought:
		return says + "buy " + size + " to fit it as a trial, measure and plan again"
	case plan.NoTrial:
		return says + "no available shim will show a gap that can be measured; about " + size + " would"
	}
	return says + "fit " + size + " " + where(r) + " as a trial, measure and plan again"
}

// change says how much thinner or thicker a shim must be.
func change(r *plan.Reason, u shim.Figures) string {
	need, least, most, direction := r.Need, r.From, r.To, "thicker"
	if r.To < 0 {
		need, least, most, direction = -r.Need, -r.To, -r.From, "thinner"
	}
	by, from, to := within(u, need, least, most, u.Places(), u.Places()+1)
	return "needs a shim " + by + " " + direction + " (" + from + " to " + to + "); its own is not known yet"
}

// shortage says why there is none of the sizes that serve.
func shortage(r *plan.Reason, u shim.Figures, marks shim.MarkList) string {
	size := sized(u, marks, r.Size)
	switch r.Kind {
	case plan.NotBought:
		hand := "nothing at hand fits"
		if r.Size != 0 {
			hand = size + " at hand would do but " + where(r)
		}
		return hand + "; the catalogue has " + sized(u, marks, r.Offer) + ", but nothing is to be bought"
	case plan.NoShims:
		return "there is no shim to choose from; give a box or a catalogue"
	case plan.Taken:
		return size + " would do but " + where(r) + "; order one"
	case plan.AllThicker, plan.AllThinner:
		if r.Machine != nil {
			return machining(r, u)
		}
	}
	switch r.Kind {
	case plan.AllThicker:
		return "thinner than any available shim (" + size + "); have the valve stem end and the seat looked at"
	case plan.AllThinner:
		return "thicker than any available shim (" + size + "); have the valve and the seat looked at"
	}
	return "no available size between " + size + " and " + sized(u, marks, r.Next) + "; look for a finer step"
}

// where says where the shim is.
func where(r *plan.Reason) string {
	valve := r.Valve.String()
	if r.Job != "" {
		valve += " of job " + r.Job
	}
	switch r.Where {
	case plan.PulledFrom:
		return "pulled from " + valve
	case plan.Borrowed:
		return "borrowed from " + valve + ", which gets this one meanwhile,"
	case plan.GoesInto:
		return "goes into " + valve
	case plan.StaysIn:
		return "stays in " + valve
	case plan.OutOfStock:
		return "is out of stock"
	}
	return "from the box"
}

// within writes a range, rounded inward, and a size in it as one that reads so:
// an aim at a limit may come closest a nanometre outside, and decimals of an
// inch round. A range that no decimals of an inch lie in is written in mm.
func within(u shim.Figures, size, thin, thick shim.Length, least, most int) (ideal, from, to string) {
	limits := shim.Limits{Tight: thin, Loose: thick}
	from, to = u.ShowLimits(limits, least, most)
	if l, err := u.Parse(from); u.String() == shim.IN.String() && (err != nil || !limits.Contain(l)) {
		ideal, from, to = within(shim.MM, size, thin, thick, 6, 6)
		return ideal + " mm", from, to + " mm"
	}
	return u.ShowClearance(limits, min(max(size, thin), thick), least, most), from, to
}
