package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
	"shimwright/shim/stock"
)

// adviceList is what to add to the box.
type adviceList struct {
	*work.Advice
	unit  shimText
	every work.Rhythm
	kept  bool // whether the levels are kept
}

// percent is a share of jobs, of 100, which is all of them and no fewer.
func percent(r stock.Replayed) string {
	n := math.Round(100 * r.Share())
	if r.Done < r.Jobs {
		n = min(n, 99)
	}
	return fmt.Sprintf("%.0f", n)
}

// per100 is a number of purchases in 100 jobs.
func per100(n, jobs int) float64 { return math.Round(1000*float64(n)/float64(jobs)) / 10 }

// sizes lists pieces, those of one size together, as box receive reads them; with their
// families where the shop has several.
func (t shimText) sizes(list []stock.Pieces, families []shim.Family) string {
	var words []string
	for i, p := range list {
		if len(families) > 1 && (i == 0 || list[i-1].Family != p.Family) {
			words = append(words, report.Family(t.Unit, p.Family)+":")
		}
		word := t.size(p.Disc)
		if p.Count > 1 {
			word = fmt.Sprintf("%sx%d", word, p.Count)
		}
		words = append(words, word)
	}
	return strings.Join(words, " ")
}

// between are the pieces from one point to the next.
func (l *adviceList) between(from, to int) []stock.Pieces {
	var list []stock.Pieces
	for _, s := range l.Steps[from:to] {
		list = append(list, stock.Pieces{Disc: s.Disc, Count: 1})
	}
	return stock.Sum(list)
}

// basis says what the advice rests on.
func basis(s *work.Shelf, every work.Rhythm) []string {
	until := shim.Count(s.Period, "job") + " to the next delivery"
	if every.Days > 0 {
		until = fmt.Sprintf("%s, in %d days", until, every.Days)
	}
	var lines []string
	switch n := len(s.Records); {
	case n == 0:
		lines = append(lines, "No job has readings yet: the shims are spread evenly over the range.")
	case s.Few():
		lines = append(lines, fmt.Sprintf("%s; %d jobs drawn from the %s with readings (seed %d).", until, s.Drawing.Jobs, shim.Count(n, "job"), s.Drawing.Seed),
			fmt.Sprintf("Fewer than %d jobs tell little: the shims are spread evenly over the sizes used.", stock.Few))
	default:
		lines = append(lines, fmt.Sprintf("%s; %d jobs drawn from your last %d (seed %d).", until, s.Drawing.Jobs, n, s.Drawing.Seed))
	}
	return lines
}

// limits says what the advice leaves out.
func limits(s *work.Shelf, u shimText) (lines []string) {
	names := func(list []shim.Family) string {
		var words []string
		for _, f := range list {
			words = append(words, report.Family(u.Unit, f))
		}
		return strings.Join(words, ", ")
	}
	if s.Unknown > 0 {
		lines = append(lines, fmt.Sprintf("In %s some valves have no figure or no known shim: they are left out.", shim.Count(s.Unknown, "job")))
	}
	if len(s.Guessed) > 0 {
		lines = append(lines, "Sizes on sale guessed from the box: diameter "+names(s.Guessed)+".")
	}
	if len(s.Unsold) > 0 {
		lines = append(lines, "No sizes on sale are known: diameter "+names(s.Unsold)+".")
	}
	return lines
}

