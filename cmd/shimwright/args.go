package main

import (
	"fmt"

	"github.com/spf13/cobra"
)

// exactly asks for a number of arguments and says what they are.
func exactly(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) == n {
			return nil
		}
		return wrong(cmd.UseLine(), "%s takes %s, not %d arguments", cmd.CommandPath(), what, len(args))
	}
}

// atLeast asks for a number of arguments or more and says what they are.
func atLeast(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) >= n {
			return nil
		}
		return wrong(cmd.UseLine(), "%s takes %s", cmd.CommandPath(), what)
	}
}

// atMost asks for no more than a number of arguments and says what they are.
func atMost(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) <= n {
			return nil
		}
		return wrong(cmd.UseLine(), "%s takes at most %s, not %d arguments", cmd.CommandPath(), what, len(args))
	}
}

// apart refuses a call with more than one of the flags.
func apart(cmd *cobra.Command, flags ...string) {
	before := cmd.PreRunE
	cmd.PreRunE = func(cmd *cobra.Command, args []string) error {
		set := ""
		for _, flag := range flags {
			if !cmd.Flags().Changed(flag) {
				continue
			}
			if set != "" {
				return wrong("leave one of them out", "--%s and --%s do not go together", set, flag)
			}
			set = flag
		}
		if before != nil {
			return before(cmd, args)
		}
		return nil
	}
}

// only refuses flags that mean something beside another one alone.
func only(cmd *cobra.Command, with string, flags ...string) {
	before := cmd.PreRunE
	cmd.PreRunE = func(cmd *cobra.Command, args []string) error {
		for _, flag := range flags {
			if cmd.Flags().Changed(flag) && !cmd.Flags().Changed(with) {
				return wrong(fmt.Sprintf("add --%s, or leave --%s out", with, flag), "--%s goes with --%s", flag, with)
			}
		}
		if before != nil {
			return before(cmd, args)
		}
		return nil
	}
}
