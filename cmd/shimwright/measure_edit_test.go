package main

import (
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A left arrow moves in the line and is no part of it; the terminal is put back
// after each line.
func TestEditor(t *testing.T) {
	raw := 0
	typed := ".5\x1b[D1\r" + ".16x\x7f\r" + "\x1b[A\r" + "ab\x03"
	e := editorOn(strings.NewReader(typed), io.Discard, func() (func(), error) { raw++; return func() { raw-- }, nil })
	for _, want := range []string{".15", ".16", ".16"} {
		line, err := e.line("in1a: ")
		require.NoError(t, err)
		assert.Equal(t, want, line)
		assert.Zero(t, raw)
		e.reset = nil
	}
	e = editorOn(strings.NewReader("ab\x03"), io.Discard, e.raw)
	_, err := e.line("in1b: ")
	assert.ErrorIs(t, err, errTypedInterrupt)
	e = editorOn(strings.NewReader("\x04"), io.Discard, e.raw)
	_, err = e.line("in1b: ")
	assert.ErrorIs(t, err, io.EOF)
}