func (l *adviceList) document() *report.Document {
	now := stock.Count(l.Box)
	lines := basis(l.Shelf, l.every)
	t := &report.Table{Kind: "advice", Header: []string{"box", "at once", "saves", "add (" + l.unit.String() + ")"}, Right: []int{0, 1, 2}}
	if len(l.Points) == 0 {
		t.Header, t.Right = []string{"box", "add (" + l.unit.String() + ")"}, []int{0}
		t.Rows = append(t.Rows, []string{strconv.Itoa(now), "the box as it is"})
		for from := 0; from < len(l.Steps); from += 10 {
			to := min(from+10, len(l.Steps))
			t.Rows = append(t.Rows, []string{strconv.Itoa(now + to), l.unit.sizes(l.between(from, to), l.Families)})
		}
	}
	for i, p := range l.Points {
		row := []string{strconv.Itoa(now + p.Pieces), percent(p.Replayed), "", "the box as it is"}
		if i > 0 {
			before := l.Points[i-1]
			row[2], row[3] = fmt.Sprintf("%.1f", per100(before.Bought-p.Bought, p.Jobs)), l.unit.sizes(l.between(before.Pieces, p.Pieces), l.Families)
		}
		t.Rows = append(t.Rows, row)
	}
	s := report.Section{Level: 2, Heading: "Shims to add", Lines: lines, Table: t}
	if len(l.Points) > 0 {
		s.Notes = append(s.Notes, "at once: of 100 jobs, those that need no purchase. saves: shims not bought in 100 jobs.")
	}
	if l.Coming > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("The box as it is counts %s on order for it.", shim.Count(l.Coming, "shim")))
	}
	s.Notes = append(s.Notes, l.after()...)
	s.Notes = append(s.Notes, l.costs()...)
	if len(l.Spare) > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("Never missed in %d jobs: %s: %s.", l.Drawing.Jobs, shim.Count(stock.Count(l.Spare), "shim"), l.unit.sizes(l.Spare, l.Families)))
	}
	s.Notes = append(s.Notes, limits(l.Shelf, l.unit)...)
	next := "Next: shimwright box advise --levels keeps this as levels of the box"
	if l.kept {
		s.Notes = append(s.Notes, fmt.Sprintf("Levels of %s kept. They hold together only.", shim.Count(len(l.Levels), "size")))
		next = "Next: shimwright box list shows what is below its level"
	}
	return &report.Document{Sections: []report.Section{s, said(next)}}
}

// after says what more shims would be good for.
func (l *adviceList) after() (lines []string) {
	if len(l.Points) == 0 {
		return nil
	}
	last := l.Points[len(l.Points)-1]
	if l.Hopeless > 0 && !l.Few() {
		lines = append(lines, fmt.Sprintf("Not on sale: %.1f shims that 100 jobs need.", per100(l.Hopeless, l.Drawing.Jobs)))
	}
	if at := slices.IndexFunc(l.Steps, func(s stock.Step) bool { return s.Period > l.Period }); at >= 0 && !l.Few() {
		lines = append(lines, fmt.Sprintf("From shim %d of these on, no drawn job misses one within %s; the rest is for a longer wait.", at+1, shim.Count(l.Period, "job")))
	}
	switch {
	case len(l.Steps) == 0:
		return append(lines, "No shim on sale within the budget saves a purchase.")
	case l.More == nil:
		return lines
	}
	text := fmt.Sprintf("%d more: %s of 100 at once", l.More.Pieces-last.Pieces, percent(l.More.Replayed))
	if l.More.Share()-last.Share() < 0.01 {
		text += ", hardly anything"
	}
	return append(lines, text+".")
}

// costs sums the prices up.
func (l *adviceList) costs() []string {
	unknown := 0
	for _, s := range l.Steps {
		if !s.Priced {
			unknown++
		}
	}
	switch {
	case len(l.Steps) == unknown:
		return nil
	case unknown > 0:
		return []string{fmt.Sprintf("Price: %s, without %s whose price is not known.", l.Cost, shim.Count(unknown, "shim"))}
	}
	return []string{fmt.Sprintf("Price: %s.", l.Cost)}
}

type adviceRow struct {
	shim.Disc
	Count int    `json:"count"`
	Mark  string `json:"mark,omitempty"`
}

func (t shimText) pieceRows(list []stock.Pieces) []adviceRow {
	rows := []adviceRow{}
	for _, p := range list {
		rows = append(rows, adviceRow{p.Disc, p.Count, t.mark(p.Disc)})
	}
	return rows
}

// shelfJSON is what advice rests on.
type shelfJSON struct {
	Seed     uint64      `json:"seed"`
	Period   int         `json:"jobs_to_delivery"`
	Records  int         `json:"jobs_recorded"`
	Few      bool        `json:"too_few"`
	Unknown  int         `json:"jobs_with_valves_left_out"`
	Drawn    int         `json:"jobs_drawn"`
	Spread   shim.Length `json:"spread_mm"`
	PerDay   *float64    `json:"jobs_per_day"`
	InBox    int         `json:"pieces_in_box"`
	OnOrder  int         `json:"pieces_on_order"`
	Families []struct {
		shim.Family
		Sale string `json:"on_sale"`
	} `json:"families"`
}

