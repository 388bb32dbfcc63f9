package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"strings"
	"syscall"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/files"
)

// Exit statuses; the root command's help lists them.
const (
	exitDone    = 0
	exitFailed  = 1
	exitUsage   = 2
	exitOutside = 3 // done, but a valve is outside its limits or unplanned
	exitStale   = 4 // the box changed meanwhile
	exitBooked  = 5 // booked, but the output failed
	exitUnsure  = 6 // unknown whether it was booked
)

// errOutside ends a command that did its work but left a valve outside.
var errOutside = errors.New("a valve is outside its limits or could not be planned")

// Kinds of error with a status of their own.
var (
	errUsage  = errors.New("wrong call")
	errBooked = errors.New("booked") // the error came after the booking, which is saved
)

// ends returns the error of a command that has printed its result: a failed
// output takes precedence over a valve outside.
func ends(right bool, printed error) error {
	if printed == nil && !right {
		return errOutside
	}
	return printed
}

// wrong returns an error for wrong usage, see [shim.Fail].
func wrong(hint, format string, args ...any) error {
	return shim.Fail(errUsage, hint, format, args...)
}

// status maps an error to an exit status. Nothing else does.
func status(err error) int {
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errOutside):
		return exitOutside
	case errors.Is(err, inventory.ErrUnsure):
		return exitUnsure
	case errors.Is(err, errBooked):
		return exitBooked
	case errors.Is(err, errUsage):
		return exitUsage
	case errors.Is(err, inventory.ErrStale):
		return exitStale
	}
	return exitFailed
}

// maxFaults limits how many faults are printed.
const maxFaults = 40

// complain prints an error and its hint, a line each.
func complain(w io.Writer, err error) {
	if errors.Is(err, errOutside) {
		return // the plan on standard output says it
	}
	var faults files.Faults
	var fault files.Fault
	if errors.As(err, &fault) {
		faults = files.Faults{fault}
	} else {
		errors.As(err, &faults)
	}
	for i, fault := range faults {
		if i == maxFaults {
			fmt.Fprintf(w, "error: %d more faults\n", len(faults)-i)
			break
		}
		complainOf(w, fault, fault.Hint)
	}
	if len(faults) == 0 {
		complainOf(w, err, cmp.Or(shim.HintOf(err), wayOut(err)))
	}
}

// wayOut is the hint for an error that brings none along.
func wayOut(err error) string {
	switch {
	case errors.Is(err, syscall.ENOSPC):
		return "make room, or send the output elsewhere"
	case errors.Is(err, inventory.ErrUnknown):
		return "see what there is: shimwright job list --state all, shimwright box history"
	}
	return ""
}

func complainOf(w io.Writer, err error, hint string) {
	fmt.Fprintf(w, "error: %s\n", err)
	if hint != "" {
		fmt.Fprintf(w, "  hint: %s\n", strings.ReplaceAll(hint, "\n", "\n        "))
	}
}
