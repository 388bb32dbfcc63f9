package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/sqlite"
	"shimwright/shim/report"
)

func newShopCheck(b *bench) *cobra.Command {
	var output *choice
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Verify the shop file, its ledger and its sums",
		Long: `check reads the whole shop file: that it is sound, that no movement of the ledger
was changed, removed or slipped in, that the box is what the ledger adds up to,
that what is reserved is on hand, and that no engine, job, reading or plan was
changed. It ends with status 1 where it finds anything.`,
		Example: `  shimwright shop check`,
		Args:    exactly(0, "no argument"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withShop(cmd, func(ctx context.Context, shop *inventory.Shop, store *sqlite.Store) error {
				found, err := shop.Check(ctx)
				if err != nil {
					return err
				}
				if err := b.list(&findings{store.Path(), found}, output.value); err != nil {
					return err
				}
				if len(found) > 0 {
					return hint(fmt.Errorf("%s: %s", store.Path(), count(len(found), "finding")), "do not write to it; keep a copy, and go back to the last backup")
				}
				return nil
			})
		},
	}
	output = addOutput(cmd)
	return cmd
}

// findings are what a check of the shop file found.
type findings struct {
	path string
	list []inventory.Finding
}

func (f *findings) document() *report.Document {
	section := report.Section{}
	if len(f.list) == 0 {
		section.Lines = []string{f.path + " is sound: the file, the ledger's chain, the sums, the reservations and the seals agree."}
	} else {
		section.Table = &report.Table{Kind: "findings", Header: []string{"where", "what"}}
		for _, found := range f.list {
			section.Table.Rows = append(section.Table.Rows, []string{found.Where, found.What})
		}
	}
	return &report.Document{Sections: []report.Section{section}}
}

func (f *findings) json(w io.Writer) error {
	type finding struct {
		Where string `json:"where"`
		What  string `json:"what"`
	}
	out := struct {
		Path     string    `json:"path"`
		Sound    bool      `json:"sound"`
		Findings []finding `json:"findings"`
	}{f.path, len(f.list) == 0, []finding{}}
	for _, found := range f.list {
		out.Findings = append(out.Findings, finding(found))
	}
	return writeJSON(w, out)
}

func (f *findings) csv(w io.Writer) error {
	rows := [][]string{{"where", "what"}}
	for _, found := range f.list {
		rows = append(rows, []string{found.Where, found.What})
	}
	return writeCSV(w, rows)
}
