package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/shim"
)

var released = filepath.Join("..", "testdata", "version-1.db")

// kept copies the kept file of a released version.
func kept(t *testing.T) string {
	t.Helper()
	data, err := os.ReadFile(released)
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "shop.db")
	require.NoError(t, os.WriteFile(path, data, 0o644))
	return path
}

// TestReleased opens a file of each released version: nothing of it is lost.
func TestReleased(t *testing.T) {
	ctx := context.Background()
	store, err := Open(ctx, kept(t))
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	info, err := store.Info(ctx)
	require.NoError(t, err)
	assert.Equal(t, latest(steps), info.Version)
	assert.Positive(t, info.Bytes)
	shop := inventory.New(store, "R. Example", time.Now)
	totals, err := shop.Totals(ctx)
	require.NoError(t, err)
	assert.Equal(t, inventory.Totals{Diameters: 1, Engines: 1, Jobs: 10, Movements: 100, Pieces: 81, Reserved: 4}, totals)
	storetest.Invariants(t, shop, "version 1")
	jobs, err := shop.Jobs(ctx, inventory.JobFilter{States: []inventory.State{inventory.StatePlanned}})
	require.NoError(t, err)
	require.Len(t, jobs, 1)
	_, err = shop.Fit(ctx, jobs[0].ID, inventory.Fit{})
	require.NoError(t, err, "a plan from version 1 can be fitted")
	storetest.Invariants(t, shop, "version 1 worked with")
}

// upgraded is a copy of a kept file of a version, opened; the old one stays beside it.
func upgraded(t *testing.T, version int) *Store {
	t.Helper()
	name := fmt.Sprintf("version-%d", version)
	data, err := os.ReadFile(filepath.Join("..", "testdata", name+".db"))
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "shop.db")
	require.NoError(t, os.WriteFile(path, data, 0o644))
	store, err := Open(t.Context(), path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	require.FileExists(t, path+"."+name)
	return store
}

// A file of version 2, with jobs in four states, is sound and is worked on.
func TestReleasedSecond(t *testing.T) {
	ctx := t.Context()
	store := upgraded(t, 2)
	info, err := store.Info(ctx)
	require.NoError(t, err)
	assert.Equal(t, latest(steps), info.Version)
	shop := inventory.New(store, "R. Example", time.Now)
	storetest.Invariants(t, shop, "version 2")
	_, err = shop.Fit(ctx, 2, inventory.Fit{})
	require.NoError(t, err, "a plan from version 2 can be fitted")
	_, err = shop.Receive(ctx, []inventory.Item{{Lot: inventory.Lot{Family: shim.Family{Diameter: 8900 * shim.Micrometre}, Marks: shim.Marks{Stamp: 2400 * shim.Micrometre}}, Count: 1}})
	require.NoError(t, err)
	storetest.Invariants(t, shop, "version 2 worked with")
	found, err := shop.Check(ctx)
	require.NoError(t, err)
	assert.Empty(t, found)
}

// A file of version 3 gains its machines from the tags of its jobs: those that are
// one without case, blanks and dashes, of one model. A visit without a tag has none.
func TestReleasedThird(t *testing.T) {
	ctx := t.Context()
	store := upgraded(t, 3)
	shop := inventory.New(store, "R. Example", time.Now)
	storetest.Invariants(t, shop, "version 3")
	found, err := shop.Check(ctx)
	require.NoError(t, err)
	assert.Empty(t, found)
	machines, err := shop.Machines(ctx, "")
	require.NoError(t, err)
	require.Len(t, machines, 2)
	assert.Equal(t, "K 12", machines[0].Tag)
	assert.Equal(t, "L 3", machines[1].Tag)
	var at []int64
	for id := range int64(4) {
		f, err := shop.Job(ctx, id+1)
		require.NoError(t, err)
		at = append(at, f.Job.Machine)
	}
	assert.Equal(t, []int64{1, 1, 2, 0}, at)
	m, err := shop.Machine(ctx, 1)
	require.NoError(t, err)
	assert.Len(t, m.Visits, 2)
	_, err = shop.MergeMachine(ctx, 2, 1)
	require.NoError(t, err)
	_, err = shop.OpenJob(ctx, inventory.Opening{Spec: m.Visits[0].Engine.Spec, Source: m.Visits[0].Engine.Source, Tag: "l-3"})
	require.NoError(t, err)
	m, err = shop.Machine(ctx, 2)
	require.NoError(t, err)
	assert.EqualValues(t, 1, m.Machine.ID, "the tag of a merged machine leads to the one that stands")
	assert.Len(t, m.Visits, 4)
	storetest.Invariants(t, shop, "version 3 worked with")
}

