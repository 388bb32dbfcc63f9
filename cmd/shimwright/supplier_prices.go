package main

import (
	"context"
	"fmt"
	"io"
	"strconv"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

type supplierPricesOptions struct {
	family familyOptions
	units  *choice
	output *choice
}

func newSupplierPrices(a *app) *cobra.Command {
	o := &supplierPricesOptions{}
	cmd := &cobra.Command{
		Use:   "prices NAME [SIZE]",
		Short: "Show a supplier's prices, and what they were",
		Long: `prices shows the price list of a supplier that holds today, each price beside the one
in the list before, and which lists are kept. With a size it shows what that size cost in
each list. --output csv of the whole list is a catalogue file (docs/files.md).`,
		Example: `  shimwright supplier prices "Willow Road"
  shimwright supplier prices "Willow Road" 2.450
  shimwright supplier prices "Willow Road" --output csv > catalogue.csv`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return exactly(1, "a supplier")(cmd, args)
			}
			return atMost(2, "a supplier and a size")(cmd, args)
		},
		ValidArgsFunction: a.completeSuppliers,
		RunE:              func(cmd *cobra.Command, args []string) error { return runSupplierPrices(cmd, a, o, args) },
	}
	o.family.add(a, cmd, allFamilies)
	o.units = addUnits(cmd)
	o.output = addOutput(cmd)
	return cmd
}

func runSupplierPrices(cmd *cobra.Command, a *app, o *supplierPricesOptions, args []string) error {
	u := o.units.unit()
	q, err := o.family.asked(a, cmd, args[1:], u)
	if err != nil {
		return err
	}
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		s, err := supplierNamed(ctx, shop, args[0])
		if err != nil {
			return err
		}
		lists, err := shop.PriceLists(ctx, s.ID)
		if err != nil {
			return err
		}
		l := priceListing{supplier: s, sized: len(args) > 1, lists: lists}
		if l.text, err = ofShop(ctx, shop, u); err != nil {
			return err
		}
		counting := inventory.PricesThatCount(lists)
		now := inventory.PricesOn(counting, a.today())
		if now == nil && len(counting) > 0 {
			now = &counting[0]
		}
		for i, list := range counting {
			if !l.sized && list.ID != now.ID {
				continue
			}
			was := map[string]shim.Quote{}
			if i > 0 {
				for _, o := range counting[i-1].Offers {
					was[o.Disc.String()+o.Part], was[o.Disc.String()] = o.Quote, o.Quote
				}
			}
			for _, o := range list.Offers {
				if !q.family(o.Family) || !work.Same(q.Size, o.Size, u) {
					continue
				}
				before, found := was[o.Disc.String()+o.Part]
				if !found {
					before = was[o.Disc.String()]
				}
				l.rows = append(l.rows, priceRow{list, o, before})
			}
		}
		return a.list(l, o.output.value)
	})
}

// A priceRow is one price of a list, with what it was in the list before.
type priceRow struct {
	of inventory.PriceList
	shim.Offer
	was shim.Quote
}

// A priceListing is a supplier's prices: the list that holds today, or one size in all lists.
type priceListing struct {
	supplier inventory.Supplier
	sized    bool
	lists    []inventory.PriceList
	rows     []priceRow
	text     shimText
}

func (l priceListing) document() *report.Document {
	if len(l.lists) == 0 {
		return &report.Document{Sections: []report.Section{said(fmt.Sprintf("No price list of %s. Read one with shimwright supplier read %s LIST.csv.", l.supplier.Name, argument(l.supplier.Name)))}}
	}
	t := &report.Table{Header: []string{"size", "dia.", "price", "was", "change", "stock", "part"}, Right: []int{0, 1, 2, 3, 4, 5}}
	if l.sized {
		t = &report.Table{Header: []string{"from", "list", "size", "dia.", "price", "change", "stock", "part"}, Right: []int{1, 2, 3, 4, 5, 6}}
	}
	for _, r := range l.rows {
		size, dia := l.text.size(r.Disc), offeredFor(l.text, r.Family)
		price, was, change := priceText(quoteOf(r.Quote)), priceText(quoteOf(r.was)), percentText(r.was, r.Quote)
		if l.sized {
			t.Rows = append(t.Rows, []string{dateOr(r.of.Day), fmt.Sprint(r.of.ID), size, dia, price, change, stockText(r.Offer), r.Part})
		} else {
			t.Rows = append(t.Rows, []string{size, dia, price, was, change, stockText(r.Offer), r.Part})
		}
	}
	section := report.Section{Heading: "Prices of " + l.supplier.Name, Level: 2, Table: t}
	if len(l.rows) == 0 {
		section.Table = nil
		section.Lines = []string{"No list has this size."}
	}
	kept := &report.Table{Header: []string{"list", "from", "rows", "file", "kept by"}, Right: []int{0, 2}}
	for _, list := range l.lists {
		kept.Rows = append(kept.Rows, []string{fmt.Sprint(list.ID), dateOr(list.Day), fmt.Sprint(len(list.Offers)), list.Source, list.Who})
	}
	return &report.Document{Sections: []report.Section{section, {Heading: "Price lists", Level: 2, Table: kept}}}
}

