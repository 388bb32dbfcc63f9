package main

import (
	"strings"

	"github.com/spf13/cobra"

	"shimwright/shim"
)

// warmth is how warm the engine was while it was measured, as the flags say.
type warmth struct {
	state, temperature string
}

func (w *warmth) addState(cmd *cobra.Command) {
	cmd.Flags().StringVar(&w.state, "state", "", "`WORD` for the engine while measured, cold or warm (default: what the file says)")
	completesFlag(cmd, "state", cobra.FixedCompletions(shim.States, cobra.ShellCompDirectiveNoFileComp))
}

func addWarmth(cmd *cobra.Command) *warmth {
	w := &warmth{}
	w.addState(cmd)
	cmd.Flags().StringVar(&w.temperature, "temperature", "", "the engine's temperature while measured, in `CELSIUS`")
	completesFlag(cmd, "temperature", cobra.NoFileCompletions)
	return w
}

// read returns the flags' state, nil where none is given, and temperature.
func (w *warmth) read() (state *shim.State, at shim.Temperature, err error) {
	if w.state != "" {
		s, err := shim.ParseState(w.state)
		if err != nil {
			return nil, 0, wrong(shim.HintOf(err), "--state: %s", err)
		}
		state = &s
	}
	if w.temperature != "" {
		if at, err = shim.ParseCelsius(strings.Replace(w.temperature, ",", ".", 1)); err != nil {
			return nil, 0, wrong(shim.HintOf(err), "--temperature: %s", err)
		}
	}
	return state, at, nil
}

// engine is the engine in the state that the flags say.
func (w *warmth) engine(e *shim.Engine) (*shim.Engine, error) {
	state, _, err := w.read()
	if err != nil || state == nil {
		return e, err
	}
	return e.In(*state)
}
