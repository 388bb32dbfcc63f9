package main

import (
	"strings"

	"github.com/spf13/cobra"
)

// newCompletion is the commands that print completion scripts. It takes the
// place of cobra's own, whose help has lines that no terminal shows whole.
func newCompletion(b *bench) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "completion",
		Short: "Complete commands, flags, files and names in your shell",
		Long: `completion prints a script for your shell. With it the tab key completes commands,
flags, their values, files with the right ending, camshafts and valves of the
engine, and what the shop file knows: jobs, sizes, bins.`,
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
			`In every shell, once bash-completion is installed:

  mkdir -p ~/.local/share/bash-completion/completions
  shimwright completion bash \
    > ~/.local/share/bash-completion/completions/shimwright`,
			func(root *cobra.Command) error { return root.GenBashCompletionV2(b.out, true) },
		},
		{
			"zsh", "source <(shimwright completion zsh)",
			`In every shell: write it as _shimwright into a folder of $fpath, with
"autoload -U compinit; compinit" in ~/.zshrc:

  shimwright completion zsh > "${fpath[1]}/_shimwright"`,
			func(root *cobra.Command) error { return root.GenZshCompletion(b.out) },
		},
		{
			"fish", "shimwright completion fish | source",
			`In every shell:

  shimwright completion fish > ~/.config/fish/completions/shimwright.fish`,
			func(root *cobra.Command) error { return root.GenFishCompletion(b.out, true) },
		},
		{
			"powershell", "shimwright completion powershell | Out-String | Invoke-Expression",
			`In every shell: put that line into the file that $PROFILE names.`,
			func(root *cobra.Command) error { return root.GenPowerShellCompletionWithDesc(b.out) },
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
