package paper

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"html"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/testdata/effort"
)

// need finds the programs of a browser test. Where one is missing the test is
// skipped, but on a build server it fails.
func need(t *testing.T, programs ...string) {
	t.Helper()
	effort.Long(t)
	for _, program := range programs {
		if _, err := exec.LookPath(program); err != nil {
			say := program + " is not installed. To run this test: apt-get install chromium poppler-utils zbar-tools fonts-liberation; go test ./shim/paper -run TestBrowser"
			if os.Getenv("CI") == "true" {
				require.Fail(t, say)
			}
			t.Skip(say)
		}
	}
}

// chromium runs the browser on a page with nothing of the machine's.
func chromium(t *testing.T, page string, flags ...string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	args := append([]string{"--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
		"--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
		"--user-data-dir=" + t.TempDir()}, flags...)
	cmd := exec.CommandContext(ctx, "chromium", append(args, "file://"+page)...)
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	require.NoError(t, err, "%s", complaints.String())
	return string(out)
}

// put writes a copy of a form with something added to its head.
func put(t *testing.T, form, head string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "form.html")
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(form, "</head>", head+"</head>", 1)), 0o666))
	return file
}

// A printed is the words of a PDF by page, and the pages' sizes in points.
type printed struct {
	file  string
	Pages []struct {
		Width  float64 `xml:"width,attr"`
		Height float64 `xml:"height,attr"`
		Words  []struct {
			XMin float64 `xml:"xMin,attr"`
			YMin float64 `xml:"yMin,attr"`
			XMax float64 `xml:"xMax,attr"`
			YMax float64 `xml:"yMax,attr"`
			Text string  `xml:",chardata"`
		} `xml:"word"`
	} `xml:"body>doc>page"`
}

// paper prints a form and reads it back with poppler.
func paper(t *testing.T, form, size string) printed {
	t.Helper()
	p := printed{file: filepath.Join(t.TempDir(), "form.pdf")}
	head := ""
	if size != "" {
		head = "<style>@page { size: " + size + "; }</style>"
	}
	chromium(t, put(t, form, head), "--print-to-pdf="+p.file, "--no-pdf-header-footer")
	out, err := exec.Command("pdftotext", "-bbox", p.file, "-").Output()
	require.NoError(t, err)
	require.NoError(t, xml.Unmarshal(out, &p))
	return p
}

// within asserts that all words stand inside the page but for a margin, in mm.
func (p printed) within(t *testing.T, margin float64) {
	t.Helper()
	margin *= 72 / 25.4
	const rounding = 1.5 // points; the foot stands a little out
	for i, page := range p.Pages {
		for _, w := range page.Words {
			assert.True(t, w.XMin >= margin-rounding && w.XMax <= page.Width-margin+rounding && w.YMin >= 0 && w.YMax <= page.Height,
				"%q stands out of page %d: %.1f to %.1f of %.1f, %.1f to %.1f of %.1f", w.Text, i+1, w.XMin, w.XMax, page.Width, w.YMin, w.YMax, page.Height)
		}
	}
}

// has asserts how often a word is printed.
func (p printed) has(t *testing.T, word string, times int) {
	t.Helper()
	n := 0
	for _, page := range p.Pages {
		for _, w := range page.Words {
			if w.Text == word {
				n++
			}
		}
	}
	assert.Equal(t, times, n, word)
}

// firstFilled asserts that the first page of several is not left half empty.
func (p printed) firstFilled(t *testing.T) {
	t.Helper()
	if page := p.Pages[0]; len(p.Pages) > 1 {
		foot, lowest := page.Height-14*72/25.4, 0.0
		for _, w := range page.Words {
			if w.YMax < foot {
				lowest = max(lowest, w.YMax)
			}
		}
		assert.Greater(t, lowest, page.Height/2, "the first page ends there")
	}
}

// cylindersWhole asserts that the valves of each cylinder stand on one page
// each time that the form lists them.
func (p printed) cylindersWhole(t *testing.T, e *shim.Engine, times int) {
	t.Helper()
	pages := map[string][]int{}
	for i, page := range p.Pages {
		for _, w := range page.Words {
			pages[w.Text] = append(pages[w.Text], i+1)
		}
	}
	first := map[[2]int]int{}
	for _, v := range e.Valves() {
		on := pages[v.String()]
		require.Len(t, on, times, "%s", v)
		for k, page := range on {
			key := [2]int{v.Cylinder, k}
			if first[key] == 0 {
				first[key] = page
			}
			assert.Equal(t, first[key], page, "%s is torn from its cylinder", v)
		}
	}
}

