package inventory

import (
	"errors"
	"fmt"
)

// Kinds of error, told apart with [errors.Is].
var (
	// ErrStale: the box changed since the plan or the count was made. Make it
	// again on the box as it is now.
	ErrStale = errors.New("the box changed meanwhile")
	// ErrShort: there are not enough free pieces.
	ErrShort = errors.New("not enough pieces")
	// ErrState: the job is not in a state that allows this.
	ErrState = errors.New("the job's state does not allow this")
	// ErrInvalid: what was asked for makes no sense.
	ErrInvalid = errors.New("not valid")
	// ErrRing: a ring of shims on top cannot be booked in part.
	ErrRing = errors.New("a valve would stand empty")
	// ErrUnknown: the job, movement or engine does not exist.
	ErrUnknown = errors.New("not found")

	// ErrGiven: the command was booked before, under the same key.
	ErrGiven = errors.New("given before")
	// ErrUnsure: it is not known whether the booking was made, or will last.
	ErrUnsure = errors.New("outcome not known")

	// ErrMissing: there is no shop file.
	ErrMissing = errors.New("no shop file")
	// ErrExists: a file is in the way.
	ErrExists = errors.New("already exists")
	// ErrForeign: the file is not a shop file.
	ErrForeign = errors.New("not a shop file")
	// ErrNewer: the file was written by a newer version.
	ErrNewer = errors.New("written by a newer version")
	// ErrDamaged: the file is damaged.
	ErrDamaged = errors.New("damaged")
	// ErrReadOnly: the file cannot be written.
	ErrReadOnly = errors.New("read-only")
	// ErrRights: the folder does not allow it.
	ErrRights = errors.New("no rights")
	// ErrFull: the disk is full.
	ErrFull = errors.New("disk full")
	// ErrDisk: the disk gave an error.
	ErrDisk = errors.New("disk error")
	// ErrBusy: another command kept the file for too long.
	ErrBusy = errors.New("busy")
)

// An Error says in one line what is wrong, and in a hint what to do.
type Error struct {
	Kind error  // one of the kinds above
	Text string // lower case, no full stop
	Hint string // the way out, may be empty
	// Found is the damage where Kind is [ErrDamaged] and a row is to blame.
	Found Finding
}

// Error is the line without the hint.
func (e *Error) Error() string { return e.Text }

// Unwrap gives the kind.
func (e *Error) Unwrap() error { return e.Kind }

// Fail makes an [Error] whose text is formatted.
func Fail(kind error, hint, format string, args ...any) error {
	return &Error{Kind: kind, Text: fmt.Sprintf(format, args...), Hint: hint}
}

// Damaged is the error for a row that is not what was written. The store adds
// the file's name.
func Damaged(where, what string) error {
	return &Error{
		Kind: ErrDamaged, Text: where + " " + what, Found: Finding{where, what},
		Hint: "nothing was changed; shop check names all damage, shop restore goes back to a backup",
	}
}
