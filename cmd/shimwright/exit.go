package main

import (
	"errors"
	"fmt"
	"io"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/files"
)

// The exit statuses, as the help of the root command lists them.
const (
	exitDone    = 0
	exitFailed  = 1
	exitUsage   = 2
	exitOutside = 3 // planned, yet some valve stays outside its limits or unplanned
	exitStale   = 4 // the box changed meanwhile
	exitBooked  = 5 // booked, only the message failed
	exitUnsure  = 6 // it is not known whether it was booked
)

// errOutside ends a command that did its work, yet left a valve outside.
var errOutside = errors.New("some valve stays outside its limits or could not be planned")

// Kinds of error with a status of their own.
var (
	errUsage  = errors.New("wrong call")
	errBooked = errors.New("booked") // it came after the booking, which stands
)

// ends is how a command ends that printed its work: an output that failed goes
// before a valve that is not right.
func (a *app) ends(right bool, printed error) error {
	a.outside = !right
	if printed == nil && !right {
		return errOutside
	}
	return printed
}

// wrong is the error for a wrong call, see [shim.Fail].
func wrong(hint, format string, args ...any) error {
	return shim.Fail(errUsage, hint, format, args...)
}

// status maps an error to an exit status. It is the only place that does.
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

// maxFaults bounds how many faults are printed: nobody reads more in one go.
const maxFaults = 40

// complain prints an error: a line for what is wrong, a line for the way out.
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
		complainOf(w, err, shim.HintOf(err))
	}
}

func complainOf(w io.Writer, err error, hint string) {
	fmt.Fprintf(w, "error: %s\n", err)
	if hint != "" {
		fmt.Fprintf(w, "  hint: %s\n", hint)
	}
}
