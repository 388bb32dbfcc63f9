package entry

import (
	"cmp"
	"strings"

	"shimwright/shim"
)

// dashes are what a bracket may be typed with.
var dashes = strings.NewReplacer("‐", "-", "‑", "-", "‒", "-", "–", "-", "—", "-", "−", "-")

// Clearance reads a clearance in the unit: ".15", "0,15", a bracket ".15-.18"
// or ".15 .18", "<.05" or ">.6", two readings ".15/.16". It is not sure where a figure is a bare
// number, which it takes for hundredths of a mm or thousandths of an inch. A unit
// behind a figure counts in place of the given one: ".006in", "0.15 mm". The
// error is an [*shim.Hinted].
func Clearance(text string, u shim.Unit) (r shim.Reading, sure bool, err error) {
	return clearance(text, u, shim.MaxClearance)
}

// SetUp is [Clearance] in a fresh build, where the gap over a thin set-up shim, or
// over none, may have several millimetres.
func SetUp(text string, u shim.Unit) (r shim.Reading, sure bool, err error) {
	return clearance(text, u, shim.MaxSetUpGap)
}

// clearance reads one of at most so much.
func clearance(text string, u shim.Unit, most shim.Length) (r shim.Reading, sure bool, err error) {
	typed, u := tidy(dashes.Replace(text), u)
	if one, other, twice := strings.Cut(typed, "/"); twice {
		return both(one, other, u, most)
	}
	sure = true
	figure := func(text string) (l shim.Length) {
		if err != nil {
			return 0
		}
		var bare bool
		figure, in := tidy(text, u)
		if l, bare, err = gap(figure, in, most); bare {
			sure = false
		}
		return l
	}
	switch first, second, two := leaves(typed); {
	case strings.HasPrefix(typed, "<"):
		r = shim.Reading{Kind: shim.Below, High: figure(typed[1:])}
		if err == nil && r.High == 0 {
			err = shim.Fail(nil, "type the thinnest leaf, the one that does not go, like <"+u.Example(".05", ".002"), "no leaf has a thickness of 0")
		}
	case strings.HasPrefix(typed, ">"):
		r = shim.Reading{Kind: shim.Above, Low: figure(typed[1:])}
	case two:
		r = shim.Reading{Kind: shim.Bracket, Low: figure(first), High: figure(second)}
		if err == nil && r.Low >= r.High {
			err = shim.Fail(nil, "type the leaf that goes first, then the thicker one that does not", "the two leaves are the wrong way round")
		}
	default:
		r = shim.ReadingOf(figure(typed))
	}
	if err != nil {
		return shim.Reading{}, false, err
	}
	return r, sure, nil
}

// both reads two readings of one valve.
func both(one, other string, u shim.Unit, most shim.Length) (r shim.Reading, sure bool, err error) {
	r, sure, err = clearance(one, u, most)
	if err != nil {
		return r, false, err
	}
	second, also, err := clearance(other, u, most)
	if err == nil {
		r, err = r.And(second)
	}
	if err != nil {
		return shim.Reading{}, false, err
	}
	return r, sure && also, nil
}

// leaves parts a bracket: at a dash that is no sign, else at a space.
func leaves(typed string) (first, second string, two bool) {
	if typed == "" {
		return "", "", false
	}
	if dash := strings.IndexByte(typed[1:], '-') + 1; dash > 0 {
		return typed[:dash], typed[dash+1:], true
	}
	if fields := strings.Fields(typed); len(fields) == 2 {
		return fields[0], fields[1], true
	}
	return typed, "", false
}

// gap is one figure of a clearance.
func gap(text string, u shim.Unit, most shim.Length) (l shim.Length, bare bool, err error) {
	l, bare, err = length(text, u)
	if err != nil {
		return 0, bare, shim.Fail(nil, cmp.Or(shim.HintOf(err), "type a clearance like "+u.Example(".15", ".006")+", two leaves like "+u.Example(".15-.18", ".006-.007")+", or ? for help"), "%w", err)
	}
	if bare && l > 0 {
		// The first that can be a clearance: 15 is 0.15 mm, 150 is 0.150 mm.
		parts := []shim.Length{100, 1000}
		if u == shim.IN {
			parts = []shim.Length{1000, 10_000}
		}
		for _, n := range parts {
			if l/n < most {
				l /= n
				break
			}
		}
	}
	if err := shim.ImplausibleClearance(l, u); err != nil && (l < 0 || l > most) {
		return 0, bare, err
	}
	return l, bare, nil
}
