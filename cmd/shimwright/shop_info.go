package main

import (
	"context"
	"io"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim/report"
)

type shopInfoOptions struct {
	output *choice
}

func newShopInfo(a *app) *cobra.Command {
	o := &shopInfoOptions{}
	cmd := &cobra.Command{
		Use:   "info",
		Short: "Show where the shop file is and what it holds",
		Long: `info counts what the shop file holds. Write down the hash of the last movement: it
proves later that no movement up to that one was changed (shop check --expect).`,
		Example: `  shimwright shop info
  shimwright shop info --output json`,
		Args: exactly(0, "no argument"),
		RunE: func(cmd *cobra.Command, args []string) error { return runShopInfo(cmd, a, o, args) },
	}
	o.output = addOutput(cmd)
	return cmd
}

func runShopInfo(cmd *cobra.Command, a *app, o *shopInfoOptions, _ []string) error {
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		info, err := shopInfoOf(ctx, shop)
		if err != nil {
			return err
		}
		return a.list(info, o.output.value)
	})
}

// shopInfo is what shop info prints.
type shopInfo struct {
	Path      string     `json:"path"`
	Bytes     int64      `json:"bytes"`
	Version   int        `json:"version"`
	Diameters int64      `json:"diameters"`
	Engines   int64      `json:"engines"`
	Jobs      int64      `json:"jobs"`
	Movements int64      `json:"movements"`
	Pieces    int64      `json:"pieces"`
	Reserved  int64      `json:"reserved"`
	LastTime  *time.Time `json:"last_time"`
	LastHash  string     `json:"last_hash"`
}

func shopInfoOf(ctx context.Context, shop *inventory.Shop) (*shopInfo, error) {
	i, err := shop.Info(ctx)
	if err != nil {
		return nil, err
	}
	t, err := shop.Totals(ctx)
	if err != nil {
		return nil, err
	}
	info := &shopInfo{
		Path: shop.Where(), Bytes: i.Bytes, Version: i.Version, Diameters: t.Diameters, Engines: t.Engines,
		Jobs: t.Jobs, Movements: t.Movements, Pieces: t.Pieces, Reserved: t.Reserved,
	}
	last, err := shop.History(ctx, inventory.MovementFilter{Newest: true, Limit: 1})
	if err != nil {
		return nil, err
	}
	if len(last) > 0 {
		at := last[0].Time.UTC()
		info.LastTime, info.LastHash = &at, last[0].Hash.String()
	}
	return info, nil
}

// rows returns names and values, times in the given format.
func (i *shopInfo) rows(format func(time.Time) string) [][]string {
	last := ""
	if i.LastTime != nil {
		last = format(*i.LastTime)
	}
	whole := func(n int64) string { return strconv.FormatInt(n, 10) }
	return [][]string{
		{"path", i.Path},
		{"bytes", whole(i.Bytes)},
		{"version", strconv.Itoa(i.Version)},
		{"diameters", whole(i.Diameters)},
		{"engines", whole(i.Engines)},
		{"jobs", whole(i.Jobs)},
		{"movements", whole(i.Movements)},
		{"pieces", whole(i.Pieces)},
		{"reserved", whole(i.Reserved)},
		{"last_time", last},
		{"last_hash", i.LastHash},
	}
}

func (i *shopInfo) document() *report.Document {
	t := &report.Table{Kind: "info", Header: []string{"name", "value"}}
	labels := map[string]string{"path": "file", "pieces": "shims on hand", "last_time": "last movement", "last_hash": "its hash"}
	for _, row := range i.rows(when) {
		if label, found := labels[row[0]]; found {
			row[0] = label
		}
		t.Rows = append(t.Rows, row)
	}
	return &report.Document{Sections: []report.Section{{Level: 1, Heading: "Shop", Table: t}}}
}

func (i *shopInfo) json(w io.Writer) error { return writeJSON(w, i) }

func (i *shopInfo) csv(w io.Writer) error {
	return writeCSV(w, append([][]string{{"name", "value"}}, i.rows(stamp)...))
}
