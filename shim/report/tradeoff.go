package report

import (
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// barWidth is the width of the longest bar of the plot.
const barWidth = 12

// TradeOff shows what one more shim buys: a row and a bar for each number of
// purchases.
func TradeOff(p *plan.Plan, trades []plan.Trade) Section {
	s := Section{Level: 2, Heading: "What one more shim buys"}
	if len(trades) == 0 {
		s.Lines = []string{"No open valve can be brought inside its limits."}
		return s
	}
	u := p.Units().Clearance
	widest := shim.Length(1)
	for i := range trades {
		widest = max(widest, trades[i].Margin)
	}
	s.Table = &Table{
		Kind:   "tradeoff",
		Header: []string{"buy", "to limit", "", "sure", "total deviation", "cost", "box", "fine but changed"},
		Right:  []int{0, 1, 3, 4, 5, 6, 7},
	}
	for i := range trades {
		t := &trades[i]
		c := &t.Plan.Criteria
		bar := strings.Repeat("#", int((int64(t.Margin)*barWidth+int64(widest)/2)/int64(widest)))
		s.Table.Rows = append(s.Table.Rows, []string{
			strconv.Itoa(t.Buy), show(u, t.Margin, places(u)), bar, short(t.Sure), show(u, c.Deviation, places(u)),
			c.Cost.String(), strconv.Itoa(c.Drawn), strconv.Itoa(c.Disturbed),
		})
	}
	s.Notes = []string{
		"to limit: how far inside its limits the worst open valve ends, and how likely it is inside; total deviation: all distances from the aim added up.",
		"--buy " + strconv.Itoa(trades[len(trades)-1].Buy) + " prints the plan of the last row, and so for each.",
	}
	return s
}
