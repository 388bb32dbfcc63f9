package inventory

import (
	"cmp"
	"encoding/json"
	"strings"
	"time"

	"shimwright/shim"
)

// A Source says where a planned shim comes from.
type Source string

// The sources of a shim.
const (
	Drawn  Source = "drawn"  // from the box
	Moved  Source = "moved"  // pulled from another valve of this engine
	Bought Source = "bought" // from the supplier
)

// A Placement is one valve that gets another shim. A valve that keeps its own
// has none.
type Placement struct {
	Valve  shim.Valve
	Size   shim.Length // of the shim that goes in
	Source Source
	From   shim.Valve // where Moved: the valve that it is pulled from
	Terms             // where Bought
	// Temporary is the size of a piece of the box that sits in the valve until its
	// own shim is at hand, 0 where there is none. The job holds it, and it never
	// leaves the box's record: once the valve is fitted it is back.
	Temporary shim.Length
}

// A Plan is what one run of the planner decided for a job. A later plan of the
// same job replaces it; its row stays.
type Plan struct {
	Job        int64
	Number     int   // 1, 2, 3, … within the job
	Seq        int64 // the ledger's last row when the plan was made
	Revision   int64 // of the diameter's stock that the plan was made on
	Time       time.Time
	Who        string
	Placements []Placement
	Document   json.RawMessage // the planner's own account, kept as it is
	Seal       Hash
}

// A Hold is a number of pieces of one lot that a job's plan counts on: they are
// promised to it.
type Hold struct {
	Job int64
	Lot
	Count int
	Plan  int64 // the ledger's last row when the plan was made: later plans give way first
	Seal  Hash  // the store's; rules see none
}

// Terms are what a piece is bought on.
type Terms struct {
	Supplier string // may be empty
	Part     string // the supplier's part number; may be empty
	shim.Quote
}

// Compare orders by supplier, part and price, a price that is not known first.
func (t Terms) Compare(o Terms) int {
	return cmp.Or(strings.Compare(t.Supplier, o.Supplier), strings.Compare(t.Part, o.Part), t.Quote.Compare(o.Quote))
}

// A Purchase is what a job needs from a supplier in one size and on the same
// terms. 0 <= Arrived <= Ordered. What is on order and no job needs is the
// shop's: it has no job, and nothing of it is needed or arrived.
type Purchase struct {
	Job int64
	shim.Disc
	Terms
	Needed  int // pieces that the current plan buys
	Ordered int // pieces ordered for the current plan, arrived ones included
	Arrived int
	Seal    Hash // the store's; rules see none
}

// Compare orders by job, diameter, size and terms.
func (p Purchase) Compare(o Purchase) int {
	return cmp.Or(compareLine(p.Job, o.Job, p.Disc, o.Disc), p.Terms.Compare(o.Terms))
}

// same tells whether it is the same line of the list, whatever its counts.
func (p Purchase) same(o Purchase) bool { return p.Compare(o) == 0 }

// Missing is how many pieces are still to be ordered.
func (p Purchase) Missing() int { return max(0, p.Needed-p.Ordered) }

// Coming is how many pieces are on order and have not come in.
func (p Purchase) Coming() int { return p.Ordered - p.Arrived }
