package main

import (
	"errors"
	"fmt"
	"io"

	"shimwright/inventory"
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

// A usageError is a wrong call.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

func usage(err error) error { return usageError{err} }

// A hinted error knows the way out.
type hinted struct {
	error
	hint string
}

func (e hinted) Unwrap() error { return e.error }

func hint(err error, way string) error { return hinted{err, way} }

// status maps an error to an exit status. It is the only place that does.
func status(err error) int {
	var wrong usageError
	var booked bookedError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errOutside):
		return exitOutside
	case errors.Is(err, inventory.ErrUnsure):
		return exitUnsure
	case errors.As(err, &booked):
		return exitBooked
	case errors.As(err, &wrong):
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
	}
	if len(faults) > 0 || errors.As(err, &faults) {
		for i, fault := range faults {
			if i == maxFaults {
				fmt.Fprintf(w, "error: %d more faults\n", len(faults)-i)
				break
			}
			fmt.Fprintf(w, "error: %s\n", fault.Error())
			if fault.Hint != "" {
				fmt.Fprintf(w, "  hint: %s\n", fault.Hint)
			}
		}
		return
	}
	fmt.Fprintf(w, "error: %s\n", err)
	var h hinted
	if errors.As(err, &h) {
		fmt.Fprintf(w, "  hint: %s\n", h.hint)
	} else if way := shopHint(err); way != "" {
		fmt.Fprintf(w, "  hint: %s\n", way)
	}
}