func text(t *testing.T, write func(w io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, write(&b))
	return b.String()
}

// pagesWanted is the number of pages on A4 and on Letter, with Liberation Sans;
// 0 is not to be printed.
type pagesWanted struct{ a4, letter int }

// A spot is where a text was printed.
type spot struct {
	page int
	y    float64
}

// line is where the words stand for the last time, one after another.
func (p printed) line(text string) (at spot) {
	words := strings.Fields(text)
	at.page = -1
	for n, page := range p.Pages {
		for i := range page.Words {
			k := 0
			for k < len(words) && i+k < len(page.Words) && page.Words[i+k].Text == words[k] {
				k++
			}
			if k == len(words) {
				at = spot{n, page.Words[i].YMin}
			}
		}
	}
	return at
}

// The smallest and the largest engine are printed: as many pages as they
// should be, nothing cut, no cylinder torn.
func TestBrowserPrints(t *testing.T) {
	need(t, "chromium", "pdftotext")
	smallest := engineOf("Wren 250 single", 1, 1, 1, 0, shim.MM)
	smallest.FiringOrder = nil
	largest := engineOf("Albatross 16 flat sixteen", 16, 2, 5, 5, shim.IN)
	unordered := *largest
	unordered.FiringOrder = nil
	four := engineOf("Kittiwake 1040 four", 4, 1, 2, 2, shim.MM)
	// With every valve on its aim nothing moves, so the card names each valve
	// in the head and in the table only.
	aimed := func(e *shim.Engine) *plan.Plan {
		check := checkOf(e, 1)
		for k := range check {
			check[k].Reading = shim.ReadingOf(e.Train(check[k].Valve.Side).Aim())
		}
		return planOf(t, jobOf(e, check))
	}
	six := engineOf("Petrel 1500 six", 6, 1, 2, 2, shim.MM)
	onTop := engineOf("Grebe 3000 six", 6, 1, 2, 2, shim.MM)
	onTop.FiringOrder, onTop.Access, onTop.DepressOffset = []int{1, 5, 3, 6, 2, 4}, shim.ByValve, 90
	onTop.Before = &shim.Before{Lines: []string{"Caps in three passes, from the middle outwards."}, Turns: 2, Temperature: &shim.Window{From: 288_150, To: 298_150}}
	busy := planOf(t, jobOf(largest, checkOf(largest, 4)))
	jobs := planOf(t, plan.JobRequest{Name: "1", Engine: smallest, Check: checkOf(smallest, 1)}, plan.JobRequest{Name: "2", Engine: smallest, Check: checkOf(smallest, 2)})
	for i, c := range []struct {
		name  string
		form  string
		pages pagesWanted
		whole *shim.Engine // whose cylinders must not be torn
		times int
	}{
		{"smallest sheet", text(t, func(w io.Writer) error { return Sheet(w, smallest, Info{}) }), pagesWanted{1, 1}, nil, 0},
		{"sheet of a four", text(t, func(w io.Writer) error { return Sheet(w, four, Info{}) }), pagesWanted{1, 0}, nil, 0},
		{"sheet of 24 valves on top", text(t, func(w io.Writer) error { return Sheet(w, onTop, Info{}) }), pagesWanted{2, 2}, nil, 0},
		{"largest sheet", text(t, func(w io.Writer) error { return Sheet(w, &unordered, Info{}) }), pagesWanted{4, 5}, &unordered, 1},
		{"smallest card", text(t, func(w io.Writer) error { return Card(w, aimed(smallest)) }), pagesWanted{1, 1}, smallest, 2},
		{"card of 24 valves", text(t, func(w io.Writer) error { return Card(w, aimed(six)) }), pagesWanted{3, 3}, six, 2},
		{"certificate of 16 valves", text(t, func(w io.Writer) error { return Certify(w, certificateOf("Kittiwake 1040 four", 16, false)) }), pagesWanted{1, 2}, nil, 0},
		{"certificate of 24 valves and closers", text(t, func(w io.Writer) error { return Certify(w, certificateOf("Petrel 1500 six", 24, true)) }), pagesWanted{2, 2}, nil, 0},
		{"certificate with long names", text(t, func(w io.Writer) error { return Certify(w, longNames(certificateOf("Wren 250 single", 4, false))) }), pagesWanted{1, 1}, nil, 0},
		{"largest card", text(t, func(w io.Writer) error { return Card(w, aimed(largest), Info{After: afterOf(largest)}) }), pagesWanted{11, 12}, largest, 2},
		{"busiest card", text(t, func(w io.Writer) error { return Card(w, busy) }), pagesWanted{0, 16}, nil, 0},
		{"card of two jobs", text(t, func(w io.Writer) error { return Card(w, jobs) }), pagesWanted{3, 0}, nil, 0},
	} {
		if !effort.All() && i%3 != 2 && !strings.HasPrefix(c.name, "certificate") && !strings.HasSuffix(c.name, "on top") { // the largest ones, of A4 alone; a browser each
			continue
		}
		for size, want := range map[string]int{"A4": c.pages.a4, "letter": c.pages.letter} {
			if want == 0 || size != "A4" && !effort.All() {
				continue
			}
			t.Run(c.name+" on "+size, func(t *testing.T) {
				t.Parallel()
				p := paper(t, c.form, size)
				assert.Equal(t, want, len(p.Pages), "pages")
				p.within(t, 10)
				p.firstFilled(t)
				if c.whole != nil {
					p.cylindersWhole(t, c.whole, c.times)
				}
				if strings.HasSuffix(c.name, "long names") { // each check is there to its end
					p.has(t, "DATE", 3)
					p.has(t, "spring", 3)
				}
				if size == "A4" && strings.HasSuffix(c.name, "on top") { // the rule for pressing stands before its table, both on one page
					where, rule, rows := p.line("Where to press"), p.line("Press a tappet only"), p.line("450°")
					assert.Equal(t, where.page, rows.page, "the table is torn")
					assert.Equal(t, rule.page, rows.page)
					assert.Less(t, rule.y, where.y)
				}
			})
		}
	}
}

