package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/model"
	"shimwright/shim/report"
)

func newModel(a *app) *cobra.Command {
	return newGroup("model", "Write and show the engine file of a model",
		`model helps with engine files: what a maker's manual says of one model of engine.`,
		newModelNew(a), newModelShow(a))
}

func newModelNew(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "new ENGINE.toml",
		Short: "Write an engine file by question and answer",
		Long: `new asks for what an engine file says, in the order in which one finds it at the
engine and in the maker's manual, and writes the file with a comment beside each
key. It begins from one of four layouts: single, line, v or closers. Limits have
no default: type them as they stand in the manual; they are read back.

Enter takes what stands in brackets. ? says what may be typed, back goes to the
question before, list shows what is known, quit leaves without writing anything.
Through a pipe each line is one answer.`,
		Example: `  shimwright model new heron.toml`,
		Args:    exactly(1, "one file to write"),
		RunE:    func(_ *cobra.Command, args []string) error { return runModelNew(a, args[0]) },
	}
}

func newModelShow(a *app) *cobra.Command {
	return &cobra.Command{
		Use:               "show ENGINE.toml",
		Short:             "Show an engine file: head, limits and sizes on sale",
		Example:           `  shimwright model show heron.toml`,
		Args:              exactly(1, "one engine file"),
		ValidArgsFunction: completeOnce(completeTOML),
		RunE: func(_ *cobra.Command, args []string) error {
			e, err := a.readEngine(args[0])
			if err != nil {
				return err
			}
			return a.say("%s\n", strings.Join(modelLines(e), "\n"))
		},
	}
}

func runModelNew(a *app, name string) error {
	if _, err := os.Stat(name); err == nil {
		return wrong("choose another name, or move the old file away first", "%s exists already", name)
	}
	w := model.New()
	for line := 1; !w.Done(); line++ {
		q := w.Asks()
		a.modelReadBack(w, q)
		answer, err := a.prompt(modelQuestion(q))
		if errors.Is(err, io.EOF) {
			return wrong("type all answers, or quit", "the answers end before the last question; nothing was written")
		}
		if err != nil {
			return err
		}
		if !a.person { // what was typed does not show
			fmt.Fprintln(a.err, answer)
		}
		switch came := w.Type(answer).(type) {
		case model.First:
			fmt.Fprintln(a.err, "  This is the first question.")
		case model.Help:
			fmt.Fprintln(a.err, "  "+strings.ReplaceAll(modelHelp(q), "\n", "\n  "))
		case model.List:
			fmt.Fprintln(a.err, strings.Join(modelLines(w.Engine()), "\n"))
		case model.Refused:
			if !a.person {
				return shim.Fail(errUsage, came.Hint, "answer %d, %q: %s; nothing was written", line, answer, came.Message)
			}
			fmt.Fprintf(a.err, "  %s\n", came.Message)
			if came.Hint != "" {
				fmt.Fprintf(a.err, "  hint: %s\n", came.Hint)
			}
		}
	}
	if w.Left() {
		fmt.Fprintln(a.err, "Nothing was written.")
		return nil
	}
	var text bytes.Buffer
	if err := files.WriteEngine(&text, w.Engine()); err != nil {
		return err
	}
	if err := save(name, text.Bytes()); err != nil {
		return err
	}
	return a.say("%s is written. Next: compare it with the manual, then shimwright sheet %s\n", name, name)
}

// modelReadBack shows what a question asks to confirm.
func (a *app) modelReadBack(w *model.Walk, q model.Question) {
	if !q.ReadBack {
		return
	}
	e := w.Engine()
	switch q.Topic {
	case model.Limits:
		fmt.Fprintf(a.err, "  %s: %s\n", modelPart(q.Part), limitsWithUnit(e, shim.Valve{Side: q.Side, Cylinder: 1, Closer: q.Closer}))
	case model.Whole:
		fmt.Fprintln(a.err, strings.Join(modelLines(e), "\n"))
	default:
		if ranges := e.Ranges(shim.Valve{Side: q.Side, Cylinder: 1, Closer: q.Closer}); q.Part.Range < len(ranges) {
			fmt.Fprintln(a.err, "  "+rangeLine(ranges[q.Part.Range], e.Units.Size))
		}
	}
	if q.Doubt != nil {
		fmt.Fprintf(a.err, "  %s\n  hint: %s\n", q.Doubt.Message, q.Doubt.Hint)
	}
}

// modelPart names the part of the engine that a question is about.
func modelPart(p model.Part) string {
	if p.Closer {
		return p.Side.String() + " closer"
	}
	return p.Side.String()
}

func limitsWithUnit(e *shim.Engine, v shim.Valve) string {
	u := e.Units.Clearance
	return report.Limits(u, e.TrainOf(v).Limits) + " " + u.String()
}

func rangeLine(r shim.Range, u shim.Unit) string {
	line := fmt.Sprintf("%s, %s to %s %s in steps of %s", shim.Count(len(r.Sizes()), "size", "sizes"), sizeText(r.From, u), sizeText(r.To, u), u, u.Format(r.Step))
	if r.Priced {
		line += ", " + r.Price.String() + " a piece"
	}
	return line
}

