package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// TestKilledJobs kills job and box commands at random moments, in two lanes at
// once. Every acknowledged booking is kept, nothing is half booked, and the shop
// passes its check throughout.
func TestKilledJobs(t *testing.T) {
	effort.Long(t)
	if runtime.GOOS == "windows" {
		t.Skip("no SIGKILL")
	}
	kills := max(20, effort.Of(2000))
	shop := filepath.Join(t.TempDir(), "shop.db")
	mustShimwright(t, shop, "shop", "init")
	mustShimwright(t, shop, "box", "receive", "2.225x9", "2.250x9", "2.275x9", "2.300x9", "--diameter", "8.9")
	start := time.Now()
	require.NoError(t, exec.Command("shimwright", "box", "receive", "2.325", "--diameter", "8.9", "--shop", shop).Run()) // a process, as those that are killed
	k := &killedJobs{shop: shop, fuse: 2 * time.Since(start), left: kills, batches: map[int64]bool{}}
	var wait sync.WaitGroup
	for lane := range 2 {
		wait.Add(1)
		go func() {
			defer wait.Done()
			l := &jobLane{killedJobs: k, rng: rand.New(rand.NewPCG(uint64(lane), 11)), rank: map[int64]string{}}
			for k.more() {
				if err := l.step(); err != nil {
					k.stop(err)
				}
			}
			if err := l.recall(); err != nil {
				k.stop(err)
			}
		}()
	}
	wait.Wait()
	require.NoError(t, k.err)
	mustShimwright(t, shop, "shop", "check")
	var history struct {
		Movements []movementJSON `json:"movements"`
	}
	require.NoError(t, json.Unmarshal([]byte(mustShimwright(t, shop, "box", "history", "--output", "json")), &history))
	found := map[int64]bool{}
	for _, m := range history.Movements {
		found[m.Batch] = true
	}
	for batch := range k.batches {
		require.True(t, found[batch], "batch %d was acknowledged and is lost", batch)
	}
	require.NotZero(t, k.acknowledged)
	t.Logf("%d kills in %s; %d commands and %d batches acknowledged, 0 lost; %d jobs; %d killed commands had booked whole, the others nothing; 0 half-booked; %d checks of the shop",
		k.killed, time.Since(start).Round(time.Second), k.acknowledged, len(k.batches), k.jobs, k.silent, k.checks+1)
}

var fitBatch = regexp.MustCompile(`(?:fitted, |\(|: )(?:batch|booking) (\d+)`)

type killedJobs struct {
	shop string
	fuse time.Duration // the longest time to a kill

	sync.Mutex
	left, killed, acknowledged, silent, jobs, checks int
	batches                                          map[int64]bool
	err                                              error
}

func (k *killedJobs) more() bool {
	k.Lock()
	defer k.Unlock()
	return k.left > 0 && k.err == nil
}

func (k *killedJobs) stop(err error) {
	k.Lock()
	defer k.Unlock()
	if k.err == nil {
		k.err = err
	}
}

// whole runs a command that is not killed.
func (k *killedJobs) whole(args ...string) ([]byte, error) {
	out, err := exec.Command("shimwright", append(args, "--shop", k.shop)...).Output()
	if err != nil {
		return nil, fmt.Errorf("%v: %w", args, err)
	}
	return out, nil
}

// risk runs a command that may be killed. Its status is -1 then.
func (k *killedJobs) risk(rng *rand.Rand, args ...string) (status int, out string, err error) {
	cmd := exec.Command("shimwright", append(args, "--shop", k.shop)...)
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	if err := cmd.Start(); err != nil {
		return 0, "", err
	}
	fuse := time.AfterFunc(time.Duration(rng.Int64N(int64(k.fuse))), func() { _ = cmd.Process.Kill() })
	_ = cmd.Wait() // its status tells
	fuse.Stop()
	status = cmd.ProcessState.ExitCode()
	k.Lock()
	defer k.Unlock()
	switch status {
	case -1:
		k.killed++
		k.left--
	case exitDone, exitOutside:
		k.acknowledged++
		if m := fitBatch.FindStringSubmatch(stdout.String()); m != nil {
			batch, _ := strconv.ParseInt(m[1], 10, 64)
			k.batches[batch] = true
		}
	case exitStale:
	default:
		return status, "", fmt.Errorf("%v: status %d: %s", args, status, stderr.String())
	}
	return status, stdout.String(), nil
}

// A jobLane works on one job after the other.
type jobLane struct {
	*killedJobs
	rng   *rand.Rand
	job   int64            // at work, 0 for none
	rank  map[int64]string // the state in which each job was last seen
	steps int
}

