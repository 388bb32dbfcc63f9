package main

import "github.com/spf13/cobra"

// newGroup is a command that only holds others. Alone it prints its help; a
// word that is none of its commands is refused.
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