func shelfOf(s *work.Shelf) shelfJSON {
	out := shelfJSON{Seed: s.Drawing.Seed, Period: s.Period, Records: len(s.Records), Few: s.Few(), Unknown: s.Unknown, Drawn: s.Drawing.Jobs, Spread: s.Drawing.Spread,
		InBox: stock.Count(s.Box), OnOrder: s.Coming}
	if s.PerDay > 0 {
		rate := math.Round(1000*s.PerDay) / 1000
		out.PerDay = &rate
	}
	for _, f := range s.Families {
		sale := "known"
		if slices.Contains(s.Guessed, f) {
			sale = "guessed"
		}
		if slices.Contains(s.Unsold, f) {
			sale = "unknown"
		}
		out.Families = append(out.Families, struct {
			shim.Family
			Sale string `json:"on_sale"`
		}{f, sale})
	}
	return out
}

type pointJSON struct {
	Pieces int     `json:"pieces"`
	AtOnce float64 `json:"done_at_once_percent"`
	Bought float64 `json:"bought_per_100_jobs"`
}

func pointOf(p work.Point) pointJSON {
	return pointJSON{p.Pieces, math.Round(1000*p.Share()) / 10, per100(p.Bought, p.Jobs)}
}

// saved is what a step saves in 100 jobs, nil where nobody worked it out.
func (l *adviceList) saved(s stock.Step) *float64 {
	if l.Few() {
		return nil
	}
	n := math.Round(10000*float64(s.Saved)/float64(l.Drawing.Jobs)) / 100
	return &n
}

func (l *adviceList) json(w io.Writer) error {
	type step struct {
		shim.Disc
		Price    *shim.Price `json:"price"`
		Supplier string      `json:"supplier"`
		Part     string      `json:"part"`
		Saved    *float64    `json:"saved_per_100_jobs"`
		Period   int         `json:"jobs_to_delivery"`
		Mark     string      `json:"mark,omitempty"`
	}
	out := struct {
		shelfJSON
		Add      []step      `json:"add"`
		Cost     shim.Price  `json:"cost"`
		Points   []pointJSON `json:"points"`
		More     *pointJSON  `json:"more"`
		NotSold  float64     `json:"not_on_sale_per_100_jobs"`
		Spare    []adviceRow `json:"never_missed"`
		Levels   []adviceRow `json:"levels"`
		LevelsOn bool        `json:"levels_kept"`
	}{shelfOf(l.Shelf), []step{}, l.Cost, []pointJSON{}, nil, 0, l.unit.pieceRows(l.Spare), l.unit.pieceRows(l.Levels), l.kept}
	for _, s := range l.Steps {
		out.Add = append(out.Add, step{s.Disc, priceForm(s.Price, s.Priced), s.Supplier, s.Part, l.saved(s), s.Period, l.unit.mark(s.Disc)})
	}
	for _, p := range l.Points {
		out.Points = append(out.Points, pointOf(p))
	}
	if l.More != nil {
		more := pointOf(*l.More)
		out.More = &more
	}
	if len(l.Records) > 0 {
		out.NotSold = per100(l.Hopeless, l.Drawing.Jobs)
	}
	return writeJSON(w, out)
}

func (l *adviceList) csv(w io.Writer) error {
	rows := [][]string{{"order", "diameter_mm", "size_mm", "price", "supplier", "part", "saved_per_100_jobs", "done_at_once_percent"}}
	at := map[int]string{}
	for _, p := range l.Points {
		at[p.Pieces] = fmt.Sprint(pointOf(p).AtOnce)
	}
	rows = append(rows, []string{"0", "", "", "", "", "", "", at[0]})
	families, marks := []shim.Family{{}}, []string{""}
	for i, s := range l.Steps {
		price, saved := "", ""
		if s.Priced {
			price = s.Price.String()
		}
		if n := l.saved(s); n != nil {
			saved = fmt.Sprint(*n)
		}
		rows = append(rows, []string{strconv.Itoa(i + 1), s.Diameter.String(), s.Size.String(), price, s.Supplier, s.Part, saved, at[i+1]})
		families, marks = append(families, s.Family), append(marks, l.unit.mark(s.Disc))
	}
	return writeCSV(w, l.unit.withMarks(withFamilies(rows, families), marks))
}

// kitWorth is what an assortment is worth to the box.
type kitWorth struct {
	*work.KitWorth
	paid *shim.Price // nil where nobody said
	file string
	unit shimText
}

