package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/testdata/effort"
)

// update rewrites what the tests compare with: the golden files inside the
// scripts and the output that the documents show.
var update = flag.Bool("update", false, "rewrite the expected output in scripts and documents")

// oneThread is set where a command has to make its system calls on one thread.
const oneThread = "SHIMWRIGHT_TEST_ONE_THREAD"

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"shimwright": func() {
		if os.Getenv(oneThread) != "" {
			runtime.LockOSThread()
		}
		main()
	}})
}

// scripts is their folder. The path is absolute, since calls change the folder.
var scripts string

// TestScript runs the scripts of testdata/script, each in a folder of its own
// with a copy of the demo shop in demo/.
func TestScript(t *testing.T) {
	var err error
	scripts, err = filepath.Abs(filepath.Join("testdata", "script"))
	require.NoError(t, err)
	demo, err := filepath.Abs(filepath.Join("..", "..", "testdata", "demo"))
	require.NoError(t, err)
	testscript.Run(t, testscript.Params{
		Dir:                 scripts,
		UpdateScripts:       *update,
		RequireUniqueNames:  true,
		RequireExplicitExec: true,
		Setup: func(env *testscript.Env) error {
			env.Setenv("NO_COLOR", "")
			env.Setenv("TERM", "xterm")
			env.Setenv("TZ", "UTC")
			env.Setenv("SHIMWRIGHT_SHOP", filepath.Join(env.WorkDir, "shop.db"))
			env.Setenv("SHIMWRIGHT_WHO", "R. Example")
			return os.CopyFS(filepath.Join(env.WorkDir, "demo"), os.DirFS(demo))
		},
		Condition: func(condition string) (bool, error) {
			if condition == "root" { // whom no file's rights stop
				return os.Geteuid() == 0, nil
			}
			return false, fmt.Errorf("unknown condition %q", condition)
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"exits":   exits,
			"changed": changed,
			"poke":    poke,
			"forge":   forge,
			"history": history,
		},
	})
}

// exits N cmd args... runs a command and asks for exactly that exit status.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits status command args...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	status := 0
	if yes, piped := callable(ts.Name()); yes && args[1] == "shimwright" {
		in := ""
		if piped { // only a process is given it
			ts.Check(ts.Exec("cat"))
			in = ts.ReadFile("stdout")
		}
		status = call(ts, in, args[2:])
	} else if err := ts.Exec(args[1], args[2:]...); err != nil {
		var failed *exec.ExitError
		if !errors.As(err, &failed) {
			ts.Fatalf("%v", err)
		}
		status = failed.ExitCode()
	}
	if status != want {
		ts.Fatalf("exit status %d, not %d", status, want)
	}
}

// callable reports whether the commands of a script may be calls in this process,
// which spares most of their time: not at ci and full, nor with a terminal. piped
// says that some read standard input.
func callable(script string) (yes, piped bool) {
	text, err := os.ReadFile(filepath.Join(scripts, script+".txtar"))
	if err != nil || effort.All() || runtime.GOOS == "windows" || givesTerminal.Match(text) {
		return false, false
	}
	return true, givesInput.Match(text)
}

var (
	givesTerminal = regexp.MustCompile(`(?m)^(\[[^]]*\] )*ttyin `)
	givesInput    = regexp.MustCompile(`(?m)^(\[[^]]*\] )*stdin `)
)

// here is held while a call has the folder of its script as this process's.
var here sync.Mutex

// call runs a command in this process and returns its exit status.
func call(ts *testscript.TestScript, in string, args []string) int {
	here.Lock()
	defer here.Unlock()
	back, err := os.Getwd()
	ts.Check(err)
	ts.Check(os.Chdir(ts.MkAbs(".")))
	defer func() { ts.Check(os.Chdir(back)) }()
	return run(args, &app{in: strings.NewReader(in), out: ts.Stdout(), err: ts.Stderr(), getenv: ts.Getenv})
}

// changed file old new to writes a copy of a file with one text replaced, which
// must stand in it once: the slip of the pen that a script is about.
func changed(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 4 {
		ts.Fatalf("usage: changed file old new copy")
	}
	text := ts.ReadFile(args[0])
	before, after, found := cut(text, args[1])
	if !found {
		ts.Fatalf("%q does not stand once in %s", args[1], args[0])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[3]), []byte(before+args[2]+after), 0o666))
}

// cut parts a text at the only place of another.
func cut(text, at string) (before, after string, found bool) {
	before, after, found = strings.Cut(text, at)
	return before, after, found && !strings.Contains(after, at)
}

// history N opens N invented jobs with readings in the shop, which has to be there.
func history(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: history jobs")
	}
	jobs, err := strconv.Atoi(args[0])
	ts.Check(err)
	store, err := openStore(context.Background(), ts.Getenv("SHIMWRIGHT_SHOP"))
	ts.Check(err)
	ts.Check(sample.History(context.Background(), inventory.New(store, "R. Example", time.Now), 1, jobs))
	ts.Check(store.Close())
}
