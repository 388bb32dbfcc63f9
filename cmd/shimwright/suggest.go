package main

import (
	"cmp"
	"errors"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/plan"
)

// didYouMean is a hint that names the known word closest to a mistyped one,
// else the other hint.
func didYouMean(word string, known []string, other string) string {
	if best := files.Closest(strings.ToLower(word), known); best != "" {
		return "did you mean " + best + "?"
	}
	return other
}

// flagError is a wrong flag, with the one that may have been meant.
func flagError(cmd *cobra.Command, err error) error {
	if word := cmd.Flags().Arg(0); cmd.HasSubCommands() && word != "" {
		return unknown(cmd, word) // whose flag it would be
	}
	way := cmd.CommandPath() + " --help lists the flags"
	var none *pflag.NotExistError
	if errors.As(err, &none) && len(none.GetSpecifiedName()) > 1 {
		var names []string
		cmd.Flags().VisitAll(func(flag *pflag.Flag) { names = append(names, "--"+flag.Name) })
		way = didYouMean("--"+none.GetSpecifiedName(), names, way)
	}
	return wrong(cmp.Or(shim.HintOf(err), way), "%w", err)
}

// liftNames are the names that --lift takes for an engine.
func liftNames(e *shim.Engine) []string {
	if e.Access == shim.ByValve {
		return valvesOf(e)
	}
	var names []string
	for _, cam := range e.CamshaftList() {
		for _, side := range shim.Sides {
			if plain := side.String(); e.Train(side).Valves > 0 && (cam.Shared || strings.HasPrefix(cam.Name, plain)) {
				names = append(names, plain)
			}
		}
		names = append(names, cam.Name)
	}
	slices.Sort(names)
	return slices.Compact(names)
}

func valvesOf(e *shim.Engine) []string {
	var names []string
	for _, v := range e.Valves() {
		names = append(names, v.String())
	}
	return names
}

// liftHint is the way out where a request cannot be planned: the name that was
// meant where --lift names something that no engine has.
func liftHint(q *plan.Request, other string) string {
	for i := range q.Jobs {
		j := &q.Jobs[i]
		for _, name := range j.Lift.Named {
			if _, _, err := j.Engine.Open(shim.Lift{Named: []string{name}}, j.Check); err != nil {
				return didYouMean(name, append(liftNames(j.Engine), "needed", "all"), other)
			}
		}
	}
	return other
}

// parseValve reads the name of a valve of the engine. The error names the valve
// that may have been meant.
func parseValve(e *shim.Engine, text string) (shim.Valve, error) {
	names := valvesOf(e)
	all := "valves run from " + names[0] + " to " + names[len(names)-1]
	v, err := shim.ParseValve(text)
	if err != nil {
		return v, wrong(didYouMean(text, names, all), "%w", err)
	}
	if _, found := e.Find(v); !found {
		return v, wrong(all, "%s has no valve %s", e.Name, v)
	}
	return v, nil
}
