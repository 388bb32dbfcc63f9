package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/walk"
)

// On a terminal each line of the engine file is asked for before the first valve;
// what is skipped or not reached is asked again next time, what is done is not.
func TestMeasureBefore(t *testing.T) {
	e, _, _ := kittiwake(t)
	e.Before = &shim.Before{Lines: []string{"Caps in three passes."}, Turns: 2, Temperature: &shim.Window{From: 288_150, To: 298_150}}
	name := filepath.Join(t.TempDir(), "check.csv")
	var talk bytes.Buffer
	begin := func() *measureTalk {
		talk.Reset()
		file := &checkFile{engine: e, name: name}
		_, err := file.load(time.Now())
		require.NoError(t, err)
		options := walk.Options{Attended: true, Keep: file.keep}
		w := &measureTalk{Walk: walk.New(e, file.check.Measurements, options), file: file, say: &talk}
		w.before = pending(e, file, options)
		w.begin()
		return w
	}
	w := begin()
	require.Contains(t, w.prompt(), "Caps in three passes.")
	require.NoError(t, w.line(".15"))
	require.Contains(t, w.prompt(), "Caps", "a figure is no answer")
	require.NoError(t, w.line("y"))
	require.Contains(t, w.prompt(), "2 full turns")
	require.NoError(t, w.line("skip"))
	require.Contains(t, w.prompt(), "Engine temperature, now (15 to 25 °C) [not known]")
	require.NoError(t, w.line("quit"))
	assert.True(t, w.Done())

	w = begin()
	require.Contains(t, w.prompt(), "2 full turns", "the caps are done")
	require.NoError(t, w.line(""))
	for _, typed := range []string{"hot", ".25", "0,25", "72", "?", "list", "back"} {
		require.NoError(t, w.line(typed))
		require.Contains(t, w.prompt(), "Engine temperature", "%q is no answer", typed)
	}
	assert.Contains(t, talk.String(), ".25 looks like a clearance")
	assert.Contains(t, talk.String(), "72 °C is no cold engine: Fahrenheit?")
	require.NoError(t, w.line("31,5 °C"))
	assert.Contains(t, talk.String(), "CAUTION: 31.5 °C is outside 15 to 25 °C")
	require.Contains(t, w.prompt(), "in1a (")
	require.NoError(t, w.line(".15"))
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Contains(t, string(text), "# done: Caps in three passes.\n# done: Turn the crank by hand")
	assert.Contains(t, string(text), "in1a,0.15,,31.5,")
	assert.Equal(t, map[string]string{"in1a": "0.15"}, readings(t, e, name))

	// The next run asks again, as the engine may have cooled; Enter keeps the last one.
	w = begin()
	require.Contains(t, w.prompt(), "[31.5 °C, as before]")
	require.NoError(t, w.line("20"))
	assert.Contains(t, talk.String(), "The valves in the file were measured at 31.5 °C")
	w = begin()
	w.prompt()
	require.NoError(t, w.line(""))
	require.NoError(t, w.line(".16"))
	text, err = os.ReadFile(name)
	require.NoError(t, err)
	assert.Contains(t, string(text), "in1b,0.16,,31.5,")
}
