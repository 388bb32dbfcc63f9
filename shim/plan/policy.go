package plan

import (
	"fmt"
	"strings"

	"shimwright/shim"
	"shimwright/shim/assign"
)

// Criteria are what a plan minimises, each a sum over the open valves.
type Criteria struct {
	Unserved  int         `json:"unserved"`           // valves left outside their limits or unmeasured
	Bought    int         `json:"bought"`             // shims bought
	Cost      shim.Price  `json:"cost"`               // price of the bought ones
	Near      int         `json:"near"`               // valves that end inside, yet near a limit
	Disturbed int         `json:"disturbed"`          // valves inside their limits whose shim is changed
	Drawn     int         `json:"drawn"`              // shims taken from the box
	Risk      int64       `json:"risk_ppm,omitempty"` // sum of what the valves risk until the next check, where asked for
	Deviation shim.Length `json:"deviation_mm"`       // sum of the distances from the aim
	Changed   int         `json:"changed"`            // valves whose shim is changed
}

// add adds d to c.
func (c *Criteria) add(d Criteria) {
	c.Unserved += d.Unserved
	c.Bought += d.Bought
	c.Cost += d.Cost
	c.Near += d.Near
	c.Disturbed += d.Disturbed
	c.Drawn += d.Drawn
	c.Risk += d.Risk
	c.Deviation += d.Deviation
	c.Changed += d.Changed
}

// A Policy is an order of the criteria.
type Policy uint8

// The policies. Each order ends with the same tie-break: of plans equal in
// every criterion the one with more clearance in all, since wear closes the
// gap (common practice).
const (
	// Thrift is for a service job: fewest purchases, then fewest touched valves.
	Thrift Policy = iota
	// Target is for a fresh build, where everything is out anyway.
	Target
	// Blueprint is for an engine for which shims are no object.
	Blueprint
)

// Policies lists the policies' names, the default first.
var Policies = []string{"thrift", "target", "blueprint"}

// ParsePolicy reads a policy's name.
func ParsePolicy(text string) (Policy, error) {
	for i, name := range Policies {
		if strings.EqualFold(text, name) {
			return Policy(i), nil
		}
	}
	return Thrift, fmt.Errorf("unknown policy %q: %s", text, strings.Join(Policies, ", "))
}

// String is the policy's name.
func (p Policy) String() string { return Policies[p] }

// MarshalText is the policy's name.
func (p Policy) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText reads the policy's name.
func (p *Policy) UnmarshalText(text []byte) (err error) {
	*p, err = ParsePolicy(string(text))
	return err
}

// places says where in a cost vector each criterion stands.
type places struct {
	unserved, bought, cost, near, disturbed, drawn, risk, deviation, changed int
}

// looser is the place of the tie-break: the clearance, negative.
const looser = assign.Width - 1

func (p Policy) places() places {
	switch p {
	case Target:
		return places{unserved: 0, bought: 1, cost: 2, near: 3, risk: 4, deviation: 5, drawn: 6, disturbed: 7, changed: 8}
	case Blueprint:
		return places{unserved: 0, near: 1, risk: 2, deviation: 3, bought: 4, cost: 5, drawn: 6, disturbed: 7, changed: 8}
	}
	return places{unserved: 0, bought: 1, cost: 2, near: 3, disturbed: 4, drawn: 5, risk: 6, deviation: 7, changed: 8}
}
