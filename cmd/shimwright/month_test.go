package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/testdata/effort"
	"shimwright/testdata/orders"
)

var monthSeed = flag.Uint64("month", 8, "seed of the month's steps")

// TestMonth is a shop's month, invented: deliveries, scrap, corrections,
// stocktakes, jobs with all their ways, undo and cancel. A technician does what
// the commands say and keeps an own count of what lies in which bin, used or
// new. After every command the two are compared.
func TestMonth(t *testing.T) {
	effort.Long(t)
	const full = 5000
	commands := effort.Of(full)
	t.Setenv("SHIMWRIGHT_SHOP", filepath.Join(t.TempDir(), "shop.db"))
	t.Setenv("SHIMWRIGHT_WHO", "R. Example")
	m := &month{T: t, random: rand.New(rand.NewPCG(10, *monthSeed)), box: map[shelf]int{}, jobs: map[int64]*visit{},
		orders: orders.New(), promised: map[int64]map[shelf]int{}, batches: map[int]*booked{}, done: map[string]int{}, refused: map[string]int{}}
	m.must("shop", "init")
	m.catalogues()
	for m.commands < commands {
		m.step()
	}
	m.must("shop", "check")
	t.Logf("seed %d: %d commands, %d comparisons of bins, used and new, valves, orders and who waits: 0 deviations (bound 0); done %v, refused %v", *monthSeed, m.commands, m.compared, m.done, m.refused)
	if commands >= full/10 {
		for _, kind := range []string{"receive", "scrap", "correct", "count", "open", "read", "plan", "fit", "undo", "cancel", "recheck", "close", "order", "arrive", "withdraw", "exchange"} {
			require.NotZero(t, m.done[kind], kind)
		}
	}
}

// A shelf is where equal pieces lie together.
type shelf struct {
	stamp, mic shim.Length
	used       bool
	bin        string
}

func (s shelf) size() shim.Length {
	if s.mic != 0 {
		return s.mic
	}
	return s.stamp
}

// A visit is a job as the technician sees it.
type visit struct {
	card  card             // its file, as it is now
	seats map[string]shelf // the shims in the valves; none where a valve stands empty
	moves []change         // what its fits did to the box and were not taken back
}

// A change is a number of pieces that came to a shelf or left it.
type change struct {
	shelf
	count, batch int
	stays        bool   // in the box where the job is given up: it was bought
	valve        string // that it came out of or went into
	own          string // the valve that it came out of before, where it is a shim of the engine that goes in
	as           *shelf // what it was measured as on its way in
}

// A booked batch is what a batch did, to be taken back.
type booked struct {
	changes []change
	job     int64
	before  map[string]shelf // the seats of the job
	after   map[string]shelf
	undone  bool

	arrivals []orders.Arrival // what came
	used     []orders.Arrival // of what had come, what the fit took
	again    bool             // it took a receipt back itself
}

type month struct {
	*testing.T
	random             *rand.Rand
	box                map[shelf]int
	jobs               map[int64]*visit
	orders             *orders.Count
	lists              []string                // files of catalogues
	promised           map[int64]map[shelf]int // by job
	batches            map[int]*booked
	commands, compared int
	done, refused      map[string]int
}

var (
	bookedAs = regexp.MustCompile(`(?:batch|booking) (\d+)`)
	waited   = regexp.MustCompile(`(\d+) reserved for job (\d+)`)
	wentOver = regexp.MustCompile(`Job (\d+) had (\d+) × ([\d.]+) \((new|used)(?:, bin ([^)]+))?\) reserved; it now gets ([\d.]+)(?: \(mic ([\d.]+)\))? \((new|used)(?:, bin ([^)]+))?\)\.`)
	wasTaken = regexp.MustCompile(`Job (\d+) lost its reserved (\d+) × ([\d.]+) \((new|used)(?:, bin ([^)]+))?\); plan it again`)
	openedAs = regexp.MustCompile(`Job (\d+) opened`)
)

// call runs a command in this process. All its lines are joined, for what is
// looked for in them.
func (m *month) call(args ...string) (status int, out string) {
	var stdout, stderr bytes.Buffer
	status = run(args, &app{in: strings.NewReader(""), out: &stdout, err: &stderr})
	if slices.Contains(args, "json") {
		return status, stdout.String()
	}
	return status, strings.Join(strings.Fields(stdout.String()+" "+stderr.String()), " ")
}

func (m *month) must(args ...string) string {
	m.Helper()
	status, out := m.call(args...)
	require.Zero(m, status, "%v: %s", args, out)
	return out
}