func (l *jobLane) show(job int64) (f fileJSON, err error) {
	out, err := l.whole("job", "show", fmt.Sprint(job), "--output", "json")
	if err == nil {
		err = json.Unmarshal(out, &f)
	}
	return f, err
}

// step gives one command on the box or on the job at work, and looks at what
// came of it.
func (l *jobLane) step() error {
	if l.steps++; l.steps%25 == 0 {
		if _, err := l.whole("shop", "check"); err != nil {
			return err
		}
		l.Lock()
		l.checks++
		l.Unlock()
	}
	if l.rng.IntN(4) == 0 {
		size := []string{"2.225", "2.250", "2.275", "2.300"}[l.rng.IntN(4)]
		_, _, err := l.risk(l.rng, "box", "receive", size+"x2", "--diameter", "8.9")
		return err
	}
	if l.job == 0 {
		return l.open()
	}
	before, err := l.show(l.job)
	if err != nil {
		return err
	}
	id := fmt.Sprint(l.job)
	args, after := []string{"job", "cancel", id, "--yes"}, []string{"cancelled"}
	switch {
	case l.rng.IntN(10) == 0:
	case before.State == "open":
		args, after = []string{"job", "read", id, demo("sandpiper-check.csv")}, []string{"measured"}
	case before.State == "measured":
		args, after = []string{"job", "plan", id}, []string{"planned"}
	case before.State == "planned" && l.rng.IntN(2) == 0 && len(before.Plan.Placements) > 1:
		args, after = []string{"job", "fit", id, before.Plan.Placements[0].Valve}, []string{"fitting", "fitted"}
	case before.State == "planned", before.State == "fitting":
		args, after = []string{"job", "fit", id}, []string{"fitted"}
	case before.State == "fitted":
		args, after = []string{"job", "recheck", id, "ex1a=0.22", "ex1b=0.23", "ex2a=0.24", "ex2b=0.25"}, []string{"rechecked"}
	case before.State == "rechecked":
		args, after = []string{"job", "close", id, "--anyway"}, []string{"closed"}
	}
	status, _, err := l.risk(l.rng, args...)
	if err != nil {
		return err
	}
	now, err := l.show(l.job)
	if err != nil {
		return err
	}
	done := slices.Contains(after, now.State)
	switch {
	case (status == exitDone || status == exitOutside) && !done:
		return fmt.Errorf("%v was acknowledged in %s: job %d is %s", args, before.State, l.job, now.State)
	case !done && now.State != before.State:
		return fmt.Errorf("%v in %s: job %d is %s", args, before.State, l.job, now.State)
	case !done && len(now.Movements) != len(before.Movements):
		return fmt.Errorf("%v is half-booked: %d movements of job %d became %d", args, len(before.Movements), l.job, len(now.Movements))
	case status == exitStale && args[1] == "fit":
		return fmt.Errorf("%v: nobody takes reserved pieces, yet the plan is stale", args)
	}
	if err := halves(now); err != nil {
		return fmt.Errorf("%v: %w", args, err)
	}
	l.rank[l.job] = now.State
	if status == -1 && done {
		l.Lock()
		l.silent++
		l.Unlock()
	}
	if now.State == "closed" || now.State == "cancelled" {
		l.job = 0
	}
	return nil
}

// open takes in the next engine. A killed open may have opened a job that
// nobody was told of.
func (l *jobLane) open() error {
	status, out, err := l.risk(l.rng, "job", "open", "--engine", demo("sandpiper.toml"))
	if err != nil || status == -1 {
		return err
	}
	if _, err := fmt.Sscanf(out, "Job %d opened", &l.job); err != nil {
		return fmt.Errorf("%q: %w", out, err)
	}
	l.rank[l.job] = "open"
	l.Lock()
	defer l.Unlock()
	l.jobs++
	return nil
}

// recall looks at every job of the lane once more.
func (l *jobLane) recall() error {
	for job, state := range l.rank {
		f, err := l.show(job)
		if err != nil {
			return err
		}
		if f.State != state {
			return fmt.Errorf("job %d was %s and is %s", job, state, f.State)
		}
	}
	return nil
}

// halves looks for a job that is half-booked.
func halves(f fileJSON) error {
	net := map[string]int{}
	for _, m := range f.Movements {
		net[m.Kind] += m.Count
	}
	fitted, pulled := -net["fitted"], net["pulled"]
	want := -1
	switch f.State {
	case "open", "measured", "planned", "cancelled":
		want = 0
	case "fitted", "rechecked":
		want = len(f.Plan.Placements)
	}
	if want >= 0 && (fitted != want || pulled != want) {
		return fmt.Errorf("job %d is %s with %d shims pulled and %d fitted, not %d", f.Job, f.State, pulled, fitted, want)
	}
	return nil
}
