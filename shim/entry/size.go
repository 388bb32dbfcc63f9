package entry

import (
	"cmp"
	"strings"

	"shimwright/shim"
)

// A Shim is an installed shim as it was typed: by its mark, by micrometer, or
// both. A length of 0 was not typed.
type Shim struct{ Stamp, Mic shim.Length }

// Size reads a shim's size in the unit: "2.450", "2,45", "mic 2.447" or
// "2.450 mic 2.447". It is not sure where a size is a bare number such as
// 245, which it takes for the first of whole units, hundredths, thousandths
// and tenths that is a usual size: one of the catalogue's range where there is
// a catalogue. A unit behind a figure counts in place of the given one. The error is an [*shim.Hinted].
func Size(text string, u shim.Unit, catalogue []shim.Range) (s Shim, sure bool, err error) {
	sure = true
	text, u = tidy(text, u)
	stamp, mic, miked := strings.Cut(text, "mic")
	for _, part := range []struct {
		text  string
		typed bool
		to    *shim.Length
	}{{stamp, !miked || strings.TrimSpace(stamp) != "", &s.Stamp}, {mic, miked, &s.Mic}} {
		if !part.typed {
			continue
		}
		figure, in := tidy(part.text, u)
		l, bare, err := thickness(figure, in, catalogue)
		if err != nil {
			return Shim{}, false, err
		}
		*part.to = l
		sure = sure && !bare
	}
	return s, sure, nil
}

// thickness is one size.
func thickness(text string, u shim.Unit, catalogue []shim.Range) (l shim.Length, bare bool, err error) {
	l, bare, err = length(text, u)
	if err != nil {
		return 0, bare, shim.Fail(nil, cmp.Or(shim.HintOf(err), "type the size on the shim, like "+u.Example("2.54", ".098")+", or mic and what the micrometer reads, or ? for help"), "%w", err)
	}
	if bare && l > 0 {
		l = guess(l, u, catalogue)
	}
	if err := shim.ImplausibleSize(l, u); err != nil {
		return 0, bare, err
	}
	return l, bare, nil
}

// guess is the usual size that a bare number may stand for, the number itself
// where there is none.
func guess(l shim.Length, u shim.Unit, catalogue []shim.Range) shim.Length {
	// Without a catalogue, the sizes of common practice.
	thin, thick := shim.Millimetre, 10*shim.Millimetre
	for i, r := range catalogue {
		if i == 0 {
			thin, thick = r.From, r.To
		}
		thin, thick = min(thin, r.From), max(thick, r.To)
	}
	parts := []shim.Length{1, 100, 1000, 10}
	if u == shim.IN {
		parts = []shim.Length{1, 1000, 10_000, 100_000}
	}
	for _, n := range parts {
		if size := l / n; size >= thin && size <= thick {
			return size
		}
	}
	return l
}