// inspect looks for what runs over its bounds or into something else. Texts of
// a drawing are compared by their capital height, as they have no descenders.
const inspect = `<script>
addEventListener("load", () => {
	const found = [];
	for (const e of document.querySelectorAll("body, body *")) {
		if (e.closest("svg")) continue;
		if (e.clientWidth > 0 && e.scrollWidth > e.clientWidth + 1) found.push("wider than its box: " + e.tagName + " " + e.textContent.trim().slice(0, 40));
	}
	for (const svg of document.querySelectorAll("svg")) {
		const of = svg.querySelector("title").textContent, view = svg.viewBox.baseVal;
		const texts = [...svg.querySelectorAll("text")].map(t => {
			const b = t.getBBox(), size = +t.getAttribute("font-size"), y = +t.getAttribute("y");
			return { l: b.x, r: b.x + b.width, t: y - 0.72 * size, b: y, text: t.textContent };
		});
		const over = (a, b) => Math.min(a.r, b.r) - Math.max(a.l, b.l) > 0.05 && Math.min(a.b, b.b) - Math.max(a.t, b.t) > 0.05;
		const holds = (a, b) => a.l <= b.l + 0.05 && a.r >= b.r - 0.05 && a.t <= b.t + 0.05 && a.b >= b.b - 0.05;
		const boxes = [...svg.querySelectorAll("path.box, path.heavy, path.dash, path.frame, path.module")].map(p => {
			const b = p.getBBox();
			return { l: b.x, r: b.x + b.width, t: b.y, b: b.y + b.height, cls: p.getAttribute("class") };
		});
		texts.forEach((a, i) => {
			if (a.l < 0 || a.t < 0 || a.r > view.width || a.b > view.height) found.push(of + ": out of the drawing: " + a.text);
			for (const b of texts.slice(i + 1)) if (over(a, b)) found.push(of + ": " + a.text + " runs into " + b.text);
			for (const b of boxes) if (over(a, b) && (b.cls == "module" || !holds(b, a))) found.push(of + ": " + a.text + " runs over the edge of a box");
		});
		boxes.forEach((a, i) => {
			if (a.cls == "frame") return;
			for (const b of boxes.slice(i + 1)) if (b.cls != "frame" && over(a, b)) found.push(of + ": boxes overlap");
		});
	}
	const out = document.createElement("pre");
	out.id = "found";
	out.textContent = JSON.stringify(found);
	document.body.append(out);
});
</script>`

var foundBy = regexp.MustCompile(`(?s)<pre id="found">(.*?)</pre>`)

// problems has the browser look at a form.
func problems(t *testing.T, form string) []string {
	t.Helper()
	dom := chromium(t, put(t, form, inspect), "--dump-dom", "--window-size=900,1200")
	m := foundBy.FindStringSubmatch(dom)
	require.NotNil(t, m, "%.2000s", dom)
	var found []string
	require.NoError(t, json.Unmarshal([]byte(html.UnescapeString(m[1])), &found))
	return found
}

