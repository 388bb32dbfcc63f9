package main

import (
	"fmt"

	"shimwright/inventory/work"
	"shimwright/shim"
)

// doubtWords describes what is doubtful about a delivery; from names the supplier
// if the call does.
func doubtWords(list []work.Doubt, from string, u shim.Unit) []doubtful {
	var words []doubtful
	for _, d := range list {
		size := sizeText(d.Size, u) + " " + u.String()
		w := doubtful{way: "to buy for the shop, use box receive"}
		switch d.Kind {
		case work.NoSuchSize:
			w = doubtful{fmt.Sprintf("no catalogue in the shop for diameter %s has a shim of %s", diameterText(d.Diameter, u), size),
				"the nearest is " + sizeText(d.Nearest, u) + "; give a worn or measured size with --mic"}
		case work.VeryMany:
			w = doubtful{fmt.Sprintf("%d shims of %s is a lot", d.Count, size), "type a size with a count like 2.400x3"}
		case work.ComesTwice:
			w = doubtful{fmt.Sprintf("the fit of job %d already booked in a new %s (booking %d)", d.Fitted.Job, size, d.Fitted.Batch),
				"book in only what arrived besides it"}
		case work.UsedAsNew:
			w = doubtful{size + " is to be booked as new, but its note says used", "book used shims with --used"}
		case work.NotFromHere:
			w.message = size + " is not on order" + from + " and no job needs it from there"
		case work.NotOrdered:
			w.message = size + " is not on order, and no job needs it"
		case work.TooMany:
			w.message = fmt.Sprintf("%s of %s arrived, but only %d on order or needed", shim.Count(d.Count, "shim"), size, d.Open)
		}
		words = append(words, w)
	}
	return words
}
