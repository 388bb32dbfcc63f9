package main

import (
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/shim/report"
)

type positionsOptions struct {
	at     string
	output *choice
}

func newPositions(a *app) *cobra.Command {
	o := &positionsOptions{}
	cmd := &cobra.Command{
		Use:   "positions ENGINE.toml",
		Short: "List the crank positions for measuring",
		Long: `positions lists the fewest crank positions that let you measure every valve on
the base circle of its cam, how to find each position, and which valves to measure
there. With --at it lists all valves on their base circle at one angle.

Angles are crank degrees after firing TDC of the first cylinder in the firing
order, in the running direction. The engine file must give the firing order; if it
gives no valve timing, long timing is assumed. See docs/crank-positions.md.`,
		Example: `  shimwright positions engine.toml
  shimwright positions engine.toml --at 270
  shimwright positions engine.toml --output json`,
		Args:              exactly(1, "one engine file"),
		ValidArgsFunction: completeOnce(completeTOML),
		RunE:              func(cmd *cobra.Command, args []string) error { return runPositions(cmd, a, o, args) },
	}
	cmd.Flags().StringVar(&o.at, "at", "", "list the valves on their base circle at this crank angle, in degrees")
	o.output = addChoice(cmd, "output", "output format", "table", "json", "csv", "markdown")
	return cmd
}

func runPositions(cmd *cobra.Command, a *app, o *positionsOptions, args []string) error {
	name, asked := args[0], cmd.Flags().Changed("at")
	var angle float64
	if asked {
		var err error
		if angle, err = parseAngle(o.at); err != nil {
			return err
		}
	}
	e, err := a.readEngine(name)
	if err != nil {
		return err
	}
	p := &report.Positions{Engine: e, Asked: asked}
	if asked {
		p.List, err = standing(e, angle)
	} else {
		p.List, err = crank.Plan(e)
	}
	if err != nil {
		return shim.Fail(nil, "the maker's manual gives the firing order; docs/files.md shows the engine file", "%s: %w", name, err)
	}
	return a.write(func(w io.Writer) error {
		switch o.output.value {
		case "json":
			return p.JSON(visibleJSON{w})
		case "csv":
			return p.CSV(w)
		case "markdown":
			return p.Document().Markdown(w)
		}
		return p.Document().Narrow(a.width).Text(w, a.color)
	})
}

// parseAngle reads degrees, with a decimal point or comma.
func parseAngle(text string) (float64, error) {
	plain := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "°"))
	angle, err := strconv.ParseFloat(strings.Replace(plain, ",", ".", 1), 64)
	if err != nil || math.IsNaN(angle) || math.IsInf(angle, 0) {
		return 0, wrong("give crank degrees after firing TDC of the first cylinder, like 270", "--at: %q is not an angle", text)
	}
	return angle, nil
}

// standing returns the angle as a position: the valves on their base circle
// there, and those that would be on the lobe if it were one ramp longer.
func standing(e *shim.Engine, angle float64) ([]crank.Position, error) {
	at := crank.Position{Degrees: angle}
	var err error
	if at.Valves, err = crank.At(e, angle); err != nil {
		return nil, err
	}
	long := *e
	for _, train := range []*shim.Train{&long.Intake, &long.Exhaust} {
		if t := train.Timing; t != nil {
			train.Timing = &shim.Timing{Opens: t.Opens + crank.Ramp, Closes: t.Closes + crank.Ramp}
		}
	}
	sure, err := crank.At(&long, angle)
	if err != nil {
		return nil, err
	}
	for _, v := range at.Valves {
		if !slices.Contains(sure, v) {
			at.Doubtful = append(at.Doubtful, v)
		}
	}
	return []crank.Position{at}, nil
}
