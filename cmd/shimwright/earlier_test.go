package main

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// added names the JSON fields of plans that came since the earlier program; outputs
// are compared without those that the earlier one does not have in the line.
var added = []string{"margin_mm", "provisional", "units", "diameter_mm", "gauge", "reading", "miked", "installed_miked", "ratio", "price", "trial_mm", "reason_kind", "reason_data", "beyond", "at_least"}

// TestSameAsEarlier compares JSON and CSV of 1,000 random jobs with those of an
// earlier program, byte for byte but for the fields in added and the words of
// reasons, whose figures are compared. It goes on after a difference and lists them
// all. What was changed on purpose differs, so name a program without that:
//
//	SHIMWRIGHT_EARLIER=/tmp/earlier SHIMWRIGHT_LATER=/tmp/later SHIMWRIGHT_EFFORT=full go test ./cmd/shimwright -run TestSameAsEarlier -v
//
// DEVELOPERS.md says how both were built for the redesign. Without SHIMWRIGHT_LATER
// it is the program of this tree. Plans of the earlier program are read by the later
// one, too.
func TestSameAsEarlier(t *testing.T) {
	earlier, later := os.Getenv("SHIMWRIGHT_EARLIER"), cmp.Or(os.Getenv("SHIMWRIGHT_LATER"), "shimwright")
	if earlier == "" {
		t.Skip("a comparison of two programs: set SHIMWRIGHT_EARLIER to the earlier one")
	}
	dir := t.TempDir()
	jobs, planned := effort.Of(1000), 0
	var c comparison
	for i := range jobs {
		r := rand.New(rand.NewPCG(11, uint64(i)))
		j := writeRandomJob(t, dir, r)
		same := func(args ...string) []byte {
			was, wasStatus := output(t, dir, earlier, args)
			is, isStatus := output(t, dir, later, args)
			if wasStatus != isStatus {
				c.differs("exit status", i, args)
			}
			c.compare(t, was, is, i, args)
			return was
		}
		plan := same(append(j.solve, "--output", "json")...)
		same(append(j.solve, "--output", "csv")...)
		if len(plan) == 0 {
			continue
		}
		planned++
		require.NoError(t, os.WriteFile(filepath.Join(dir, "plan.json"), plan, 0o666))
		writeRandomAfter(t, dir, r, plan)
		for _, form := range []string{"json", "csv"} {
			same("recheck", "--output", form, "plan.json", "after.csv")
			same(append(append([]string{"recheck", "--output", form}, j.engines...), "plan.json", "after.csv")...)
		}
	}
	t.Logf("%d random jobs, %d of them planned, %d outputs compared, %d identical but for added fields; in the others %d reasons in other words with the same figures; %d outputs differ",
		jobs, planned, c.outputs, c.identical, c.reworded, c.different)
	for _, what := range slices.Sorted(maps.Keys(c.where)) {
		at := c.where[what]
		t.Errorf("%s differs in %d outputs, first in %s", what, len(at), strings.Join(at[:min(3, len(at))], "; "))
	}
	require.Greater(t, planned, jobs/2)
}

// A comparison counts what two programs say of the same jobs.
type comparison struct {
	outputs, identical, reworded, different int
	where                                   map[string][]string // by what differs
}

func (c *comparison) differs(what string, job int, args []string) {
	if c.where == nil {
		c.where = map[string][]string{}
	}
	c.where[what] = append(c.where[what], fmt.Sprintf("job %d, %s", job, strings.Join(args, " ")))
}

