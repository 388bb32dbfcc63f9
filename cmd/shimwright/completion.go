package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/files"
)

// newCompletion makes the commands that print completion scripts. It replaces
// cobra's own, whose help has overlong lines.
func newCompletion(a *app) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "completion",
		Short: "Complete commands, flags, files and names in your shell",
		Long: `completion prints a script for your shell. With it the tab key completes commands,
flags, values, files, the engine's camshafts and valves, and the shop's jobs, sizes
and bins.`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return cmd.Help()
			}
			return wrong("bash, zsh, fish or powershell", "unknown shell %q", args[0])
		},
	}
	for _, shell := range []struct {
		name, now, always string
		print             func(root *cobra.Command) error
	}{
		{
			"bash", "source <(shimwright completion bash)",
			`To have it in every shell (needs bash-completion):

  mkdir -p ~/.local/share/bash-completion/completions
  shimwright completion bash \
    > ~/.local/share/bash-completion/completions/shimwright`,
			func(root *cobra.Command) error { return root.GenBashCompletionV2(a.out, true) },
		},
		{
			"zsh", "source <(shimwright completion zsh)",
			`To have it in every shell, write it to a folder of $fpath, and put
"autoload -U compinit; compinit" into ~/.zshrc:

  shimwright completion zsh > "${fpath[1]}/_shimwright"`,
			func(root *cobra.Command) error { return root.GenZshCompletion(a.out) },
		},
		{
			"fish", "shimwright completion fish | source",
			`To have it in every shell:

  shimwright completion fish > ~/.config/fish/completions/shimwright.fish`,
			func(root *cobra.Command) error { return root.GenFishCompletion(a.out, true) },
		},
		{
			"powershell", "shimwright completion powershell | Out-String | Invoke-Expression",
			`To have it in every shell, put that line into the file that $PROFILE names.`,
			func(root *cobra.Command) error { return root.GenPowerShellCompletionWithDesc(a.out) },
		},
	} {
		cmd.AddCommand(&cobra.Command{
			Use:                   shell.name,
			Short:                 "Print the completion script for " + shell.name,
			Long:                  shell.always,
			Example:               "  " + shell.now,
			Args:                  exactly(0, "no argument"),
			DisableFlagsInUseLine: true,
			ValidArgsFunction:     cobra.NoFileCompletions,
			RunE:                  func(cmd *cobra.Command, _ []string) error { return shell.print(cmd.Root()) },
		})
	}
	cmd.Example = groupExample(cmd.Commands())
	return cmd
}

// firstLine is a text up to the end of its first line.
func firstLine(text string) string {
	line, _, _ := strings.Cut(text, "\n")
	return line
}

// patience limits how long a completion may read the shop file.
const patience = 2 * time.Second

// maxCompletions limits how many words are offered.
const maxCompletions = 500

// fromShop completes words from the shop file, each with a description after a
// tab. It prints nothing, never fails and makes no file: without a readable shop
// file it offers nothing.
func (a *app) fromShop(words func(ctx context.Context, shop *inventory.Shop, args []string) ([]string, error)) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		nothing := cobra.ShellCompDirectiveNoFileComp
		path, err := a.shopPath(cmd)
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
		list, err := words(ctx, inventory.New(store, "", a.now), args)
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
func (a *app) completeSizes() cobra.CompletionFunc {
	return a.fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
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
}

// completeDiameters offers the diameters of the shop's shims.
func (a *app) completeDiameters() cobra.CompletionFunc {
	return a.fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
		list, err := work.Families(ctx, shop)
		var words []string
		for _, f := range list {
			if word := f.Diameter.String(); !slices.Contains(words, word) {
				words = append(words, word)
			}
		}
		return words, err
	})
}

// completeKinds offers the families of the shop's shims that are no plain discs.
func (a *app) completeKinds() cobra.CompletionFunc {
	return a.fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
		list, err := work.Families(ctx, shop)
		var words []string
		for _, f := range list {
			if f.Kind != "" && !slices.Contains(words, f.Kind) {
				words = append(words, f.Kind)
			}
		}
		return words, err
	})
}

// completeBins offers the bins that are in use.
func (a *app) completeBins() cobra.CompletionFunc {
	return a.fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
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
}

