package sqlite_test

import (
	"fmt"
	"os"
	"os/exec"
	"testing"
)

// children are what this test binary does when it is started as a child.
var children = map[string]func(args []string) error{
	"work": work,
	"race": race,
}

func TestMain(m *testing.M) {
	if child, asked := children[os.Getenv("SHIMWRIGHT_CHILD")]; asked {
		if err := child(os.Args[1:]); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// child starts this test binary as another process.
func child(what string, args ...string) *exec.Cmd {
	cmd := exec.Command(os.Args[0], args...)
	cmd.Env = append(os.Environ(), "SHIMWRIGHT_CHILD="+what)
	cmd.Stderr = os.Stderr
	return cmd
}
