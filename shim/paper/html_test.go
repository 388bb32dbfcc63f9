package paper

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/report"
	"shimwright/shim/wear"
)

// hostile is a name that means harm to HTML, CSS and SVG.
const hostile = `</style><script>alert(1)</script>"'&<img src=http://x.example/>\`

// forms makes every kind of form, by name.
func allForms(t *testing.T) map[string]string {
	t.Helper()
	made := map[string]string{}
	add := func(name string, write func(w io.Writer) error) {
		var b bytes.Buffer
		require.NoError(t, write(&b), name)
		made[name] = b.String()
	}
	engines := map[string]*shim.Engine{
		"single": engineOf("Wren 250 single", 1, 1, 1, 1, shim.MM),
		"four":   engineOf("Kittiwake 1040 four", 4, 1, 3, 2, shim.IN),
		"vee":    engineOf("Dunlin 900 vee", 2, 2, 2, 2, shim.MM),
		"big":    engineOf("Albatross 16 flat sixteen", 16, 2, 5, 5, shim.IN),
		"intake": engineOf("Knot 3", 3, 3, 1, 0, shim.MM),
		"bad":    engineOf(hostile, 2, 1, 2, 2, shim.MM),
	}
	for name, e := range engines {
		info := Info{Customer: e.Name, Job: e.Name}
		add("sheet "+name, func(w io.Writer) error { return Sheet(w, e, info) })
		p := planOf(t, plan.JobRequest{Name: e.Name, Engine: e, Check: checkOf(e, 7), Provisional: name == "vee"})
		info.After, info.Charts = afterOf(e), chartsOf(e)
		add("machine "+name, func(w io.Writer) error {
			return Machine(w, Record{Title: e.Name, Lines: []string{e.Name}, Charts: info.Charts, Cautions: []string{e.Name},
				Sections: []report.Section{{Level: 2, Heading: "Visits", Table: &report.Table{Kind: "visits", Header: []string{"job", "remarks"}, Rows: [][]string{{"1", e.Name}}}, Notes: []string{e.Name}}}})
		})
		add("certificate "+name, func(w io.Writer) error { return Certify(w, certificateOf(e.Name, 4, name == "vee")) })
		add("card "+name, func(w io.Writer) error { return Card(w, p, info) })
	}
	four, vee := engines["four"], engines["vee"]
	unordered := *four
	unordered.FiringOrder = nil
	add("sheet without firing order", func(w io.Writer) error { return Sheet(w, &unordered, Info{}) })
	both := planOf(t, plan.JobRequest{Name: "12", Engine: four, Check: checkOf(four, 1)}, plan.JobRequest{Name: hostile, Engine: vee, Check: awkward(vee)})
	add("card of two", func(w io.Writer) error { return Card(w, both) })
	for _, mark := range Marks {
		grid, err := ParseLabelGrid("a4-2x7-99.1x38.1")
		require.NoError(t, err)
		add("labels "+mark, func(w io.Writer) error {
			return Labels(w, []Label{{Size: 2425 * shim.Micrometre, Bin: hostile}, {Size: 2422 * shim.Micrometre, Stamp: 2425 * shim.Micrometre, Family: shim.Family{Diameter: 8900 * shim.Micrometre}}},
				LabelOptions{Grid: grid, Start: 14, Mark: mark, Cut: true})
		})
	}
	return made
}

// chartsOf are invented charts: of a band far out, of one reading, of none.
func chartsOf(e *shim.Engine) (list []report.Chart) {
	for i, v := range e.Valves() {
		c := wear.Chart{Valve: v, Limits: e.TrainOf(v).Limits}
		for k := range i % 4 {
			c.Points = append(c.Points, wear.ChartPoint{Meter: 12_000 * float64(k+1), Clearance: c.Limits.Loose - shim.Length(k*10)*shim.Micrometre, Other: k == 0})
		}
		if i%4 == 3 {
			c.Band = []wear.ChartBand{{Meter: 36_000, Low: c.Limits.Tight, High: c.Limits.Loose}, {Meter: 48_000, Low: -3 * shim.Millimetre, High: c.Limits.Loose}}
		}
		list = append(list, report.Chart{Chart: c, Unit: e.Units.Clearance, Kind: shim.Kilometres, Watch: i == 0})
	}
	return list
}

// awkward is a check with all that has no number.
func awkward(e *shim.Engine) []shim.Measurement {
	check := checkOf(e, 3)
	check[0].Reading = shim.Reading{Kind: shim.Below, High: 50 * shim.Micrometre}
	check[1].Reading = shim.Reading{Kind: shim.Above, Low: 600 * shim.Micrometre}
	check[len(check)-1].Reading = shim.Reading{}
	return check
}

// fetching matches what makes a browser fetch something.
var fetching = regexp.MustCompile(`(?i)url\(|@import|https?:|//[a-z]`)

// refers matches attributes that name something to load.
var refers = regexp.MustCompile(`^(src|href|srcset|data|action|poster|background|formaction|ping)$`)

// Forms are well-formed, whole in themselves and readable by a screen reader.
func TestForms(t *testing.T) {
	for name, text := range allForms(t) {
		t.Run(name, func(t *testing.T) {
			require.True(t, strings.HasPrefix(text, "<!DOCTYPE html>\n<html lang=\"en\">"), "%.60s", text)
			assert.NotContains(t, text, "ZgotmplZ", "the template refused a value")
			var stack []string
			ids := map[string]bool{}
			var wanted []string
			d := xml.NewDecoder(strings.NewReader(text))
			has := map[string]int{}
			for {
				token, err := d.Token()
				if errors.Is(err, io.EOF) {
					break
				}
				require.NoError(t, err)
				switch x := token.(type) {
				case xml.StartElement:
					stack = append(stack, x.Name.Local)
					has[x.Name.Local]++
					assert.NotContains(t, []string{"script", "link", "iframe", "object", "embed", "img", "image", "use", "form"}, x.Name.Local)
					attr := map[string]string{}
					for _, a := range x.Attr {
						assert.False(t, strings.HasPrefix(a.Name.Local, "on"), "%s of %s", a.Name.Local, x.Name.Local)
						assert.NotRegexp(t, refers, a.Name.Local)
						attr[a.Name.Local] = a.Value
					}
					if id := attr["id"]; id != "" {
						assert.False(t, ids[id], "id %s is there twice", id)
						ids[id] = true
					}
					wanted = append(wanted, strings.Fields(attr["aria-labelledby"])...)
					switch x.Name.Local {
					case "svg":
						assert.Equal(t, "img", attr["role"])
						assert.Len(t, strings.Fields(attr["aria-labelledby"]), 2)
					case "th":
						assert.Contains(t, []string{"col", "row"}, attr["scope"])
					}
				case xml.EndElement:
					stack = stack[:len(stack)-1]
				case xml.CharData:
					if len(stack) > 0 && stack[len(stack)-1] == "style" {
						css := footText.ReplaceAllString(string(x), "") // text, whatever it says
						assert.NotRegexp(t, fetching, css)
					}
				}
			}
			assert.Empty(t, stack)
			for _, id := range wanted {
				assert.True(t, ids[id], "nothing has the id %s", id)
			}
			assert.Equal(t, has["svg"], has["desc"])
			assert.Equal(t, has["svg"]+1, has["title"], "each drawing has a title, and the page")
			assert.Equal(t, has["table"], has["caption"])
			assert.Equal(t, has["table"], has["thead"])
		})
	}
}

// footText is the foot's string in the style.
var footText = regexp.MustCompile(`content: "(?:[^"\\]|\\.)*"`)

type row struct {
	Heads []struct {
		Span int `xml:"colspan,attr"`
	} `xml:"th"`
	Cells []struct {
		Span int `xml:"colspan,attr"`
	} `xml:"td"`
}

// Every row of a table has as many cells as its heading.
func TestTablesAreEven(t *testing.T) {
	table := regexp.MustCompile(`(?s)<table.*?</table>`)
	found := 0
	for name, text := range allForms(t) {
		for _, one := range table.FindAllString(text, -1) {
			var parsed struct {
				Head []row `xml:"thead>tr"`
				Body []row `xml:"tbody>tr"`
			}
			require.NoError(t, xml.Unmarshal([]byte(one), &parsed), name)
			require.Len(t, parsed.Head, 1)
			columns := len(parsed.Head[0].Heads)
			require.NotEmpty(t, parsed.Body, "%s: %s", name, one)
			for _, r := range parsed.Body {
				n := 0
				for _, c := range append(r.Heads, r.Cells...) {
					n += max(1, c.Span)
				}
				assert.Equal(t, columns, n, "%s: %s", name, one)
			}
			found++
		}
	}
	assert.NotZero(t, found)
}

// What a card says of each valve is what the plan says.
func TestCardSaysThePlan(t *testing.T) {
	e := engineOf("Kittiwake 1040 four", 4, 1, 2, 2, shim.MM)
	p := planOf(t, plan.JobRequest{Engine: e, Check: checkOf(e, 4)})
	var b bytes.Buffer
	require.NoError(t, Card(&b, p))
	fit := map[string]string{}
	moves := strings.Count(b.String(), `aria-label="to tick"></span></td><td class="right">`)
	for _, r := range regexp.MustCompile(`(?s)<tr><th scope="row">([^<]+)</th>(.*?)<svg`).FindAllStringSubmatch(b.String(), -1) {
		cells := strings.Split(r[2], "<td")
		fit[r[1]] = regexp.MustCompile(`\d\.\d+`).FindString(cells[5])
	}
	require.Len(t, fit, 16)
	changed := 0
	for _, v := range p.Jobs[0].Valves {
		want := ""
		if v.Changed() {
			changed++
			want = shim.MM.FormatAtLeast(v.Size, 3)
		}
		assert.Equal(t, want, strings.TrimSpace(fit[v.Valve.String()]), "%s", v.Valve)
	}
	require.NotZero(t, changed)
	assert.Equal(t, changed, moves)
	for _, lot := range p.Shopping {
		assert.Contains(t, b.String(), shim.MM.FormatAtLeast(lot.Size, 3))
	}
}

// A provisional plan and one that leaves a valve outside say so in words.
func TestCardStamps(t *testing.T) {
	e := engineOf("Wren 250 single", 1, 1, 1, 1, shim.MM)
	good := []shim.Measurement{
		{Valve: e.Valves()[0], Marks: shim.Marks{Stamp: 2400 * shim.Micrometre}, Reading: shim.ReadingOf(170 * shim.Micrometre)},
		{Valve: e.Valves()[1], Marks: shim.Marks{Stamp: 2400 * shim.Micrometre}, Reading: shim.ReadingOf(230 * shim.Micrometre)},
	}
	card := func(provisional bool, check []shim.Measurement) string {
		var b bytes.Buffer
		require.NoError(t, Card(&b, planOf(t, plan.JobRequest{Engine: e, Check: check, Provisional: provisional})))
		return b.String()
	}
	assert.NotContains(t, card(false, good), "PROVISIONAL")
	assert.NotContains(t, card(false, good), "NOT READY")
	assert.Contains(t, card(true, good), "PROVISIONAL")
	bad := append([]shim.Measurement(nil), good...)
	bad[0].Reading = shim.Reading{Kind: shim.Below, High: 50 * shim.Micrometre}
	assert.Contains(t, card(false, bad), "NOT READY")
}

// A sheet says what was known, and leaves lines for the rest.
func TestSheetFields(t *testing.T) {
	e := engineOf("Wren 250 single", 1, 1, 1, 1, shim.MM)
	var b bytes.Buffer
	require.NoError(t, Sheet(&b, e, Info{Job: "12", Customer: "R. Example", Odometer: "24 100 km"}))
	assert.Contains(t, b.String(), "<dt>Customer</dt><dd>R. Example</dd>")
	assert.Contains(t, b.String(), "<dt>Odometer or hours</dt><dd>24 100 km</dd>")
	assert.Contains(t, b.String(), "<dt>Date</dt><dd></dd>")
	assert.Contains(t, b.String(), "Job 12: Wren 250 single")
	inches := shim.IN
	b.Reset()
	require.NoError(t, Sheet(&b, e, Info{Units: shim.Showing{Clearance: &inches}}))
	// 0.14 to 0.21 mm is 0.005512 to 0.008268 in, and never wider.
	assert.Contains(t, b.String(), ".0056 - .0082 in")
}

var errFull = errors.New("full")

type fullWriter struct{}

func (fullWriter) Write([]byte) (int, error) { return 0, errFull }

func TestWriteErrors(t *testing.T) {
	e := engineOf("Wren 250 single", 1, 1, 1, 1, shim.MM)
	assert.ErrorIs(t, Sheet(fullWriter{}, e, Info{}), errFull)
	assert.ErrorIs(t, Card(fullWriter{}, planOf(t, plan.JobRequest{Engine: e, Check: checkOf(e, 1)})), errFull)
}

// TestSheetPositions has every valve under one of the positions that its boxes
// name.
func TestSheetPositions(t *testing.T) {
	e := engineOf("Kittiwake 1040 four", 4, 1, 2, 2, shim.MM)
	var b bytes.Buffer
	require.NoError(t, Sheet(&b, e, Info{}))
	for _, v := range e.Valves() {
		at := regexp.MustCompile(v.String() + `: boxes for clearance and shim, crank position (\d+)`).FindStringSubmatch(b.String())
		require.NotNil(t, at, "%s", v)
		n, err := strconv.Atoi(at[1])
		require.NoError(t, err)
		rows := strings.Split(b.String(), `<th scope="row" class="right">`)
		require.Greater(t, len(rows), n)
		measure, _, _ := strings.Cut(rows[n], "</tr>")
		assert.Contains(t, measure, v.String())
	}
}