// What version 1 kept on order for jobs at their end is the shop's now.
func TestReleasedOrders(t *testing.T) {
	ctx := context.Background()
	path := kept(t)
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	_, err = db.ExecContext(ctx, "INSERT INTO purchases SELECT id, 8900000, 2500000, 0, 3, 1, 78000 FROM jobs WHERE state IN ('closed', 'cancelled')")
	require.NoError(t, err)
	var ended, waiting int
	require.NoError(t, db.QueryRowContext(ctx, "SELECT count(*) FROM purchases WHERE size_nm = 2500000").Scan(&ended))
	require.NoError(t, db.QueryRowContext(ctx, "SELECT count(*) FROM purchases").Scan(&waiting))
	require.NoError(t, db.Close())
	require.NotZero(t, ended)
	store, err := Open(ctx, path)
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	shop := inventory.New(store, "R. Example", time.Now)
	storetest.Invariants(t, shop, "version 1")
	list, err := shop.Shopping(ctx)
	require.NoError(t, err)
	at := slices.IndexFunc(list, func(d inventory.Demand) bool { return d.Size == 2_500_000 })
	require.GreaterOrEqual(t, at, 0)
	assert.Equal(t, inventory.Demand{Disc: shim.Disc{Family: shim.Family{Diameter: 8_900_000}, Size: 2_500_000}, Terms: inventory.Terms{Quote: shim.Quote{Price: 78000, Priced: true}}, Coming: 2 * ended, Spare: 2 * ended}, list[at])
	rows, err := readInts(ctx, store, "SELECT count(*) FROM purchases")
	require.NoError(t, err)
	assert.EqualValues(t, waiting-ended+1, rows, "the others are kept")
}

func readInts(ctx context.Context, s *Store, query string) (n int64, err error) {
	err = s.conn.QueryRowContext(ctx, query).Scan(&n)
	return n, err
}

// next is a version that is not there yet.
var next = append(append([]step{}, steps...), step{latest(steps) + 1, "ALTER TABLE jobs ADD COLUMN bay TEXT NOT NULL DEFAULT ''", nil})

func TestMigrate(t *testing.T) {
	ctx := context.Background()
	path := kept(t)
	store, err := open(ctx, path, next)
	require.NoError(t, err)
	version, err := pragmaInt(ctx, store.conn, "user_version")
	require.NoError(t, err)
	assert.Equal(t, latest(next), version)
	var bay string
	require.NoError(t, store.conn.QueryRowContext(ctx, "SELECT bay FROM jobs WHERE id = 1").Scan(&bay))
	require.NoError(t, store.Close())

	copied, err := Open(ctx, path+".version-1")
	require.NoError(t, err, "a copy was made first")
	storetest.Invariants(t, inventory.New(copied, "", time.Now), "the copy")
	require.NoError(t, copied.Close())

	_, err = Open(ctx, path)
	require.ErrorIs(t, err, inventory.ErrNewer, "this version does not touch the newer file")
}

func TestMigrationFails(t *testing.T) {
	ctx := context.Background()
	path := kept(t)
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	broken := append(append([]step{}, next...), step{latest(next) + 1, "CREATE TABLE bays (id INTEGER PRIMARY KEY) STRICT; UPDATE nowhere SET x = 1", nil})
	_, err = open(ctx, path, broken)
	require.Error(t, err)
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after, "neither step was kept")
	store, err := Open(ctx, path)
	require.NoError(t, err)
	require.NoError(t, store.Close())
}

// TestMigrateAtOnce opens an old file from several places at once.
func TestMigrateAtOnce(t *testing.T) {
	ctx := context.Background()
	path := kept(t)
	var wait sync.WaitGroup
	errs := make([]error, 6)
	for i := range errs {
		wait.Go(func() {
			store, err := open(ctx, path, next)
			if err == nil {
				err = store.Close()
			}
			errs[i] = err
		})
	}
	wait.Wait()
	require.NoError(t, errors.Join(errs...))
}

func TestPragmasHold(t *testing.T) {
	ctx := context.Background()
	store, err := Open(ctx, kept(t))
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	for name, want := range map[string]int{"foreign_keys": 1, "synchronous": 3, "recursive_triggers": 1, "trusted_schema": 0, "busy_timeout": int(patience.Milliseconds())} {
		got, err := pragmaInt(ctx, store.conn, name)
		require.NoError(t, err)
		assert.Equal(t, want, got, name)
	}
	// A setting that does not hold is no setting.
	saved := pragmas
	defer func() { pragmas = saved }()
	pragmas = append(append([]pragma{}, saved...), pragma{"synchronus", "3", "3"})
	_, err = Open(ctx, store.Where())
	require.Error(t, err)
}

// A restored backup of an earlier version says where it ends, as any other.
func TestRestoreOfEarlierVersionSaysWhereItEnds(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	_, last, err := Restore(t.Context(), kept(t), path)
	require.NoError(t, err)
	s, err := Open(t.Context(), path)
	require.NoError(t, err)
	defer s.Close()
	now, err := inventory.New(s, "", time.Now).Last(t.Context())
	require.NoError(t, err)
	assert.NotZero(t, last.Seq)
	assert.Equal(t, now.Seq, last.Seq)
}
