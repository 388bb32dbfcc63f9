package stock

import (
	"cmp"
	"context"
	"slices"

	"shimwright/shim"
)

// A Request is what [Advise] is to find.
type Request struct {
	Jobs   []Job    // as drawn, in order
	Period int      // jobs to the next delivery, its time on the way included; 1 or more
	Box    []Pieces // what is there
	// Offers is what can be bought, of any number of suppliers. The cheapest piece of
	// a kind comes first, those without a price last.
	Offers []shim.Offer
	Pieces int // the most pieces to add; 0 for no bound
	// Budget bounds what they cost in all; nil for no bound. With it, pieces without
	// a price are left out.
	Budget *shim.Price
	// Least ends the advice before the first piece that saves fewer purchases a
	// period. 0 ends it where none saves any.
	Least float64
	// Progress, unless nil, is called with how many pieces of how many are found.
	Progress func(done, of int)
}

// A Step is one piece to add.
type Step struct {
	shim.Offer
	Saved  int // purchases, of all drawn jobs
	Period int // jobs that share the box as this piece was chosen
}

// An Advice is pieces in the order in which to add them.
type Advice struct {
	Steps []Step
	// Unserved is how many valves of the drawn jobs need a purchase with the box as
	// it is, and Hopeless those of them that no kind on sale serves.
	Unserved, Hopeless int
	Cost               shim.Price // of the steps, as far as priced
}

// Added is what the first n steps add.
func (a *Advice) Added(n int) []Pieces {
	var list []Pieces
	for _, s := range a.Steps[:n] {
		list = append(list, Pieces{s.Disc, 1})
	}
	return Sum(list)
}

// Saved is how many purchases all steps save within periods as long as asked for.
func (a *Advice) Saved(period int) int {
	n := 0
	for _, s := range a.Steps {
		if s.Period == period {
			n += s.Saved
		}
	}
	return n
}

// Advise finds which pieces to add to a box so that the drawn jobs save most
// purchases, one after another by what each saves. With a budget it also tries each
// piece by what it saves for its price, and keeps what saves more in all: the better of
// the two saves at least (1 - 1/e)/2 of the best (Leskovec and others, KDD 2007; from
// memory). Where no piece saves any more in periods of this length and there is budget
// left, periods are joined two by two. The error is the context's.
func Advise(ctx context.Context, r Request) (*Advice, error) {
	plain, err := advise(ctx, r, false)
	if err != nil || r.Budget == nil {
		return plain, err
	}
	thrifty, err := advise(ctx, r, true)
	if err != nil {
		return nil, err
	}
	if cmp.Or(cmp.Compare(thrifty.Saved(r.Period), plain.Saved(r.Period)), cmp.Compare(plain.Cost, thrifty.Cost)) > 0 {
		return thrifty, nil
	}
	return plain, nil
}

// A greedy adds pieces to a box.
type greedy struct {
	*Request
	*crowd
	*search
	counts  []int32
	periods []*period
	jobs    int      // of a period
	marks   [][]bool // by period the kinds that it wants
	saves   []int    // by kind the number of periods that want it
	sale    [][]shim.Offer
}

func newGreedy(r *Request) *greedy {
	g := &greedy{Request: r, crowd: newCrowd(r.Jobs, [][]Pieces{r.Box}, r.Offers), jobs: r.Period}
	g.search = newSearch(g.crowd)
	g.counts = g.crowd.counts(r.Box)
	g.sale = make([][]shim.Offer, len(g.line))
	for _, o := range r.Offers {
		if (!o.Limited || o.Stock > 0) && (r.Budget == nil || o.Priced) {
			k := g.crowd.from(o.Disc)
			g.sale[k] = append(g.sale[k], o)
		}
	}
	for _, list := range g.sale {
		slices.SortStableFunc(list, func(a, b shim.Offer) int { return -cheaper(&a, &b) })
	}
	g.divide()
	return g
}

