package main

import (
	"fmt"

	"shimwright/inventory/work"
	"shimwright/shim"
)

// doubtWords words what is doubtful in pieces that come in, from says whose they
// are where the call says so.
func doubtWords(list []work.Doubt, from string, u shim.Unit) []doubtful {
	var words []doubtful
	for _, d := range list {
		size := sizeText(d.Size, u) + " " + u.String()
		w := doubtful{way: "what the shop buys for itself goes with box receive"}
		switch d.Kind {
		case work.NoSuchSize:
			w = doubtful{fmt.Sprintf("no catalogue of diameter %s that the shop knows has a shim of %s", discText(d.Diameter, u), size),
				"the nearest is " + sizeText(d.Nearest, u) + "; a worn or measured size goes with --mic"}
		case work.VeryMany:
			w = doubtful{fmt.Sprintf("%d pieces of %s is a great many", d.Count, size), "a size with a count is typed 2.400x3"}
		case work.ComesTwice:
			w = doubtful{fmt.Sprintf("the fit of job %d booked in a new %s already (batch %d), since nobody had", d.Fitted.Job, size, d.Fitted.Batch),
				"book in what came beside it"}
		case work.UsedAsNew:
			w = doubtful{size + " is to be booked as new, and its note says used", "used pieces are booked with --used"}
		case work.NotFromHere:
			w.message = size + " is not on order" + from + " nor to be ordered there"
		case work.NotOrdered:
			w.message = size + " is not on order, and no job needs it"
		case work.TooMany:
			w.message = fmt.Sprintf("%s of %s came, and %d on order or needed", shim.Count(d.Count, "piece"), size, d.Open)
		}
		words = append(words, w)
	}
	return words
}
