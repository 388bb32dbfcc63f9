package main

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/report"
)

type supplierReadOptions struct {
	day         string
	yes, dryRun bool
	all         bool
}

func newSupplierRead(a *app) *cobra.Command {
	o := &supplierReadOptions{}
	cmd := &cobra.Command{
		Use:   "read NAME LIST.csv",
		Short: "Read a supplier's new price list and keep it",
		Long: `read reads a price list as supplier add said, shows what changed since the list
before it (dearer, cheaper, new, gone, stock) and asks whether to keep it. Earlier
lists stay on record. A list kept by mistake is replaced by reading the right one
for the same --day.`,
		Example: `  shimwright supplier read "Willow Road" prices-2027.csv --dry-run
  shimwright supplier read "Willow Road" prices-2027.csv --day 2027-01-01`,
		Args: exactly(2, "a supplier and a price list"),
		ValidArgsFunction: func(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
			if len(args) == 0 {
				return a.completeSuppliers(cmd, args, begun)
			}
			return completeCSV(cmd, args, begun)
		},
		RunE: func(cmd *cobra.Command, args []string) error { return runSupplierRead(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	flags.StringVar(&o.day, "day", "", "`DAY` from which the prices hold, like 2027-01-01 (default: today)")
	flags.BoolVar(&o.yes, "yes", false, "do not ask")
	flags.BoolVar(&o.dryRun, "dry-run", false, "only show what changed")
	flags.BoolVar(&o.all, "all", false, "show all changes, not only the first 40")
	return cmd
}

func runSupplierRead(cmd *cobra.Command, a *app, o *supplierReadOptions, args []string) error {
	day := a.today()
	if o.day != "" {
		var err error
		if day, err = time.Parse(time.DateOnly, o.day); err != nil {
			return wrong("write it like 2027-01-01", "--day: %q is not a date", o.day)
		}
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		s, err := supplierNamed(ctx, shop, args[0])
		if err != nil {
			return err
		}
		if s.Retired {
			return wrong(fmt.Sprintf("shimwright supplier edit %s --retired=false", argument(s.Name)), "supplier %q is retired", s.Name)
		}
		book, err := marksNow(ctx, shop)()
		if err != nil {
			return err
		}
		offers, err := a.readPrices(args[1], s.Form, files.Marks{Book: book, Of: s.Family})
		if err != nil {
			return err
		}
		for i := range offers {
			if offers[i].Diameter == 0 && (offers[i].Kind == "" || offers[i].Kind == s.Family.Kind) {
				offers[i].Family = s.Family
			}
		}
		lists, err := shop.PriceLists(ctx, s.ID)
		if err != nil {
			return err
		}
		text, err := ofShop(ctx, shop, s.Form.Units)
		if err != nil {
			return err
		}
		before := inventory.PricesOn(lists, day)
		if err := a.tell(newsOf(s, before, offers, text, o.all)...); err != nil {
			return err
		}
		if o.dryRun {
			return nil
		}
		if err := a.agree(fmt.Sprintf("Keep this price list of %s from %s on?", s.Name, dateOr(day)), o.yes); err != nil {
			return err
		}
		l, err := shop.KeepPrices(ctx, inventory.PriceList{Supplier: s.ID, Day: day, Source: filepath.Base(args[1]), Offers: offers})
		if err != nil {
			return err
		}
		return a.tell(said(fmt.Sprintf("Price list %d, of %s from %s on, is kept: %s.", l.ID, s.Name, dateOr(day), shim.Count(len(offers), "row")),
			fmt.Sprintf("Plan with it: shimwright job plan JOB --supplier %s", argument(s.Name))))
	})
}

// today is the day by the shop's calendar, midnight UTC.
func (a *app) today() time.Time {
	now := a.now().Local()
	return time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)
}

// mostNews is how many changes are shown.
const mostNews = 40

// newsOf says what a price list says otherwise than the one before it.
func newsOf(s inventory.Supplier, before *inventory.PriceList, offers []shim.Offer, u shimText, all bool) []report.Section {
	if before == nil {
		thinnest, thickest := offers[0], offers[0]
		priced := 0
		for _, o := range offers {
			if o.Size < thinnest.Size {
				thinnest = o
			}
			if o.Size > thickest.Size {
				thickest = o
			}
			if o.Priced {
				priced++
			}
		}
		return []report.Section{said(fmt.Sprintf("The first price list of %s: %s, %s to %s %s, %d with a price.", s.Name, shim.Count(len(offers), "row"), u.size(thinnest.Disc), u.size(thickest.Disc), u.Unit, priced))}
	}
	changes := inventory.PriceChanges(before.Offers, offers)
	if len(changes) == 0 {
		return []report.Section{said(fmt.Sprintf("Nothing changed since %s: %s.", dateOr(before.Day), shim.Count(len(offers), "row")))}
	}
	kinds := []string{inventory.PriceDearer, inventory.PriceCheaper, inventory.PriceNew, inventory.PriceGone, inventory.PriceKnown, inventory.PriceUnknown, inventory.StockChanged, inventory.NumberChanged}
	slices.SortStableFunc(changes, func(x, y inventory.PriceChange) int {
		return slices.Index(kinds, x.Kind) - slices.Index(kinds, y.Kind)
	})
	var words, warnings []string
	far := 0
	for _, kind := range kinds {
		n := 0
		for _, c := range changes {
			if c.Kind != kind {
				continue
			}
			n++
			if c.Was.Priced && c.Is.Priced && (c.Is.Price > 2*c.Was.Price || c.Was.Price > 2*c.Is.Price) {
				far++
			}
		}
		if n > 0 {
			words = append(words, fmt.Sprintf("%d %s", n, kind))
		}
		if kind == inventory.PriceGone && n > len(before.Offers)/2 {
			warnings = append(warnings, "CAUTION: more than half of the sizes are gone; is it the right file?")
		}
	}
	if far > 0 {
		warnings = append(warnings, fmt.Sprintf("CAUTION: %s more than doubled or halved; is it the right column?", shim.Count(far, "price")))
	}
	t := &report.Table{Header: []string{"what", "size", "dia.", "was", "is", "change", "stock", "part"}, Right: []int{1, 2, 3, 4, 5, 6}}
	shown := changes
	if !all && len(shown) > mostNews {
		shown = shown[:mostNews]
	}
	for _, c := range shown {
		of := c.Is
		if c.Kind == inventory.PriceGone {
			of = c.Was
		}
		stock := stockText(of)
		if c.Kind != inventory.PriceNew && c.Kind != inventory.PriceGone && stockText(c.Was) != stock {
			stock = dashed(stockText(c.Was)) + " > " + dashed(stock)
		}
		t.Rows = append(t.Rows, []string{c.Kind, u.size(of.Disc), offeredFor(u, of.Family), priceText(quoteOf(c.Was.Quote)), priceText(quoteOf(c.Is.Quote)), percentText(c.Was.Quote, c.Is.Quote), stock, of.Part})
	}
	section := report.Section{Heading: fmt.Sprintf("%s, since %s", s.Name, dateOr(before.Day)), Level: 2, Table: t}
	if len(shown) < len(changes) {
		section.Notes = []string{fmt.Sprintf("%d more changes: --all.", len(changes)-len(shown))}
	}
	return []report.Section{section, said(append([]string{strings.Join(words, ", ") + fmt.Sprintf("; %d rows in all.", len(offers))}, warnings...)...)}
}

// offeredFor is a shim's family; one without a diameter fits any engine.
func offeredFor(u shimText, f shim.Family) string {
	if f.Diameter == 0 {
		return strings.TrimSpace("any " + f.Kind)
	}
	return report.Family(u.Unit, f)
}

func stockText(o shim.Offer) string {
	if !o.Limited {
		return ""
	}
	return fmt.Sprint(o.Stock)
}

func dashed(text string) string {
	if text == "" {
		return "-"
	}
	return text
}

// percentText is by how much a price changed, in whole percent.
func percentText(was, is shim.Quote) string {
	if !was.Priced || !is.Priced || was.Price == 0 || was.Price == is.Price {
		return ""
	}
	return fmt.Sprintf("%+.0f %%", 100*(float64(is.Price)/float64(was.Price)-1))
}
