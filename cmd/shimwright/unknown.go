package main

import (
	"strings"

	"github.com/spf13/cobra"
)

// unknown is the error for a word that is no command of cmd.
func unknown(cmd *cobra.Command, word string) error {
	way := cmd.CommandPath() + " --help lists the commands"
	if near := cmd.SuggestionsFor(word); len(near) > 0 {
		way = "did you mean " + strings.Join(near, " or ") + "?"
	}
	return wrong(way, "unknown command %q", word)
}

// strict makes cobra's own help command refuse what it does not know; left alone
// it prints a help and succeeds.
func strict(root *cobra.Command) {
	root.InitDefaultHelpCmd()
	for _, cmd := range root.Commands() {
		if cmd.Name() != "help" {
			continue
		}
		show := cmd.Run
		cmd.Run, cmd.RunE = nil, func(cmd *cobra.Command, args []string) error {
			if found, rest, _ := root.Find(args); len(rest) > 0 {
				return unknown(found, rest[0])
			}
			show(cmd, args)
			return nil
		}
		cmd.Use = "help [COMMAND]..."
		cmd.Short = "Show the help of a command"
		cmd.Long = ""
		cmd.Example = "  shimwright help solve\n  shimwright help box receive"
	}
}
