package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// No trial shim may leave more than a millimetre, where a cam follower could
// come off, however well the gap could be read. Invented wide limits: with 0.60
// the thinnest leaf, the gap lies from -0.10 to 0.60 and reads from 0.60 to 1.60.
func TestNoTrialLeavesMoreThanAMillimetre(t *testing.T) {
	e := inline(1)
	e.Intake.Limits.Tight, e.Intake.Limits.Loose = 600*um, 800*um
	for name, c := range map[string]struct {
		box, want string
	}{
		"half likely, a millimetre at most":      {"2.60", "fit 2.60 from the box as a trial"},
		"likelier, a nanometre over, is refused": {"2.599999", "no available shim will show a gap"},
		"surely read, 1.30 at most, is refused":  {"2.30", "no available shim will show a gap"},
	} {
		m := check(t, e, "in1 <0.60 3.00", "ex1 0.235 3.00")
		p := made(t, plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: m}}, NoBuy: true, Box: box(t, c.box)})
		assert.Contains(t, said(valve(t, p, "in1")), c.want, name)
	}
}

// A trial shim that must be bought is listed, counts for no criterion, and takes
// its piece of a stock that is short.
func TestTrialsToBuy(t *testing.T) {
	e := inline(2)
	m := check(t, e, "in1 <0.05 2.50", "ex1 0.235 3.00", "in2 <0.05 2.50", "ex2 0.235 3.00")
	for stock, want := range map[int]int{0: 2, 1: 1} {
		offer := shim.Offer{Disc: shim.Disc{Size: 2400 * um}, Limited: stock > 0, Stock: stock}
		p := made(t, plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: m}}, Offers: []shim.Offer{offer}})
		assert.Equal(t, []plan.Pieces{{Disc: shim.Disc{Family: shim.Family{Diameter: e.Diameter}, Size: 2400 * um}, Count: want}}, p.Trials())
		assert.Zero(t, p.Criteria.Bought)
		assert.Empty(t, p.Shopping)
	}
}