// try runs a command of the month. It is false where the command refused: then
// nothing may have changed.
func (m *month) try(kind string, args ...string) (string, bool) {
	m.Helper()
	m.commands++
	status, out := m.call(args...)
	m.Logf("%d: %v: %d: %.200s", m.commands, args, status, out)
	if status != exitDone && status != exitOutside {
		m.refused[kind]++
		return out, false
	}
	m.done[kind]++
	return out, true
}

func text(l shim.Length) string { return shim.MM.FormatAtLeast(l, 3) }

func (m *month) size() shim.Length {
	return 2_300*shim.Micrometre + shim.Length(m.random.IntN(7))*25*shim.Micrometre
}
func (m *month) bin() string       { return []string{"A1", "A2", "B1", "U7"}[m.random.IntN(4)] }
func (m *month) chance(n int) bool { return m.random.IntN(n) == 0 }

// shelves lists what is there in a fixed order.
func (m *month) shelves() []shelf {
	return slices.SortedFunc(maps.Keys(m.box), func(x, y shelf) int { return strings.Compare(fmt.Sprintf("%+v", x), fmt.Sprintf("%+v", y)) })
}

func (m *month) some() (shelf, bool) {
	list := m.shelves()
	if len(list) == 0 {
		return shelf{}, false
	}
	return list[m.random.IntN(len(list))], true
}

func (m *month) visits() []int64 { return slices.Sorted(maps.Keys(m.jobs)) }

func (m *month) visit() (int64, bool) {
	list := m.visits()
	if len(list) == 0 {
		return 0, false
	}
	return list[m.random.IntN(len(list))], true
}

// visitIn is a job that a command is for by its state, mostly.
func (m *month) visitIn(states ...string) (int64, bool) {
	list := slices.DeleteFunc(m.visits(), func(job int64) bool { return !slices.Contains(states, m.jobs[job].card.State) })
	if len(list) == 0 || m.chance(6) {
		return m.visit()
	}
	return list[m.random.IntN(len(list))], true
}

// book puts changes into the technician's own count, and keeps them by batch.
func (m *month) book(out string, r *booked) {
	m.Helper()
	found := bookedAs.FindStringSubmatch(out)
	require.NotNil(m, found, "no batch in %q", out)
	batch, err := strconv.Atoi(found[1])
	require.NoError(m, err)
	for i := range r.changes {
		r.changes[i].batch = batch
		m.put(r.changes[i].shelf, r.changes[i].count)
	}
	m.batches[batch] = r
	if r.job != 0 {
		m.jobs[r.job].moves = append(m.jobs[r.job].moves, r.changes...)
	}
	m.told(out)
}

func (m *month) put(s shelf, count int) {
	m.Helper()
	m.box[s] += count
	require.GreaterOrEqual(m, m.box[s], 0, "the technician has fewer of %+v than were booked out", s)
	if m.box[s] == 0 {
		delete(m.box, s)
	}
}

func (m *month) promise(job int64, s shelf, count int) {
	m.Helper()
	if m.promised[job] == nil {
		m.promised[job] = map[shelf]int{}
	}
	m.promised[job][s] += count
	require.GreaterOrEqual(m, m.promised[job][s], 0, "job %d was never promised %+v", job, s)
	if m.promised[job][s] == 0 {
		delete(m.promised[job], s)
	}
}

// told does what the messages say about pieces that jobs were promised.
func (m *month) told(out string) {
	number := func(text string) int {
		n, err := strconv.Atoi(text)
		require.NoError(m, err)
		return n
	}
	jobOf := func(text string) int64 { return int64(number(text)) }
	mm := func(text string) shim.Length {
		l, err := shim.MM.Parse(text)
		require.NoError(m, err)
		return l
	}
	had := func(job int64, size shim.Length, used bool, bin string) shelf {
		for s := range m.promised[job] {
			if s.size() == size && s.used == used && s.bin == bin {
				return s
			}
		}
		require.Fail(m, "never promised", "job %d: %s %v %s", job, text(size), used, bin)
		return shelf{}
	}
	for _, f := range wentOver.FindAllStringSubmatch(out, -1) {
		job, n := jobOf(f[1]), number(f[2])
		to := shelf{stamp: mm(f[6]), used: f[8] == "used", bin: f[9]}
		if f[7] != "" {
			to.mic = mm(f[7])
		}
		m.promise(job, had(job, mm(f[3]), f[4] == "used", f[5]), -n)
		m.promise(job, to, n)
	}
	for _, f := range wasTaken.FindAllStringSubmatch(out, -1) {
		m.promise(jobOf(f[1]), had(jobOf(f[1]), mm(f[3]), f[4] == "used", f[5]), -number(f[2]))
	}
}

