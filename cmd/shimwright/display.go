package main

import (
	"github.com/spf13/cobra"

	"shimwright/shim"
)

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