// Nothing overflows and nothing collides.
func TestBrowserLayout(t *testing.T) {
	need(t, "chromium")
	// All forms of one style are put into one document: a browser each takes long.
	var all strings.Builder
	body := regexp.MustCompile(`(?s)^(.*<body>)(.*)</body>`)
	for _, e := range []*shim.Engine{
		engineOf("Wren 250 single", 1, 1, 1, 1, shim.MM),
		engineOf("Gannet 4000 vee eight", 8, 2, 3, 2, shim.IN),
		engineOf("Albatross 16 flat sixteen", 16, 2, 5, 5, shim.IN),
		engineOf(strings.Repeat("A long name of an engine ", 6), 16, 1, 5, 5, shim.IN),
	} {
		p := planOf(t, plan.JobRequest{Name: "2026-11-25/17", Engine: e, Check: awkward(e), Provisional: true})
		for _, form := range []string{
			text(t, func(w io.Writer) error { return Sheet(w, e, Info{Customer: strings.Repeat("Longname", 9)}) }),
			text(t, func(w io.Writer) error { return Card(w, p) }),
		} {
			parts := body.FindStringSubmatch(form)
			require.NotNil(t, parts)
			if all.Len() == 0 {
				all.WriteString(parts[1])
			}
			all.WriteString(parts[2])
		}
	}
	forms := map[string]string{"sheets and cards": all.String() + "</body></html>"}
	for i, name := range []string{"a4-3x8-70x36", "letter-4x20-44.45x12.7"} {
		g, err := ParseLabelGrid(name)
		require.NoError(t, err)
		labels := []Label{{Size: 12345678, Stamp: 12343000, Family: shim.Family{Diameter: 33333333}, Bin: strings.Repeat("Wide bin ", 9)}, {Size: shim.Millimetre}}
		forms["labels "+name] = text(t, func(w io.Writer) error {
			return Labels(w, labels, LabelOptions{Grid: g, Start: 1, Mark: []string{"code128", "qr"}[i], Cut: true})
		})
	}
	for name, form := range forms {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			assert.Empty(t, problems(t, form))
		})
	}
	t.Run("a fault is seen", func(t *testing.T) {
		t.Parallel()
		bad := text(t, func(w io.Writer) error { return Sheet(w, engineOf("Wren", 1, 1, 1, 1, shim.MM), Info{}) })
		bad = strings.Replace(bad, ">in1</text>", ` textLength="60">in1</text>`, 1)
		bad = strings.Replace(bad, "<body>", `<body><div style="width: 20mm"><span style="white-space: nowrap">wider than twenty millimetres</span></div>`, 1)
		found := strings.Join(problems(t, bad), "\n")
		assert.Contains(t, found, "wider than its box: DIV")
		assert.Contains(t, found, "in1 runs")
	})
}

// Labels print on as many pages as they should, and a reader reads the mark:
// zbar, an independent implementation.
func TestBrowserLabels(t *testing.T) {
	need(t, "chromium", "pdftotext", "pdftoppm", "zbarimg")
	for i, c := range []struct {
		grid, mark   string
		labels, from int
		pages        int
		read         string
	}{
		{"a4-3x8-70x36", "qr", 1, 24, 1, "1.200;8.9"},
		{"letter-3x10-66.675x25.4", "code128", 1, 2, 1, "1.200;8.9"},
		{"letter-4x20-44.45x12.7", "qr", 81, 1, 2, ""},
	} {
		if i > 0 && !effort.All() {
			break
		}
		t.Run(c.grid, func(t *testing.T) {
			t.Parallel()
			g, err := ParseLabelGrid(c.grid)
			require.NoError(t, err)
			p := paper(t, text(t, func(w io.Writer) error {
				return Labels(w, labelsOf(c.labels), LabelOptions{Grid: g, Start: c.from, Mark: c.mark})
			}), "")
			require.Len(t, p.Pages, c.pages)
			size := papers[g.Paper]
			assert.InDelta(t, float64(size[0])/float64(shim.Inch)*72, p.Pages[0].Width, 1)
			assert.InDelta(t, float64(size[1])/float64(shim.Inch)*72, p.Pages[0].Height, 1)
			p.within(t, 0)
			if c.read == "" {
				return
			}
			picture := filepath.Join(t.TempDir(), "label")
			require.NoError(t, exec.Command("pdftoppm", "-r", "300", "-gray", "-singlefile", "-png", p.file, picture).Run())
			out, err := exec.Command("zbarimg", "--quiet", "--raw", picture+".png").Output()
			require.NoError(t, err)
			assert.Equal(t, c.read, strings.TrimSpace(string(out)))
		})
	}
}
