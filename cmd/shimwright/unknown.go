package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
)

// unknown is the error for a word that is no command of cmd.
func unknown(cmd *cobra.Command, word string) error {
	err := usage(fmt.Errorf("unknown command %q", word))
	if near := cmd.SuggestionsFor(word); len(near) > 0 {
		return hint(err, "did you mean "+strings.Join(near, " or ")+"?")
	}
	return hint(err, cmd.CommandPath()+" --help lists the commands")
}

// strict makes cobra's own commands refuse what they do not know; left alone
// they print a help and succeed.
func strict(root *cobra.Command) {
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	for _, cmd := range root.Commands() {
		switch cmd.Name() {
		case "help":
			show := cmd.Run
			cmd.Run, cmd.RunE = nil, func(cmd *cobra.Command, args []string) error {
				if found, rest, _ := root.Find(args); len(rest) > 0 {
					return unknown(found, rest[0])
				}
				show(cmd, args)
				return nil
			}
		case "completion":
			cmd.Args = cobra.ArbitraryArgs
			cmd.RunE = func(cmd *cobra.Command, args []string) error {
				if len(args) == 0 {
					return cmd.Help()
				}
				return hint(usage(fmt.Errorf("unknown shell %q", args[0])), "bash, zsh, fish or powershell")
			}
		}
	}
}
