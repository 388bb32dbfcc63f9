package sqlite_test

import (
	"bufio"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/inventory/sqlite"
	"shimwright/shim"
	"shimwright/testdata/effort"
)

const (
	newShop = 25 // kills after which a new shop is begun, so that checks stay short
	pieces  = "how many rows: "
)

// work is a child that gives mixed commands until it is killed. It says each
// one on standard output once the shop has acknowledged it: "batch ROWS BATCH
// HASH" or "job ID STATE".
func work(args []string) error {
	seed, err := strconv.ParseUint(args[1], 10, 64)
	if err != nil {
		return err
	}
	store, err := sqlite.Open(ctx, args[0])
	if err != nil {
		return err
	}
	w := &worker{Shop: inventory.New(store, "R. Example", time.Now), rng: rand.New(rand.NewPCG(seed, 9))}
	for {
		if err := w.once(); err != nil && !errors.Is(err, inventory.ErrShort) && !errors.Is(err, inventory.ErrStale) {
			return err
		}
	}
}

type worker struct {
	*inventory.Shop
	rng *rand.Rand
}

// note tells in the row itself how many rows its batch has.
func note(rows int) string { return pieces + strconv.Itoa(rows) }

func (w *worker) booked(r inventory.Receipt, err error) error {
	if err == nil && len(r.Movements) > 0 {
		fmt.Printf("batch %d %d %s\n", len(r.Movements), r.Batch, r.Movements[len(r.Movements)-1].Hash)
	}
	return err
}

func (w *worker) lot() inventory.Lot {
	spec := sample.Sandpiper()
	return inventory.Lot{Family: shim.Family{Diameter: spec.Diameter}, Marks: shim.Marks{Stamp: 2300*shim.Micrometre + shim.Length(w.rng.IntN(8))*25*shim.Micrometre}}
}

func (w *worker) once() error {
	n := w.rng.IntN(4) + 1
	switch w.rng.IntN(5) {
	case 0, 1:
		var items []inventory.Item
		for range n {
			items = append(items, inventory.Item{Lot: w.lot(), Count: 3, Note: note(n)})
		}
		return w.booked(w.Receive(ctx, items))
	case 2:
		lots, err := w.Balances(ctx, inventory.StockFilter{})
		if err != nil || len(lots) == 0 {
			return err
		}
		return w.booked(w.Scrap(ctx, []inventory.Item{{Lot: lots[w.rng.IntN(len(lots))].Lot, Count: 1, Note: note(1)}}))
	case 3:
		rows, err := w.History(ctx, inventory.MovementFilter{Newest: true, Limit: 1})
		if err != nil || len(rows) == 0 || rows[0].Kind != inventory.KindReceived || rows[0].Reverses != 0 {
			return err
		}
		rows, err = w.History(ctx, inventory.MovementFilter{After: rows[0].Batch - 1})
		if err != nil {
			return err
		}
		return w.booked(w.Undo(ctx, rows[0].Batch, note(len(rows))))
	}
	return w.job(n)
}

// job takes one engine from open to fitted.
func (w *worker) job(n int) error {
	spec := sample.Sandpiper()
	job, err := w.OpenJob(ctx, inventory.Opening{Spec: spec, Source: spec.Name})
	if err != nil {
		return err
	}
	fmt.Printf("job %d %s\n", job.ID, inventory.StateOpen)
	var readings []shim.Measurement
	for _, valve := range spec.Valves() {
		readings = append(readings, shim.Measurement{Valve: valve, Reading: shim.ReadingOf(200 * shim.Micrometre), Marks: shim.Marks{Stamp: w.lot().Stamp}})
	}
	if _, err := w.Read(ctx, job.ID, readings, ""); err != nil {
		return err
	}
	fmt.Printf("job %d %s\n", job.ID, inventory.StateMeasured)
	basis, err := w.Basis(ctx, job.ID)
	if err != nil {
		return err
	}
	p := inventory.Proposal{Job: job.ID, Revision: basis.Revision}
	for i := range n {
		if i < len(basis.Free) && basis.Free[i].Free() > 0 {
			p.Placements = append(p.Placements, inventory.Placement{Valve: readings[i].Valve, Size: basis.Free[i].Size, Source: inventory.SourceDrawn})
		}
	}
	if len(p.Placements) == 0 {
		return nil
	}
	if _, err := w.PlanTogether(ctx, []inventory.Proposal{p}); err != nil {
		return err
	}
	fmt.Printf("job %d %s\n", job.ID, inventory.StatePlanned)
	if err := w.booked(w.Fit(ctx, job.ID, inventory.Fit{Note: note(2 * len(p.Placements))})); err != nil {
		return err
	}
	fmt.Printf("job %d %s\n", job.ID, inventory.StateFitted)
	return nil
}

