package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// changing are the system calls that change what is on the disk, or make it
// last.
const changing = "open,creat,openat,write,pwrite64,ftruncate,fsync,fdatasync,link,linkat,rename,renameat,renameat2,unlink,unlinkat,mkdir,mkdirat,rmdir"

// traced prepares a command under strace.
func traced(t *testing.T, options []string, args ...string) *exec.Cmd {
	t.Helper()
	if _, err := exec.LookPath("strace"); err != nil {
		require.Empty(t, os.Getenv("CI"), "a build server has strace")
		t.Skip("strace is not installed")
	}
	program, err := exec.LookPath("shimwright")
	require.NoError(t, err)
	return exec.Command("strace", append(append(append([]string{"-f", "-qq"}, options...), program), args...)...)
}

// event is one system call that changed something.
type event struct {
	call  string
	paths []string // the file, or the old and the new name
	data  []byte
	at    int64 // offset or length
	flags string
}

var (
	lineOf = regexp.MustCompile(`^(\d+) +(.*)$`)
	callOf = regexp.MustCompile(`^(\w+)\((.*)\) += (-?\d+|\?)`)
	textOf = regexp.MustCompile(`"((?:\\x[0-9a-f]{2})*)"`)
	fileOf = regexp.MustCompile(`<((?:\\x[0-9a-f]{2})+)>`)
)

func unhex(t *testing.T, text string) string {
	var out []byte
	for part := range strings.SplitSeq(text, `\x`) {
		if part == "" {
			continue
		}
		b, err := strconv.ParseUint(part, 16, 8)
		require.NoError(t, err)
		out = append(out, byte(b))
	}
	return string(out)
}

// record runs a command and gives what it changed, call by call.
func record(t *testing.T, args ...string) []event {
	t.Helper()
	log := filepath.Join(t.TempDir(), "log")
	cmd := traced(t, []string{"--seccomp-bpf", "-y", "-xx", "-s", "10000000", "-e", "trace=" + changing, "-e", "signal=none", "-o", log}, args...)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%v: %s", args, out)
	data, err := os.ReadFile(log)
	require.NoError(t, err)
	var list []event
	begun := map[string]string{}
	for line := range strings.Lines(string(data)) {
		m := lineOf.FindStringSubmatch(strings.TrimSuffix(line, "\n"))
		require.NotNil(t, m, line)
		text := m[2]
		if head, cut := strings.CutSuffix(text, " <unfinished ...>"); cut {
			begun[m[1]] = head
			continue
		}
		if _, tail, cut := strings.Cut(text, " resumed>"); cut && strings.HasPrefix(text, "<... ") {
			text = begun[m[1]] + tail
		}
		call := callOf.FindStringSubmatch(text)
		if call == nil || strings.HasPrefix(call[3], "-") || call[3] == "?" {
			continue // failed, changed nothing
		}
		list = append(list, parse(t, call[1], call[2]))
	}
	return list
}

func parse(t *testing.T, call, args string) event {
	e := event{call: strings.TrimSuffix(strings.TrimSuffix(call, "2"), "at")}
	var texts []string
	for _, m := range textOf.FindAllStringSubmatch(args, -1) {
		texts = append(texts, unhex(t, m[1]))
	}
	number := func(from string) int64 {
		fields := strings.Split(from, ", ")
		n, err := strconv.ParseInt(fields[len(fields)-1], 10, 64)
		require.NoError(t, err, args)
		return n
	}
	switch e.call {
	case "write", "pwrite64", "ftruncate", "fsync", "fdatasync":
		m := fileOf.FindStringSubmatch(args)
		if m == nil {
			return event{call: "other"}
		}
		e.paths = []string{unhex(t, m[1])}
		if len(texts) > 0 {
			e.data = []byte(texts[0])
		}
		if strings.HasPrefix(args, "1<") {
			return event{call: "said"}
		}
		if e.call == "pwrite64" || e.call == "ftruncate" {
			e.at = number(args)
		}
	case "open":
		e.flags = args
		e.paths = texts
	default:
		e.paths = texts
		if strings.Contains(args, "AT_REMOVEDIR") {
			e.call = "rmdir"
		}
	}
	return e
}

// inode is a file's content: what is on the disk for certain, and what the
// system still holds back.
type inode struct {
	folder  bool
	durable []byte
	pending []event
}

func apply(content []byte, e event) []byte {
	if e.call == "ftruncate" {
		for int64(len(content)) < e.at {
			content = append(content, 0)
		}
		return content[:e.at]
	}
	for int64(len(content)) < e.at+int64(len(e.data)) {
		content = append(content, 0)
	}
	copy(content[e.at:], e.data)
	return content
}

// content is the file with those pending changes that keep lets pass.
func (n *inode) content(keep func() bool) []byte {
	c := bytes.Clone(n.durable)
	for _, e := range n.pending {
		if keep() {
			c = apply(c, e)
		}
	}
	return c
}

