package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/report"
)

func newSupplier(a *app) *cobra.Command {
	return newGroup("supplier", "Keep the shop's suppliers and their price lists",
		`supplier keeps whom the shop buys from, on which terms, and their price lists. How a
supplier's spreadsheet is to be read is told once; a new price list is then one
command. See docs/stock.md.`,
		newSupplierAdd(a), newSupplierEdit(a), newSupplierRead(a), newSupplierPrices(a), newSupplierList(a))
}

// supplierFlags are what is said of a supplier; what is said to be empty is emptied.
type supplierFlags struct {
	form                  formFlags
	family                familyOptions
	carriage, least, note string
	pack                  int
	units                 *choice
}

func (o *supplierFlags) add(a *app, cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&o.carriage, "carriage", "", "`PRICE` of carriage for an order, without the currency")
	flags.StringVar(&o.least, "least", "", "least `VALUE` of an order, without carriage")
	flags.IntVar(&o.pack, "pack", 0, "shims in a pack, if they are sold in packs only")
	flags.StringVar(&o.note, "note", "", "any other note")
	flags.StringVar(&o.family.diameter, "diameter", "", "shim `DIAMETER` of rows in its price lists that name none")
	flags.StringVar(&o.family.kind, "family", "", "family `NAME` of rows that name none, like closer (default: plain discs)")
	completesFlag(cmd, "diameter", a.completeDiameters())
	completesFlag(cmd, "family", a.completeKinds())
	o.units = addUnits(cmd)
	o.form.add(cmd)
}

// onto writes what was said into a supplier.
func (o *supplierFlags) onto(cmd *cobra.Command, s *inventory.Supplier) error {
	said := cmd.Flags().Changed
	for _, p := range []struct {
		name, text string
		to         *shim.Price
	}{{"carriage", o.carriage, &s.Carriage.Price}, {"least", o.least, &s.Least}} {
		if !said(p.name) {
			continue
		}
		*p.to = 0
		if p.text == "" {
			continue
		}
		price, err := shim.ParsePrice(pointed(strings.TrimSpace(p.text)))
		if err != nil || price < 0 {
			return wrong("give a price without the currency, like 7.80", "--%s: %q is not a price", p.name, p.text)
		}
		*p.to = price
	}
	if said("carriage") {
		s.Carriage.Priced = o.carriage != ""
	}
	if said("pack") {
		s.Pack = o.pack
	}
	if said("note") {
		s.Note = o.note
	}
	if said("units") {
		s.Form.Units = o.units.unit()
	}
	family, err := o.family.typed(o.units.unit())
	if err != nil {
		return err
	}
	if said("diameter") {
		s.Family.Diameter = family.Diameter
	}
	if said("family") {
		s.Family.Kind = family.Kind
	}
	if err := o.form.onto(cmd, &s.Form); err != nil {
		return err
	}
	if err := s.Form.OfPrices(); err != nil {
		return wrong(shim.HintOf(err), "--map: %w", err)
	}
	return nil
}

// supplierNamed finds a supplier by its name or its number in the list.
func supplierNamed(ctx context.Context, shop *inventory.Shop, text string) (inventory.Supplier, error) {
	all, err := shop.Suppliers(ctx)
	if err != nil {
		return inventory.Supplier{}, err
	}
	id, _ := strconv.ParseInt(strings.TrimSpace(text), 10, 64)
	for _, byName := range []bool{true, false} {
		for _, s := range all {
			if byName && inventory.SameSupplier(s.Name, text) || !byName && s.ID == id {
				return s, nil
			}
		}
	}
	var names []string
	for _, s := range all {
		names = append(names, s.Name)
	}
	return inventory.Supplier{}, wrong(didYouMean(text, names, "add it with shimwright supplier add; see shimwright supplier list"), "there is no supplier %q", text)
}