func (c *comparison) compare(t *testing.T, was, is []byte, job int, args []string) {
	t.Helper()
	c.outputs++
	kept := without(added, is, was)
	if bytes.Equal(was, kept) {
		c.identical++
		return
	}
	restWas, reasonsWas := reasonsOf(t, was)
	rest, reasons := reasonsOf(t, kept)
	fields := map[string]bool{}
	if rest != restWas {
		fields = map[string]bool{"the text": true}
		if found := differing(t, was, is); len(found) > 0 {
			fields = found
		}
	}
	if len(reasons) == len(reasonsWas) { // else it is among the fields
		for k, reason := range reasons {
			switch earlier := reasonsWas[k]; {
			case reason == earlier:
			case slices.Equal(figures.FindAllString(earlier, -1), figures.FindAllString(reason, -1)):
				c.reworded++
			default:
				fields["reason"] = true
			}
		}
	}
	for field := range fields {
		c.differs(args[0]+" "+field, job, args)
	}
	if len(fields) > 0 {
		c.different++
	}
}

// differing lists the fields of two JSON texts, or the columns of two CSV texts, whose
// values differ, but for reasons and fields that were added.
func differing(t *testing.T, was, is []byte) map[string]bool {
	t.Helper()
	found := map[string]bool{}
	var walk func(path string, was, is any)
	walk = func(path string, was, is any) {
		switch was := was.(type) {
		case map[string]any:
			is, _ := is.(map[string]any)
			for key, value := range is {
				if _, had := was[key]; !had && !slices.Contains(added, key) && value != nil {
					found[path+"."+key] = true
				}
			}
			for key, value := range was {
				if key != "reason" {
					walk(path+"."+key, value, is[key])
				}
			}
		case []any:
			is, _ := is.([]any)
			if len(was) != len(is) {
				found[path] = true
				return
			}
			for i := range was {
				walk(path+"[]", was[i], is[i])
			}
		default:
			if !reflect.DeepEqual(was, is) {
				found[path] = true
			}
		}
	}
	walk("", asData(t, was), asData(t, is))
	return found
}

