package main

import (
	"errors"
	"os"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/shim"
)

func main() { os.Exit(run(os.Args[1:], newApp())) }

const rootLong = `shimwright sets valve clearances with shims. From the measured clearances, the
installed shims and the shop's box it finds the best possible plan: first swap
shims between valves, then use the box, then buy as few as possible.

The maker's service manual and a qualified technician have the last word.

Exit status: 0 done; 1 failed; 2 wrong usage; 3 done, but a valve is outside its
limits, undecided or not measured; 4 the box changed meanwhile and nothing was
booked: plan or count again; 5 booked, but the output failed; 6 unknown whether it
was booked: repeat the command with the same --key.`

// version is set by release builds; see DEVELOPERS.md.
var version = ""

// newRoot builds the command tree on an app.
func newRoot(a *app) *cobra.Command {
	root := &cobra.Command{
		Use:   "shimwright",
		Short: "Set valve clearances with shims",
		Long:  rootLong,
		Example: `  shimwright measure engine.toml --out check.csv
  shimwright solve engine.toml check.csv --box box.csv
  shimwright recheck engine.toml plan.json after.csv`,
		Version:       versionText(),
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return cmd.Help()
			}
			return unknown(cmd, args[0])
		},
	}
	root.SuggestionsMinimumDistance = 2
	root.SetIn(a.in)
	root.SetOut(a.out)
	root.SetErr(a.err)
	root.SetVersionTemplate("shimwright {{.Version}}\n")
	root.SetFlagErrorFunc(flagError)
	root.SetHelpTemplate(helpTemplate)
	root.CompletionOptions.DisableDefaultCmd = true
	root.AddCommand(newModel(a))
	root.AddCommand(newSolve(a))
	root.AddCommand(newPositions(a))
	root.AddCommand(newMeasure(a))
	root.AddCommand(newSheet(a))
	root.AddCommand(newRecheck(a))
	root.AddCommand(newJob(a), newMachine(a), newGauge(a), newSupplier(a), newReport(a))
	root.AddCommand(newBox(a))
	root.AddCommand(newShop(a))
	root.AddCommand(newCompletion(a))
	addKeys(root)
	strict(root)
	return root
}

// run executes one call and returns its exit status.
func run(args []string, a *app) int {
	a.begin()
	if err := plainWords(args); err != nil {
		complain(a.err, err)
		return status(err)
	}
	root := newRoot(a)
	if len(args) > 0 && strings.HasPrefix(args[0], cobra.ShellCompRequestCmd) {
		completeNothingElse(root)
	}
	root.SetArgs(args)
	started := false
	root.PersistentPreRun = func(*cobra.Command, []string) { started = true }
	err := root.Execute()
	if err != nil && !started && !errors.Is(err, errUsage) {
		// Errors of cobra itself are wrong usage.
		err = wrong("shimwright --help", "%w", err)
	}
	if err != nil {
		complain(a.err, err)
	}
	return status(err)
}

// plainWords refuses arguments with characters that control a terminal or change
// the writing direction, as bins, notes and tags are stored.
func plainWords(args []string) error {
	for _, arg := range args {
		if strings.ContainsFunc(arg, shim.Harmful) {
			return wrong("", "%w", shim.ImplausibleText(arg))
		}
	}
	return nil
}

func versionText() string {
	if version != "" {
		return version
	}
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "(devel)"
}

// newGroup makes a command that only holds others. Alone it prints its help; it
// refuses an unknown command.
func newGroup(name, short, long string, commands ...*cobra.Command) *cobra.Command {
	cmd := &cobra.Command{
		Use:     name,
		Short:   short,
		Long:    long,
		Example: groupExample(commands),
		Args:    cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return cmd.Help()
			}
			return unknown(cmd, args[0])
		},
	}
	cmd.SuggestionsMinimumDistance = 2
	cmd.AddCommand(commands...)
	addShopFlag(cmd)
	return cmd
}

// newShop makes the commands for the shop file itself.
func newShop(a *app) *cobra.Command {
	return newGroup("shop", "Make, check, copy and restore the shop file", `shop looks after the file with the box and the jobs: the one named by --shop, else
by SHIMWRIGHT_SHOP, else in the platform's data folder. shop info says where it
is. docs/box.md describes what it holds.`,
		newShopInit(a), newShopInfo(a), newShopCheck(a), newShopBackup(a), newShopRestore(a))
}

// newBox makes the commands for the shim box.
func newBox(a *app) *cobra.Command {
	return newGroup("box", "Keep the shop's shim box", `box keeps count of the shop's shims. Every change is added to a ledger. Nothing
in it is ever changed or deleted: the count on hand is the sum of its movements,
and a mistake is undone by a movement that reverses it. See docs/box.md.`,
		newBoxList(a), newBoxAdvise(a), newBoxReceive(a), newBoxScrap(a), newBoxCorrect(a), newBoxCount(a),
		newBoxHistory(a), newBoxUndo(a), newBoxImport(a), newBoxExport(a), newBoxLabels(a))
}
