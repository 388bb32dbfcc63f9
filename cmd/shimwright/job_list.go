package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

type jobListOptions struct {
	states []string
	tag    string
	page   int
	all    bool
	output *choice
}

func newJobList(a *app) *cobra.Command {
	o := &jobListOptions{}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List jobs, newest first",
		Long: `list prints jobs, newest first. Without --state it leaves out closed and cancelled
jobs.

A table shows one page at a time: --page 2 shows the next, --all shows all rows.
JSON and CSV list everything unless you ask for a page.`,
		Example: `  shimwright job list
  shimwright job list --state planned,fitting
  shimwright job list --state all --page 2`,
		Args: exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, args []string) error { return runJobList(cmd, a, o, args) },
	}
	words := []string{"all"}
	for _, s := range inventory.States {
		words = append(words, string(s))
	}
	flags := cmd.Flags()
	flags.StringSliceVar(&o.states, "state", nil, "only jobs in these `STATES`: "+strings.Join(words, ", "))
	flags.StringVar(&o.tag, "tag", "", "only jobs with this tag or part of a tag")
	flags.IntVar(&o.page, "page", 0, "show this page, from 1")
	flags.BoolVar(&o.all, "all", false, "show all rows")
	exclusive(cmd, "page", "all")
	o.output = addOutput(cmd)
	completesFlag(cmd, "state", cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp))
	return cmd
}

func runJobList(cmd *cobra.Command, a *app, o *jobListOptions, _ []string) error {
	p, err := pageOf(cmd, o.page, o.all, o.output.value)
	if err != nil {
		return err
	}
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		states, err := parseStates(o.states)
		if err != nil {
			return err
		}
		jobs, err := shop.Jobs(ctx, inventory.JobFilter{States: states, TagPart: o.tag})
		if err != nil {
			return err
		}
		engines, err := shop.Engines(ctx, inventory.Page{})
		if err != nil {
			return err
		}
		empty, err := shop.Empty(ctx, jobs)
		if err != nil {
			return err
		}
		l := jobListing{jobs: jobs, page: p, versions: work.Editions(engines), states: map[int64]shim.State{}, empty: empty}
		for _, e := range engines {
			l.states[e.ID] = e.Spec.State
		}
		if len(jobs) == 0 && len(states) > 0 {
			others, err := shop.Jobs(ctx, inventory.JobFilter{TagPart: o.tag})
			if err != nil {
				return err
			}
			l.others, l.what = len(others), "open"
			if len(o.states) > 0 {
				l.what = "in " + strings.Join(o.states, " or ")
			}
		}
		return a.list(l, o.output.value)
	})
}

// parseStates reads state names; no names means all but the final states.
func parseStates(words []string) ([]inventory.State, error) {
	var states []inventory.State
	if len(words) == 0 {
		for _, s := range inventory.States {
			if !s.Final() {
				states = append(states, s)
			}
		}
		return states, nil
	}
	for _, word := range words {
		word = strings.ToLower(strings.TrimSpace(word))
		if word == "all" {
			return nil, nil
		}
		found := false
		for _, s := range inventory.States {
			if string(s) == word {
				states, found = append(states, s), true
			}
		}
		if !found {
			return nil, wrong(fmt.Sprint("one of ", inventory.States, " or all"), "%q is not a job state", word)
		}
	}
	return states, nil
}

// A jobListing is a page of jobs.
type jobListing struct {
	jobs     []inventory.Job
	page     page
	versions map[int64]work.Edition // by engine ID
	states   map[int64]shim.State   // as it is measured, by engine ID
	empty    map[int64][]shim.Valve // valves without a shim, by job
	others   int                    // jobs in other states, if the list is empty
	what     string                 // describes the states asked for
}

