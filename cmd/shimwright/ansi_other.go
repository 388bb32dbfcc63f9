//go:build !windows

package main

import "os"

// ansi reports whether a terminal obeys escape sequences: elsewhere than on
// Windows all do that do not call themselves dumb.
func ansi(*os.File) bool { return true }
