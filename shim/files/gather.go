package files

import (
	"cmp"
	"fmt"
	"slices"

	"shimwright/shim"
)

// gather puts the rows into checks and reports what only shows then: valves
// that are missing or doubled, rows without a job, inches in a file of mm.
func (c *checkReader) gather() []Check {
	if c.anyJob && len(c.jobless) > 0 {
		// Which valves are missing cannot be told then.
		c.broken = true
		for _, at := range c.jobless {
			c.add(at[0], at[1], "job", "the row names no job where others do", "write the job in every row, or in none")
		}
	}
	order := c.order()
	rank := make([]int, len(order))
	for r, at := range order {
		rank[at] = r
	}
	slices.SortFunc(c.rows, func(a, b checkRow) int {
		if a.group != b.group {
			return cmp.Compare(rank[a.group], rank[b.group])
		}
		if a.place != b.place {
			return cmp.Compare(a.place, b.place)
		}
		return cmp.Compare(a.line, b.line)
	})
	checks := make([]Check, 0, len(order))
	all := make([]shim.Measurement, 0, len(c.rows))
	rows := c.rows
	for _, at := range order {
		g := &c.list[at]
		e := c.engines.list[g.engine]
		n := 0
		for n < len(rows) && int(rows[n].group) == at {
			n++
		}
		start := len(all)
		all = c.complete(all, g, rows[:n])
		rows = rows[n:]
		in := c.judged(g, e.Engine)
		if hot := slices.IndexFunc(all[start:], func(m shim.Measurement) bool { return m.Temperature.Fahrenheit(in.State) }); hot >= 0 && len(c.warnings) < mostFaults {
			c.warnings = append(c.warnings, newFault(c.file, 0, 0, "", fmt.Sprintf("measured at %s%s, which is no cold engine: degrees Fahrenheit?", all[start+hot].Temperature, of(g.job)), "give degrees Celsius, like 20; for a warm engine say so: state warm"))
		}
		checks = append(checks, Check{Job: g.job, Engine: e.Name, Of: in, Stated: g.state != nil || c.options.State != nil, Measurements: slices.Clip(all[start:])})
	}
	return checks
}

// order lists the places of the groups by job and engine.
func (c *checkReader) order() []int {
	order := make([]int, len(c.list))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		a, b := c.list[i], c.list[j]
		return cmp.Or(natural(a.job, b.job), natural(c.engines.list[a.engine].Name, c.engines.list[b.engine].Name), cmp.Compare(a.engine, b.engine))
	})
	return order
}

// complete appends the measurements of one group, whose rows come by valve,
// and reports what is wrong with the group as a whole.
func (c *checkReader) complete(all []shim.Measurement, g *group, rows []checkRow) []shim.Measurement {
	e := c.engines.list[g.engine]
	start := len(all)
	var first checkRow
	var missing []string
	place := 0
	for i, row := range rows {
		if i > 0 && row.place == first.place {
			c.add(int(row.line), int(row.column), c.measured.at(row.at).Valve.String(), fmt.Sprintf("duplicate row for this valve%s, first on line %d", of(g.job), first.line), "leave one of the rows out")
			continue
		}
		first = row
		missing = append(missing, e.names[place:row.place]...)
		place = int(row.place) + 1
		m := c.measured.at(row.at)
		if row.loaded {
			var opener *shim.Measurement
			// By its place: one valve a side may be named with its letter or without.
			if last := len(all) - 1; last >= start {
				if at, found := e.Find(all[last].Valve); found && at == int(row.place)-1 {
					opener = &all[last]
				}
			}
			c.takeOff(row, &m, opener, g, e)
		}
		all = append(all, m)
	}
	if missing = append(missing, e.names[place:]...); !c.broken && !c.options.AllowMissing {
		c.missing(g, missing)
	}
	if g.numbers >= 2 && g.small == g.numbers {
		c.add(g.smallLine, g.smallCol, "clearance", fmt.Sprintf("every clearance%s is far below the limits, and near them in inches: inches in a file of mm?", of(g.job)), "write clearances in mm; where the thinnest leaf does not go, write that leaf, like <0.05")
	}
	return all
}

// missing reports the valves that no row names.
func (c *checkReader) missing(g *group, valves []string) {
	const most = 8
	for _, v := range valves[:min(most, len(valves))] {
		c.add(g.lastLine, 0, "", "missing valve "+v+of(g.job), "add a row for it; does the file end early?")
	}
	if more := len(valves) - most; more > 0 {
		c.add(g.lastLine, 0, "", fmt.Sprintf("%d more valves are missing%s", more, of(g.job)), "add a row for each; does the file end early?")
	}
}

// of names the job in a message.
func of(job string) string {
	if job == "" {
		return ""
	}
	return " in job " + quoted(job)
}
