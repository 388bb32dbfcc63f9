package plan

import (
	"cmp"
	"slices"

	"shimwright/shim"
	"shimwright/shim/doubt"
)

// maxGap is the widest clearance that a temporary shim may leave. A wider one
// might let it slip from under the cam (common practice, no published figure).
const maxGap = shim.Millimetre

// A loan is a temporary shim and where it comes from.
type loan struct {
	size shim.Length
	gap  shim.Length // that it leaves
	// lot is the box's, for a piece of the box that the plan does not draw;
	// handedOn where it is one that another ring has done with.
	lot      *Pieces
	handedOn bool
	// piece is a shim of the plan, where lot is nil: one of the ring itself that
	// goes in at once, or one on its way along another chain while it is at hand.
	// That chain waits until it is back.
	piece piece
}

// holds reports whether a shim leaves the valve a clearance that is sure to be
// one: more than its own expanded uncertainty.
func (f *fitting) holds(n *node, size shim.Length, known doubt.Source) (gap shim.Length, ok bool) {
	set := n.valve.setting(f.plan.Jobs[n.place.Job].Engine)
	gap = set.Expect(size)
	return gap, gap <= maxGap && gap >= f.sure(n, known)
}

// family is the family of the node's shims.
func (f *fitting) family(n *node) shim.Family {
	return f.plan.Jobs[n.place.Job].Engine.FamilyOf(n.valve.Valve)
}

// sure is the least clearance that exceeds its own expanded uncertainty with a
// shim that is put in.
func (f *fitting) sure(n *node, known doubt.Source) shim.Length {
	least := &n.sure[known]
	if *least == 0 {
		j, v := &f.plan.Jobs[n.place.Job], n.valve
		parts := v.parts(j.Engine)
		parts.Kept, parts.Fitted = false, known
		forecast, _ := doubt.Model{Gauge: j.Gauge}.Forecast(v.Limits, v.Aim, parts)
		*least = forecast.Expanded + 1
	}
	return *least
}

// temporarySizes is the sizes to ask for, by their marks: those that leave a sure
// clearance, and none that is wider than the valve's loose limit if that can be.
func (f *fitting) temporarySizes(n *node) (thin, thick shim.Length) {
	j, v := &f.plan.Jobs[n.place.Job], n.valve
	set := v.setting(j.Engine)
	sure := f.sure(n, doubt.Stamped)
	set.Limits = shim.Limits{Tight: sure, Loose: v.Limits.Loose}
	if sure > v.Limits.Aim(shim.One/2) {
		set.Limits.Loose = maxGap
	}
	return set.Accepts()
}

// turned is the ring with another node in front.
func turned(ring []int, i int) []int { return append(slices.Clone(ring[i:]), ring[:i]...) }

// opened is the ring broken at its first node, which is visited twice.
func opened(ring []int, l *loan) chain {
	c := chain{lent: l}
	for _, n := range append(slices.Clone(ring), ring[0]) {
		c.visits = append(c.visits, []int{n})
	}
	return c
}

// ways lists how a ring can be broken, the ones with the fewest stops first:
// at each of its nodes by a shim of the box, and where that may not go round by
// one on its way along another chain; or by one of its own shims, where two
// positions open the two halves.
func (f *fitting) ways(ring []int, fixed []chain, broken [][]int, b *bench) []chain {
	var list []chain
	for i := range ring {
		r := turned(ring, i)
		n := &f.nodes[r[0]]
		loans, pieces := f.fromBox(n, len(broken), b)
		if pieces < len(broken) {
			loans = append(loans, f.onTheWay(n, ring, fixed, broken)...)
		}
		for _, l := range loans {
			list = append(list, f.made(opened(r, l)))
		}
		for half := 1; half < len(r)-1; half++ {
			last := f.nodes[r[half]].valve
			gap, ok := f.holds(n, last.Installed, last.installed())
			first, second := r[:half+1], append([]int{r[0]}, r[half+1:]...)
			if ok && f.atOnce(first) && f.atOnce(second) {
				l := &loan{size: last.Installed, gap: gap, piece: piece{r[half], pulled}}
				list = append(list, f.made(chain{visits: [][]int{first, second}, lent: l}))
			}
		}
	}
	slices.SortStableFunc(list, func(x, y chain) int { return cmp.Compare(x.rest[0], y.rest[0]) })
	return list
}

// off is how far a gap is from the one that is best for the time being.
func (n *node) off(gap shim.Length) shim.Length { return (gap - n.valve.Aim).Abs() }

// byGap puts the loans that leave the node closest to its aim first.
func (n *node) byGap(list []*loan) {
	slices.SortStableFunc(list, func(x, y *loan) int { return cmp.Compare(n.off(x.gap), n.off(y.gap)) })
}

// fromBox lists pieces of the box that would do, the best first, as long as
// there may be too few of them for so many rings. It counts the pieces listed.
func (f *fitting) fromBox(n *node, rings int, b *bench) (list []*loan, pieces int) {
	if b == nil {
		return nil, 0
	}
	lots := b.box[f.family(n)]
	for i := range lots {
		lot := &lots[i]
		if gap, ok := f.holds(n, lot.Size, lot.known); ok && lot.Count > 0 {
			list = append(list, &loan{size: lot.Size, gap: gap, lot: lot})
		}
	}
	n.byGap(list)
	for i, l := range list {
		if pieces += l.lot.Count; pieces >= rings {
			return list[:i+1], pieces
		}
	}
	return list, pieces
}

// onTheWay lists the shims of other chains that would do, each while it is at hand.
func (f *fitting) onTheWay(n *node, ring []int, fixed []chain, broken [][]int) []*loan {
	var list []*loan
	add := func(size shim.Length, known doubt.Source, p piece) {
		if f.family(&f.nodes[p.node]) != f.family(n) {
			return
		}
		if gap, ok := f.holds(n, size, known); ok {
			list = append(list, &loan{size: size, gap: gap, piece: p})
		}
	}
	out := func(x int) {
		// An engine with its camshafts out waits for what goes there.
		v := f.nodes[x].valve
		if v.SetUp {
			return
		}
		if v.To != nil {
			if _, here := f.index[*v.To]; !here {
				return
			}
		}
		add(v.Installed, v.installed(), piece{x, pulled})
	}
	for i := range fixed {
		if !fixed[i].path {
			continue
		}
		first := fixed[i].visits[0][0]
		if v := f.nodes[first].valve; v.From == nil {
			add(v.Size, v.Fitted(), piece{first, fresh})
		}
		for _, visit := range fixed[i].visits {
			out(visit[0])
		}
	}
	for _, other := range broken {
		for _, x := range other {
			if !slices.Contains(ring, x) {
				out(x)
			}
		}
	}
	n.byGap(list)
	return list[:min(len(list), maxOnTheWay)]
}

// maxOnTheWay is how many shims on their way are thought of for one valve: more
// than one engine has.
const maxOnTheWay = 32

// want says which shim would break a ring that nothing at hand breaks.
func (f *fitting) want(ring []int) {
	var w Want
	least := 0
	for i := range ring {
		n := &f.nodes[ring[i]]
		w.Ring = append(w.Ring, n.place)
		stops := f.made(opened(turned(ring, i), nil)).rest[0]
		if thin, thick := f.temporarySizes(n); thin <= thick && (least == 0 || stops < least) {
			least, w.Valve, w.Thin, w.Thick = stops, n.place, thin, thick
		}
	}
	j := &f.plan.Jobs[w.Ring[0].Job]
	j.Wants = append(j.Wants, w)
}