func newSupplierAdd(a *app) *cobra.Command {
	o := &supplierFlags{}
	cmd := &cobra.Command{
		Use:   "add NAME",
		Short: "Add a supplier",
		Long: `add keeps a supplier: what an order costs there, and how to read its price lists.
--map says which column of its spreadsheet is the size, price, mark, diameter,
family, stock or part (docs/files.md); columns that it does not name are left out.`,
		Example: `  shimwright supplier add "Willow Road" --carriage 6.50 --least 25
  shimwright supplier add Aspen --map Dicke=size --map Preis=price`,
		Args: exactly(1, "a name"),
		RunE: func(cmd *cobra.Command, args []string) error { return runSupplierAdd(cmd, a, o, args) },
	}
	o.add(a, cmd)
	return cmd
}

func runSupplierAdd(cmd *cobra.Command, a *app, o *supplierFlags, args []string) error {
	s := inventory.Supplier{Name: args[0]}
	if err := o.onto(cmd, &s); err != nil {
		return err
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		s, err := shop.PutSupplier(ctx, s)
		if err != nil {
			return err
		}
		return a.tell(said(fmt.Sprintf("Supplier %d, %s, is kept.", s.ID, s.Name), fmt.Sprintf("Next: its price list: shimwright supplier read %s LIST.csv", argument(s.Name))))
	})
}

type supplierEditOptions struct {
	supplierFlags
	name    string
	retired bool
}

func newSupplierEdit(a *app) *cobra.Command {
	o := &supplierEditOptions{}
	cmd := &cobra.Command{
		Use:   "edit NAME",
		Short: "Change what is known of a supplier",
		Long: `edit changes what is said; the rest stays. An empty text empties a field; --map and
--word replace all that were told. --retired takes a supplier out of use: its
price lists stay on record, and --retired=false takes it back.`,
		Example: `  shimwright supplier edit "Willow Road" --carriage 7.20
  shimwright supplier edit Aspen --map "Stärke=size" --map "Euro=price"`,
		Args:              exactly(1, "a supplier"),
		ValidArgsFunction: a.completeSuppliers,
		RunE:              func(cmd *cobra.Command, args []string) error { return runSupplierEdit(cmd, a, o, args) },
	}
	o.add(a, cmd)
	cmd.Flags().StringVar(&o.name, "name", "", "another `NAME`")
	cmd.Flags().BoolVar(&o.retired, "retired", false, "it is no longer bought from")
	return cmd
}

func runSupplierEdit(cmd *cobra.Command, a *app, o *supplierEditOptions, args []string) error {
	names := append([]string{"carriage", "least", "pack", "note", "diameter", "family", "units", "name", "retired"}, formFlagNames...)
	if !slices.ContainsFunc(names, cmd.Flags().Changed) {
		return wrong("give --carriage or another flag", "nothing to change")
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		s, err := supplierNamed(ctx, shop, args[0])
		if err != nil {
			return err
		}
		if err := o.onto(cmd, &s); err != nil {
			return err
		}
		if cmd.Flags().Changed("name") {
			s.Name = o.name
		}
		if cmd.Flags().Changed("retired") {
			s.Retired = o.retired
		}
		if s, err = shop.PutSupplier(ctx, s); err != nil {
			return err
		}
		return a.tell(said(fmt.Sprintf("Supplier %d, %s: changed.", s.ID, s.Name)))
	})
}

// completeSuppliers completes the suppliers in use by name.
func (a *app) completeSuppliers(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveDefault
	}
	return a.fromShop(supplierWords)(cmd, args, begun)
}

func supplierWords(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
	all, err := shop.Suppliers(ctx)
	var words []string
	for _, s := range all {
		if !s.Retired {
			words = append(words, s.Name)
		}
	}
	return words, err
}

func newSupplierList(a *app) *cobra.Command {
	var output *choice
	cmd := &cobra.Command{
		Use:     "list",
		Short:   "List the suppliers and their terms",
		Long:    `list prints all suppliers with their terms and the day of their newest price list.`,
		Example: `  shimwright supplier list`,
		Args:    exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runSupplierList(cmd, a, output.value)
		},
	}
	output = addOutput(cmd)
	return cmd
}

