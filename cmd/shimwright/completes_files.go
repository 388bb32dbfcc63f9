package main

import (
	"context"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/files"
)

// namedForm finds the form of a file that the help of a flag names.
var namedForm = regexp.MustCompile(`\((TOML|CSV|JSON|HTML)\b`)

// completeAsHelpSays lets every flag and argument complete files with the
// ending that its help names, and others nothing, unless they have a completion
// of their own.
func completeAsHelpSays(cmd *cobra.Command) {
	for _, child := range cmd.Commands() {
		completeAsHelpSays(child)
	}
	cmd.LocalFlags().VisitAll(func(flag *pflag.Flag) {
		if _, has := cmd.GetFlagCompletionFunc(flag.Name); has || flag.NoOptDefVal != "" {
			return
		}
		complete := cobra.CompletionFunc(cobra.NoFileCompletions)
		if form := namedForm.FindStringSubmatch(flag.Usage); form != nil {
			complete = withEnding(strings.ToLower(form[1]))
		} else if name, _ := pflag.UnquoteUsage(flag); name == "FILE" {
			complete = anyFile
		}
		completesFlag(cmd, flag.Name, complete)
	})
	if cmd.ValidArgsFunction == nil && !cmd.HasSubCommands() {
		cmd.ValidArgsFunction = completeArguments(cmd.Use)
	}
}

func anyFile(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return nil, cobra.ShellCompDirectiveDefault
}

// withEnding completes files of one ending.
func withEnding(ending string) cobra.CompletionFunc {
	return func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return []string{ending}, cobra.ShellCompDirectiveFilterFileExt
	}
}

// completeArguments completes the arguments of a usage line such as "recheck
// PLAN.json CHECK.csv".
func completeArguments(use string) cobra.CompletionFunc {
	var kinds []cobra.CompletionFunc
	words := strings.Fields(use)[1:]
	for i, word := range words {
		if strings.HasPrefix(word, "-") || i > 0 && strings.HasPrefix(words[i-1], "-") {
			continue // a flag and its value
		}
		kind := cobra.CompletionFunc(cobra.NoFileCompletions)
		if _, ending, found := strings.Cut(strings.Trim(word, "[]."), "."); found {
			kind = withEnding(ending)
		} else if strings.Contains(word, "FILE") {
			kind = anyFile
		}
		kinds = append(kinds, kind)
	}
	return func(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		if len(args) >= len(kinds) {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return kinds[len(args)](cmd, args, begun)
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
func engineOfJob(cmd *cobra.Command, args []string) []*shim.Engine {
	var list []*shim.Engine
	if len(args) == 0 {
		return nil
	}
	fromShop(func(ctx context.Context, shop *inventory.Shop, args []string) ([]string, error) {
		id, err := jobNamed(ctx, shop, args[0], true)
		if err != nil {
			return nil, err
		}
		f, err := shop.Job(ctx, id)
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

// listed completes the last of several names, leaving out those named before.
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

// beginning keeps the words that begin so, without regard to case.
func beginning(words []string, begun string) []string {
	var kept []string
	for _, word := range words {
		if strings.HasPrefix(word, strings.ToLower(begun)) {
			kept = append(kept, word)
		}
	}
	return kept
}
