package model

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"shimwright/shim"
)

// Picture draws the head as text, seen from above with its cam-drive end at the
// top: the valves by name where they lie, as the forms on paper have them. No
// line is wider than 40 characters, and none ends in a space.
func Picture(e *shim.Engine) []string {
	var lines []string
	add := func(line string) { lines = append(lines, strings.TrimRight(line, " ")) }
	banks := e.BankList()
	for first := 0; first < len(banks); first += 2 {
		pair := banks[first:min(first+2, len(banks))]
		wide := len(pair)*bankWidth + (len(pair)-1)*len(bankGap)
		if first > 0 {
			add("")
		}
		add(centre(" cam-drive end ", wide, '='))
		across := func(draw func(bank int) string) {
			var parts []string
			for i := range pair {
				parts = append(parts, draw(first+i))
			}
			add(strings.Join(parts, bankGap))
		}
		across(func(bank int) string {
			middle := ""
			if len(banks) > 1 {
				middle = "bank " + strconv.Itoa(bank+1)
			}
			return row(e, bank, "in", middle, "ex")
		})
		ranks := 0
		for _, bank := range pair {
			ranks = max(ranks, len(bank))
		}
		for rank := range ranks {
			add(strings.Repeat("-", wide))
			high := max(e.Intake.Valves, e.Exhaust.Valves)
			for at := range high {
				across(func(bank int) string {
					if rank >= len(banks[bank]) {
						return strings.Repeat(" ", bankWidth)
					}
					cylinder, middle := banks[bank][rank], ""
					if at == (high-1)/2 {
						middle = "( " + strconv.Itoa(cylinder) + " )"
					}
					return row(e, bank, name(e, shim.Intake, cylinder, at), middle, name(e, shim.Exhaust, cylinder, at))
				})
			}
		}
		add(strings.Repeat("-", wide))
	}
	return lines
}

const (
	nameWidth = 5 // in12a
	bankWidth = 2*nameWidth + 9
	bankGap   = "  "
)

// row is one line of a bank, its sides where drawings have them.
func row(e *shim.Engine, bank int, intake, middle, exhaust string) string {
	left, right := exhaust, intake
	if e.IntakeOnLeft(e.IntakeSide, bank) {
		left, right = intake, exhaust
	}
	return centre(left, nameWidth, ' ') + centre(middle, bankWidth-2*nameWidth, ' ') + centre(right, nameWidth, ' ')
}

// name is the valve in a place of a cylinder's side, counted from the cam-drive
// end; empty where there is none.
func name(e *shim.Engine, s shim.Side, cylinder, at int) string {
	if valves := e.Openers(s, cylinder); at < len(valves) {
		return valves[at].String()
	}
	return ""
}

// centre puts a text into the middle of a field.
func centre(text string, width int, fill byte) string {
	free := max(0, width-utf8.RuneCountInString(text))
	side := func(n int) string { return strings.Repeat(string(fill), n) }
	return side(free/2) + text + side(free-free/2)
}