// asData reads JSON, or CSV as a list of rows by column.
func asData(t *testing.T, text []byte) any {
	t.Helper()
	var value any
	if bytes.HasPrefix(text, []byte("{")) {
		require.NoError(t, json.Unmarshal(text, &value))
		return value
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	require.NoError(t, err)
	var list []any
	for i, row := range rows {
		if i == 0 {
			continue
		}
		cells := map[string]any{}
		for k, cell := range row {
			cells[rows[0][k]] = cell
		}
		list = append(list, cells)
	}
	return list
}

var (
	figures    = regexp.MustCompile(`\d+(?:\.\d+)?`)
	reasonText = regexp.MustCompile(`"reason":"(?:[^"\\]|\\.)*"`)
)

// reasonsOf takes the reasons out of JSON or CSV.
func reasonsOf(t *testing.T, text []byte) (rest string, reasons []string) {
	t.Helper()
	if bytes.HasPrefix(text, []byte("{")) {
		return reasonText.ReplaceAllStringFunc(string(text), func(field string) string {
			reasons = append(reasons, strings.TrimSuffix(strings.TrimPrefix(field, `"reason":"`), `"`))
			return `"reason":""`
		}), reasons
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	require.NoError(t, err)
	column := -1
	for _, row := range rows {
		if column < 0 {
			if column = slices.Index(row, "reason"); column < 0 {
				break // a recheck's have none
			}
			continue
		}
		reasons = append(reasons, row[column])
		row[column] = ""
	}
	return fmt.Sprintf("%q", rows), reasons
}

// output is what a program prints in a folder, and its exit status.
func output(t *testing.T, dir, program string, args []string) ([]byte, int) {
	t.Helper()
	command := exec.Command(program, args...)
	command.Dir = dir
	var out, complaint bytes.Buffer
	command.Stdout, command.Stderr = &out, &complaint
	if err := command.Run(); err != nil && command.ProcessState == nil {
		t.Fatal(err)
	}
	status := command.ProcessState.ExitCode()
	require.NotContains(t, complaint.String(), "panic", "%v", args)
	return out.Bytes(), status
}

// without takes fields with a plain value out of a JSON text, line by line, where the
// earlier text does not have them.
func without(fields []string, text, earlier []byte) []byte {
	if head, _, _ := bytes.Cut(earlier, []byte("\n")); bytes.HasPrefix(text, []byte(string(head)+",beyond\n")) {
		text = regexp.MustCompile(`(?m),[a-z]*$`).ReplaceAll(text, nil) // CSV: the last column came since
	}
	then := bytes.SplitAfter(earlier, []byte("\n"))
	var kept [][]byte
	for _, line := range bytes.SplitAfter(text, []byte("\n")) {
		was := []byte(nil)
		if len(kept) < len(then) {
			was = then[len(kept)]
		}
		for _, name := range fields {
			if key := []byte(`"` + name + `":`); !bytes.Contains(line, key) || bytes.Contains(was, key) {
				continue
			}
			field := regexp.MustCompile(`(,|^)\s*"` + name + `": ?(null|true|false|"(?:[^"\\]|\\.)*"|-?[0-9.e-]+|\{[^{}]*\})`)
			line = field.ReplaceAll(line, nil)
		}
		if string(line) != ",\n" { // a line of its own
			kept = append(kept, line)
		}
	}
	return bytes.Join(kept, nil)
}

// A randomJob is the command that plans it.
type randomJob struct{ solve, engines []string }

func oneOf[T any](r *rand.Rand, list ...T) T { return list[r.IntN(len(list))] }

// writeRandomJob writes the files of one or two engines, their check, at times a
// box, a catalogue, a gauge, and chooses among all options of solve.
func writeRandomJob(t *testing.T, dir string, r *rand.Rand) randomJob {
	t.Helper()
	write := func(name, text string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666))
	}
	size := func() string { return fmt.Sprintf("%.3f", 2.2+0.025*float64(r.IntN(14))) }
	var j randomJob
	var check strings.Builder
	engines := oneOf(r, 1, 1, 1, 2)
	check.WriteString("job,engine,valve,clearance,shim,mic\n")
	provisional := r.IntN(8) == 0
	for n := range engines {
		name := fmt.Sprintf("Test engine %d", n+1)
		cylinders, shared := 1+r.IntN(6), r.IntN(5) == 0
		var text strings.Builder
		fmt.Fprintf(&text, "name = %q\ncylinders = %d\naccess = %q\ncamshafts = %q\n", name, cylinders,
			oneOf(r, "camshaft", "camshaft", "valve"), map[bool]string{true: "shared", false: "per-side"}[shared])
		if order := r.Perm(cylinders); r.IntN(2) == 0 {
			for i := range order {
				order[i]++
			}
			fmt.Fprintf(&text, "firing_order = %s\n", strings.Join(strings.Fields(fmt.Sprint(order)), ", "))
		}
		valves := map[string][]string{}
		limits := map[string][2]int{}
		for _, side := range []string{"intake", "exhaust"} {
			per, tight := 1+r.IntN(2), 8+r.IntN(14)
			limits[side] = [2]int{tight, tight + 3 + r.IntN(7)}
			fmt.Fprintf(&text, "\n[%s]\nvalves = %d\nclearance = [0.%02d, 0.%02d]\n", side, per, limits[side][0], limits[side][1])
			text.WriteString(oneOf(r, "", "", "aim = 0.6\n", "ratio = 0.75\n", "rocker_ratio = 1.43\nmeasured_at = \"cam\"\n"))
			for c := range cylinders {
				for v := range per {
					valves[side] = append(valves[side], fmt.Sprintf("%s%d%s", side[:2], c+1, []string{"a", "b"}[v]))
				}
				if per == 1 {
					last := len(valves[side]) - 1
					valves[side][last] = strings.TrimSuffix(valves[side][last], "a")
				}
			}
		}
		text.WriteString("\n[shims]\ndiameter = 8.9\n")
		if r.IntN(3) > 0 {
			fmt.Fprintf(&text, "\n[[shims.catalogue]]\nfrom = 2.20\nto = 2.55\nstep = %s\n%s", oneOf(r, "0.025", "0.05"), oneOf(r, "", "price = 7.80\n"))
		}
		if r.IntN(3) == 0 {
			text.WriteString("\n[gauge]\nstep = 0.01\nleaf = 0.003\nstamp = 0.005\nmic = 0.002\n")
		}
		file := fmt.Sprintf("engine%d.toml", n+1)
		write(file, text.String())
		j.engines = append(j.engines, "--engine", file)
		for _, side := range []string{"intake", "exhaust"} {
			for _, valve := range valves[side] {
				c := limits[side][0] - 6 + r.IntN(limits[side][1]-limits[side][0]+14)
				if c < 1 {
					c = 1
				}
				clearance := fmt.Sprintf("0.%02d", c)
				switch r.IntN(14) {
				case 0:
					clearance = fmt.Sprintf("0.%02d-0.%02d", c, c+oneOf(r, 1, 2, 4))
				case 1:
					clearance = oneOf(r, "<0.05", ">0.60")
				}
				stamp, mic := size(), ""
				if r.IntN(5) == 0 {
					mic = stamp[:4] + fmt.Sprint(r.IntN(10))
				}
				if provisional && r.IntN(3) == 0 {
					stamp, mic = "", ""
				}
				fmt.Fprintf(&check, "job %d,%s,%s,%s,%s,%s\n", n+1, name, valve, clearance, stamp, mic)
			}
		}
	}
	write("check.csv", check.String())
	j.solve = append(append([]string{"solve"}, j.engines...), "check.csv", "--policy", oneOf(r, "thrift", "thrift", "target", "blueprint"))
	if r.IntN(3) > 0 {
		rows := "size,count,mic,bin\n"
		for range r.IntN(9) {
			stamp := size()
			rows += fmt.Sprintf("%s,%d,%s,%s\n", stamp, r.IntN(4), oneOf(r, "", "", stamp[:4]+"7"), oneOf(r, "", "A1", "B2"))
		}
		write("box.csv", rows)
		j.solve = append(j.solve, "--box", "box.csv")
	}
	if r.IntN(3) == 0 {
		rows := "size,price,stock,supplier,part\n"
		for range 1 + r.IntN(12) {
			rows += fmt.Sprintf("%s,%s,%s,%s,%s\n", size(), oneOf(r, "5", "6.40", ""), oneOf(r, "", "1", "3"), oneOf(r, "", "Alder", "Birch"), oneOf(r, "", "P1"))
		}
		write("catalogue.csv", rows)
		j.solve = append(j.solve, "--catalogue", "catalogue.csv")
	}
	for _, option := range [][]string{{"--lift", "all"}, {"--no-buy"}, {"--share-pulled"}, {"--tradeoff"}, {"--margin", "0.02"}, {"--confidence", "0.9"}, {"--buy", "1"}, {"--verify"}} {
		if r.IntN(5) == 0 {
			j.solve = append(j.solve, option...)
		}
	}
	return j
}

var plannedValve = regexp.MustCompile(`\{"job":"([^"]*)","engine":"([^"]*)"|\{"valve":"([^"]*)".*?"predicted_mm":(null|[-0-9.]+)`)

// writeRandomAfter writes readings near those that the plan expects, one in six
// of them well off.
func writeRandomAfter(t *testing.T, dir string, r *rand.Rand, plan []byte) {
	t.Helper()
	rows := "job,engine,valve,clearance\n"
	var job, engine string
	for _, m := range plannedValve.FindAllSubmatch(plan, -1) {
		if len(m[3]) == 0 {
			job, engine = string(m[1]), string(m[2])
			continue
		}
		expected := 0.2
		if string(m[4]) != "null" {
			_, err := fmt.Sscan(string(m[4]), &expected)
			require.NoError(t, err)
		}
		if r.IntN(6) == 0 {
			expected += oneOf(r, -0.05, 0.05, 0.1)
		}
		rows += fmt.Sprintf("%s,%s,%s,%.2f\n", job, engine, m[3], max(0.02, expected+0.01*float64(r.IntN(3)-1)))
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "after.csv"), []byte(rows), 0o666))
}
