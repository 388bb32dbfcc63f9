package main

import (
	"os"

	"golang.org/x/sys/windows"
)

// ansi makes a Windows console obey escape sequences, and reports whether it
// does. Those before Windows 10 do not.
func ansi(f *os.File) bool {
	console := windows.Handle(f.Fd())
	var mode uint32
	if err := windows.GetConsoleMode(console, &mode); err != nil {
		return false
	}
	const obey = windows.ENABLE_VIRTUAL_TERMINAL_PROCESSING
	return mode&obey != 0 || windows.SetConsoleMode(console, mode|obey) == nil
}