func (l jobListing) document() *report.Document {
	table := &report.Table{Header: []string{"job", "state", "opened", "engine", "tag", "meter"}, Right: []int{0}}
	for i, j := range l.jobs {
		if !l.page.shows(i) {
			continue
		}
		state := string(j.State)
		if j.Short > 0 {
			state += ", plan again"
		}
		if list := l.empty[j.ID]; len(list) > 0 {
			state += ", " + valveNames(list) + " " + emptyText
		}
		if j.Anyway {
			state += " anyway"
		}
		name := j.Name
		if l.states[j.Engine] == shim.Warm {
			name += ", warm"
		}
		if older := editionText(l.versions[j.Engine]); older != "" {
			name += ", " + older
		}
		table.Rows = append(table.Rows, []string{fmt.Sprint(j.ID), state, day(j.Opened), name, j.Tag, j.Meter})
	}
	s := report.Section{Table: table, Notes: l.page.notes(len(l.jobs))}
	switch {
	case len(table.Rows) > 0:
	case len(l.jobs) > 0:
		s = said(l.page.notes(len(l.jobs))...)
	case l.others > 0:
		s = said(fmt.Sprintf("No jobs %s; %d in other states: add --state all.", l.what, l.others))
	default:
		s = said("No jobs.")
	}
	return &report.Document{Sections: []report.Section{s}}
}

// A jobLine is a job in JSON and CSV.
type jobLine struct {
	Job      int64       `json:"job"`
	State    string      `json:"state"`
	Engine   string      `json:"engine"`
	EngineID int64       `json:"engine_id"`
	Diameter shim.Length `json:"diameter_mm"`
	Tag      string      `json:"tag"`
	Meter    string      `json:"meter"`
	Note     string      `json:"note"`
	Opened   string      `json:"opened"`
	Changed  string      `json:"changed"`
	Who      string      `json:"who"`
	Plan     int         `json:"plan"`
	Short    int         `json:"short"`
	Anyway   bool        `json:"anyway"` // closed with a valve not proven
	Build    bool        `json:"build,omitempty"`
	Warmth   shim.State  `json:"engine_state"` // cold or warm, as it is measured
}

// A listedJob is a job in a list.
type listedJob struct {
	jobLine
	Version  int      `json:"engine_version"` // of Versions, oldest first
	Versions int      `json:"engine_versions"`
	Empty    []string `json:"empty"` // valves without a shim
}

func (l jobListing) form(j inventory.Job) listedJob {
	v := l.versions[j.Engine]
	out := listedJob{jobForm(j, l.states[j.Engine]), v.Number, v.Of, []string{}}
	for _, valve := range l.empty[j.ID] {
		out.Empty = append(out.Empty, valve.String())
	}
	return out
}

func jobForm(j inventory.Job, warmth shim.State) jobLine {
	return jobLine{j.ID, string(j.State), j.Name, j.Engine, j.Diameter, j.Tag, j.Meter, j.Note, stamp(j.Opened), stamp(j.Changed), j.Who, j.Plan, j.Short, j.Anyway, j.Build, warmth}
}

func (l jobListing) json(w io.Writer) error {
	out := struct {
		Jobs []listedJob `json:"jobs"`
		pageJSON
	}{[]listedJob{}, l.page.json(len(l.jobs))}
	for i, j := range l.jobs {
		if l.page.shows(i) {
			out.Jobs = append(out.Jobs, l.form(j))
		}
	}
	return writeJSON(w, out)
}

func (l jobListing) csv(w io.Writer) error {
	rows := [][]string{{"job", "state", "engine", "engine_id", "diameter_mm", "tag", "meter", "note", "opened", "changed", "who", "plan", "short", "anyway", "engine_version", "engine_versions", "empty", "engine_state"}}
	for i, j := range l.jobs {
		if l.page.shows(i) {
			x := l.form(j)
			rows = append(rows, []string{fmt.Sprint(j.ID), string(j.State), j.Name, fmt.Sprint(j.Engine), j.Diameter.String(), j.Tag, j.Meter, j.Note,
				stamp(j.Opened), stamp(j.Changed), j.Who, fmt.Sprint(j.Plan), fmt.Sprint(j.Short),
				fmt.Sprint(x.Anyway), fmt.Sprint(x.Version), fmt.Sprint(x.Versions), strings.Join(x.Empty, " "), x.Warmth.String()})
		}
	}
	return writeCSV(w, rows)
}
