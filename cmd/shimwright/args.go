package main

import (
	"fmt"

	"github.com/spf13/cobra"
)

// atMost asks for no more than a number of arguments and says what they are.
func atMost(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) <= n {
			return nil
		}
		return hint(usage(fmt.Errorf("%s takes at most %s, not %d arguments", cmd.CommandPath(), what, len(args))), cmd.UseLine())
	}
}

// atLeastOne asks for an argument or more and says what they are.
func atLeastOne(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) > 0 {
			return nil
		}
		return hint(usage(fmt.Errorf("%s takes %s", cmd.CommandPath(), what)), cmd.UseLine())
	}
}
