package main

import (
	"context"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

// patience is how long a completion may look into the shop file.
const patience = 2 * time.Second

// maxCompletions bounds what a shell is offered.
const maxCompletions = 500

// fromShop completes words from the shop file, each with a description after a
// tab. It says nothing, fails never and makes no file: without a shop file, or
// with one that cannot be read, there is nothing to offer.
func fromShop(words func(ctx context.Context, shop *inventory.Shop, args []string) ([]string, error)) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		nothing := cobra.ShellCompDirectiveNoFileComp
		path, err := shopPath(cmd)
		if err != nil {
			return nil, nothing
		}
		if _, err := os.Stat(path); err != nil {
			return nil, nothing
		}
		ctx, cancel := context.WithTimeout(context.Background(), patience)
		defer cancel()
		store, err := openStore(ctx, path)
		if err != nil {
			return nil, nothing
		}
		defer func() { _ = store.Close() }() // nothing was written
		list, err := words(ctx, inventory.New(store, "", time.Now), args)
		if err != nil {
			return nil, nothing
		}
		list = slices.DeleteFunc(list, func(word string) bool {
			word, _, _ = strings.Cut(word, "\t")
			return !strings.HasPrefix(word, begun) || shim.Visible(word) != word // nobody could type it
		})
		for i, word := range list {
			if word, about, described := strings.Cut(word, "\t"); described {
				list[i] = word + "\t" + shim.Visible(about)
			}
		}
		return list[:min(len(list), maxCompletions)], nothing
	}
}

// completeSizes offers the sizes in the box.
var completeSizes = fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
	stocks, err := shop.Stocks(ctx, inventory.StockFilter{})
	if err != nil {
		return nil, err
	}
	counts := map[shim.Length]int{}
	var order []shim.Length
	for _, s := range stocks {
		if counts[s.Size] == 0 {
			order = append(order, s.Size)
		}
		counts[s.Size] += s.OnHand
	}
	slices.Sort(order)
	var words []string
	for _, size := range order {
		words = append(words, fmt.Sprintf("%s\t%d on hand", sizeText(size, shim.MM), counts[size]))
	}
	return words, nil
})

// completeDiameters offers the diameters of the shop's discs.
var completeDiameters = fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
	list, err := work.Diameters(ctx, shop)
	var words []string
	for _, d := range list {
		words = append(words, d.String())
	}
	return words, err
})

// completeBins offers the bins that something lies in.
var completeBins = fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
	lots, err := shop.Balances(ctx, inventory.StockFilter{})
	var words []string
	for _, l := range lots {
		if l.Bin != "" && !strings.ContainsAny(l.Bin, "\t\n") {
			words = append(words, l.Bin)
		}
	}
	slices.Sort(words)
	return slices.Compact(words), err
})

// completeBatches offers the last batches.
var completeBatches = fromShop(func(ctx context.Context, shop *inventory.Shop, args []string) ([]string, error) {
	if len(args) > 0 {
		return nil, nil
	}
	rows, err := shop.History(ctx, inventory.MovementFilter{Newest: true, Limit: 100})
	var words []string
	for _, m := range rows {
		if m.Seq == m.Batch {
			words = append(words, fmt.Sprintf("%d\t%s, %s", m.Batch, m.Kind, when(m.Time)))
		}
	}
	return words, err
})

// completesFlag lets the function complete the flag.
func completesFlag(cmd *cobra.Command, flag string, complete cobra.CompletionFunc) {
	if err := cmd.RegisterFlagCompletionFunc(flag, complete); err != nil {
		panic(err) // only where the flag does not exist
	}
}

// completeOnce completes the first argument only.
func completeOnce(complete cobra.CompletionFunc) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		if len(args) > 0 {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return complete(cmd, args, begun)
	}
}
