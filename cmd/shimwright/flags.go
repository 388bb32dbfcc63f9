package main

import (
	"strings"

	"github.com/spf13/cobra"

	"shimwright/shim"
)

// choice is a flag that takes one of some words. It brings its own check, help
// text and completion.
type choice struct {
	value   string
	allowed []string
}

// addChoice adds a flag that takes one of the words; the first is the default.
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
	return shim.Fail(nil, didYouMean(text, c.allowed, "take one of these words"), "%q is none of %s", text, strings.Join(c.allowed, ", "))
}

// trimmed is a flag's text without blanks at its ends, which no table shows and
// which CSV files do not keep.
type trimmed string

func (t *trimmed) Set(text string) error { *t = trimmed(strings.TrimSpace(text)); return nil }
func (t *trimmed) String() string        { return string(*t) }
func (t *trimmed) Type() string          { return "string" }

// addDisplay adds the flag for the unit in which people read lengths.
func addDisplay(cmd *cobra.Command) *choice {
	return addChoice(cmd, "units", "unit of printed lengths; files keep the engine's", "engine", "mm", "in")
}

// display is the unit that a flag of [addDisplay] asks for; nil is the
// engine's own, and what JSON and CSV have: they are in mm always.
func display(units, output *choice) *shim.Unit {
	if units.value == units.allowed[0] || output.value == "json" || output.value == "csv" {
		return nil
	}
	u := units.unit()
	return &u
}

// addIntake adds the flag for where a sheet has the intake side.
func addIntake(cmd *cobra.Command) *choice {
	return addChoice(cmd, "intake", "where the intake side is drawn, in place of the engine's intake_side", append([]string{"engine"}, shim.Placings...)...)
}

// intakeOf is what a flag of [addIntake] asks for; nil is as the engine says.
func intakeOf(c *choice) *shim.Placing {
	if c.value == c.allowed[0] {
		return nil
	}
	p, _ := shim.ParsePlacing(c.value) // one of the words
	return &p
}
