package main

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/report"
)

type shopCheckOptions struct {
	expect string
	output *choice
}

func newShopCheck(a *app) *cobra.Command {
	o := &shopCheckOptions{}
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Check the shop file for damage and changes",
		Long: `check reads the whole shop file. It checks that the file is sound, that no
movement was changed, removed or inserted, that the box matches the ledger, that
reserved shims are on hand, and that no other row was changed or removed. If it
finds a fault, it ends with status 1.

--expect compares the ledger with a hash from shop backup or shop info that you
wrote down. It may be the hash of an earlier movement.`,
		Example: `  shimwright shop check
  shimwright shop check --expect 3f0c…`,
		Args: exactly(0, "no argument"),
		RunE: func(cmd *cobra.Command, args []string) error { return runShopCheck(cmd, a, o, args) },
	}
	cmd.Flags().StringVar(&o.expect, "expect", "", "`HASH` of a movement, written down earlier")
	o.output = addOutput(cmd)
	return cmd
}

func runShopCheck(cmd *cobra.Command, a *app, o *shopCheckOptions, _ []string) error {
	var anchor *inventory.Hash
	if cmd.Flags().Changed("expect") {
		var err error
		if anchor, err = parseHash(o.expect); err != nil {
			return err
		}
	}
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		found, err := shop.Check(ctx)
		if err != nil {
			return err
		}
		result := &findings{path: shop.Where(), list: found}
		if anchor != nil {
			m, err := shop.Anchor(ctx, *anchor)
			switch {
			case errors.Is(err, inventory.ErrUnknown):
				result.list = append(found, inventory.Finding{Where: "ledger", What: "has no movement with the expected hash: it was rewritten or cut short, or belongs to another shop"})
				found = result.list
			case err != nil && len(found) == 0:
				return err
			case err == nil:
				result.anchor = m.Seq
			}
		}
		if err := a.list(result, o.output.value); err != nil {
			return err
		}
		if len(found) > 0 {
			return shim.Fail(nil, "do not write to it; go back to the last good backup: shimwright shop restore FILE", "%s: %s", shop.Where(), shim.Count(len(found), "fault"))
		}
		return nil
	})
}

// findings are the faults that a check of the shop file found.
type findings struct {
	path   string
	list   []inventory.Finding
	anchor int64 // movement with the expected hash, or 0
}

// parseHash reads a hash as it is printed.
func parseHash(text string) (*inventory.Hash, error) {
	if strings.TrimSpace(text) == "" {
		return nil, wrong("copy the hash from shop backup or shop info, or leave --expect out", "--expect is empty")
	}
	data, err := hex.DecodeString(strings.TrimSpace(text))
	var h inventory.Hash
	if err != nil || len(data) != len(h) {
		return nil, wrong("copy it from shop backup or shop info", "--expect %s: a hash has %d digits from 0 to 9 and a to f", text, 2*len(h))
	}
	copy(h[:], data)
	return &h, nil
}

func (f *findings) document() *report.Document {
	section := report.Section{}
	if len(f.list) == 0 {
		section.Lines = []string{f.path + " is sound: file, ledger, sums, reservations, seals and counts agree."}
		if f.anchor != 0 {
			section.Lines = append(section.Lines, fmt.Sprintf("Movement %d has the expected hash: nothing up to it was changed.", f.anchor))
		}
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
		Expected *int64    `json:"expected_movement"`
		Findings []finding `json:"findings"`
	}{Path: f.path, Sound: len(f.list) == 0, Findings: []finding{}}
	if f.anchor != 0 {
		out.Expected = &f.anchor
	}
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