// completeBatches offers the last bookings.
func (a *app) completeBatches() cobra.CompletionFunc {
	return a.fromShop(func(ctx context.Context, shop *inventory.Shop, args []string) ([]string, error) {
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
}

// completesFlag sets the completion of a flag.
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

// completeNothingElse turns completion off for all other flags and arguments.
func completeNothingElse(cmd *cobra.Command) {
	for _, child := range cmd.Commands() {
		completeNothingElse(child)
	}
	cmd.LocalFlags().VisitAll(func(flag *pflag.Flag) {
		if _, has := cmd.GetFlagCompletionFunc(flag.Name); !has && flag.NoOptDefVal == "" {
			completesFlag(cmd, flag.Name, cobra.NoFileCompletions)
		}
	})
	if cmd.ValidArgsFunction == nil && !cmd.HasSubCommands() {
		cmd.ValidArgsFunction = cobra.NoFileCompletions
	}
}

// A gauge, an engine are TOML; a check, a box, a catalogue CSV.
var (
	completeTOML = withEnding("toml")
	completeCSV  = withEnding("csv")
)

// completeFile completes any file.
func completeFile(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return nil, cobra.ShellCompDirectiveDefault
}

// withEnding completes files of one ending.
func withEnding(ending string) cobra.CompletionFunc {
	return func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return []string{ending}, cobra.ShellCompDirectiveFilterFileExt
	}
}

// completeLift completes --lift with what the engines have.
func completeLift(engines func(cmd *cobra.Command, args []string) []*shim.Engine) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		var names []string
		for _, e := range engines(cmd, args) {
			names = append(names, liftNames(e)...)
		}
		words := listed(names, begun)
		if !strings.Contains(begun, ",") {
			words = append(words, beginning([]string{"needed", "all"}, begun)...)
		}
		return words, cobra.ShellCompDirectiveNoFileComp
	}
}

// completeValves completes a list of valves of the engine that the first
// argument names.
func completeValves(_ *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	var names []string
	if len(args) > 0 {
		for _, e := range enginesIn(args[:1]) {
			names = append(names, valvesOf(e)...)
		}
	}
	return listed(names, begun), cobra.ShellCompDirectiveNoFileComp
}

// enginesOf reads the engines that --engine names.
func enginesOf(cmd *cobra.Command, _ []string) []*shim.Engine {
	names, err := cmd.Flags().GetStringArray("engine")
	if err != nil {
		return nil
	}
	return enginesIn(names)
}

// engineOfJob is the engine of the job that the first argument names.
func (a *app) engineOfJob(cmd *cobra.Command, args []string) []*shim.Engine {
	var list []*shim.Engine
	if len(args) == 0 {
		return nil
	}
	a.fromShop(func(ctx context.Context, shop *inventory.Shop, args []string) ([]string, error) {
		f, err := fileNamed(ctx, shop, args[0], true)
		if err == nil {
			list = append(list, &f.Engine.Spec)
		}
		return nil, err
	})(cmd, args, "")
	return list
}

// enginesIn reads engine files, silently: a completion has nobody to tell.
func enginesIn(names []string) []*shim.Engine {
	var list []*shim.Engine
	for _, name := range names {
		f, err := os.Open(name)
		if err != nil {
			continue
		}
		if e, _, err := files.ReadEngine(name, io.LimitReader(f, 1<<20)); err == nil {
			list = append(list, e)
		}
		_ = f.Close() // it was only read
	}
	return list
}

// listed completes the last of several names, without those given before.
func listed(names []string, begun string) []string {
	at := strings.LastIndexByte(begun, ',') + 1
	before, last := begun[:at], begun[at:]
	var words []string
	for _, name := range beginning(names, last) {
		if !slices.Contains(strings.Split(strings.ToLower(before), ","), name) && !slices.Contains(words, before+name) {
			words = append(words, before+name)
		}
	}
	return words[:min(len(words), maxCompletions)]
}

// beginning keeps the words with the prefix, ignoring case.
func beginning(words []string, begun string) []string {
	var kept []string
	for _, word := range words {
		if strings.HasPrefix(word, strings.ToLower(begun)) {
			kept = append(kept, word)
		}
	}
	return kept
}