// TestKill kills processes at random moments while they book. What they
// acknowledged is there, nothing is half-booked, and every file passes its
// check.
func TestKill(t *testing.T) {
	effort.Long(t)
	n := effort.Of(2000)
	// Half of the machine's patience: two lanes of kills side by side.
	for lane := range 2 {
		t.Run(fmt.Sprint("lane ", lane+1), func(t *testing.T) {
			t.Parallel()
			k := &killer{t: t, rng: rand.New(rand.NewPCG(uint64(lane), 7)), states: map[int64]inventory.State{}}
			for i := range n / 2 {
				if i%newShop == 0 {
					k.begin()
				}
				k.kill()
			}
			t.Logf("%d kills: %d commands acknowledged, %d journals of a broken-off command rolled back, %d unacknowledged batches found whole, 0 lost, 0 half-booked",
				n/2, k.acknowledged, k.journals, k.silent)
			require.NotZero(t, k.acknowledged)
		})
	}
}

type killer struct {
	t      *testing.T
	rng    *rand.Rand
	path   string
	rows   int64                     // of the ledger when the last check was made
	states map[int64]inventory.State // acknowledged

	acknowledged, journals, silent int
}

func (k *killer) begin() {
	k.path = filepath.Join(k.t.TempDir(), "shop.db")
	k.rows, k.states = 0, map[int64]inventory.State{}
	store, err := sqlite.Create(ctx, k.path)
	require.NoError(k.t, err)
	require.NoError(k.t, store.Close())
}

func (k *killer) kill() {
	cmd := child("work", k.path, fmt.Sprint(k.rng.Uint64()))
	out, err := cmd.StdoutPipe()
	require.NoError(k.t, err)
	require.NoError(k.t, cmd.Start())
	lines := bufio.NewScanner(out)
	var said []string
	armed := false
	// The first word of the child starts the fuse.
	for lines.Scan() {
		said = append(said, lines.Text())
		if !armed {
			armed = true
			time.AfterFunc(time.Duration(k.rng.IntN(60_000))*time.Microsecond, func() { _ = cmd.Process.Kill() })
		}
	}
	require.Error(k.t, cmd.Wait(), "killed")
	require.True(k.t, armed, "the child did nothing")
	if info, err := os.Stat(k.path + "-journal"); err == nil && info.Size() > 0 {
		k.journals++
	}
	k.judge(said)
}

func (k *killer) judge(said []string) {
	t := k.t
	store, err := sqlite.Open(ctx, k.path)
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	shop := inventory.New(store, "R. Example", time.Now)
	found, err := shop.Check(ctx)
	require.NoError(t, err)
	require.Empty(t, found)

	rows, err := shop.History(ctx, inventory.MovementFilter{After: k.rows})
	require.NoError(t, err)
	batches := map[int64][]inventory.Movement{}
	for _, m := range rows {
		batches[m.Batch] = append(batches[m.Batch], m)
	}
	for batch, rows := range batches {
		want, err := strconv.Atoi(strings.TrimPrefix(rows[0].Note, pieces))
		require.NoError(t, err)
		require.Len(t, rows, want, "batch %d is half-booked", batch)
	}
	known := 0
	for _, line := range said {
		k.acknowledged++
		word := strings.Fields(line)
		if word[0] == "job" {
			require.Len(t, word, 3, line)
			id, err := strconv.ParseInt(word[1], 10, 64)
			require.NoError(t, err)
			k.states[id] = inventory.State(word[2])
			continue
		}
		require.Len(t, word, 4, line)
		known++
		batch, err := strconv.ParseInt(word[2], 10, 64)
		require.NoError(t, err)
		rows := batches[batch]
		require.Equal(t, word[1], fmt.Sprint(len(rows)), "lost: %s", line)
		require.Equal(t, word[3], rows[len(rows)-1].Hash.String(), "changed: %s", line)
	}
	assert.LessOrEqual(t, len(batches)-known, 1, "one command at most was on its way")
	k.silent += len(batches) - known
	k.rows += int64(len(rows))
	for id, state := range k.states {
		f, err := shop.Job(ctx, id)
		require.NoError(t, err, "job %d was acknowledged", id)
		at := func(s inventory.State) int {
			for i, known := range inventory.States {
				if known == s {
					return i
				}
			}
			return -1
		}
		require.GreaterOrEqual(t, at(f.Job.State), at(state), "job %d was acknowledged as %s and is %s", id, state, f.Job.State)
		require.NotEqual(t, inventory.StateFitting, f.Job.State, "job %d is half-fitted", id)
	}
}