type priceLine struct {
	List int64  `json:"list"`
	Day  string `json:"day"`
	shim.Disc
	Price *shim.Price `json:"price"`
	Was   *shim.Price `json:"was"` // in the list before; null where not known
	Stock *int        `json:"stock"`
	Part  string      `json:"part"`
}

func (l priceListing) json(w io.Writer) error {
	type kept struct {
		List   int64  `json:"list"`
		Day    string `json:"day"`
		Kept   string `json:"kept"`
		Who    string `json:"who"`
		Source string `json:"file"`
		Rows   int    `json:"rows"`
	}
	out := struct {
		Supplier int64       `json:"supplier"`
		Name     string      `json:"name"`
		Lists    []kept      `json:"price_lists"`
		Prices   []priceLine `json:"prices"`
	}{l.supplier.ID, l.supplier.Name, []kept{}, []priceLine{}}
	for _, list := range l.lists {
		out.Lists = append(out.Lists, kept{list.ID, dateOr(list.Day), stamp(list.Kept), list.Who, list.Source, len(list.Offers)})
	}
	for _, r := range l.rows {
		line := priceLine{r.of.ID, dateOr(r.of.Day), r.Disc, quoteOf(r.Quote), quoteOf(r.was), nil, r.Part}
		if r.Limited {
			line.Stock = &r.Stock
		}
		out.Prices = append(out.Prices, line)
	}
	return writeJSON(w, out)
}

// csv is a catalogue, or the history of one size.
func (l priceListing) csv(w io.Writer) error {
	rows := [][]string{{"size", "price", "diameter", "family", "stock", "part", "supplier"}}
	if l.sized {
		rows = [][]string{{"list", "day", "size_mm", "price", "diameter_mm", "family", "stock", "part"}}
	}
	for _, r := range l.rows {
		row := []string{r.Size.String(), priceText(quoteOf(r.Quote)), cellOf(r.Diameter), r.Kind, stockText(r.Offer), r.Part}
		if l.sized {
			row = append([]string{strconv.FormatInt(r.of.ID, 10), dateOr(r.of.Day)}, row...)
		} else {
			row = append(row, l.supplier.Name)
		}
		rows = append(rows, row)
	}
	return writeCSV(w, rows)
}

// keptOffers are the prices of a supplier that hold today as a catalogue.
func (a *app) keptOffers(ctx context.Context, shop *inventory.Shop, name string) ([]shim.Offer, error) {
	s, err := supplierNamed(ctx, shop, name)
	if err != nil {
		return nil, shim.Fail(err, "give a catalogue too (--catalogue FILE), or add the supplier with shimwright supplier add", "--supplier needs --catalogue, or a supplier whose price list is kept: %w", err)
	}
	lists, err := shop.PriceLists(ctx, s.ID)
	if err != nil {
		return nil, err
	}
	if s.Retired {
		return nil, wrong(fmt.Sprintf("shimwright supplier edit %s --retired=false", argument(s.Name)), "supplier %q is retired", s.Name)
	}
	now := inventory.PricesOn(lists, a.today())
	if now == nil {
		return nil, wrong(fmt.Sprintf("read one: shimwright supplier read %s LIST.csv", argument(s.Name)), "no price list of %s that holds today is kept", s.Name)
	}
	for i := range now.Offers {
		now.Offers[i].Supplier = s.Name
	}
	return now.Offers, nil
}