// disk is a folder as the disk would have it after a power cut.
type disk struct {
	root          string
	names, synced map[string]*inode
	said          bool     // the command has acknowledged
	strange       []string // written to, and never seen to be made
}

func newDisk(t *testing.T, root string) *disk {
	d := &disk{root: root, names: map[string]*inode{}}
	require.NoError(t, filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || path == root {
			return err
		}
		n := &inode{folder: entry.IsDir()}
		if !n.folder {
			n.durable, err = os.ReadFile(path)
		}
		d.names[path] = n
		return err
	}))
	d.synced = maps.Clone(d.names)
	return d
}

func yes() bool { return true }

// run lets one call happen.
func (d *disk) run(e event) {
	if e.call == "said" {
		d.said = true
		return
	}
	for _, p := range e.paths {
		if !strings.HasPrefix(p, d.root) {
			return
		}
	}
	switch e.call {
	case "open":
		if len(e.paths) == 0 {
			return
		}
		n := d.names[e.paths[0]]
		if n == nil && strings.Contains(e.flags, "O_CREAT") {
			d.names[e.paths[0]] = &inode{}
		} else if n != nil && strings.Contains(e.flags, "O_TRUNC") {
			n.pending = append(n.pending, event{call: "ftruncate"})
		}
	case "write", "pwrite64", "ftruncate":
		n := d.names[e.paths[0]]
		if n == nil {
			d.strange = append(d.strange, e.paths[0])
			return
		}
		if e.call == "write" { // our own files are written from the beginning on
			e.at = int64(len(n.content(yes)))
		}
		n.pending = append(n.pending, e)
	case "fsync", "fdatasync":
		if n := d.names[e.paths[0]]; n != nil && !n.folder {
			n.durable, n.pending = n.content(yes), nil
			return
		}
		for name := range d.synced {
			if filepath.Dir(name) == e.paths[0] && d.names[name] == nil {
				delete(d.synced, name)
			}
		}
		for name, n := range d.names {
			if filepath.Dir(name) == e.paths[0] {
				d.synced[name] = n
			}
		}
	case "link":
		d.names[e.paths[1]] = d.names[e.paths[0]]
	case "rename":
		d.names[e.paths[1]] = d.names[e.paths[0]]
		delete(d.names, e.paths[0])
	case "unlink", "rmdir":
		delete(d.names, e.paths[0])
	case "mkdir":
		d.names[e.paths[0]] = &inode{folder: true}
	}
}

// lay writes the disk down as it may be found after the power cut: with the
// names that were synced and those later changes of names that named lets pass,
// and with those pending writes that keep lets pass.
func (d *disk) lay(t *testing.T, named, keep func() bool) {
	t.Helper()
	entries, err := os.ReadDir(d.root)
	require.NoError(t, err)
	for _, e := range entries {
		require.NoError(t, os.RemoveAll(filepath.Join(d.root, e.Name())))
	}
	names := maps.Clone(d.synced)
	for _, name := range slices.Sorted(maps.Keys(d.names)) {
		if n := d.names[name]; names[name] != n && named() {
			names[name] = n
		}
	}
	for _, name := range slices.Sorted(maps.Keys(d.synced)) {
		if d.names[name] == nil && named() {
			delete(names, name)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		if _, err := os.Stat(filepath.Dir(name)); err != nil {
			continue // its folder is lost
		}
		if names[name].folder {
			require.NoError(t, os.Mkdir(name, 0o755))
			continue
		}
		require.NoError(t, os.WriteFile(name, names[name].content(keep), 0o644))
	}
}

// cuts lays the disk down after every call, in each way it may be found, and
// lets the test look at it.
func (d *disk) cuts(t *testing.T, events []event, part func(full int) int, look func(said bool, where string)) (cuts int) {
	t.Helper()
	rng := rand.New(rand.NewPCG(21, 22))
	some := func() bool { return rng.IntN(2) == 0 }
	never := func() bool { return false }
	// Which cuts this run looks at; the one after the last call always.
	chosen := map[int]bool{len(events): true}
	for _, k := range rng.Perm(len(events))[:part(len(events))] {
		chosen[k] = true
	}
	for k := 0; ; k++ {
		if chosen[k] {
			for i, way := range []struct {
				named, keep func() bool
			}{{never, never}, {never, yes}, {yes, never}, {yes, yes}, {never, some}, {yes, some}, {some, yes}, {some, some}} {
				d.lay(t, way.named, way.keep)
				look(d.said || k == len(events), fmt.Sprintf("cut %d of %d, way %d", k, len(events), i))
				cuts++
			}
		}
		if k == len(events) {
			require.Empty(t, d.strange)
			return cuts
		}
		d.run(events[k])
	}
}
