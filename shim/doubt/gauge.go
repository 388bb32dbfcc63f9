package doubt

import "shimwright/shim"

// Usual is [shim.UsualGauge], the gauge of a shop that states none.
var Usual = shim.UsualGauge

// A Source says how the size of a shim is known.
type Source uint8

// The sources of a size.
const (
	Stamped Source = iota // the mark on a new shim
	Miked                 // a micrometer
	None                  // there is no shim
	Used                  // the mark on a shim that has been in an engine

	Sources = iota // how many there are
)

// SourceOf is how the size of a shim is known: Miked where a micrometer measured
// it, else by the mark on a used or a new one.
func SourceOf(miked, used bool) Source {
	switch {
	case miked:
		return Miked
	case used:
		return Used
	}
	return Stamped
}

// InPlace is how the size of a shim in an engine is known, with the micrometer's
// figure or 0, as in [shim.Measurement]. Where it is taken out, it is a used one.
func InPlace(mic shim.Length) Source { return SourceOf(mic != 0, true) }

// Limit is the half width of what the source leaves open.
func (s Source) Limit(g shim.Gauge) shim.Length { return sizeLimit(g, s) }

// sizeLimit is the half width of what the source leaves open.
func sizeLimit(g shim.Gauge, s Source) shim.Length {
	switch s {
	case Miked:
		return g.Mic
	case None:
		return 0
	case Used:
		return g.UsedStamp()
	}
	return g.Stamp
}

// reading adds the error of a reading, and is false for one without a number. A
// loaded gap less an unloaded one has the errors of both; of two readings of the
// opener that the gauge does not explain all between them is open, as at the opener
// itself: see [shim.Reading.Against].
func (s *sum) reading(g shim.Gauge, r shim.Reading) bool {
	s.rectangle(float64(r.Open))
	switch {
	case r.Unloaded.Most > 0:
		return false
	case r.Unloaded != shim.Unloaded{}:
		return s.gap(g, r.Loaded().Against(g)) && s.gap(g, r.Opener().Against(g))
	}
	return s.gap(g, r.Against(g))
}

// gap adds the error of one gap, with its readings as they count.
//
// The mean of two figures has half of each one's error (JCGM 100:2008, 5.1.2 and
// 4.2.3): two different figures are off by their rounding to a leaf
// independently, and by two leaves that are. Two equal figures are one leaf and
// one rounding, and their doubt is that of one reading: see [shim.Reading.Joined].
func (s *sum) gap(g shim.Gauge, r shim.Reading) bool {
	switch {
	case r.Second.Taken:
		for range 2 {
			s.rectangle(float64(g.Step) / 4)
			s.rectangle(float64(g.Leaf) / 2)
		}
	case r.Kind == shim.Single:
		s.rectangle(float64(g.Step) / 2)
		s.rectangle(float64(g.Leaf))
	case r.Kind == shim.Bracket && s.wedges < len(s.wedge):
		s.between(wedge{float64(r.High - r.Low), float64(g.Leaf)})
	case r.Kind == shim.Bracket:
		// A third: the leaf's error counts in full, a little more than the two thirds
		// of its variance that reach the gap.
		s.rectangle(float64(r.High-r.Low) / 2)
		s.rectangle(float64(g.Leaf))
	default:
		return false
	}
	return true
}
