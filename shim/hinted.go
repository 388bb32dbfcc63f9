package shim

import (
	"errors"
	"fmt"
	"slices"
)

// A Hinted error says in one line what is wrong, and in a hint what to do. All
// errors with a hint are of this type, whatever room they come from.
type Hinted struct {
	Kind    error  // what [errors.Is] tells it by, nil for no kind
	Message string // lower case, no full stop
	Hint    string // the way out, may be empty
	cause   error  // the message as an error, with what it wraps
}

// Error is the message without the hint.
func (h *Hinted) Error() string { return h.Message }

// Unwrap gives the kind and what the message wraps.
func (h *Hinted) Unwrap() []error {
	return slices.DeleteFunc([]error{h.Kind, h.cause}, func(err error) bool { return err == nil })
}

// Fail makes a [Hinted] error with a formatted message. An error that the
// format wraps with %w stays within reach of [errors.Is] and [errors.As], and
// lends its hint where none is given.
func Fail(kind error, hint, format string, args ...any) error {
	err := fmt.Errorf(format, args...)
	if hint == "" {
		hint = HintOf(err)
	}
	return &Hinted{Kind: kind, Message: err.Error(), Hint: hint, cause: err}
}

// HintOf is the hint that an error brings along, the empty string where it has
// none.
func HintOf(err error) string {
	var h *Hinted
	if errors.As(err, &h) {
		return h.Hint
	}
	return ""
}
