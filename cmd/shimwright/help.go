package main

import (
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"shimwright/shim/report"
)

// helpTemplate leads with examples: most people look for one to change.
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

{{. | trimTrailingWhitespaces}}
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

{{.CommandPath}} COMMAND --help tells more about a command.
{{- end}}
`

// groupExample is an example of each of the first commands of a group.
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

// fillHelp fills the paragraphs of every command's long text to the line width.
func fillHelp(cmd *cobra.Command) {
	cmd.Long = fill(cmd.Long, report.LineWidth)
	for _, child := range cmd.Commands() {
		fillHelp(child)
	}
}

// fill fills paragraphs to a width. Those with a line that is set in stay.
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
