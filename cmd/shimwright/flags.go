package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/shim"
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

// choice is a flag that takes one of several words, with its own check, help text
// and completion.
type choice struct {
	value   string
	allowed []string
}

// addChoice adds a choice flag; the first word is the default.
func addChoice(cmd *cobra.Command, name, help string, allowed ...string) *choice {
	c := &choice{value: allowed[0], allowed: allowed}
	cmd.Flags().Var(c, name, help+": "+strings.Join(allowed, ", "))
	err := cmd.RegisterFlagCompletionFunc(name, cobra.FixedCompletions(allowed, cobra.ShellCompDirectiveNoFileComp))
	if err != nil {
		panic(err) // only where the flag does not exist
	}
	return c
}

func (c *choice) String() string { return c.value }

func (c *choice) Type() string { return "WORD" }

func (c *choice) Set(text string) error {
	for _, word := range c.allowed {
		if strings.EqualFold(text, word) {
			c.value = word
			return nil
		}
	}
	return shim.Fail(nil, didYouMean(text, c.allowed, "use one of these words"), "%q is not one of %s", text, strings.Join(c.allowed, ", "))
}

// trimmed is a flag's text without leading and trailing blanks: tables do not show
// them and CSV files do not keep them.
type trimmed string

func (t *trimmed) Set(text string) error { *t = trimmed(strings.TrimSpace(text)); return nil }
func (t *trimmed) String() string        { return string(*t) }
func (t *trimmed) Type() string          { return "string" }

// display is the units in which people read lengths.
type display struct{ clearances, shims *choice }

// addDisplay adds the flags for the units in which people read lengths: one for
// clearances, and one for shims, which are ordered by the size that is on them.
func addDisplay(cmd *cobra.Command) *display {
	return &display{
		clearances: addChoice(cmd, "units", "unit of printed clearances, not of shims; files keep the engine file's", "engine", "mm", "in"),
		shims:      addChoice(cmd, "shim-units", "unit of printed sizes and diameters of shims", "engine", "mm", "in"),
	}
}

// showing returns the units that the flags ask for.
func (d *display) showing() (in shim.Showing) {
	for _, flag := range []struct {
		*choice
		to **shim.Unit
	}{{d.clearances, &in.Clearance}, {d.shims, &in.Size}} {
		if flag.value != flag.allowed[0] {
			u := flag.unit()
			*flag.to = &u
		}
	}
	return in
}

// of is what the flags ask for in this form of output: the engine's own for JSON and
// CSV, which are always in mm.
func (d *display) of(output *choice) shim.Showing {
	if output.value == "json" || output.value == "csv" {
		return shim.Showing{}
	}
	return d.showing()
}

// addIntake adds the flag for the place of the intake side on a sheet.
func addIntake(cmd *cobra.Command) *choice {
	return addChoice(cmd, "intake", "where the intake side is drawn, instead of intake_side in the engine file", append([]string{"engine"}, shim.Placings...)...)
}

// intakeOf returns what a flag of [addIntake] asks for; nil means the engine's own.
func intakeOf(c *choice) *shim.Placing {
	if c.value == c.allowed[0] {
		return nil
	}
	p, _ := shim.ParsePlacing(c.value) // one of the words
	return &p
}
