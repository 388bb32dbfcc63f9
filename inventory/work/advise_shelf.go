package work

import (
	"context"
	"math"
	"slices"
	"strings"
	"time"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/stock"
)

// mostRecords bounds how many recorded jobs advice is made from, the newest ones.
const mostRecords = 1000

// A Shelf is what is known for advice: recorded jobs, what is on sale and the box.
type Shelf struct {
	Families []shim.Family // of the recorded jobs' valves, of the models and of the box
	Records  []stock.Job   // newest first
	Unknown  int           // recorded jobs in which some valve had no figure or no known shim
	Offers   []shim.Offer
	Guessed  []shim.Family  // those whose range was guessed from the box
	Unsold   []shim.Family  // those that nothing is on sale of
	Box      []stock.Pieces // free, and on order for the shop
	Coming   int            // of them on order
	Period   int            // jobs to a delivery
	PerDay   float64        // jobs a day, 0 where the records do not tell
	Drawing  stock.Drawing
}

// Few reports whether there are too few records for more than even spreading.
func (s *Shelf) Few() bool { return len(s.Records) < stock.Few }

// A Point is how far the box gets with so many of the pieces.
type Point struct {
	Pieces int
	stock.Replayed
}

// errNoSale: nothing is known to be on sale.
var errNoSale = shim.Fail(inventory.ErrInvalid, "give a price list with --catalogue, or open a job with an engine file that has [[shims.catalogue]]", "no sizes on sale are known")

// GatherShelf reads what advice needs.
func GatherShelf(ctx context.Context, shop *inventory.Shop, q Advising) (*Shelf, error) {
	recorded, err := shop.Recorded(ctx, mostRecords)
	if err != nil {
		return nil, err
	}
	s := &Shelf{}
	wanted := func(f shim.Family) bool { return q.Wanted == nil || q.Wanted(f) }
	var opened []time.Time
	for _, r := range recorded {
		if !slices.ContainsFunc(r.Engine.Families(), wanted) {
			continue
		}
		job, err := stock.JobOf(r.Engine, r.Found, shim.LiftNeeded, r.Job.Build)
		if err != nil {
			return nil, err
		}
		opened = append(opened, r.Job.Opened)
		if slices.ContainsFunc(r.Found, func(m shim.Measurement) bool { return !told(r, m) }) {
			s.Unknown++
		}
		s.Records = append(s.Records, slices.DeleteFunc(job, func(n stock.Need) bool { return !wanted(n.Family) }))
	}
	families, err := Families(ctx, shop)
	if err != nil {
		return nil, err
	}
	s.Families = slices.DeleteFunc(slices.Clone(families), func(f shim.Family) bool { return !wanted(f) })
	if len(s.Families) == 0 && len(families) > 0 {
		var names []string
		for _, f := range families {
			names = append(names, f.String())
		}
		return nil, shim.Fail(inventory.ErrInvalid, "in the shop: "+strings.Join(names, ", "), "neither the box nor a model of the shop has such shims")
	}
	if err := s.sale(ctx, shop, q.Offers); err != nil {
		return nil, err
	}
	if err := s.box(ctx, shop, wanted); err != nil {
		return nil, err
	}
	s.rate(opened)
	if s.Period = q.Jobs; q.Days > 0 {
		if s.PerDay == 0 {
			return nil, shim.Fail(inventory.ErrInvalid, "say how many jobs there are between deliveries: --every 10", "the recorded jobs do not tell how many there are in %d days", q.Days)
		}
		s.Period = max(1, int(math.Round(s.PerDay*float64(q.Days))))
	}
	s.Drawing = stock.Drawing{Jobs: stock.DefaultJobs, Spread: stock.Spread(len(s.Records)), Seed: q.Seed}
	return s, nil
}

// told reports whether a valve that was found has a figure and a known shim.
func told(r inventory.Recorded, m shim.Measurement) bool {
	_, known := r.Engine.Setting(m)
	if r.Job.Build {
		_, known = r.Engine.SettingOf(m)
	}
	return known
}

