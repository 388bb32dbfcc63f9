package main

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/model"
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

A length is in the unit that was asked for, mm or inches; one with its unit behind
it (.006in, 8.9mm) is taken at any prompt. Enter takes what stands in brackets.
? says what may be typed, back goes to the question before, list shows the answers
so far, quit leaves without writing anything. At the end everything is shown; n
lets you mend one answer and keeps the others. Through a pipe each line is one
answer.

The file must not exist yet, and is written only after the last answer.`,
		Example: `  shimwright model new heron.toml`,
		Args:    exactly(1, "one file to write"),
		RunE:    func(cmd *cobra.Command, args []string) error { return runModelNew(cmd, a, args[0]) },
	}
}

func newModelShow(a *app) *cobra.Command {
	return &cobra.Command{
		Use:               "show ENGINE.toml",
		Short:             "Show everything that an engine file says",
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

func runModelNew(cmd *cobra.Command, a *app, name string) error {
	if err := mayCreate(name); err != nil {
		return err
	}
	w := model.New(files.ParseMarks)
	ask, end := a.typist(cmd.Context())
	defer end()
	shown := false
	for line := 1; !w.Done(); line++ {
		q := w.Asks()
		if !shown {
			a.modelReadBack(w, q)
		}
		shown = true
		answer, err := ask(modelQuestion(w, q))
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
			fmt.Fprintln(a.err, "  "+strings.ReplaceAll(modelHelp(w, q), "\n", "\n  "))
		case model.List:
			a.modelAnswers(w)
		case model.Refused:
			if !a.person {
				return shim.Fail(errUsage, came.Hint, "answer %d, %q: %s; nothing was written", line, answer, came.Message)
			}
			fmt.Fprintf(a.err, "  %s\n", came.Message)
			if came.Hint != "" {
				fmt.Fprintf(a.err, "  hint: %s\n", came.Hint)
			}
		default:
			shown = false
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
	for {
		err := create(name, text.Bytes())
		if err == nil {
			break
		}
		if !a.person {
			return err
		}
		fmt.Fprintf(a.err, "  %s\n", err) // what was typed is not lost
		other, failed := ask("Another name for the file, or quit: ")
		if failed != nil || other == "quit" || other == "q" {
			return err
		}
		if other != "" {
			name = other
		}
	}
	return a.say("%s is written. Next: compare it with the manual, then shimwright sheet %s\n", name, argument(name))
}

// modelReadBack shows what a question asks to confirm.
func (a *app) modelReadBack(w *model.Walk, q model.Question) {
	if q.Topic == model.Mend {
		a.modelAnswers(w)
		return
	}
	if !q.ReadBack {
		return
	}
	e := w.Engine()
	v := shim.Valve{Side: q.Side, Cylinder: 1, Closer: q.Closer}
	switch q.Topic {
	case model.Limits:
		fmt.Fprintf(a.err, "  %s: %s\n", modelPart(q.Part), typedLimits(e, v))
	case model.Whole:
		fmt.Fprintln(a.err, strings.Join(modelLines(e), "\n"))
		a.modelConverted(w)
	default:
		if ranges := e.Ranges(v); q.Part.Range < len(ranges) {
			fmt.Fprintln(a.err, "  "+rangeLine(ranges[q.Part.Range], e.Units.Size))
		}
	}
	if q.Doubt != nil {
		fmt.Fprintf(a.err, "  %s\n  hint: %s\n", q.Doubt.Message, q.Doubt.Hint)
	}
}

// modelConverted says which figures are in mm in the file though they were asked for in
// inches, each as it was typed.
func (a *app) modelConverted(w *model.Walk) {
	e, asked := w.Engine(), shim.UnitPair{}
	for _, answer := range w.Trail() { // the units are asked for before any length
		u, err := shim.ParseUnit(answer.Answer)
		switch {
		case err == nil && answer.Topic == model.Units:
			asked.Clearance = u
		case err == nil && answer.Topic == model.ShimUnits:
			asked.Size = u
		}
		if answer.Topic == model.Units && u != e.Units.Clearance || answer.Topic == model.ShimUnits && u != e.Units.Size {
			fmt.Fprintf(a.err, "  %s: the file has mm, for a figure typed in mm has no exact decimals in inches\n", modelSubject(answer.Question))
		}
		was, length := modelUnit(asked, answer.Topic)
		if is, _ := modelUnit(e.Units, answer.Topic); length && was != is && answer.Answer != "" {
			fmt.Fprintf(a.err, "    %s: typed %s, asked for in %s\n", modelSubject(answer.Question), answer.Answer, unitWord(was))
		}
	}
}

// modelAnswers lists the answers so far, by the numbers that [model.Mend] takes.
func (a *app) modelAnswers(w *model.Walk) {
	trail := w.Trail()
	if len(trail) == 0 {
		fmt.Fprintln(a.err, "  Nothing is answered yet.")
	}
	for i, q := range trail {
		fmt.Fprintf(a.err, "%3d. %s: %s\n", i+1, modelSubject(q.Question), cmp.Or(q.Answer, modelNone(q.Question)))
	}
}

// modelQuestion is the prompt of a question.
func modelQuestion(w *model.Walk, q model.Question) string {
	if q.ReadBack {
		return "Right? [y/n] "
	}
	if q.Topic == model.Mend {
		return "Which answer is wrong? Its number, or all [none]: "
	}
	text := modelSubject(q)
	if u, length := modelUnit(w.Engine().Units, q.Topic); length {
		text += ", " + u.Example("mm", "inches")
	}
	if len(q.Choices) > 0 {
		text += " (" + strings.Join(q.Choices, ", ") + ")"
	}
	text += modelLike[q.Topic]
	switch {
	case q.Usual != "":
		text += " [" + q.Usual + "]"
	case q.Optional:
		text += " [" + modelNone(q) + "]"
	}
	return text + ": "
}

// modelLike shows in the prompt how an answer is typed.
var modelLike = map[model.Topic]string{
	model.Banks:         ", like 1 3 / 2 4",
	model.FiringOrder:   ", like 1-3-4-2",
	model.Timing:        ", like 15 45",
	model.Celsius:       ", like 15-25",
	model.DepressOffset: ", like 90 or 40 back",
}

// modelNone is what no answer stands for.
func modelNone(q model.Question) string {
	switch q.Topic {
	case model.Banks:
		return "one bank"
	case model.FiringIntervals:
		return "even"
	}
	return "none"
}

// modelUnit is the unit that a length is asked in; it is false for what is no
// length.
func modelUnit(u shim.UnitPair, topic model.Topic) (shim.Unit, bool) {
	switch topic {
	case model.Limits, model.Allowance, model.AllowanceDoubt, model.GaugeStep, model.GaugeLeaf:
		return u.Clearance, true
	case model.StemGrind, model.ShimProud, model.Diameter, model.RangeFrom, model.RangeTo, model.RangeStep, model.Marks, model.GaugeStamp, model.GaugeMic:
		return u.Size, true
	}
	return shim.MM, false
}

// modelSubject says what a question is about.
func modelSubject(q model.Question) string {
	text := modelAsked[q.Topic]
	switch q.Topic {
	case model.Valves, model.Timing, model.Limits, model.Aim, model.RockerRatio, model.MeasuredAt, model.Closer,
		model.Allowance, model.AllowanceDoubt, model.StemGrind, model.ShimProud:
		return modelPart(q.Part) + ": " + text
	case model.BeforeLine:
		if q.Range > 0 {
			return "Before measuring: a further line"
		}
	case model.RangeFrom:
		if q.Range > 0 {
			text = "Further sizes on sale: thinnest"
		}
	}
	if q.Closer {
		return modelPart(q.Part) + ": " + text
	}
	return text
}

// modelAsked words the questions.
var modelAsked = map[model.Topic]string{
	model.Name:            "Name of the model",
	model.Layout:          "Layout to begin from",
	model.Cylinders:       "Cylinders",
	model.Banks:           "Cylinders of each bank",
	model.FiringOrder:     "Firing order",
	model.FiringIntervals: "Degrees from each firing to the next",
	model.Valves:          "valves a cylinder, 0 for none to adjust",
	model.DriveEnd:        "Cylinder nearest the cam drive",
	model.IntakeSide:      "Intake side, seen from above with the cam drive at the top",
	model.Timing:          "opens before, closes after its dead centre, degrees",
	model.Access:          "Shims under the buckets or on top",
	model.DepressOffset:   "Degrees from firing TDC to press a tappet",
	model.Camshafts:       "Camshafts",
	model.Units:           "Unit of clearances in the manual",
	model.ShimUnits:       "Unit of shim sizes",
	model.State:           "Limits are for an engine that is",
	model.BeforeLine:      "Before measuring: a line from the manual",
	model.Turns:           "Before measuring: full turns of the crank",
	model.Celsius:         "Before measuring: temperature in °C",
	model.Closer:          "closed by a second follower",
	model.Limits:          "limits from the manual, tight and loose",
	model.Aim:             "aim, 0 the tight limit, 1 the loose one",
	model.RockerRatio:     "rocker ratio, 1 for none",
	model.MeasuredAt:      "clearance is measured at the",
	model.Build:           "Figures for fresh builds",
	model.Allowance:       "allowance for a fresh build",
	model.AllowanceDoubt:  "how far off the allowance may be",
	model.StemGrind:       "the most to take off a stem tip, 0 where forbidden",
	model.ShimProud:       "the least a shim stands above its spring cup",
	model.Diameter:        "Diameter of the shims",
	model.SameShims:       "takes the intake closers' shims",
	model.RangeFrom:       "Sizes on sale: thinnest",
	model.RangeTo:         "Sizes on sale: thickest",
	model.RangeStep:       "Sizes on sale: step",
	model.RangePrice:      "Sizes on sale: price of one",
	model.Marks:           "Marks on shims that do not bear their size",
	model.GaugeStep:       "Feeler gauge: from one leaf to the next",
	model.GaugeLeaf:       "Feeler gauge: a leaf's error, plus or minus",
	model.GaugeStamp:      "A shim's error from its mark, plus or minus",
	model.GaugeMic:        "The micrometer's error limit",
}

// modelHelp says what may be typed.
func modelHelp(w *model.Walk, q model.Question) string {
	if q.ReadBack {
		return "y if it is right. n to type it again; at the very end, to mend one answer.\nback goes to the question before, list shows the answers so far, quit leaves without writing."
	}
	help := map[model.Topic]string{
		model.Name:            "As you call it, like Heron 250 single.",
		model.Layout:          "It only says what is offered next: single for one cylinder, line for a row of any number, v for several banks, closers for valves that a second follower closes.",
		model.Cylinders:       "How many cylinders the engine has, like 4.",
		model.Valves:          "How many valves with shims a cylinder has on this side: 0 to 5.",
		model.Banks:           "The cylinders of each bank from the cam-drive end, banks parted by /, like 1 3 / 2 4.",
		model.FiringOrder:     "From the manual, like 1-3-4-2. Without it no crank positions can be given.",
		model.FiringIntervals: "In firing order, like 270 450 for a twin; 720 in all. Enter if they are even.",
		model.Timing:          "From the manual, like 15 45. Intake: opens before top, closes after bottom. Exhaust: opens before bottom, closes after top. Without it long timing is assumed.",
		model.DepressOffset:   "90 to turn on 90 degrees from firing TDC, -40 or 40 back to turn back, as the manual says.",
		model.Units:           "What your gauge and the manual's limits are in.",
		model.ShimUnits:       "What the shims are sold in, and the micrometer shows.",
		model.BeforeLine:      "In your words, as the manual has it: torque and order of the caps, say. One line at a time.",
		model.Turns:           "How many full turns of the crank seat the parts, like 2.",
		model.Celsius:         "The coolest and the warmest to measure at, in degrees Celsius, like 15-25.",
		model.Limits:          "Both limits from the maker's manual, like 0.14-0.21 or 0.17 +- 0.03. They are read back.",
		model.Aim:             "Where in the limits to end: 0 the tight limit, 0.5 the middle, 1 the loose one.",
		model.Allowance:       "What is added to a clearance measured in a fresh build; below 0 where it closes.",
		model.Diameter:        "Of the disc: shims of one diameter interchange.",
		model.RangeFrom:       "The thinnest size that can be had; none where nothing is on sale, or no further range.",
		model.RangeStep:       "From one size to the next.",
		model.RangePrice:      "Of one shim, without the currency.",
		model.Marks:           "A rule, like 2.45 + 0.025 n, n = 1 to 34; several parted by ;. Or marks with their sizes, like A = 2.159, B = 2.184.",
		model.RockerRatio:     "Valve lift over cam lift as the maker gives it, like 1.4; 1 for shims in or on buckets.",
		model.GaugeStep:       "From one leaf of the set to the next, like 0.03 mm. Enter leaves the gauge out of the file.",
		model.Mend:            "The number of an answer: it is asked again, and the others are kept where they still hold. all asks everything again.",
	}[q.Topic]
	if len(q.Choices) > 0 {
		help = strings.TrimSpace(help + " One of " + strings.Join(q.Choices, ", ") + ".")
	}
	if u, length := modelUnit(w.Engine().Units, q.Topic); length {
		help = strings.TrimSpace(help + " In " + u.Example("mm", "inches") + ", or with its unit behind it: " + u.Example(".006in", "0.15mm") + ".")
	}
	words := "back goes to the question before, list shows the answers so far, quit leaves without writing."
	switch {
	case q.Topic == model.Mend:
	case q.Optional && q.Usual == "":
		words = "Enter leaves it out. " + words
	case q.Optional:
		words = "none leaves it out. " + words
	}
	if help != "" {
		words = help + "\n" + words
	}
	return words
}