// divide puts the jobs into periods and looks at what each wants.
func (g *greedy) divide() {
	g.periods, g.marks, g.saves = nil, nil, make([]int, len(g.line))
	for j := 0; j < len(g.starts)-1; j += g.jobs {
		last := min(j+g.jobs, len(g.starts)-1)
		p := newPeriod(g.crowd, g.starts[j], g.starts[last], g.counts, g.search)
		marks := make([]bool, len(g.line))
		p.wanted(g.search, marks)
		g.tally(marks, 1)
		g.periods, g.marks = append(g.periods, p), append(g.marks, marks)
	}
}

func (g *greedy) tally(marks []bool, by int) {
	for k, wants := range marks {
		if wants {
			g.saves[k] += by
		}
	}
}

// unserved counts the valves that need a purchase.
func (g *greedy) unserved() (n int) {
	for _, p := range g.periods {
		n += p.unserved
	}
	return n
}

// add puts a piece into the box, and looks again at the periods that want it.
func (g *greedy) add(k int) {
	g.counts[k]++
	for i, p := range g.periods {
		if !g.marks[i][k] {
			continue
		}
		p.more(g.search)
		g.tally(g.marks[i], -1)
		p.wanted(g.search, g.marks[i])
		g.tally(g.marks[i], 1)
	}
}

// hopeless counts the unserved valves that no kind on sale serves.
func (g *greedy) hopeless() (n int) {
	for _, p := range g.periods {
		for i, served := range p.served {
			v := &p.valves[p.first+i]
			if !served && !slices.ContainsFunc(g.sale[v.low:v.high], func(s []shim.Offer) bool { return len(s) > 0 }) {
				n++
			}
		}
	}
	return n
}

// best is the kind that saves most, or most for its price, among those that the
// money left reaches, and -1 where none saves any. Of equal ones it is the cheaper,
// then the first on the line.
func (g *greedy) best(left *shim.Price, byPrice bool) int {
	best := -1
	for k, list := range g.sale {
		if len(list) == 0 || g.saves[k] == 0 || left != nil && list[0].Price > *left {
			continue
		}
		if best < 0 {
			best = k
			continue
		}
		o, b := &list[0], &g.sale[best][0]
		order := cmp.Compare(g.saves[k], g.saves[best])
		if byPrice {
			order = cmp.Or(cmp.Compare(int64(g.saves[k])*int64(b.Price), int64(g.saves[best])*int64(o.Price)), order)
		}
		if cmp.Or(order, cheaper(o, b)) > 0 {
			best = k
		}
	}
	return best
}

// cheaper is above 0 where a costs less than b; a price that is not known is more
// than any.
func cheaper(a, b *shim.Offer) int {
	if a.Priced != b.Priced {
		return a.Quote.Compare(b.Quote)
	}
	return cmp.Compare(b.Price, a.Price)
}

func advise(ctx context.Context, r Request, byPrice bool) (*Advice, error) {
	g := newGreedy(&r)
	a := &Advice{Unserved: g.unserved(), Hopeless: g.hopeless()}
	var left *shim.Price
	if r.Budget != nil {
		money := *r.Budget
		left = &money
	}
	for r.Pieces == 0 || len(a.Steps) < r.Pieces {
		if err := ctx.Err(); err != nil {
			return nil, context.Cause(ctx)
		}
		k := g.best(left, byPrice)
		if k < 0 {
			if len(g.periods) < 2 || r.Least > 0 || r.Pieces == 0 && left == nil {
				break
			}
			g.jobs *= 2
			g.divide()
			continue
		}
		if float64(g.saves[k]) < r.Least*float64(len(g.periods)) {
			break
		}
		o := g.sale[k][0]
		a.Steps = append(a.Steps, Step{o, g.saves[k], g.jobs})
		a.Cost += o.Price
		if left != nil {
			*left -= o.Price
		}
		g.take(k)
		g.add(k)
		if r.Progress != nil {
			r.Progress(len(a.Steps), r.Pieces)
		}
	}
	return a, nil
}

// take takes a piece from the cheapest offer of the kind.
func (g *greedy) take(k int) {
	o := &g.sale[k][0]
	if !o.Limited {
		return
	}
	if o.Stock--; o.Stock == 0 {
		g.sale[k] = g.sale[k][1:]
	}
}