func runSupplierList(cmd *cobra.Command, a *app, output string) error {
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		all, err := shop.Suppliers(ctx)
		if err != nil {
			return err
		}
		var l supplierListing
		for _, s := range all {
			lists, err := shop.PriceLists(ctx, s.ID)
			if err != nil {
				return err
			}
			line := supplierLine{s.ID, s.Name, quoteOf(s.Carriage), s.Least, s.Pack, len(lists), "", 0, s.Retired, s.Note, columnsText(s.Form)}
			if len(lists) > 0 {
				last := lists[len(lists)-1]
				line.Day, line.Sizes = dateOr(last.Day), len(last.Offers)
			}
			l = append(l, line)
		}
		return a.list(l, output)
	})
}

func quoteOf(q shim.Quote) *shim.Price {
	if !q.Priced {
		return nil
	}
	return &q.Price
}

func priceText(p *shim.Price) string {
	if p == nil {
		return ""
	}
	return p.String()
}

// columnsText names the columns of a form.
func columnsText(f files.Form) string {
	var words []string
	for _, n := range slices.Concat(f.Columns, f.Words) {
		words = append(words, n.There+"="+n.Here)
	}
	return strings.Join(words, ", ")
}

type supplierLine struct {
	Supplier int64       `json:"supplier"`
	Name     string      `json:"name"`
	Carriage *shim.Price `json:"carriage"` // null where not known
	Least    shim.Price  `json:"least"`
	Pack     int         `json:"pack"` // 0 where sold singly
	Lists    int         `json:"price_lists"`
	Day      string      `json:"day"` // of the newest list, empty where there is none
	Sizes    int         `json:"rows"`
	Retired  bool        `json:"retired"`
	Note     string      `json:"note"`
	Map      string      `json:"map"`
}

// A supplierListing is the shop's suppliers.
type supplierListing []supplierLine

func (l supplierListing) document() *report.Document {
	if len(l) == 0 {
		return &report.Document{Sections: []report.Section{said("No suppliers. Add one with shimwright supplier add.")}}
	}
	t := &report.Table{Header: []string{"no.", "name", "carriage", "least order", "pack", "price list", "rows", "note"}, Right: []int{0, 2, 3, 4, 6}}
	for _, s := range l {
		least, pack, note := "", "", s.Note
		if s.Least > 0 {
			least = s.Least.String()
		}
		if s.Pack > 0 {
			pack = fmt.Sprint(s.Pack)
		}
		if s.Retired {
			note = strings.TrimSpace("RETIRED " + note)
		}
		rows := ""
		if s.Lists > 0 {
			rows = fmt.Sprint(s.Sizes)
		}
		t.Rows = append(t.Rows, []string{fmt.Sprint(s.Supplier), s.Name, priceText(s.Carriage), least, pack, s.Day, rows, note})
	}
	return &report.Document{Sections: []report.Section{{Table: t}}}
}

func (l supplierListing) json(w io.Writer) error {
	return writeJSON(w, struct {
		Suppliers []supplierLine `json:"suppliers"`
	}{append([]supplierLine{}, l...)})
}

func (l supplierListing) csv(w io.Writer) error {
	rows := [][]string{{"supplier", "name", "carriage", "least", "pack", "price_lists", "day", "rows", "retired", "note", "map"}}
	for _, s := range l {
		rows = append(rows, []string{fmt.Sprint(s.Supplier), s.Name, priceText(s.Carriage), s.Least.String(), fmt.Sprint(s.Pack), fmt.Sprint(s.Lists), s.Day, fmt.Sprint(s.Sizes), strconv.FormatBool(s.Retired), s.Note, s.Map})
	}
	return writeCSV(w, rows)
}
