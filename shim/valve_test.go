package shim

import (
	"encoding/json"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseValve(t *testing.T) {
	for text, want := range map[string]Valve{
		"in1a":   {Intake, 1, 'a', false},
		"EX4B":   {Exhaust, 4, 'b', false},
		" In2 ":  {Intake, 2, 0, false},
		"ex12e":  {Exhaust, 12, 'e', false},
		"in01a":  {Intake, 1, 'a', false},
		"ex64":   {Exhaust, 64, 0, false},
		"\tex3c": {Exhaust, 3, 'c', false},

		"in1a.closer": {Intake, 1, 'a', true},
		"EX2.Closer ": {Exhaust, 2, 0, true},
	} {
		got, err := ParseValve(text)
		assert.NoError(t, err, "%q", text)
		assert.Equal(t, want, got, "%q", text)
	}
	for _, text := range []string{
		"", "in", "ex", "ina", "in0", "in0a", "in65", "in1f", "in1ab", "in-1", "in+1", "in 1", "1", "a1", "inlet1", "int1", "in1.5",
		"in99999999999999999999", "in1a in1b", "in1a.", "in1a.close", "in.closer", "in1.closera", "in1a.closer.closer", "in١", "ın1",
	} {
		got, err := ParseValve(text)
		assert.Error(t, err, "%q", text)
		assert.Zero(t, got, "%q", text)
	}
}

func TestValveText(t *testing.T) {
	assert.Equal(t, "in1a", Valve{Intake, 1, 'a', false}.String())
	assert.Equal(t, "ex12", Valve{Exhaust, 12, 0, false}.String())
	assert.Equal(t, "in1b.closer", Valve{Intake, 1, 'b', true}.String())
	assert.Equal(t, []string{"intake", "exhaust"}, []string{Sides[0].String(), Sides[1].String()})

	data, err := json.Marshal(map[Valve]Valve{{Intake, 2, 'b', false}: {Exhaust, 1, 0, false}})
	require.NoError(t, err)
	assert.Equal(t, `{"in2b":"ex1"}`, string(data))
	kept := Valve{Intake, 9, 0, false}
	assert.Error(t, json.Unmarshal([]byte(`"nothing"`), &kept))
	assert.Equal(t, Valve{Intake, 9, 0, false}, kept, "a bad name must change nothing")
	require.NoError(t, json.Unmarshal([]byte(`"EX3c"`), &kept))
	assert.Equal(t, Valve{Exhaust, 3, 'c', false}, kept)
}

func TestValveOrder(t *testing.T) {
	want := strings.Fields("in1a in1b ex1a ex1b in2 ex2 in10a ex10a")
	var valves []Valve
	for _, name := range want {
		v, err := ParseValve(name)
		require.NoError(t, err)
		valves = append(valves, v)
	}
	random := rand.New(rand.NewPCG(4, 4))
	random.Shuffle(len(valves), func(i, j int) { valves[i], valves[j] = valves[j], valves[i] })
	slices.SortFunc(valves, Valve.Compare)
	var got []string
	for _, v := range valves {
		got = append(got, v.String())
	}
	assert.Equal(t, want, got)
}

func FuzzParseValve(f *testing.F) {
	for _, text := range []string{"in1a", "EX4b", "in2", "in", "ex0001e", "in65", " in1", "İn1", "in1\x00", "inａ"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := ParseValve(text)
		if err != nil {
			require.Zero(t, v, "%q", text)
			return
		}
		require.True(t, v.Cylinder >= 1 && v.Cylinder <= MaxCylinders, "%q", text)
		again, err := ParseValve(v.String())
		require.NoError(t, err, "%q", text)
		require.Equal(t, v, again, "%q", text)
	})
}
