package main

import (
	"fmt"

	"github.com/spf13/cobra"
)

// exactly requires n arguments; what describes them.
func exactly(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) == n {
			return nil
		}
		return wrong(cmd.UseLine(), "%s takes %s, not %d arguments", cmd.CommandPath(), what, len(args))
	}
}

// atLeast requires n arguments or more; what describes them.
func atLeast(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) >= n {
			return nil
		}
		return wrong(cmd.UseLine(), "%s takes %s", cmd.CommandPath(), what)
	}
}

// atMost allows up to n arguments; what describes them.
func atMost(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) <= n {
			return nil
		}
		return wrong(cmd.UseLine(), "%s takes at most %s, not %d arguments", cmd.CommandPath(), what, len(args))
	}
}

// exclusive makes flags mutually exclusive.
func exclusive(cmd *cobra.Command, flags ...string) {
	before := cmd.PreRunE
	cmd.PreRunE = func(cmd *cobra.Command, args []string) error {
		set := ""
		for _, flag := range flags {
			if !cmd.Flags().Changed(flag) {
				continue
			}
			if set != "" {
				return wrong("leave one of them out", "--%s and --%s cannot be used together", set, flag)
			}
			set = flag
		}
		if before != nil {
			return before(cmd, args)
		}
		return nil
	}
}

// only refuses flags that need another flag, if that one is missing.
func only(cmd *cobra.Command, with string, flags ...string) {
	before := cmd.PreRunE
	cmd.PreRunE = func(cmd *cobra.Command, args []string) error {
		for _, flag := range flags {
			if cmd.Flags().Changed(flag) && !cmd.Flags().Changed(with) {
				return wrong(fmt.Sprintf("add --%s, or leave --%s out", with, flag), "--%s needs --%s", flag, with)
			}
		}
		if before != nil {
			return before(cmd, args)
		}
		return nil
	}
}