// compare holds the box as the shop has it against the technician's count, and
// what a job was promised against what it was told.
func (m *month) compare() {
	m.Helper()
	m.compared++
	var listed struct {
		Lots []struct {
			Stamp  *shim.Length `json:"stamp_mm"`
			Mic    *shim.Length `json:"mic_mm"`
			Used   bool         `json:"used"`
			Bin    string       `json:"bin"`
			OnHand int          `json:"on_hand"`
		} `json:"lots"`
	}
	require.NoError(m, json.Unmarshal([]byte(m.must("box", "list", "--lots", "--all", "--output", "json")), &listed))
	have := map[shelf]int{}
	for _, l := range listed.Lots {
		have[shelf{lengthOf(l.Stamp), lengthOf(l.Mic), l.Used, l.Bin}] = l.OnHand
	}
	require.Equal(m, m.box, have, "command %d", m.commands)
	m.compareOrders()
	if job, open := m.visit(); open {
		f := m.show(job)
		m.compareCard(job, f)
		got, want := f.reserved(), m.promised[job]
		require.True(m, maps.Equal(want, got), "command %d, job %d: told %v, kept %v", m.commands, job, want, got)
	}
	promised := map[shelf]int{}
	for job := range m.promised {
		for s, n := range m.promised[job] {
			promised[s] += n
			require.LessOrEqual(m, promised[s], m.box[s], "command %d: promised twice: %+v", m.commands, s)
		}
	}
}

// A card is what a job's file says, as far as the technician goes by it.
type card struct {
	State string `json:"state"`
	Seats []struct {
		Valve string       `json:"valve"`
		Empty bool         `json:"empty"`
		Stamp *shim.Length `json:"stamp_mm"`
		Mic   *shim.Length `json:"mic_mm"`
	} `json:"seats"`
	Plan *struct {
		Number     int      `json:"number"`
		Placements []placed `json:"placements"`
	} `json:"current_plan"`
	Reserved []struct {
		slip
		Count int `json:"count"`
	} `json:"reserved"`
	Purchases []purchase `json:"purchases"`
}

// number is that of the plan that stands, 0 where none does.
func (f card) number() int {
	if f.Plan == nil {
		return 0
	}
	return f.Plan.Number
}

type purchase struct {
	Size    shim.Length `json:"size_mm"`
	Name    string      `json:"supplier"`
	Part    string      `json:"part"`
	Needed  int         `json:"needed"`
	Ordered int         `json:"ordered"`
	Arrived int         `json:"came_in"`
}

func (p purchase) line() orders.Line {
	return orders.Line{Disc: sized(p.Size), Supplier: p.Name, Part: p.Part}
}

type placed struct {
	Valve  string      `json:"valve"`
	Size   shim.Length `json:"size_mm"`
	Source string      `json:"source"`
	From   string      `json:"from"`
	Fitted bool        `json:"fitted"`
	Piece  *slip       `json:"piece"`
}

type slip struct {
	Stamp *shim.Length `json:"stamp_mm"`
	Mic   *shim.Length `json:"mic_mm"`
	Used  bool         `json:"used"`
	Bin   string       `json:"bin"`
}

// lengthOf is 0 for a size that nobody knows.
func lengthOf(l *shim.Length) shim.Length {
	if l == nil {
		return 0
	}
	return *l
}

func (p slip) shelf() shelf { return shelf{lengthOf(p.Stamp), lengthOf(p.Mic), p.Used, p.Bin} }

func (m *month) show(job int64) (f card) {
	m.Helper()
	require.NoError(m, json.Unmarshal([]byte(m.must("job", "show", fmt.Sprint(job), "--output", "json")), &f))
	return f
}

func (f card) reserved() map[shelf]int {
	sums := map[shelf]int{}
	for _, r := range f.Reserved {
		sums[r.shelf()] += r.Count
	}
	return sums
}

// renew takes over what a job is promised after a command that plans, fits or
// takes back: it says so itself.
func (m *month) renew(jobs ...int64) {
	for _, job := range jobs {
		if v, open := m.jobs[job]; open {
			v.card = m.show(job)
			m.promised[job] = v.card.reserved()
			m.orders.Now(job, v.card.counted())
		}
	}
}
