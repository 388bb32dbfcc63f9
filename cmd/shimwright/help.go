package main

import (
	"cmp"
	"errors"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/plan"
	"shimwright/shim/report"
)

// helpTemplate starts with examples: most people look for one to change.
const helpTemplate = `{{.Short}}
{{- if .HasExample}}

Examples:
{{.Example}}
{{- end}}

Usage:
{{- if .HasAvailableSubCommands}}
  {{.CommandPath}} COMMAND
{{- else}}
  {{.UseLine}}
{{- end}}
{{- with .Long}}

{{. | fill | trimTrailingWhitespaces}}
{{- end}}
{{- if .HasAvailableSubCommands}}

Commands:
{{- range .Commands}}{{if or .IsAvailableCommand (eq .Name "help")}}
  {{rpad .Name .NamePadding}} {{.Short}}
{{- end}}{{end}}
{{- end}}
{{- if .HasAvailableLocalFlags}}

Flags:
{{.LocalFlags.FlagUsagesWrapped 80 | trimTrailingWhitespaces}}
{{- end}}
{{- if .HasAvailableInheritedFlags}}

Flags of all {{.Parent.Name}} commands:
{{.InheritedFlags.FlagUsagesWrapped 80 | trimTrailingWhitespaces}}
{{- end}}
{{- if .HasAvailableSubCommands}}

{{.CommandPath}} COMMAND --help shows the help of a command.
{{- end}}
`

func init() {
	cobra.AddTemplateFunc("fill", func(text string) string { return fill(text, report.LineWidth) })
}

// groupExample returns one example for each of a group's first commands.
func groupExample(commands []*cobra.Command) string {
	const most = 4
	text := ""
	for i, cmd := range commands[:min(most, len(commands))] {
		if i > 0 {
			text += "\n"
		}
		text += firstLine(cmd.Example)
	}
	return text
}

// fill wraps paragraphs at a width. Those with an indented line stay as they are.
func fill(text string, width int) string {
	paragraphs := strings.Split(text, "\n\n")
	for i, paragraph := range paragraphs {
		if strings.HasPrefix(paragraph, " ") || strings.Contains(paragraph, "\n ") {
			continue
		}
		var filled strings.Builder
		at := 0
		for _, word := range strings.Fields(paragraph) {
			n := utf8.RuneCountInString(word)
			switch {
			case at == 0:
			case at+1+n > width:
				filled.WriteByte('\n')
				at = 0
			default:
				filled.WriteByte(' ')
				at++
			}
			filled.WriteString(word)
			at += n
		}
		paragraphs[i] = filled.String()
	}
	return strings.Join(paragraphs, "\n\n")
}

// didYouMean returns a hint with the known word closest to a mistyped one, else
// the other hint.
func didYouMean(word string, known []string, other string) string {
	if best := files.Closest(strings.ToLower(word), known); best != "" {
		return "did you mean " + best + "?"
	}
	return other
}

// flagError is the error for a wrong flag; it suggests a similar one.
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

// liftHint is the hint for a request that cannot be planned: a similar name if
// --lift names something that no engine has.
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

// parseValve reads the name of one of the engine's valves, and gives the one that the
// engine has for it: in1a is in1 on a side of one valve. The error suggests a similar one.
func parseValve(e *shim.Engine, text string) (shim.Valve, error) {
	names := valvesOf(e)
	all := "valves run from " + names[0] + " to " + names[len(names)-1]
	v, err := shim.ParseValve(text)
	if err != nil {
		return v, wrong(didYouMean(text, names, all), "%w", err)
	}
	at, found := e.Find(v)
	if !found {
		return v, wrong(all, "%s has no valve %s", e.Name, v)
	}
	return e.Valves()[at], nil
}

// unknown is the error for a word that is not a command of cmd.
func unknown(cmd *cobra.Command, word string) error {
	way := cmd.CommandPath() + " --help lists the commands"
	if near := cmd.SuggestionsFor(word); len(near) > 0 {
		way = "did you mean " + strings.Join(near, " or ") + "?"
	}
	return wrong(way, "unknown command %q", word)
}

// strict makes cobra's help command fail for unknown commands; by default it prints
// a help and succeeds.
func strict(root *cobra.Command) {
	root.InitDefaultHelpCmd()
	for _, cmd := range root.Commands() {
		if cmd.Name() != "help" {
			continue
		}
		show := cmd.Run
		cmd.Run, cmd.RunE = nil, func(cmd *cobra.Command, args []string) error {
			if found, rest, _ := root.Find(args); len(rest) > 0 {
				return unknown(found, rest[0])
			}
			show(cmd, args)
			return nil
		}
		cmd.Use = "help [COMMAND]..."
		cmd.Short = "Show the help of a command"
		cmd.Long = ""
		cmd.Example = "  shimwright help solve\n  shimwright help box receive"
	}
}