// modelLines says what is known of a model, with the picture of its head.
func modelLines(e *shim.Engine) []string {
	lines := []string{e.Name}
	if e.Cylinders > 0 && e.Intake.Valves+e.Exhaust.Valves > 0 {
		lines = append(lines, model.Picture(e)...)
	}
	for _, side := range shim.Sides {
		t := e.Train(side)
		if t.Valves == 0 || t.Loose == 0 {
			continue
		}
		lines = append(lines, fmt.Sprintf("Limits %s: %s", side, limitsWithUnit(e, shim.Valve{Side: side, Cylinder: 1})))
		if t.Closer != nil && t.Closer.Loose != 0 {
			lines = append(lines, fmt.Sprintf("Limits %s closer: %s", side, limitsWithUnit(e, shim.Valve{Side: side, Cylinder: 1, Closer: true})))
		}
	}
	if e.Diameter != 0 {
		lines = append(lines, "Shims: diameter "+e.Units.Size.Format(e.Diameter)+" "+e.Units.Size.String())
	}
	for _, r := range e.Catalogue {
		lines = append(lines, "On sale: "+rangeLine(r, e.Units.Size))
	}
	return lines
}

// modelQuestion is the prompt of a question.
func modelQuestion(q model.Question) string {
	if q.ReadBack {
		return "Right? [y/n] "
	}
	text := modelAsked[q.Topic]
	switch q.Topic {
	case model.Valves, model.Limits, model.Aim, model.RockerRatio, model.MeasuredAt, model.Closer:
		text = modelPart(q.Part) + ": " + text
	case model.Diameter, model.RangeFrom:
		if q.Closer {
			text = modelPart(q.Part) + ": " + text
		}
	}
	if len(q.Choices) > 0 {
		text += " (" + strings.Join(q.Choices, ", ") + ")"
	}
	switch {
	case q.Usual != "":
		text += " [" + q.Usual + "]"
	case q.Optional:
		text += " [none]"
	}
	return text + ": "
}

// modelAsked words the questions.
var modelAsked = map[model.Topic]string{
	model.Name:            "Name of the model",
	model.Layout:          "Layout to begin from",
	model.Cylinders:       "Cylinders",
	model.Banks:           "Cylinders of each bank, like 1 3 / 2 4",
	model.FiringOrder:     "Firing order",
	model.FiringIntervals: "Degrees from each firing to the next, if uneven",
	model.Valves:          "valves a cylinder, 0 for none to adjust",
	model.DriveEnd:        "Cylinder nearest the cam drive",
	model.IntakeSide:      "Intake side, seen from above with the cam drive at the top",
	model.Access:          "Shims under the buckets or on top",
	model.DepressOffset:   "Degrees from firing TDC to press a tappet, above 0 on, below 0 back",
	model.Camshafts:       "Camshafts",
	model.Units:           "Unit of the manual's figures",
	model.State:           "Limits are for an engine that is",
	model.Closer:          "closed by a second follower",
	model.Limits:          "limits as they stand in the manual, tight and loose",
	model.Aim:             "aim, 0 the tight limit, 1 the loose one",
	model.RockerRatio:     "rocker ratio, 1 for none",
	model.MeasuredAt:      "clearance is measured at the",
	model.Diameter:        "Diameter of the shims",
	model.SameShims:       "Exhaust closers take the intake closers' shims",
	model.RangeFrom:       "Sizes on sale: thinnest",
	model.RangeTo:         "Sizes on sale: thickest",
	model.RangeStep:       "Sizes on sale: step",
	model.RangePrice:      "Sizes on sale: price of one",
	model.GaugeStep:       "Feeler gauge: from one leaf to the next",
	model.GaugeLeaf:       "Feeler gauge: a leaf's error, plus or minus",
	model.GaugeStamp:      "A shim's error from its mark, plus or minus",
	model.GaugeMic:        "The micrometer's error limit",
}

// modelHelp says what may be typed.
func modelHelp(q model.Question) string {
	help := map[model.Topic]string{
		model.Limits:      "Both limits from the maker's manual, like 0.14-0.21 or 0.17 +- 0.03. They are read back.",
		model.Banks:       "The cylinders of each bank from the cam-drive end, banks parted by /, like 1 3 / 2 4.",
		model.RangeFrom:   "The thinnest size that can be had; none where nothing is on sale, or no further range.",
		model.RockerRatio: "Valve lift over cam lift as the maker gives it, like 1.4; 1 for shims in or on buckets.",
	}[q.Topic]
	if len(q.Choices) > 0 {
		help = "One of " + strings.Join(q.Choices, ", ") + "."
	}
	words := "back goes to the question before, list shows what is known, quit leaves without writing."
	if q.Optional {
		words = "Enter leaves it out. " + words
	}
	if help != "" {
		words = help + "\n" + words
	}
	return words
}