// rate finds how many jobs there are a day, from the first of the last year's to the last.
func (s *Shelf) rate(opened []time.Time) {
	if len(opened) < 2 {
		return
	}
	slices.SortFunc(opened, time.Time.Compare)
	last := opened[len(opened)-1]
	for last.Sub(opened[0]) > 365*24*time.Hour {
		opened = opened[1:]
	}
	if days := last.Sub(opened[0]).Hours() / 24; days >= 7 {
		s.PerDay = float64(len(opened)-1) / days
	}
}

// sale finds what is on sale: what was told, else the models' catalogues, else, for a
// family of which neither has any, the range that the box seems to be of.
func (s *Shelf) sale(ctx context.Context, shop *inventory.Shop, told []shim.Offer) error {
	if told != nil {
		for _, f := range s.Families {
			for _, o := range told {
				if o.Diameter == 0 && o.Kind == f.Kind {
					o.Diameter = f.Diameter
				}
				if o.Family == f {
					s.Offers = append(s.Offers, o)
				}
			}
		}
	} else {
		kept, err := shop.Engines(ctx, inventory.Page{})
		if err != nil {
			return err
		}
		places := Editions(kept)
		seen := map[shim.Offer]bool{}
		for i := range kept {
			if places[kept[i].ID].Older() {
				continue
			}
			for _, o := range kept[i].Spec.Offers() {
				if slices.Contains(s.Families, o.Family) && !seen[o] {
					seen[o] = true
					s.Offers = append(s.Offers, o)
				}
			}
		}
	}
	marks, err := Marks(ctx, shop)
	if err != nil {
		return err
	}
	for _, f := range s.Families {
		if slices.ContainsFunc(s.Offers, func(o shim.Offer) bool { return o.Family == f }) {
			continue
		}
		var stamps []shim.Length
		for _, m := range marks[f] {
			stamps = append(stamps, m.Stamp)
		}
		var guess []shim.Length
		if told == nil {
			guess = inventory.RangeOf(stamps)
		}
		if len(guess) == 0 {
			if len(s.Records) == 0 || s.needs(f) { // else a leftover in the box
				s.Unsold = append(s.Unsold, f)
			}
			continue
		}
		s.Guessed = append(s.Guessed, f)
		for _, size := range guess {
			s.Offers = append(s.Offers, shim.Offer{Disc: f.Of(size)})
		}
	}
	if len(s.Offers) == 0 {
		return errNoSale
	}
	return nil
}

// needs reports whether a recorded job opened a valve that takes such shims.
func (s *Shelf) needs(f shim.Family) bool {
	return slices.ContainsFunc(s.Records, func(j stock.Job) bool {
		return slices.ContainsFunc(j, func(n stock.Need) bool { return n.Family == f })
	})
}

// box is what is free, and on order for the shop.
func (s *Shelf) box(ctx context.Context, shop *inventory.Shop, wanted func(shim.Family) bool) error {
	stocks, err := shop.Stocks(ctx, inventory.StockFilter{})
	if err != nil {
		return err
	}
	var list []stock.Pieces
	for _, k := range stocks {
		if wanted(k.Family) && k.Free() > 0 {
			list = append(list, stock.Pieces{Disc: k.Disc, Count: k.Free()})
		}
	}
	orders, err := shop.Shopping(ctx)
	if err != nil {
		return err
	}
	for _, d := range orders {
		if wanted(d.Family) && d.Spare > 0 {
			list = append(list, stock.Pieces{Disc: d.Disc, Count: d.Spare})
			s.Coming += d.Spare
		}
	}
	s.Box = stock.Sum(list)
	return nil
}

// request is the advice asked for, on drawn jobs.
func (s *Shelf) request(q Advising) stock.Request {
	return stock.Request{Jobs: stock.Draw(s.Records, s.Offers, s.Drawing), Period: s.Period, Box: s.Box, Offers: s.Offers,
		Pieces: q.Pieces, Budget: q.Budget, Progress: q.Progress}
}