// worth is whether the kit costs less than the singles that save as much: nil
// where a price is missing.
func (k *kitWorth) worth() *bool {
	if k.paid == nil || !k.Priced {
		return nil
	}
	less := *k.paid < k.Cost
	return &less
}

func (k *kitWorth) document() *report.Document {
	s := report.Section{Level: 2, Heading: "Worth of the kit", Lines: basis(k.Shelf, work.Rhythm{})}
	s.Lines = append(s.Lines, fmt.Sprintf("At once, of 100 jobs: %s with the box as it is, %s with the kit.", percent(k.Now.Replayed), percent(k.With.Replayed)))
	if k.Saved == 0 {
		s.Lines = append(s.Lines, "The kit saves no purchase: do not buy it.")
		return &report.Document{Sections: []report.Section{s}}
	}
	if k.Enough {
		s.Lines = append(s.Lines, fmt.Sprintf("Its %s save as much as %.1f of the best single ones: %.2f of one each.", shim.Count(k.Kit.Pieces, "shim"), k.Singles, k.Each()))
	} else {
		s.Lines = append(s.Lines, fmt.Sprintf("Its %s save more than all single ones on sale that save anything, %.0f of them.", shim.Count(k.Kit.Pieces, "shim"), k.Singles))
	}
	if k.Priced {
		s.Lines = append(s.Lines, fmt.Sprintf("So many single ones cost %s.", k.Cost))
	} else {
		s.Lines = append(s.Lines, "Some single ones have no price: give a price list with --catalogue.")
	}
	next := ""
	switch worth := k.worth(); {
	case k.paid == nil:
		next = "Next: --price MONEY says whether to buy the kit"
	case worth == nil:
		s.Lines = append(s.Lines, fmt.Sprintf("The kit at %s is worth it if a single shim costs more than %.2f.", *k.paid, float64(*k.paid)/10_000/k.Singles))
	case *worth:
		s.Lines = append(s.Lines, fmt.Sprintf("The kit at %s costs less: buy it.", *k.paid))
		next = "Next: when it is here: shimwright box receive --kit " + argument(k.file) + " --price " + k.paid.String()
	default:
		s.Lines = append(s.Lines, fmt.Sprintf("The kit at %s costs more: buy single ones.", *k.paid))
		next = "Next: shimwright box advise"
	}
	s.Lines = append(s.Lines, limits(k.Shelf, k.unit)...)
	return &report.Document{Sections: []report.Section{s, said(next)}}
}

func (k *kitWorth) json(w io.Writer) error {
	type worth struct {
		Pieces  int         `json:"pieces"`
		Saved   float64     `json:"saved_per_100_jobs"`
		Singles float64     `json:"worth_singles"`
		Enough  bool        `json:"singles_save_as_much"`
		Each    float64     `json:"worth_each"`
		Cost    *shim.Price `json:"singles_cost"`
		Price   *shim.Price `json:"price"`
		Buy     *bool       `json:"buy"`
		Now     pointJSON   `json:"now"`
		With    pointJSON   `json:"with"`
	}
	return writeJSON(w, struct {
		shelfJSON
		Kit worth `json:"kit"`
	}{shelfOf(k.Shelf), worth{k.Kit.Pieces, per100(k.Saved, k.Drawing.Jobs), math.Round(100*k.Singles) / 100, k.Enough, math.Round(1000*k.Each()) / 1000,
		priceForm(k.Cost, k.Priced), k.paid, k.worth(), pointOf(k.Now), pointOf(k.With)}})
}

func (k *kitWorth) csv(w io.Writer) error {
	cost, paid, buy := "", "", ""
	if k.Priced {
		cost = k.Cost.String()
	}
	if k.paid != nil {
		paid = k.paid.String()
	}
	if worth := k.worth(); worth != nil {
		buy = strconv.FormatBool(*worth)
	}
	return writeCSV(w, [][]string{
		{"pieces", "saved_per_100_jobs", "worth_singles", "worth_each", "singles_cost", "price", "buy"},
		{strconv.Itoa(k.Kit.Pieces), fmt.Sprint(per100(k.Saved, k.Drawing.Jobs)), fmt.Sprintf("%.2f", k.Singles), fmt.Sprintf("%.3f", k.Each()), cost, paid, buy},
	})
}
