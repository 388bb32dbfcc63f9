package paper

import (
	"fmt"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// Measures of a strip in mm on paper.
const (
	stripWidth  = 40.0
	stripHeight = 9.0
	foundLine   = 2.8 // height of the lane for what was found
	thenLine    = 6.4 // and of the one for what is to be expected
)

// A scale maps clearances to the strip: the limits take its middle third, so
// that every valve's strip reads the same.
type scale struct {
	limits shim.Limits
}

// at is where a clearance stands, kept inside the strip, and whether it does
// stand there.
func (s scale) at(l shim.Length) (x float64, inside bool) {
	third := float64(s.limits.Loose - s.limits.Tight)
	x = stripWidth/3 + float64(l-s.limits.Tight)/third*stripWidth/3
	switch {
	case x < 0.8:
		return 0.8, false
	case x > stripWidth-0.8:
		return stripWidth - 0.8, false
	}
	return x, true
}

// arrow is a head at the end of the strip that x stands at.
func (d *drawing) arrow(x, y float64) {
	dir := 1.0
	if x < stripWidth/2 {
		dir = -1
	}
	d.path("ink", "M%s %sL%s %sL%s %sz", x+dir*0.6, y, x-dir*1.6, y-1.2, x-dir*1.6, y+1.2)
}

// strip draws one valve: the limits as a white field, above what was found,
// below what is to be expected and how sure that is.
func strip(id string, j *plan.JobPlan, r *valveRow) drawing {
	v := r.valve
	s := scale{v.Limits}
	d := drawing{ID: id, Class: "strip", W: stripWidth, H: stripHeight, Title: "Clearance of " + r.Name}
	tight, _ := s.at(v.Limits.Tight)
	loose, _ := s.at(v.Limits.Loose)
	aim, _ := s.at(v.Aim)
	d.rect("out", 0, 0.6, tight, stripHeight-1.2)
	d.rect("out", loose, 0.6, stripWidth-loose, stripHeight-1.2)
	d.line("limit", tight, 0.2, tight, stripHeight-0.2)
	d.line("limit", loose, 0.2, loose, stripHeight-0.2)
	d.line("dash", aim, 0.8, aim, stripHeight-0.8)
	d.found(s, v.Reading)
	d.Desc = fmt.Sprintf("Limits %s. Found: %s, %s.", r.Limits, or(r.Found, "nothing"), r.verdict())
	if v.Measured && !r.noneFits() {
		d.then(s, v, j)
		d.Desc += fmt.Sprintf(" To expect: %s, sure: %s.", r.Then, r.Sure)
	}
	return d
}

// found draws the reading: a diamond, or a bar from leaf to leaf; both of two.
func (d *drawing) found(s scale, r shim.Reading) {
	if first, second, twice := r.Twice(); twice {
		d.found(s, first)
		d.found(s, second)
		return
	}
	r = r.Gap()
	low, lowIn := s.at(r.Low)
	high, highIn := s.at(r.High)
	const y, half = foundLine, 1.25
	switch r.Kind {
	case shim.Single:
		if !lowIn {
			d.arrow(low, y)
			return
		}
		d.path("hollow", "M%s %sL%s %sL%s %sL%s %sz", low-half, y, low, y-half, low+half, y, low, y+half)
	case shim.Bracket:
		if high-low < 0.9 { // too narrow to see: both outside on one side, or leaves close together
			high = low + 0.9
		}
		d.rect("hollow", low, y-half, high-low, 2*half)
		if !lowIn {
			d.arrow(low, y)
		}
		if !highIn {
			d.arrow(high, y)
		}
	case shim.Below:
		if highIn {
			d.line("doubt", 0.8, y, high, y)
			d.line("doubt", high, y-half, high, y+half)
		}
		d.arrow(0.8, y)
	case shim.Above:
		if lowIn {
			d.line("doubt", low, y, stripWidth-0.8, y)
			d.line("doubt", low, y-half, low, y+half)
		}
		d.arrow(stripWidth-0.8, y)
	}
}

// then draws what is to be expected: a dot, and whiskers to where the true
// clearance may be.
func (d *drawing) then(s scale, v *plan.ValvePlan, j *plan.JobPlan) {
	const y = thenLine
	x, inside := s.at(v.Expected)
	if f, known := j.Forecast(v); known {
		from, fromIn := s.at(v.Expected - f.Expanded)
		to, toIn := s.at(v.Expected + f.Expanded)
		d.line("doubt", from, y, to, y)
		if fromIn {
			d.line("doubt", from, y-0.9, from, y+0.9)
		}
		if toIn {
			d.line("doubt", to, y-0.9, to, y+0.9)
		}
	}
	if !inside {
		d.arrow(x, y)
		return
	}
	d.circle("ink", x, y, 1.15)
}

// key draws a strip that explains itself.
func key(id string) drawing {
	d := drawing{ID: id, Class: "key", W: headWidth, H: 13, Title: "How to read the strips",
		Desc: "White field: inside the limits; dashed line: the aim. Upper lane: diamond, or bar from leaf to leaf, what was found. Lower lane: dot and whiskers, what to expect and how far off it may be in 95 of 100 cases. Arrow: further out than the strip."}
	const half = 1.25
	say := func(x, y float64, text string) { d.text("plain", "start", x, y+1.1, 3.2, headWidth-x, text) }
	y := 3.2
	d.rect("out", 0.4, y-2.5, 4, 5)
	d.rect("out", 11.4, y-2.5, 4, 5)
	d.line("limit", 4.4, y-2.8, 4.4, y+2.8)
	d.line("limit", 11.4, y-2.8, 11.4, y+2.8)
	d.line("dash", 7.9, y-2.5, 7.9, y+2.5)
	say(17, y, "white: inside the limits, dashed: the aim")
	d.path("hollow", "M84 %sL%s %sL%s %sL%s %sz", y, 84+half, y-half, 84+2*half, y, 84+half, y+half)
	say(88.5, y, "found")
	d.rect("hollow", 104, y-half, 6, 2*half)
	say(112, y, "found, from leaf to leaf")
	y = 9.8
	d.line("doubt", 1, y, 14.4, y)
	d.line("doubt", 1, y-0.9, 1, y+0.9)
	d.line("doubt", 14.4, y-0.9, 14.4, y+0.9)
	d.circle("ink", 7.7, y, 1.15)
	say(17, y, "to expect; in 95 of 100 cases the true one lies between the ends")
	d.path("ink", "M112 %sL114.2 %sL114.2 %sz", y, y-1.2, y+1.2)
	say(116.5, y, "further out than the strip")
	return d
}
